//! Terms of the program, one sentence each, some with a picture.

use serde::Serialize;

use crate::plot::{PlotError, term_pictures};

/// The glossary as the guide has it: a list in Markdown.
pub const GLOSSARY: &str = include_str!("../../data/guide/glossary.md");

/// A term with its meaning.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Term {
    pub name: String,
    pub meaning: String,
    /// picture; empty without one
    pub svg: String,
}

/// The terms, in the order of the glossary.
pub(super) fn terms() -> Result<Vec<Term>, PlotError> {
    let pictures = term_pictures()?;
    let entry = |text: &str| {
        let (name, meaning) = text.split_once("**: ")?;
        let meaning = meaning.split_whitespace().collect::<Vec<_>>().join(" ");
        let svg = pictures.iter().find(|(term, _)| *term == name).map(|(_, picture)| picture.svg());
        Some(Term { name: name.to_owned(), meaning, svg: svg.unwrap_or_default() })
    };
    Ok(GLOSSARY.split("\n- **").skip(1).filter_map(entry).collect())
}

/// The terms as a list in HTML.
pub fn glossary_html() -> Result<String, PlotError> {
    let mut list = "<dl class=\"terms\">\n".to_owned();
    for Term { name, meaning, svg } in terms()? {
        let id = name.replace(' ', "-");
        list.push_str(&format!("<dt id=\"{id}\">{name}</dt>\n<dd>{meaning}{svg}</dd>\n"));
    }
    Ok(list + "</dl>")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_entry_is_a_term_with_one_sentence() {
        let terms = terms().unwrap();
        assert_eq!(terms.len(), GLOSSARY.matches("- **").count());
        assert!(terms.iter().all(|term| term.meaning.ends_with('.') && !term.meaning.contains("**")));
        let kerf = terms.iter().find(|term| term.name == "kerf").unwrap();
        assert_eq!(kerf.meaning, "width of the material that the cut removes.");
    }

    #[test]
    fn every_picture_belongs_to_one_term() {
        let terms = terms().unwrap();
        let pictures = term_pictures().unwrap();
        for (name, picture) in &pictures {
            let named: Vec<&Term> = terms.iter().filter(|term| term.name == *name).collect();
            assert!(
                matches!(named[..], [term] if term.svg == picture.svg()),
                "{name}: {} terms",
                named.len()
            );
        }
        let shown = terms.iter().filter(|term| !term.svg.is_empty()).count();
        assert_eq!(shown, pictures.len());
        assert!(
            terms.iter().all(|term| !term.name.contains(['<', '&']) && !term.meaning.contains(['<', '&']))
        );
    }
}
