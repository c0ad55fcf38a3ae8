//! Properties of every command on random legal input, and of the commands between them: no panic, no number that is none,
//! exit codes, JSON, drawings that other readers read, one answer to one question, the same bytes with one thread and two
//! and in another language and time zone, and an end in time. Everything goes through the binary.
//!
//! Forty cases; three hundred of them with `FLATSPIRE_NIGHT` set. The seeds are fixed.

mod agreement;
mod cases;

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use serde_json::Value;
use tempfile::TempDir;

/// Longest that one command may take on these inputs. It takes seconds; this much on a busy machine is a hang.
const LONGEST: Duration = Duration::from_mins(2);

/// Surroundings of a run: folder, threads, language, time zone.
const SURROUNDINGS: [(&str, &str, &str, &str); 2] =
    [("one", "1", "C", "UTC"), ("two", "2", "tr_TR.UTF-8", "Pacific/Chatham")];

/// Tenths of the cases of a kind.
fn count(tenths: u64) -> u64 {
    let all = if std::env::var_os("FLATSPIRE_NIGHT").is_some() { 300 } else { 40 };
    all * tenths / 10
}

/// The same files in two folders, for the same commands in two surroundings.
struct Bench {
    folder: TempDir,
    /// what is tried, for messages
    name: String,
}

/// End of a command, the same in both surroundings.
struct Said {
    code: i32,
    out: String,
    err: String,
    command: String,
}

impl Bench {
    fn with(name: String, files: &[(String, String)]) -> Self {
        let bench = Self { folder: TempDir::new().unwrap(), name };
        for (folder, ..) in SURROUNDINGS {
            for (file, text) in files {
                let path = bench.folder.path().join(folder).join(file);
                fs::create_dir_all(path.parent().unwrap()).unwrap();
                fs::write(path, text).unwrap();
            }
        }
        bench
    }

    /// Writes a file that later commands read.
    fn add(&self, file: &str, text: &str) {
        for (folder, ..) in SURROUNDINGS {
            fs::write(self.folder.path().join(folder).join(file), text).unwrap();
        }
    }

    fn path(&self, file: &str) -> PathBuf {
        self.folder.path().join(SURROUNDINGS[0].0).join(file)
    }

    fn text(&self, file: &str) -> String {
        fs::read_to_string(self.path(file)).unwrap_or_else(|error| panic!("{}: {file}: {error}", self.name))
    }

    /// Runs a command in the first surroundings alone.
    fn run_once(&self, arguments: &str) -> Said {
        let said = self.run_in(arguments, SURROUNDINGS[0]);
        Self::assert_sound(&said);
        said
    }

    fn run_in(&self, arguments: &str, (folder, threads, locale, zone): (&str, &str, &str, &str)) -> Said {
        let mut command = Command::new(env!("CARGO_BIN_EXE_flatspire"));
        command.current_dir(self.folder.path().join(folder)).args(arguments.split(' ')).stdin(Stdio::null());
        command.env("RAYON_NUM_THREADS", threads).env("TZ", zone).env("LANG", locale).env("LC_ALL", locale);
        self.ended(command, arguments, folder)
    }

    /// Runs a command in both surroundings.
    fn run(&self, arguments: &str) -> Said {
        let [said, other] = SURROUNDINGS.map(|surroundings| self.run_in(arguments, surroundings));
        assert_eq!(said.code, other.code, "{}: {arguments}: {}", self.name, other.err);
        assert_eq!(said.out, other.out, "{}: {arguments}", self.name);
        assert_eq!(said.err, other.err, "{}: {arguments}", self.name);
        Self::assert_sound(&said);
        said
    }

    fn ended(&self, mut command: Command, arguments: &str, folder: &str) -> Said {
        let file = |end: &str| self.folder.path().join(format!("{folder}.{end}"));
        command.stdout(File::create(file("out")).unwrap()).stderr(File::create(file("err")).unwrap());
        let began = Instant::now();
        let mut child = command.spawn().unwrap();
        let status = loop {
            if let Some(status) = child.try_wait().unwrap() {
                break status;
            }
            if began.elapsed() > LONGEST {
                child.kill().unwrap();
                child.wait().unwrap();
                panic!("{}: {arguments}: no end after {LONGEST:?}", self.name);
            }
            sleep(Duration::from_millis(2));
        };
        let said = |end| fs::read_to_string(file(end)).unwrap();
        let (out, err) = (said("out"), said("err"));
        Said { code: status.code().unwrap_or(-1), out, err, command: format!("{}: {arguments}", self.name) }
    }

    /// A documented exit code, a message that helps, words and numbers without a fault.
    fn assert_sound(said: &Said) {
        assert!([0, 2, 3].contains(&said.code), "{}: code {}: {}", said.command, said.code, said.err);
        assert!(!said.err.contains("panicked"), "{}: {}", said.command, said.err);
        if said.code == 2 {
            let last = said.err.lines().last().unwrap_or_default();
            assert!(last.starts_with("error: ") && last.contains([';', ':']), "{}: {last}", said.command);
        }
        for text in [&said.out, &said.err] {
            assert_numbers(text, &said.command);
        }
        if said.command.ends_with("--json") {
            let value = said.json();
            assert_eq!(value.get("error").is_some(), said.code == 2, "{}: {value}", said.command);
        }
    }

    /// Both folders hold the same files with the same bytes, tables without a fault among them.
    fn assert_same_files(&self) {
        let [one, two] = SURROUNDINGS.map(|(folder, ..)| content(&self.folder.path().join(folder)));
        assert!(one.keys().eq(two.keys()), "{}: {:?} and {:?}", self.name, one.keys(), two.keys());
        for (name, bytes) in &one {
            assert!(two[name] == *bytes, "{}: {name} differs with threads, language or time zone", self.name);
            if let Some(".csv" | ".svg" | ".toml" | ".txt" | ".dxf" | ".json") =
                name.rfind('.').map(|at| &name[at..])
            {
                let place = format!("{}: {name}", self.name);
                assert_numbers(std::str::from_utf8(bytes).unwrap(), &place);
            }
        }
    }
}

impl Drop for Bench {
    fn drop(&mut self) {
        if std::thread::panicking() {
            self.folder.disable_cleanup(true);
            println!("{}: its files are kept in {}", self.name, self.folder.path().display());
        }
    }
}

impl Said {
    fn json(&self) -> Value {
        serde_json::from_str(&self.out)
            .unwrap_or_else(|error| panic!("{}: {error}: {}", self.command, self.out))
    }

    /// Whether there is an answer, whatever its verdicts; a refusal is told.
    fn answered(&self) -> bool {
        if self.code == 2 {
            println!("{}: {}", self.command, self.err.lines().last().unwrap_or_default());
        }
        self.code != 2
    }
}

/// No number that is none, no zero with a sign.
#[track_caller]
fn assert_numbers(text: &str, place: &str) {
    let words = text.split(|c: char| !(c.is_alphanumeric() || matches!(c, '.' | '-' | '+')));
    for word in words {
        let bare = word.trim_start_matches(['-', '+']).trim_end_matches('.');
        let none = ["nan", "inf", "infinity"].iter().any(|wrong| bare.eq_ignore_ascii_case(wrong));
        let signed_zero = word.starts_with("-0") && word.parse::<f64>() == Ok(0.0);
        assert!(!none && !signed_zero, "{place}: {word:?} in: {}", around(text, word));
    }
}

/// The line of a text that holds a word.
fn around<'a>(text: &'a str, word: &str) -> &'a str {
    let line = text.lines().find(|line| line.contains(word)).unwrap_or_default();
    line.get(..300).unwrap_or(line)
}

/// All files below a folder.
fn content(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        if path.is_dir() {
            found.extend(content(&path).into_iter().map(|(file, bytes)| (format!("{name}/{file}"), bytes)));
        } else {
            found.insert(name, fs::read(&path).unwrap());
        }
    }
    found
}

/// Columns of a table by their names, every cell a finite number.
fn table(text: &str, place: &str) -> BTreeMap<String, Vec<f64>> {
    let mut lines = text.lines();
    let names: Vec<&str> = lines.next().unwrap_or_default().split(',').collect();
    let mut columns: BTreeMap<String, Vec<f64>> =
        names.iter().map(|name| ((*name).to_owned(), Vec::new())).collect();
    for line in lines {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells.len(), names.len(), "{place}: {line}");
        for (name, cell) in names.iter().zip(cells) {
            let value: f64 = cell.parse().unwrap_or_else(|error| panic!("{place}: {cell:?}: {error}"));
            assert!(value.is_finite(), "{place}: {line}");
            columns.get_mut(*name).unwrap().push(value);
        }
    }
    columns
}

/// A list of numbers in JSON.
fn numbers(value: &Value, pointer: &str) -> Vec<f64> {
    let list = value.pointer(pointer).and_then(Value::as_array);
    let list = list.unwrap_or_else(|| panic!("{pointer}: no list in {value}"));
    list.iter().map(|value| value.as_f64().unwrap_or_else(|| panic!("{pointer}: {value}"))).collect()
}

fn number(value: &Value, pointer: &str) -> f64 {
    value
        .pointer(pointer)
        .and_then(Value::as_f64)
        .unwrap_or_else(|| panic!("{pointer}: no number in {value}"))
}
