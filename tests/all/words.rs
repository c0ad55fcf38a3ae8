//! Wording: phrases that must not come back in texts that users read, and doc comments that are no noun phrases.

use std::fs;
use std::path::{Path, PathBuf};

/// Phrases with the term to use instead, in lower case.
const PHRASES: [(&str, &str); 56] = [
    ("come to rest", "seat"),
    ("comes to rest", "seats"),
    ("lying share", "seated share"),
    ("pressed in by", "deflection"),
    ("pressed in already", "installed deflection"),
    ("closes it to", "with 1 % of the travel left"),
    ("force to hold there", "force to hold every arm flat"),
    ("warning warning", "one severity"),
    ("100 % of the arm from the rim", "at the hub end of the arm"),
    ("largest on the way", "maximum over the stroke"),
    ("moves the force by", "effect on force"),
    ("set removal costs", "presetting needs extra free height"),
    ("where it is to count as such", "presetting needs extra free height"),
    ("seating lash", "initial free play"),
    ("end compliance", "root compliance"),
    ("act alike", "confounded"),
    ("how much is whose", "the split rests on the assumed tolerances"),
    ("wind longer", "make the arms longer"),
    ("stress borne", "endurance limit"),
    ("no end foreseen", "infinite life predicted"),
    ("combinations judged", "combinations evaluated"),
    ("passed over", "ignored"),
    ("reckoned with", "assumed"),
    ("stands above the", "overrides the"),
    ("stand above these", "override these"),
    ("stand above the program", "override the program"),
    ("cannot be had", "is not available"),
    ("a minimum is none", "unstable equilibrium"),
    ("no state to find", "did not converge"),
    ("did not settle", "did not converge"),
    ("; mend ", "correct"),
    ("and mend ", "correct"),
    ("that is no spring", "invalid geometry"),
    ("leaves no spring", "invalid geometry"),
    ("a stranger's", "of other origin"),
    ("leave no spring", "invalid geometry"),
    ("let go soft", "released while soft"),
    ("let it go with", "release it with"),
    ("heed:", "caution:"),
    ("what comes with it", "side effects"),
    ("all the way down", "closed"),
    ("flat height", "solid height"),
    ("what binds", "limit"),
    ("is no wish", "is not a brief"),
    ("off the curve", "curve error"),
    ("in their own plane", "in-plane"),
    ("pressed in at rest", "deflected at rest"),
    ("tells the shim", "names the shim"),
    ("how sure", "confidence"),
    ("what the taper buys", "effect of the taper"),
    ("told, not", "reported, not"),
    ("does not do it", "does not suffice"),
    ("depends on how it lies", "depends on its orientation"),
    ("that swings", "that oscillates"),
    ("made up for", "compensated"),
    ("no end)", "unlimited)"),
];

/// Phrases of comments, likewise.
const IN_COMMENTS: [(&str, &str); 14] = [
    ("comes to rest", "seats, or reaches equilibrium"),
    ("come to rest", "seat, or reach equilibrium"),
    ("state of rest", "equilibrium"),
    ("states of rest", "equilibria"),
    ("yielding root", "compliant root"),
    ("cannot be meant", "is invalid"),
    ("leave the workshop", "be released"),
    ("stands above the material", "overrides the material's"),
    ("nobody wants", "stopped"),
    ("knows nothing of", "leaves out"),
    ("stiffness in the plane", "in-plane stiffness"),
    ("the gravest", "the most severe"),
    ("no digits than", "significant digits"),
    ("is let go", "is released"),
];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Files below a folder with one of the endings, in order of their names.
fn files(folder: &str, endings: &[&str]) -> Vec<PathBuf> {
    fn gather(folder: &Path, endings: &[&str], found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                gather(&path, endings, found);
            } else if path.extension().is_some_and(|ending| endings.iter().any(|wanted| ending == *wanted)) {
                found.push(path);
            }
        }
    }
    let mut found = Vec::new();
    gather(&root().join(folder), endings, &mut found);
    found.sort();
    found
}

/// Code before the unit tests of a file.
fn without_tests(code: &str) -> &str {
    code.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default()
}

/// String literals of Rust code, lines joined where the code continues them. Comments are left out.
fn literals(code: &str) -> Vec<String> {
    let letters: Vec<char> = code.chars().collect();
    let at = |i: usize| letters.get(i).copied().unwrap_or(' ');
    let mut found = Vec::new();
    let mut i = 0;
    while i < letters.len() {
        let fences = (i + 1..letters.len()).take_while(|&k| letters[k] == '#').count();
        let named = i > 0 && (at(i - 1).is_alphanumeric() || at(i - 1) == '_');
        if at(i) == '/' && at(i + 1) == '/' {
            while i < letters.len() && letters[i] != '\n' {
                i += 1;
            }
        } else if at(i) == '\'' && at(i + 1) == '\\' {
            i += 4;
        } else if at(i) == '\'' && at(i + 2) == '\'' {
            i += 3;
        } else if at(i) == 'r' && !named && at(i + 1 + fences) == '"' {
            let end: String = std::iter::once('"').chain(std::iter::repeat_n('#', fences)).collect();
            let rest: String = letters[i + 2 + fences..].iter().collect();
            let text = rest.split(&end).next().unwrap_or_default().to_owned();
            i += 2 + 2 * fences + text.chars().count() + 1;
            found.push(text);
        } else if at(i) == '"' {
            let mut text = String::new();
            i += 1;
            while i < letters.len() && letters[i] != '"' {
                if letters[i] == '\\' && at(i + 1) == '\n' {
                    i += 2;
                    while at(i).is_whitespace() && i < letters.len() {
                        i += 1;
                    }
                } else if letters[i] == '\\' {
                    text.push(' ');
                    i += 2;
                } else {
                    text.push(letters[i]);
                    i += 1;
                }
            }
            i += 1;
            found.push(text);
        } else {
            i += 1;
        }
    }
    found
}

/// Text without its line breaks and indents, in lower case.
fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<&str>>().join(" ").to_lowercase()
}

/// Phrases of the list in a text.
fn faults(text: &str) -> Vec<String> {
    let text = flowing(text);
    PHRASES
        .iter()
        .filter(|(phrase, _)| text.contains(phrase))
        .map(|(phrase, instead)| format!("\"{phrase}\"; write \"{instead}\""))
        .collect()
}

/// Doc comments that begin with "What", with their line numbers.
fn questions(code: &str) -> Vec<usize> {
    let begins = |line: &str| {
        let line = line.trim_start();
        line.starts_with("/// What ") || line.starts_with("//! What ")
    };
    code.lines().enumerate().filter(|(_, line)| begins(line)).map(|(number, _)| number + 1).collect()
}

#[test]
fn texts_for_users_hold_the_terms_of_the_trade() {
    let mut found = Vec::new();
    let mut report = |path: &Path, text: &str| {
        found.extend(faults(text).into_iter().map(|fault| format!("{}: {fault}", path.display())));
    };
    for path in files("src", &["rs"]) {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if name == "tests.rs" || name.ends_with("_tests.rs") {
            continue;
        }
        let code = fs::read_to_string(&path).unwrap();
        report(&path, &literals(without_tests(&code)).join("\n"));
        if name == "arguments.rs" {
            // its doc comments are the help
            report(&path, &code);
        }
    }
    for path in files("src", &["html", "js"]).into_iter().chain(files("data/guide", &["md"])) {
        report(&path, &fs::read_to_string(&path).unwrap());
    }
    report(Path::new("README.md"), &fs::read_to_string(root().join("README.md")).unwrap());
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// Comments of Rust code as one text.
fn comments(code: &str) -> String {
    let words = |line: &str| {
        line.trim_start().strip_prefix("//").map(|words| words.trim_start_matches(['/', '!']).to_owned())
    };
    code.lines().filter_map(words).collect::<Vec<_>>().join(" ")
}

#[test]
fn comments_hold_the_terms_of_the_trade() {
    let mut found = Vec::new();
    for path in files("src", &["rs"]) {
        let text = flowing(&comments(&fs::read_to_string(&path).unwrap()));
        for (phrase, instead) in IN_COMMENTS.iter().filter(|(phrase, _)| text.contains(phrase)) {
            found.push(format!("{}: \"{phrase}\"; write \"{instead}\"", path.display()));
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn doc_comments_are_noun_phrases() {
    let mut found = Vec::new();
    for path in ["src", "tests", "examples"].iter().flat_map(|folder| files(folder, &["rs"])) {
        let code = fs::read_to_string(&path).unwrap();
        found.extend(questions(&code).into_iter().map(|line| format!("{}:{line}", path.display())));
    }
    assert!(found.is_empty(), "say what the item is, in a noun phrase:\n{}", found.join("\n"));
}

#[test]
fn a_wrong_phrase_is_found() {
    let code = "let a = '\"'; // the turns come to rest\nlet b = \"they come \\\n    to rest\"; let c = r#\"a \"lying share\" b\"#;";
    let texts = literals(code);
    assert_eq!(texts, ["they come to rest", "a \"lying share\" b"]);
    assert_eq!(faults(&texts.join("\n")).len(), 2);
    assert!(faults("the turns seat one after another").is_empty());
    assert_eq!(flowing(&comments("/// A yielding\n/// root.\nlet x = 1; // not this\n")), "a yielding root.");
    assert_eq!(questions("/// Width.\n    /// What it is.\nlet x = \"/// What \";"), [2]);
}
