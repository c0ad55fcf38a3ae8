//! The commands that the README shows.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use super::{code, desk, err, out, root, run};

/// Commands of the README: lines of its `sh` blocks, as `flatspire …`.
fn readme_commands() -> Vec<String> {
    let text = fs::read_to_string(root().join("README.md")).unwrap();
    let mut commands = Vec::new();
    let mut inside = false;
    for line in text.lines() {
        if line.starts_with("```") {
            inside = line == "```sh";
        } else if inside {
            let line = line.replace("cargo run --release -- ", "flatspire ");
            if line.starts_with("flatspire ") {
                commands.push(line);
            }
        }
    }
    commands
}

#[test]
#[cfg(unix)]
fn the_commands_of_the_readme_run() {
    let commands = readme_commands();
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
    for name in listed {
        let shown = commands.iter().any(|line| line.starts_with(&format!("flatspire {name} ")));
        assert!(shown, "the README shows no example of {name}");
    }
    let binary = PathBuf::from(env!("CARGO_BIN_EXE_flatspire"));
    let path = format!("{}:{}", binary.parent().unwrap().display(), std::env::var("PATH").unwrap());
    for line in commands {
        if line.starts_with("flatspire serve") {
            runs_until_it_is_stopped(&line, folder.path(), &path);
            continue;
        }
        let output = Command::new("sh")
            .args(["-c", &line])
            .current_dir(folder.path())
            .env("PATH", &path)
            .output()
            .unwrap();
        assert_eq!(code(&output), 0, "{line}\n{}{}", out(&output), err(&output));
    }
}

/// A command that serves until it is stopped: it says where, answers there, and goes on. The port is any free one.
fn runs_until_it_is_stopped(line: &str, folder: &Path, path: &str) {
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
}
