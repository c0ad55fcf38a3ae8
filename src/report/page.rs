//! Pages, set from facts.

use minijinja::syntax::SyntaxConfig;
use minijinja::value::{Serde, Value};
use minijinja::{AutoEscape, Environment, Error, ErrorKind};
use serde::Serialize;

use super::digest::source_hash;
use super::facts::Facts;
use crate::numeric::{Units, in_units};
use crate::plot::SOLID_SCRIPT;

const REPORT: &str = concat!(include_str!("macros.html"), include_str!("report.html"));
const ASSEMBLED: &str = concat!(include_str!("macros.html"), include_str!("assembled.html"));
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
pub(super) fn set(facts: &Facts, units: Units) -> Result<String, Error> {
    // one script without modules: its exports are visible to the rest of the page
    let script = format!("{}\n{SCRIPT}", SOLID_SCRIPT.replace("export ", ""));
    render(REPORT, &script, facts, units)
}

/// The page of an assembly.
pub(super) fn set_assembly<F: Serialize>(facts: &F, units: Units) -> Result<String, Error> {
    render(ASSEMBLED, "", facts, units)
}

/// The page of a question without an answer.
pub(super) fn set_unanswered<F: Serialize>(facts: &F, units: Units) -> Result<String, Error> {
    render(UNANSWERED, "", facts, units)
}

/// Facts that are not sentences: drawings, data of the page, the spring file.
const NOT_TOLD: [&str; 3] = ["svg", "data", "file"];

/// Every sentence of the facts in the reader's units.
fn converted(facts: &mut serde_json::Value, units: Units) {
    match facts {
        serde_json::Value::String(text) => *text = in_units(text, units),
        serde_json::Value::Array(items) => items.iter_mut().for_each(|item| converted(item, units)),
        serde_json::Value::Object(fields) => {
            let sentences = fields.iter_mut().filter(|(key, _)| !NOT_TOLD.contains(&key.as_str()));
            sentences.for_each(|(_, field)| converted(field, units));
        }
        _ => {}
    }
}

fn render<F: Serialize>(template: &str, script: &str, facts: &F, units: Units) -> Result<String, Error> {
    let mut facts = serde_json::to_value(facts)
        .map_err(|source| Error::new(ErrorKind::BadSerialization, source.to_string()))?;
    converted(&mut facts, units);
    let facts = &facts;
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
