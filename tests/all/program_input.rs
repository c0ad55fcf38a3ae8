//! One input for the whole program: a command line and the files it may read. The tests beside this file and the fuzz
//! target `program` in `tests/fuzz` make their runs from it.
//!
//! The first line is the command line without the program's name; a line `== NAME` begins a file. Only commands that end
//! by themselves are run, names stay within the folder of the run, and a search gets no time.

use std::path::Path;

/// Commands that are run.
const COMMANDS: [&str; 9] =
    ["design", "predict", "flat", "outline", "compare", "scatter", "correct", "stock", "manual"];
/// Commands that write into a folder of their own choice where none is named.
const WRITING: [&str; 2] = ["design", "outline"];
/// Most parts that `scatter` draws here.
const MOST_RUNS: usize = 200;

/// A command line and its files.
pub struct Input<'a> {
    arguments: Vec<&'a str>,
    files: Vec<(&'a str, &'a [u8])>,
}

impl<'a> Input<'a> {
    /// Reads an input; `None` where it is no command line that may be run.
    pub fn of(bytes: &'a [u8]) -> Option<Self> {
        let (head, mut rest) = line(bytes);
        let arguments: Vec<&str> = std::str::from_utf8(head).ok()?.split_whitespace().collect();
        if !COMMANDS.contains(arguments.first()?) || arguments.iter().any(|word| !harmless(word)) {
            return None;
        }
        let mut files: Vec<(&str, &[u8])> = Vec::new();
        while let Some(name) = line(rest).0.strip_prefix(b"== ") {
            let name =
                std::str::from_utf8(name).ok().filter(|name| harmless(name) && !name.starts_with('-'))?;
            let body = line(rest).1;
            let end = body.windows(4).position(|window| window == b"\n== ").map_or(body.len(), |at| at + 1);
            files.push((name, &body[..end]));
            rest = &body[end..];
        }
        Some(Self { arguments, files })
    }

    /// Writes the files into an empty folder; gives the command line, its program's name first, with the names of files
    /// in that folder.
    pub fn laid_out(&self, folder: &Path) -> std::io::Result<Vec<String>> {
        for (name, bytes) in &self.files {
            std::fs::write(folder.join(name), bytes)?;
        }
        let inside = |name: &str| folder.join(name).display().to_string();
        let mut line = vec!["flatspire".to_owned()];
        for (k, word) in self.arguments.iter().enumerate() {
            let file = self.files.iter().any(|(name, _)| name == word);
            let out = k > 0 && self.arguments[k - 1] == "--out";
            line.push(if file || out { inside(word) } else { (*word).to_owned() });
        }
        if WRITING.contains(&self.arguments[0]) && !self.arguments.contains(&"--out") {
            line.extend(["--out".to_owned(), inside("out")]);
        }
        if self.arguments[0] == "design" && !self.arguments.contains(&"--like") {
            line.extend(["--time-limit".to_owned(), "0".to_owned()]);
        }
        Ok(line)
    }
}

/// First line and what follows it.
fn line(bytes: &[u8]) -> (&[u8], &[u8]) {
    match bytes.iter().position(|byte| *byte == b'\n') {
        Some(end) => (&bytes[..end], &bytes[end + 1..]),
        None => (bytes, &[]),
    }
}

/// Whether a word names nothing outside the folder, no stream, and no large number of parts.
fn harmless(word: &str) -> bool {
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_' | '+' | '=');
    let counts = word.rsplit('=').next().and_then(|number| number.parse::<f64>().ok());
    !word.is_empty()
        && word != "-"
        && word.chars().all(plain)
        && !word.contains("..")
        && !word.starts_with("--out=")
        && !word.starts_with("--time-limit")
        && counts.is_none_or(|count| count <= MOST_RUNS as f64)
}
