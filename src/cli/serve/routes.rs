//! Answers to requests.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use serde::Deserialize;

use super::connection::{Answer, Request};
use super::searches::Searches;
use crate::cli::arguments::ShownUnits;
use crate::live::{
    Asked, AssemblyGiven, Depth, DraftAsked, LiveError, Opened, RivalsAsked, SavedState, TakenAsked, asset,
    parse,
};
use crate::spec::SpringFile;

/// Pages whose last request is remembered.
const MOST_TABS: usize = 64;
/// Longest name a page may give itself, or a curve file.
const LONGEST_NAME: usize = 80;

/// State shared by all connections.
pub struct Shared {
    /// the opening, as JSON
    pub opening: Vec<u8>,
    /// searches of the stock
    pub searches: Searches,
    latest: Mutex<VecDeque<Page>>,
    fine: Mutex<()>,
}

/// A page that has asked for drafts.
struct Page {
    tab: String,
    /// the largest number it has asked with
    newest: u64,
    /// held by the quick draft that is being made for it
    turn: Arc<Mutex<()>>,
}

/// Request of a search.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SearchAsked {
    tab: String,
    asked: Asked,
}

/// Request for the state of a search.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Tab {
    tab: String,
}

/// Files of the spring on the page that are asked for.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PackageAsked {
    asked: Asked,
    /// the spring; left out, the best one that a search found
    #[serde(default)]
    spring: Option<SpringFile>,
    units: ShownUnits,
    /// name of the folder in the archive
    #[serde(default)]
    name: String,
    /// one file of the package instead of all of them
    #[serde(default)]
    file: Option<String>,
}

/// An assembly that is asked for.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AssemblyAsked {
    given: AssemblyGiven,
    units: ShownUnits,
    /// whether its files are wanted instead of a look at it
    #[serde(default)]
    files: bool,
}

impl Shared {
    /// With an opening.
    pub fn new(opening: Vec<u8>) -> Self {
        Self { opening, searches: Searches::default(), latest: Mutex::default(), fine: Mutex::default() }
    }

    /// Answers a request that was let in.
    pub fn answer(&self, request: &Request) -> Answer {
        let path = request.head.path.as_str();
        if request.head.method != "POST" {
            return match asset(path) {
                Some(asset) => Answer::of(asset.kind, asset.text),
                None if path == "/opening" => Answer::of("application/json", self.opening.clone()),
                None => Answer::message(404, "there is no such page"),
            };
        }
        let answered = match path {
            "/draft" => self.draft(&request.body),
            "/open" => open(request),
            "/check" => SavedState::parse(&request.body)
                .and_then(|state| state.check())
                .map(|()| Answer::json(&serde_json::json!({}))),
            "/look" => {
                // slow, as fine drafts are
                let _turn = self.fine.lock().unwrap_or_else(PoisonError::into_inner);
                TakenAsked::parse(&request.body)
                    .and_then(|asked| asked.picture())
                    .map(|picture| Answer::json(&picture))
            }
            "/assembly" => self.assembly(&request.body),
            "/search" => self.search(&request.body),
            "/search/look" => parse(&request.body).map(|Tab { tab }| Answer::json(&self.searches.look(&tab))),
            "/search/stop" => parse(&request.body).map(|Tab { tab }| {
                self.searches.stop(&tab);
                Answer::json(&serde_json::json!({}))
            }),
            "/compare" => {
                // slow and rare, as fine drafts are
                let _turn = self.fine.lock().unwrap_or_else(PoisonError::into_inner);
                RivalsAsked::parse(&request.body)
                    .and_then(|asked| asked.rivals())
                    .map(|rivals| Answer::json(&rivals))
            }
            "/package" => self.package(&request.body),
            "/question" => Asked::parse(&request.body)
                .and_then(|asked| asked.as_files())
                .map(|bytes| archive(bytes, "question.zip")),
            _ => Ok(Answer::message(404, "there is no such page")),
        };
        answered.unwrap_or_else(|error| {
            let status = if matches!(error, LiveError::Request { .. }) { 400 } else { 422 };
            Answer::message(status, &error.to_string())
        })
    }

    /// A draft, unless the page has asked for a newer one meanwhile.
    fn draft(&self, body: &[u8]) -> Result<Answer, LiveError> {
        let asked = DraftAsked::parse(body)?;
        let newest = self.note(&asked.tab, asked.number);
        let own = self.turn(&asked.tab);
        // one quick draft of a page at a time, and a slow one, or another page, never in its way
        let turn = if asked.depth == Depth::Quick { &own } else { &self.fine };
        let _turn = turn.lock().unwrap_or_else(PoisonError::into_inner);
        if newest > asked.number || self.note(&asked.tab, asked.number) > asked.number {
            // out of date: no answer needed
            return Ok(nothing());
        }
        let late = || self.note(&asked.tab, asked.number) > asked.number;
        match asked.picture(&late) {
            Err(LiveError::Late) => Ok(nothing()),
            answered => answered.map(|picture| Answer::json(&picture)),
        }
    }

    /// The newest number of a page, this one counted.
    fn note(&self, tab: &str, number: u64) -> u64 {
        let mut latest = self.latest.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(page) = latest.iter_mut().find(|page| page.tab == tab) {
            page.newest = page.newest.max(number);
            return page.newest;
        }
        if latest.len() == MOST_TABS {
            latest.pop_front();
        }
        let tab = tab.chars().take(LONGEST_NAME).collect();
        latest.push_back(Page { tab, newest: number, turn: Arc::default() });
        number
    }

    /// The lock on a page's quick drafts.
    fn turn(&self, tab: &str) -> Arc<Mutex<()>> {
        let latest = self.latest.lock().unwrap_or_else(PoisonError::into_inner);
        latest.iter().find(|page| page.tab == tab).map(|page| Arc::clone(&page.turn)).unwrap_or_default()
    }

    fn search(&self, body: &[u8]) -> Result<Answer, LiveError> {
        let SearchAsked { tab, asked } = parse(body)?;
        // an invalid question is refused at once
        asked.question()?;
        Ok(match self.searches.start(&tab, &asked) {
            Ok(standing) => Answer::json(&standing),
            Err(super::searches::Busy) => Answer::message(
                503,
                "two searches are running already in other pages; stop one of them or wait for it",
            ),
        })
    }

    /// An assembly to show, or the files of its discs.
    fn assembly(&self, body: &[u8]) -> Result<Answer, LiveError> {
        let AssemblyAsked { given, units, files } = parse(body)?;
        let _turn = self.fine.lock().unwrap_or_else(PoisonError::into_inner);
        if files {
            return Ok(archive(given.files(units.into())?, "assembly.zip"));
        }
        given.shown(units.into()).map(|shown| Answer::json(&shown))
    }

    /// The package of the spring on the page, or one file of it.
    fn package(&self, body: &[u8]) -> Result<Answer, LiveError> {
        let PackageAsked { asked, spring, units, name, file } = parse(body)?;
        // slow and rare, as fine drafts are
        let _turn = self.fine.lock().unwrap_or_else(PoisonError::into_inner);
        let answer = self.searches.answer(&asked);
        let taken = match (spring, answer) {
            (Some(spring), answer) => {
                let wanted = TakenAsked { asked, spring };
                match answer.as_ref().and_then(|answer| Some((answer, wanted.place(answer)?))) {
                    Some((answer, place)) => TakenAsked::found(answer, place, units.into())?,
                    None => wanted.as_it_stands(units.into())?,
                }
            }
            (None, Some(answer)) => TakenAsked::found(&answer, 1, units.into())?,
            (None, None) => {
                return Ok(Answer::message(
                    409,
                    "the stock was not searched for this curve and these settings yet",
                ));
            }
        };
        let Some(file) = file else { return Ok(archive(taken.archive(&name)?, "spring.zip")) };
        Ok(if let Some(bytes) = taken.file(&file) {
            Answer { file: Some("spring"), ..Answer::of("application/octet-stream", bytes) }
        } else {
            let name: String = file.chars().filter(|c| !c.is_control()).take(LONGEST_NAME).collect();
            Answer::message(422, &format!("the package of this spring holds no {name}"))
        })
    }
}

/// The answer to a request that is out of date.
fn nothing() -> Answer {
    Answer { status: 204, ..Answer::of("application/json", "") }
}

fn archive(bytes: Vec<u8>, name: &'static str) -> Answer {
    Answer { file: Some(name), ..Answer::of("application/zip", bytes) }
}

/// A dropped file, read as the commands read it.
fn open(request: &Request) -> Result<Answer, LiveError> {
    let name = request.query.as_deref().and_then(|query| query.strip_prefix("name=")).unwrap_or_default();
    let name = plain_name(name);
    let name = if name.is_empty() { "curve.csv" } else { &name };
    Opened::read(&request.body, name).map(|opened| Answer::json(&opened))
}

/// A percent-encoded name (RFC 3986, section 2.1) as it may stand in a message.
fn plain_name(encoded: &str) -> String {
    let bytes = encoded.as_bytes();
    let mut plain = Vec::new();
    let mut i = 0;
    while i < bytes.len() {
        let pair = encoded.get(i + 1..i + 3).and_then(|pair| u8::from_str_radix(pair, 16).ok());
        match (bytes[i], pair) {
            (b'%', Some(byte)) => {
                plain.push(byte);
                i += 3;
            }
            (byte, _) => {
                plain.push(byte);
                i += 1;
            }
        }
    }
    String::from_utf8_lossy(&plain).chars().filter(|c| !c.is_control()).take(LONGEST_NAME).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::Head;

    fn ask(shared: &Shared, path: &str, body: &str) -> (u16, String) {
        let (path, query) = path.split_once('?').map_or((path, None), |(p, q)| (p, Some(q.to_owned())));
        let head = Head { method: "POST".to_owned(), path: path.to_owned(), ..Head::default() };
        let answer = shared.answer(&Request { head, query, body: body.as_bytes().to_vec() });
        (answer.status, String::from_utf8_lossy(&answer.body).into_owned())
    }

    #[test]
    fn bodies_that_are_no_requests_are_answered_in_words() {
        let shared = Shared::new(Vec::new());
        let bodies = [
            "",
            "[]",
            "{",
            "{\"tab\":1}",
            "null",
            "{\"tab\":\"a\",\"x\":1}",
            "\u{0}\u{7f}",
            &"[".repeat(5000),
        ];
        for body in bodies {
            for path in [
                "/draft",
                "/search",
                "/search/look",
                "/search/stop",
                "/package",
                "/question",
                "/compare",
                "/look",
                "/check",
                "/assembly",
            ] {
                let (status, said) = ask(&shared, path, body);
                assert_eq!(status, 400, "{path} {body:?}: {said}");
                assert!(said.contains("not understood"), "{said}");
            }
            assert_eq!(ask(&shared, "/open", body).0, 422);
        }
        assert_eq!(ask(&shared, "/nothing", "{}").0, 404);
        assert_eq!(ask(&shared, "/", "{}").0, 404);
    }

    #[test]
    fn a_dropped_file_is_read_and_refused_as_on_the_command_line() {
        let shared = Shared::new(Vec::new());
        let (status, said) =
            ask(&shared, "/open?name=my%20pedal.csv", "travel_in;force_lbf\n0;0\n0,1;2\n0,2;5\n");
        assert_eq!(status, 200, "{said}");
        assert!(said.contains("2.54") && said.contains("force_n"), "{said}");
        let (status, said) = ask(&shared, "/open?name=my%20pedal.csv%0d%0a", "x,f\n0,0\n1,ten\n2,3\n");
        assert_eq!(status, 422);
        assert!(said.contains("my pedal.csv: row 3, column 2"), "{said}");
    }

    #[test]
    fn a_draft_that_comes_too_late_is_not_worked_on() {
        let shared = Shared::new(Vec::new());
        let curve = "{\"deflection_mm\":[0,1,2],\"force_n\":[0,1,1]}";
        let draft = |number: u64, curve: &str| {
            let body = format!("{{\"tab\":\"a\",\"number\":{number},\"asked\":{{\"curve\":{curve}}}}}");
            ask(&shared, "/draft", &body)
        };
        shared.note("a", 7);
        assert_eq!(draft(6, curve), (204, String::new()));
        // the newest one is worked on: here, as far as finding that it is no curve
        let (status, said) = draft(8, "{\"deflection_mm\":[0],\"force_n\":[0]}");
        assert_eq!(status, 422, "{said}");
        // another page's numbers are its own
        shared.note("b", 900);
        assert_eq!(shared.note("a", 9), 9);
    }

    #[test]
    fn pages_are_forgotten_in_time() {
        let shared = Shared::new(Vec::new());
        for k in 0..1000 {
            shared.note(&format!("{k}{}", "x".repeat(500)), 1);
        }
        let latest = shared.latest.lock().unwrap();
        assert!(latest.len() <= MOST_TABS && latest.iter().all(|page| page.tab.len() <= LONGEST_NAME));
    }

    #[test]
    fn names_are_plain() {
        assert_eq!(plain_name("a%20b%2fc.csv"), "a b/c.csv");
        assert_eq!(plain_name("100%"), "100%");
        assert_eq!(plain_name("%zz%0a"), "%zz");
        assert_eq!(plain_name(&"ä".repeat(500)).chars().count(), LONGEST_NAME);
    }
}
