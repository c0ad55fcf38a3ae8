//! Terms of the program, one sentence each.

use serde::Serialize;

/// The glossary as the guide has it: a list in Markdown.
pub const GLOSSARY: &str = include_str!("../../data/guide/glossary.md");

/// A term with its meaning.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Term {
    pub name: String,
    pub meaning: String,
}

/// The terms, in the order of the glossary.
pub(super) fn terms() -> Vec<Term> {
    let entry = |text: &str| {
        let (name, meaning) = text.split_once("**: ")?;
        let meaning = meaning.split_whitespace().collect::<Vec<_>>().join(" ");
        Some(Term { name: name.to_owned(), meaning })
    };
    GLOSSARY.split("\n- **").skip(1).filter_map(entry).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_entry_is_a_term_with_one_sentence() {
        let terms = terms();
        assert_eq!(terms.len(), GLOSSARY.matches("- **").count());
        assert!(terms.iter().all(|term| term.meaning.ends_with('.') && !term.meaning.contains("**")));
        let kerf = terms.iter().find(|term| term.name == "kerf").unwrap();
        assert_eq!(kerf.meaning, "width of the material that the cut removes.");
    }
}
