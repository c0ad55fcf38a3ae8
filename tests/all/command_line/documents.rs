//! README and guide: every command runs, and every line quoted is what the program says now.

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use tempfile::TempDir;

use super::{code, desk, err, json, out, root, run};

/// Largest difference between a number quoted and the number said now, as a share of it.
const QUOTE_SHARE: f64 = 0.03;
/// The same in the number's own unit: what is small is printed with few digits.
const QUOTE_STEP: f64 = 0.02;
/// Largest picture (bytes).
const LARGEST_PICTURE: u64 = 100_000;

/// A block of a document.
enum Block {
    /// commands to type, with the exit code each ends with
    Commands(Vec<(String, i32)>),
    /// lines that the commands above print, or that stand in a file
    Quote { file: Option<String>, lines: Vec<String> },
}

/// The commands and quotes of a document, in their order: `sh` blocks, and `text` blocks, which may name a file.
fn blocks(document: &str) -> Vec<Block> {
    let text = fs::read_to_string(root().join(document)).unwrap();
    let mut blocks = Vec::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        let Some(kind) = line.strip_prefix("```") else { continue };
        let inside: Vec<String> =
            lines.by_ref().take_while(|line| !line.starts_with("```")).map(str::to_owned).collect();
        if kind == "sh" {
            let commands = inside.iter().filter_map(|line| command(line)).collect();
            blocks.push(Block::Commands(commands));
        } else if let Some(file) = kind.strip_prefix("text") {
            let file = Some(file.trim().to_owned()).filter(|file| !file.is_empty());
            blocks.push(Block::Quote { file, lines: inside });
        }
    }
    blocks
}

/// A line as `flatspire …`, and its exit code: the comment may name one.
fn command(line: &str) -> Option<(String, i32)> {
    let line = line.replace("cargo run --release -- ", "flatspire ");
    let (line, comment) = line.split_once(" # ").unwrap_or((&line, ""));
    let code = comment.rsplit_once("exit code ").map_or(0, |(_, code)| code.trim().parse().unwrap());
    line.starts_with("flatspire ").then(|| (line.trim().to_owned(), code))
}

fn commands(document: &str) -> Vec<String> {
    let typed = blocks(document).into_iter().filter_map(|block| match block {
        Block::Commands(commands) => Some(commands),
        Block::Quote { .. } => None,
    });
    typed.flatten().map(|(line, _)| line).collect()
}

/// A folder in which commands are typed, and what each said. What both documents show is run once.
struct Bench {
    folder: TempDir,
    path: String,
    said: BTreeMap<String, String>,
}

impl Bench {
    fn new() -> Self {
        let binary = PathBuf::from(env!("CARGO_BIN_EXE_flatspire"));
        let path = format!("{}:{}", binary.parent().unwrap().display(), std::env::var("PATH").unwrap());
        Self { folder: desk(), path, said: BTreeMap::new() }
    }

    fn run(&mut self, line: &str, expected: i32) -> String {
        if let Some(said) = self.said.get(line) {
            return said.clone();
        }
        let said = if line.starts_with("flatspire serve") {
            runs_until_it_is_stopped(line, self.folder.path(), &self.path)
        } else {
            let output = Command::new("sh")
                .args(["-c", line])
                .current_dir(self.folder.path())
                .env("PATH", &self.path)
                .output()
                .unwrap();
            assert_eq!(code(&output), expected, "{line}\n{}{}", out(&output), err(&output));
            out(&output) + &err(&output)
        };
        self.said.insert(line.to_owned(), said.clone());
        said
    }

    /// Runs all commands of a document; every quote has to be in what was said just before, or in its file.
    fn follow(&mut self, document: &str) {
        let (mut said, mut missing) = (String::new(), Vec::new());
        for block in blocks(document) {
            match block {
                Block::Commands(commands) => {
                    said = commands.iter().map(|(line, code)| self.run(line, *code)).collect();
                }
                Block::Quote { file, lines } => {
                    let there = file.map_or_else(
                        || said.clone(),
                        |file| fs::read_to_string(self.folder.path().join(file)).unwrap(),
                    );
                    for line in lines {
                        if !there.lines().any(|other| says(other, &line)) {
                            missing.push(format!("{document} quotes {line:?}; there is now:\n{there}"));
                        }
                    }
                }
            }
        }
        assert!(missing.is_empty(), "{}", missing.join("\n"));
    }

    fn number(&self, file: &str, pointer: &str) -> f64 {
        let value = json(&fs::read_to_string(self.folder.path().join(file)).unwrap());
        value.pointer(pointer).and_then(serde_json::Value::as_f64).unwrap()
    }
}

/// Whether a line says what is quoted: the same words, numbers nearly the same. After `…` the quote leaves out the rest.
fn says(line: &str, quote: &str) -> bool {
    let line = line.trim().trim_start_matches("warning: ").trim_start_matches("note: ");
    let words = |text: &str| -> Vec<String> {
        text.split([' ', ',']).filter(|word| !word.is_empty()).map(str::to_owned).collect()
    };
    let (said, mut quoted) = (words(line), words(quote));
    let open = quoted.last().is_some_and(|word| word == "…");
    if open {
        quoted.pop();
    }
    (said.len() == quoted.len() || open && said.len() > quoted.len())
        && said.iter().zip(&quoted).all(|(said, quoted)| same(said, quoted))
}

/// Whether two words are the same, or numbers that are nearly the same with the same signs round them.
fn same(said: &str, quoted: &str) -> bool {
    let number = |word: &str| word.trim_matches(['(', ')', ';', ':', '±']).parse::<f64>().ok();
    said == quoted
        || number(said)
            .zip(number(quoted))
            .is_some_and(|(said, quoted)| (said - quoted).abs() <= QUOTE_SHARE * said.abs() + QUOTE_STEP)
}

#[test]
fn the_readme_shows_every_command() {
    let folder = desk();
    let help = out(&run(folder.path(), &["--help"]));
    let listed: Vec<&str> = help
        .lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| !line.is_empty())
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .collect();
    assert!(listed.len() >= 6, "{help}");
    let shown = commands("README.md");
    for name in listed {
        let shown = shown.iter().any(|line| {
            line.starts_with(&format!("flatspire {name} ")) || *line == format!("flatspire {name}")
        });
        assert!(shown, "the README shows no example of {name}");
        let help = out(&run(folder.path(), &[name, "--help"]));
        assert!(help.contains("Example") && help.contains(&format!("flatspire {name}")), "{help}");
        let page = out(&run(folder.path(), &["manual", name]));
        assert!(page.contains(".SH EXAMPLE") && page.contains(".SH CAUTIONS"), "{page}");
    }
}

#[test]
#[cfg(unix)]
fn readme_and_guide_can_be_followed() {
    let mut bench = Bench::new();
    bench.follow("README.md");
    bench.follow("data/guide/README.md");
    // what the guide says without quoting it
    assert!(bench.number("clutch-spring/summary.json", "/former_gain/cone/rms_percent") > 3.0);
    assert!(bench.number("clutch-spring/summary.json", "/former_gain/profile/rms_percent") < 3.0);
    assert!(bench.number("handbrake-try/summary.json", "/assembly/discs") > 1.5);
    let width = |file| bench.number(file, "/spring/arm/width/0");
    assert!((width("second-cut/summary.json") - 1.99).abs() < 0.05, "width at the hub of the second cut");
}

#[test]
fn a_stale_quote_is_noticed() {
    let said = "curve met             yes: 0.47 % rms, 1.05 % at most, 3 % asked";
    assert!(says(said, "curve met   yes: 0.48 % rms, 1.04 % at most, 3 % asked"));
    assert!(says(said, "curve met   yes: 0.47 % rms, …"));
    assert!(says(&format!("warning: {said}"), said));
    for stale in [
        "curve met   yes: 0.57 % rms, 1.05 % at most, 3 % asked",
        "curve met   NO: 0.47 % rms, 1.05 % at most, 3 % asked",
        "curve met   yes: 0.47 % rms",
        "curve met   NO: …",
    ] {
        assert!(!says(said, stale), "{stale}");
    }
}

#[test]
fn links_of_readme_and_guide_exist() {
    for document in ["README.md", "DEVELOPERS.md", "data/guide/README.md"] {
        let path = root().join(document);
        let text = fs::read_to_string(&path).unwrap();
        let starts =
            ["](", "src=\""].map(|mark| text.match_indices(mark).map(move |(at, _)| at + mark.len()));
        for start in starts.into_iter().flatten() {
            let rest = &text[start..];
            let link = rest.split([')', '"']).next().unwrap();
            if link.starts_with("http") {
                continue;
            }
            let (file, heading) = link.split_once('#').unwrap_or((link, ""));
            let file = if file.is_empty() { path.clone() } else { path.parent().unwrap().join(file) };
            let found = fs::metadata(&file).unwrap_or_else(|error| panic!("{document}: {link}: {error}"));
            if file.extension().is_some_and(|kind| kind == "svg" || kind == "png") {
                assert!(found.len() <= LARGEST_PICTURE, "{link} has {} bytes", found.len());
            }
            assert!(heading.is_empty() || has_heading(&file, heading), "{document}: no heading for {link}");
        }
    }
}

/// Whether a document has a heading that a link names: lower case, hyphens for spaces, nothing else.
fn has_heading(document: &Path, link: &str) -> bool {
    fs::read_to_string(document).unwrap().lines().filter(|line| line.starts_with('#')).any(|line| {
        let name: String = line
            .trim_start_matches('#')
            .trim()
            .to_lowercase()
            .chars()
            .filter(|c| c.is_alphanumeric() || *c == ' ' || *c == '-')
            .map(|c| if c == ' ' { '-' } else { c })
            .collect();
        name == link
    })
}

/// A command that serves until it is stopped: it says where, answers there, and goes on. The port is any free one.
fn runs_until_it_is_stopped(line: &str, folder: &Path, path: &str) -> String {
    let mut child = Command::new("sh")
        .args(["-c", &format!("exec {line} --port 0")])
        .current_dir(folder)
        .env("PATH", path)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut said = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut said).unwrap();
    let address = said.split("http://").nth(1).and_then(|rest| rest.split('/').next()).unwrap_or_default();
    let answered = TcpStream::connect(address).and_then(|mut stream| {
        stream.write_all(format!("GET / HTTP/1.1\r\nHost: {address}\r\n\r\n").as_bytes())?;
        let mut answer = String::new();
        stream.read_to_string(&mut answer).map(|_| answer)
    });
    let goes_on = child.try_wait().unwrap().is_none();
    child.kill().unwrap();
    child.wait().unwrap();
    assert!(answered.unwrap().starts_with("HTTP/1.1 200"), "{line}: {said}");
    assert!(goes_on, "{line} ended by itself");
    said
}
