//! Pages, set from facts.

use minijinja::syntax::SyntaxConfig;
use minijinja::value::{Serde, Value};
use minijinja::{AutoEscape, Environment, Error};
use serde::Serialize;

use super::digest::source_hash;
use super::facts::Facts;

const REPORT: &str = include_str!("report.html");
const ASSEMBLED: &str = include_str!("assembled.html");
const UNANSWERED: &str = include_str!("unanswered.html");
const STYLE: &str = include_str!("report.css");
const SCRIPT: &str = include_str!("report.js");

#[derive(Serialize)]
struct Page<'a, F> {
    policy: String,
    style: &'a str,
    script: &'a str,
    program: String,
    facts: &'a F,
}

/// The report's page.
pub(super) fn set(facts: &Facts) -> Result<String, Error> {
    render(REPORT, SCRIPT, facts)
}

/// The page of an assembly.
pub(super) fn set_assembly<F: Serialize>(facts: &F) -> Result<String, Error> {
    render(ASSEMBLED, "", facts)
}

/// The page of a question without an answer.
pub(super) fn set_unanswered<F: Serialize>(facts: &F) -> Result<String, Error> {
    render(UNANSWERED, "", facts)
}

fn render<F: Serialize>(template: &str, script: &str, facts: &F) -> Result<String, Error> {
    // nothing but this very style and script: no request leaves the page
    let scripts = if script.is_empty() { "'none'".to_owned() } else { source_hash(script) };
    let policy = format!(
        "default-src 'none'; style-src {}; script-src {scripts}; base-uri 'none'; form-action 'none'",
        source_hash(STYLE)
    );
    let mut environment = Environment::new();
    environment.set_auto_escape_callback(|_| AutoEscape::Html);
    environment.set_syntax(SyntaxConfig::builder().trim_blocks(true).lstrip_blocks(true).build()?);
    environment.add_template("page", template)?;
    let program = format!("flatspire {}", env!("CARGO_PKG_VERSION"));
    let page = Page { policy, style: STYLE, script, program, facts };
    environment.get_template("page")?.render(Value::from(Serde(&page)))
}
