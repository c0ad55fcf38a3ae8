//! The page's own files, carried in the program.

use std::sync::OnceLock;

use crate::plot::SOLID_SCRIPT;
use crate::report::{GLOSSARY, glossary_html};

/// One file of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Asset {
    /// its media type
    pub kind: &'static str,
    /// its bytes
    pub text: &'static str,
}

/// Content Security Policy (level 3) of the page: its own files and answers, nothing else.
pub const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; \
                          base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

const SCRIPT: &str = "text/javascript; charset=utf-8";

/// The terms with their pictures, as a page.
fn glossary_page() -> &'static str {
    static PAGE: OnceLock<String> = OnceLock::new();
    PAGE.get_or_init(|| {
        let terms = glossary_html().unwrap_or_else(|error| format!("<p>{error}</p>"));
        include_str!("page/glossary.html").replace("{{ terms }}", &terms)
    })
}

/// The file at a path; there are no others.
pub fn asset(path: &str) -> Option<Asset> {
    let (kind, text) = match path {
        "/" => ("text/html; charset=utf-8", include_str!("page/page.html")),
        "/glossary.txt" => ("text/plain; charset=utf-8", GLOSSARY),
        "/glossary.html" => ("text/html; charset=utf-8", glossary_page()),
        "/page.css" => ("text/css; charset=utf-8", include_str!("page/page.css")),
        "/icon.svg" => ("image/svg+xml", include_str!("page/icon.svg")),
        "/assembly.js" => (SCRIPT, include_str!("page/assembly.js")),
        "/axes.js" => (SCRIPT, include_str!("page/axes.js")),
        "/chart.js" => (SCRIPT, include_str!("page/chart.js")),
        "/disc.js" => (SCRIPT, include_str!("page/disc.js")),
        "/formed.js" => (SCRIPT, include_str!("page/formed.js")),
        "/hand.js" => (SCRIPT, include_str!("page/hand.js")),
        "/open.js" => (SCRIPT, include_str!("page/open.js")),
        "/page.js" => (SCRIPT, include_str!("page/page.js")),
        "/saved.js" => (SCRIPT, include_str!("page/saved.js")),
        "/say.js" => (SCRIPT, include_str!("page/say.js")),
        "/search.js" => (SCRIPT, include_str!("page/search.js")),
        "/settings.js" => (SCRIPT, include_str!("page/settings.js")),
        "/smooth.js" => (SCRIPT, include_str!("page/smooth.js")),
        "/state.js" => (SCRIPT, include_str!("page/state.js")),
        "/table.js" => (SCRIPT, include_str!("page/table.js")),
        "/units.js" => (SCRIPT, include_str!("page/units.js")),
        "/verdict.js" => (SCRIPT, include_str!("page/verdict.js")),
        "/wall.js" => (SCRIPT, include_str!("page/wall.js")),
        "/wire.js" => (SCRIPT, include_str!("page/wire.js")),
        "/solid.js" => (SCRIPT, SOLID_SCRIPT),
        _ => return None,
    };
    Some(Asset { kind, text })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_else_is_served() {
        for path in [
            "",
            "/..",
            "/../Cargo.toml",
            "//",
            "/page.css/",
            "/%2e%2e/etc/passwd",
            "/PAGE.CSS",
            "/index.html",
        ] {
            assert_eq!(asset(path), None, "{path}");
        }
    }

    #[test]
    fn the_glossary_has_every_term_and_its_pictures() {
        let page = asset("/glossary.html").unwrap().text;
        assert_eq!(page.matches("<dt ").count(), GLOSSARY.matches("- **").count());
        assert!(page.contains("</svg></dd>") && !page.contains("{{"), "{page}");
    }

    #[test]
    fn the_page_loads_only_what_there_is_and_nothing_inline() {
        let page = asset("/").unwrap().text;
        let mut linked = 0;
        for quoted in page.split("href=\"").skip(1).chain(page.split("src=\"").skip(1)) {
            let path = quoted.split('"').next().unwrap();
            if path.starts_with('/') {
                assert!(asset(path).is_some(), "{path}");
                linked += 1;
            }
        }
        assert!(linked >= 3);
        // the policy forbids both
        for page in [page, asset("/glossary.html").unwrap().text] {
            assert!(!page.contains("<style") && !page.contains(" style=\"") && !page.contains(" onclick"));
        }
        let modules = [
            "/assembly.js",
            "/chart.js",
            "/formed.js",
            "/hand.js",
            "/open.js",
            "/page.js",
            "/saved.js",
            "/search.js",
            "/state.js",
            "/table.js",
            "/verdict.js",
            "/wall.js",
            "/wire.js",
        ];
        for path in modules {
            for import in asset(path).unwrap().text.split("from \"").skip(1) {
                let name = import.split('"').next().unwrap();
                assert!(asset(name.trim_start_matches('.')).is_some(), "{path} imports {name}");
            }
        }
    }
}
