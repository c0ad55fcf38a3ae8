//! A page of a sheet: strokes, fills and texts in millimetres, origin at the lower left corner, y up.

use crate::outline::ArcChain;

/// A place on the page (mm).
pub type PagePoint = [f64; 2];

/// Font of every sheet; a subset of DejaVu Sans with the letters of technical drawings.
pub(super) const FONT: &[u8] = include_bytes!("../../data/fonts/DejaVuSans-pictures.ttf");

/// Line widths (mm), the series of ISO 128.
pub(super) const WIDE: f64 = 0.35;
pub(super) const NARROW: f64 = 0.18;

/// Side of a text that its place is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Align {
    /// left end of the baseline
    Left,
    /// middle of the baseline
    Centre,
    /// right end of the baseline
    Right,
}

/// One step of a path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Step {
    /// start of a new piece
    Move(PagePoint),
    /// straight line
    Line(PagePoint),
    /// cubic Bézier curve: two control points, end
    Curve(PagePoint, PagePoint, PagePoint),
    /// line back to the start of the piece
    Close,
}

/// One mark on the page.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Mark {
    /// a path stroked in black with a width (mm), chain-dotted where it is a centre line
    Stroke {
        /// steps
        path: Vec<Step>,
        /// width (mm)
        width: f64,
        /// centre line
        dashed: bool,
    },
    /// a path filled with a grey between 0, black, and 1, white
    Fill {
        /// steps
        path: Vec<Step>,
        /// grey
        grey: f64,
    },
    /// a line of text
    Text {
        /// the words
        text: String,
        /// end or middle of the baseline
        at: PagePoint,
        /// em (mm)
        em: f64,
        /// which of them
        align: Align,
    },
}

/// A page.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// width (mm)
    pub width: f64,
    /// height (mm)
    pub height: f64,
    /// title of the document
    pub title: String,
    pub(super) marks: Vec<Mark>,
}

impl Page {
    /// An empty page.
    pub(super) fn new(width: f64, height: f64, title: &str) -> Self {
        Self { width, height, title: title.to_owned(), marks: Vec::new() }
    }

    /// A line.
    pub(super) fn line(&mut self, from: PagePoint, to: PagePoint, width: f64) {
        let path = vec![Step::Move(from), Step::Line(to)];
        self.marks.push(Mark::Stroke { path, width, dashed: false });
    }

    /// A centre line.
    pub(super) fn centre_line(&mut self, from: PagePoint, to: PagePoint) {
        let path = vec![Step::Move(from), Step::Line(to)];
        self.marks.push(Mark::Stroke { path, width: NARROW, dashed: true });
    }

    /// The border of a rectangle.
    pub(super) fn rectangle(&mut self, low: PagePoint, high: PagePoint, width: f64) {
        self.marks.push(Mark::Stroke { path: corners(low, high), width, dashed: false });
    }

    /// The border of a part that is not the spring's own, chain-dotted.
    pub(super) fn outline_of_neighbour(&mut self, low: PagePoint, high: PagePoint) {
        self.marks.push(Mark::Stroke { path: corners(low, high), width: NARROW, dashed: true });
    }

    /// A closed polygon, filled and with a border.
    pub(super) fn polygon(&mut self, points: &[PagePoint], grey: f64) {
        let mut path: Vec<Step> = points.iter().copied().map(Step::Line).collect();
        if let Some(first) = path.first_mut() {
            *first = Step::Move(points[0]);
        }
        path.push(Step::Close);
        self.marks.push(Mark::Fill { path: path.clone(), grey });
        self.marks.push(Mark::Stroke { path, width: NARROW, dashed: false });
    }

    /// A circle: white inside where it is to cover what lies below.
    pub(super) fn circle(&mut self, centre: PagePoint, radius: f64, width: f64, cover: bool) {
        let path = circle(centre, radius);
        if cover {
            self.marks.push(Mark::Fill { path: path.clone(), grey: 1.0 });
        }
        self.marks.push(Mark::Stroke { path, width, dashed: false });
    }

    /// A dot.
    pub(super) fn dot(&mut self, centre: PagePoint, radius: f64) {
        self.marks.push(Mark::Fill { path: circle(centre, radius), grey: 0.0 });
    }

    /// An arrow head with its point at a place, pointing along a direction of length one.
    pub(super) fn arrow(&mut self, tip: PagePoint, along: PagePoint) {
        let (long, half) = (2.5, 0.5);
        let foot = [tip[0] - long * along[0], tip[1] - long * along[1]];
        let path = vec![
            Step::Move(tip),
            Step::Line([foot[0] - half * along[1], foot[1] + half * along[0]]),
            Step::Line([foot[0] + half * along[1], foot[1] - half * along[0]]),
            Step::Close,
        ];
        self.marks.push(Mark::Fill { path, grey: 0.0 });
    }

    /// A dimension line between two places, arrows at both ends, its text above the middle.
    pub(super) fn dimension(&mut self, from: PagePoint, to: PagePoint, text: &str, em: f64) {
        let length = (to[0] - from[0]).hypot(to[1] - from[1]).max(1e-9);
        let along = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
        self.line(from, to, NARROW);
        self.arrow(to, along);
        self.arrow(from, [-along[0], -along[1]]);
        let middle = [0.5 * (from[0] + to[0]), 0.5 * (from[1] + to[1])];
        self.text(text, [middle[0], middle[1] + 0.9], em, Align::Centre);
    }

    /// A line of text; control characters become blanks.
    pub(super) fn text(&mut self, text: &str, at: PagePoint, em: f64, align: Align) {
        let text = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
        self.marks.push(Mark::Text { text, at, em, align });
    }

    /// A chain of arcs of a drawing, at a scale about the place of the drawing's origin.
    pub(super) fn contour(&mut self, chain: &ArcChain, origin: PagePoint, scale: f64, width: f64) {
        let on_page = |p: [f64; 2]| [origin[0] + scale * p[0], origin[1] + scale * p[1]];
        let Some(first) = chain.vertices.first() else { return };
        let mut path = vec![Step::Move(on_page(first.point))];
        for arc in chain.arcs() {
            if arc.bulge == 0.0 {
                path.push(Step::Line(on_page(arc.end)));
                continue;
            }
            // quarter circles at most: the cubic is then within 0.03 % of the radius
            let pieces = (arc.sweep().abs() / std::f64::consts::FRAC_PI_2).ceil().max(1.0);
            let handle = 4.0 / 3.0 * (arc.sweep() / pieces / 4.0).tan().abs() * arc.radius();
            // no arc of a chain is larger than a half circle, a whole one at most
            for k in [0.0, 1.0, 2.0, 3.0].into_iter().take_while(|k| *k < pieces) {
                let (from, to) = (k / pieces, (k + 1.0) / pieces);
                let (a, b) = (arc.point_at(from), arc.point_at(to));
                let (s, t) = (arc.tangent_at(from), arc.tangent_at(to));
                path.push(Step::Curve(
                    on_page([a[0] + handle * s[0], a[1] + handle * s[1]]),
                    on_page([b[0] - handle * t[0], b[1] - handle * t[1]]),
                    on_page(b),
                ));
            }
        }
        if chain.closed {
            path.push(Step::Close);
        }
        self.marks.push(Mark::Stroke { path, width, dashed: false });
    }
}

fn corners(low: PagePoint, high: PagePoint) -> Vec<Step> {
    vec![
        Step::Move(low),
        Step::Line([high[0], low[1]]),
        Step::Line(high),
        Step::Line([low[0], high[1]]),
        Step::Close,
    ]
}

fn circle([x, y]: PagePoint, r: f64) -> Vec<Step> {
    // 4/3 (√2 − 1): handle of the cubic nearest to a quarter circle
    let h = 0.552_284_749_8 * r;
    vec![
        Step::Move([x + r, y]),
        Step::Curve([x + r, y + h], [x + h, y + r], [x, y + r]),
        Step::Curve([x - h, y + r], [x - r, y + h], [x - r, y]),
        Step::Curve([x - r, y - h], [x - h, y - r], [x, y - r]),
        Step::Curve([x + h, y - r], [x + r, y - h], [x + r, y]),
        Step::Close,
    ]
}

/// Width of a text (mm) at an em (mm).
pub(super) fn text_width(face: &ttf_parser::Face<'_>, text: &str, em: f64) -> f64 {
    let units: f64 =
        text.chars().map(|c| f64::from(face.glyph_hor_advance(glyph(face, c).1).unwrap_or(0))).sum();
    units * em / f64::from(face.units_per_em())
}

/// The letter that stands for a character, and its glyph: a question mark where the font has none.
pub(super) fn glyph(face: &ttf_parser::Face<'_>, letter: char) -> (char, ttf_parser::GlyphId) {
    match face.glyph_index(letter) {
        Some(id) => (letter, id),
        None => ('?', face.glyph_index('?').unwrap_or_default()),
    }
}
