//! A page as PDF: vectors and real text with the embedded font, so that it prints to scale and can be searched.

use std::collections::BTreeMap;

use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use ttf_parser::Face;

use super::SheetError;
use super::page::{Align, FONT, Mark, Page, Step, glyph, text_width};

/// Points in a millimetre.
const POINT: f64 = 72.0 / 25.4;

const FONT_NAME: Name<'static> = Name(b"FSHEET+DejaVuSans");
const SYSTEM: SystemInfo<'static> =
    SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };

/// The page as a PDF document of one page. The same page gives the same bytes: no date, no random identifier.
pub fn pdf(page: &Page) -> Result<Vec<u8>, SheetError> {
    let face = Face::parse(FONT, 0)?;
    let mut used = BTreeMap::new();
    let content = content(page, &face, &mut used);
    let [catalog, tree, sheet, stream, font, cid, descriptor, file, cmap, info] =
        [1, 2, 3, 4, 5, 6, 7, 8, 9, 10].map(Ref::new);
    let mut pdf = Pdf::new();
    pdf.catalog(catalog).pages(tree);
    pdf.document_info(info).title(TextStr(&page.title)).creator(TextStr("Flatspire"));
    pdf.pages(tree).kids([sheet]).count(1);
    let mut leaf = pdf.page(sheet);
    leaf.media_box(Rect::new(0.0, 0.0, points(page.width), points(page.height)));
    leaf.parent(tree).contents(stream);
    leaf.resources().fonts().pair(Name(b"F"), font);
    leaf.finish();
    pdf.stream(stream, &content);
    pdf.type0_font(font)
        .base_font(FONT_NAME)
        .encoding_predefined(Name(b"Identity-H"))
        .descendant_font(cid)
        .to_unicode(cmap);
    let per_em = 1000.0 / f32::from(face.units_per_em());
    let mut glyphs = pdf.cid_font(cid);
    glyphs.subtype(CidFontType::Type2).base_font(FONT_NAME).system_info(SYSTEM).font_descriptor(descriptor);
    glyphs.default_width(0.0).cid_to_gid_map_predefined(Name(b"Identity"));
    let mut widths = glyphs.widths();
    for id in used.keys() {
        let advance = face.glyph_hor_advance(ttf_parser::GlyphId(*id)).unwrap_or(0);
        widths.consecutive(*id, [f32::from(advance) * per_em]);
    }
    widths.finish();
    glyphs.finish();
    let bounds = face.global_bounding_box();
    pdf.font_descriptor(descriptor)
        .name(FONT_NAME)
        .flags(FontFlags::NON_SYMBOLIC)
        .bbox(Rect::new(
            f32::from(bounds.x_min) * per_em,
            f32::from(bounds.y_min) * per_em,
            f32::from(bounds.x_max) * per_em,
            f32::from(bounds.y_max) * per_em,
        ))
        .italic_angle(0.0)
        .ascent(f32::from(face.ascender()) * per_em)
        .descent(f32::from(face.descender()) * per_em)
        .cap_height(f32::from(face.capital_height().unwrap_or(1493)) * per_em)
        .stem_v(80.0)
        .font_file2(file);
    pdf.stream(file, FONT).pair(Name(b"Length1"), i32::try_from(FONT.len()).unwrap_or(i32::MAX));
    let mut letters = UnicodeCmap::new(Name(b"Letters"), SYSTEM);
    for (id, letter) in &used {
        letters.pair(*id, *letter);
    }
    pdf.cmap(cmap, &letters.finish());
    Ok(pdf.finish())
}

fn content(page: &Page, face: &Face<'_>, used: &mut BTreeMap<u16, char>) -> Vec<u8> {
    let mut content = Content::new();
    for mark in &page.marks {
        match mark {
            Mark::Stroke { path, width, dashed } => {
                content.set_line_width(points(*width));
                if *dashed {
                    content.set_dash_pattern([points(6.0), points(1.2), points(0.6), points(1.2)], 0.0);
                } else {
                    content.set_dash_pattern([], 0.0);
                }
                trace(&mut content, path);
                content.stroke();
            }
            Mark::Fill { path, grey } => {
                content.set_fill_gray(single(*grey));
                trace(&mut content, path);
                content.fill_nonzero();
            }
            Mark::Text { text, at, em, align } => {
                let width = text_width(face, text, *em);
                let left = match align {
                    Align::Left => at[0],
                    Align::Centre => at[0] - 0.5 * width,
                    Align::Right => at[0] - width,
                };
                let mut codes = Vec::with_capacity(2 * text.len());
                for letter in text.chars() {
                    let (shown, id) = glyph(face, letter);
                    used.insert(id.0, shown);
                    codes.extend(id.0.to_be_bytes());
                }
                content.set_fill_gray(0.0);
                content.begin_text();
                content.set_font(Name(b"F"), points(*em));
                content.next_line(points(left), points(at[1]));
                content.show(Str(&codes));
                content.end_text();
            }
        }
    }
    content.finish().into_vec()
}

fn trace(content: &mut Content, path: &[Step]) {
    for step in path {
        match *step {
            Step::Move([x, y]) => content.move_to(points(x), points(y)),
            Step::Line([x, y]) => content.line_to(points(x), points(y)),
            Step::Curve(a, b, c) => content.cubic_to(
                points(a[0]),
                points(a[1]),
                points(b[0]),
                points(b[1]),
                points(c[0]),
                points(c[1]),
            ),
            Step::Close => content.close_path(),
        };
    }
}

/// Millimetres as points, at a ten-thousandth of a point.
fn points(mm: f64) -> f32 {
    single((mm * POINT * 1e4).round() / 1e4)
}

/// A number in the single precision of the PDF writer.
#[expect(clippy::cast_possible_truncation, reason = "a page of metres keeps a tenth of a micrometre")]
fn single(value: f64) -> f32 {
    value as f32
}
