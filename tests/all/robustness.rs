//! Whatever bytes come, every reader reads or refuses: no panic, no hang, a message that helps.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};

use super::program_input::Input;
use super::readers::READERS;

/// Changed files tried on each reader, and free ones.
const CHANGED: u32 = 300;
const FREE: u32 = 100;
/// Changed inputs of the whole program: a command takes longer than a reader.
const CHANGED_RUNS: u32 = 40;
/// Longest a reader may take for one small file. It takes milliseconds; this much on a busy machine is a hang.
const LONGEST: Duration = Duration::from_secs(10);
/// Largest file of a corpus (bytes): it is kept by hand.
const LARGEST: u64 = 20_000;

/// Pieces that readers stumble over.
const PIECES: [&str; 34] = [
    "",
    "0",
    "-0",
    "-1",
    "1",
    "1e308",
    "-1e308",
    "1e-320",
    "1e999",
    "nan",
    "NaN",
    "inf",
    "-inf",
    "99999999999999999999",
    "0.1",
    "3",
    "12",
    "13",
    "\"",
    "'",
    "[",
    "[[",
    "{",
    "#",
    ";",
    ",",
    "\t",
    "\r",
    "\n",
    "\r\n\r\n",
    "\u{feff}",
    "\u{0}",
    "ä",
    "=",
];

fn corpus() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus")
}

/// The kept files of a reader, ordered by name.
fn kept(reader: &str) -> Vec<(PathBuf, Vec<u8>)> {
    let mut paths: Vec<PathBuf> =
        fs::read_dir(corpus().join(reader)).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths.into_iter().map(|path| (path.clone(), fs::read(path).unwrap())).collect()
}

fn timed(read: fn(&[u8]), bytes: &[u8]) {
    let began = Instant::now();
    read(bytes);
    assert!(began.elapsed() < LONGEST, "{:?} for {:?}", began.elapsed(), String::from_utf8_lossy(bytes));
}

/// One change of a file, by numbers drawn.
fn change(bytes: &mut Vec<u8>, (kind, at, length, piece, byte): (u8, usize, usize, usize, u8)) {
    let at = at % (bytes.len() + 1);
    let to = (at + length).min(bytes.len());
    match kind {
        0 if at < bytes.len() => bytes[at] = byte,
        1 => drop(bytes.drain(at..to)),
        2 => {
            let again = bytes[at..to].to_vec();
            bytes.splice(at..at, again);
        }
        3 => drop(bytes.splice(at..at, PIECES[piece].bytes())),
        // a number for another: the most telling change
        _ => {
            let digit = |byte: &u8| byte.is_ascii_digit() || *byte == b'.';
            if let Some(from) = bytes[at..].iter().position(digit).map(|from| at + from) {
                let to =
                    bytes[from..].iter().position(|byte| !digit(byte)).map_or(bytes.len(), |to| from + to);
                bytes.splice(from..to, PIECES[piece].bytes());
            }
        }
    }
}

/// How many times as many cases are asked for, for a long look.
fn times() -> u32 {
    std::env::var("ROBUSTNESS_TIMES").ok().and_then(|text| text.parse().ok()).unwrap_or(1)
}

#[track_caller]
fn hold<S: Strategy>(cases: u32, strategy: &S, test: impl Fn(S::Value)) {
    let config =
        ProptestConfig { cases: cases * times(), failure_persistence: None, ..ProptestConfig::default() };
    // the same files every time; a search that goes on is the fuzz targets' work
    let mut runner = TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    let ran = runner.run(strategy, |value| {
        test(value);
        Ok(())
    });
    if let Err(error) = ran {
        panic!("{error}");
    }
}

/// Changed files of a corpus, free bytes and free pieces, for one reader.
fn robust(name: &str) {
    let read = READERS.iter().find(|(reader, _)| *reader == name).unwrap().1;
    let files = kept(name);
    let one = (0u8..8, any::<usize>(), 1usize..40, 0..PIECES.len(), any::<u8>());
    hold(CHANGED, &(0..files.len(), prop::collection::vec(one, 1..5)), |(file, changes)| {
        let mut bytes = files[file].1.clone();
        for one in changes {
            change(&mut bytes, one);
        }
        timed(read, &bytes);
    });
    hold(FREE, &prop::collection::vec(any::<u8>(), 0..300), |bytes| timed(read, &bytes));
    hold(FREE, &prop::collection::vec(0..PIECES.len(), 0..40), |pieces| {
        timed(read, pieces.into_iter().map(|piece| PIECES[piece]).collect::<String>().as_bytes());
    });
}

#[test]
fn any_curve_is_read_or_refused() {
    robust("curve");
}

#[test]
fn any_measured_curve_is_read_or_refused() {
    robust("measured");
}

#[test]
fn any_brief_is_read_or_refused() {
    robust("brief");
}

#[test]
fn any_spring_file_is_read_or_refused() {
    robust("spring");
}

#[test]
fn any_stations_file_is_read_or_refused() {
    robust("stations");
}

#[test]
fn any_heights_of_a_trial_are_read_or_refused() {
    robust("heights");
}

#[test]
fn any_drawing_is_read_or_refused() {
    robust("drawing");
}

#[test]
fn any_request_of_the_page_is_read_or_refused() {
    robust("request");
}

/// Corpus of the whole program.
const PROGRAM: &str = "program";

/// Runs the program on an input; the exit code where it is run.
fn run(bytes: &[u8]) -> Option<i32> {
    let input = Input::of(bytes)?;
    let folder = tempfile::tempdir().unwrap();
    let line = input.laid_out(folder.path()).unwrap();
    let began = Instant::now();
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_flatspire"))
        .args(&line[1..])
        .current_dir(folder.path())
        .stdin(std::process::Stdio::null())
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(matches!(output.status.code(), Some(0..=3)), "{line:?}: {:?}: {said}", output.status);
    assert!(!said.contains("panicked"), "{line:?}: {said}");
    assert!(began.elapsed() < 3 * LONGEST, "{line:?}: {:?}", began.elapsed());
    output.status.code()
}

#[test]
fn any_input_of_the_whole_program_is_answered_or_refused() {
    let files = kept(PROGRAM);
    assert!(files.len() >= 8, "{} files", files.len());
    let mut codes = Vec::new();
    for (path, bytes) in &files {
        assert!(bytes.len() as u64 <= LARGEST, "{} is too large", path.display());
        let code = run(bytes).unwrap_or_else(|| panic!("{} is not run", path.display()));
        println!("{}: {code}", path.display());
        codes.push(code);
    }
    // answers and refusals of every kind are kept
    assert!((0..=3).all(|code| codes.contains(&code)), "{codes:?}");
    let one = (0u8..8, any::<usize>(), 1usize..40, 0..PIECES.len(), any::<u8>());
    hold(CHANGED_RUNS, &(0..files.len(), prop::collection::vec(one, 1..5)), |(file, changes)| {
        let mut bytes = files[file].1.clone();
        // the command line stays, or nothing would be run most of the time
        let head = bytes.iter().position(|byte| *byte == b'\n').unwrap() + 1;
        let mut body = bytes.split_off(head);
        for one in changes {
            change(&mut body, one);
        }
        bytes.extend(body);
        run(&bytes);
    });
}

#[test]
fn the_fuzz_target_of_the_program_runs_what_the_binary_runs() {
    let (_, bytes) =
        kept(PROGRAM).into_iter().find(|(path, _)| path.ends_with("design_refused.txt")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let line = Input::of(&bytes).unwrap().laid_out(folder.path()).unwrap();
    assert_eq!(Some(i32::from(flatspire::cli::run_with(line))), run(&bytes));
}

#[test]
fn every_file_of_the_corpus_is_read_or_refused() {
    let mut folders: Vec<String> = fs::read_dir(corpus())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    folders.sort();
    let mut expected = READERS.map(|(name, _)| name).to_vec();
    expected.push(PROGRAM);
    expected.sort_unstable();
    assert_eq!(folders, expected, "a corpus for each reader, and one for the whole program");
    for (name, read) in READERS {
        let files = kept(name);
        assert!(files.len() >= 4, "{name}: {} files", files.len());
        for (path, bytes) in files {
            println!("{}", path.display());
            assert!(fs::metadata(&path).unwrap().len() <= LARGEST, "{} is too large", path.display());
            timed(read, &bytes);
        }
    }
}

#[test]
fn quotes_in_messages_cannot_control_the_terminal() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("curve.csv"), "x,f\n0,0\n1,\"\u{1b}[2J\u{7}\nten\"\n2,3\n").unwrap();
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_flatspire"))
        .args(["design", "curve.csv"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("[2J") && said.ends_with('\n'), "{said}");
    assert!(!said.trim_end_matches('\n').contains(char::is_control), "{said:?}");
}

#[test]
fn every_reader_has_its_fuzz_target() {
    let folder = corpus().parent().unwrap().to_owned();
    let manifest = fs::read_to_string(folder.join("Cargo.toml")).unwrap();
    for (name, _) in READERS {
        let target = fs::read_to_string(folder.join(format!("targets/{name}.rs"))).unwrap();
        assert!(target.contains(&format!("readers::{name}(")), "{name}");
        assert!(manifest.contains(&format!("path = \"targets/{name}.rs\"")), "{name}");
    }
    assert!(manifest.contains(&format!("path = \"targets/{PROGRAM}.rs\"")));
}
