//! Runs under disk faults, and two runs at once. Everything goes through the binary.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use tempfile::TempDir;

/// A brief that leaves one sheet and one arm: a design takes seconds.
const QUICK: &str = "[envelope]\nouter_diameter_max = 90\n[sheet]\nthickness = 1.5\n[arms]\ncount = 1\n";
/// Two curves that it can follow.
const STEADY: &str = "deflection_mm,force_n\n0,0\n2,10\n4,20\n7,35\n";
const SOFTER: &str = "deflection_mm,force_n\n0,0\n2,8\n4,16\n7,28\n";
/// Longest that a test waits for a run to come as far as it looks for.
const PATIENCE: Duration = Duration::from_mins(1);

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn program(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_flatspire"));
    command.current_dir(folder).args(arguments).stdin(Stdio::null());
    command
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    program(folder, arguments).output().unwrap()
}

fn start(folder: &Path, arguments: &[&str]) -> Child {
    program(folder, arguments).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap()
}

#[track_caller]
fn assert_ended(output: &Output, expected: i32) -> String {
    let said = String::from_utf8(output.stderr.clone()).unwrap();
    assert_eq!(output.status.code(), Some(expected), "{said}");
    assert!(!said.contains("panicked"), "{said}");
    said
}

/// All files below a folder with their bytes, hidden ones too.
fn content(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let Ok(entries) = fs::read_dir(folder) else { return found };
    for entry in entries {
        let entry = entry.unwrap();
        let name = entry.file_name().into_string().unwrap();
        if entry.path().is_dir() {
            found.extend(
                content(&entry.path()).into_iter().map(|(file, bytes)| (format!("{name}/{file}"), bytes)),
            );
        } else {
            found.insert(name, fs::read(entry.path()).unwrap());
        }
    }
    found
}

/// A folder with two springs that differ in their bore, and what `outline` draws of them.
struct Bench {
    folder: TempDir,
    small: BTreeMap<String, Vec<u8>>,
    large: BTreeMap<String, Vec<u8>>,
}

impl Bench {
    fn new() -> Self {
        let folder = TempDir::new().unwrap();
        let text = fs::read_to_string(root().join("examples/first_cut.toml")).unwrap();
        for (name, bore) in [("small", "bore_diameter = 6"), ("large", "bore_diameter = 9")] {
            let other = text.replace("bore_diameter = 8", bore);
            fs::write(folder.path().join(format!("{name}.toml")), other).unwrap();
            assert_ended(&run(folder.path(), &["outline", &format!("{name}.toml"), "--out", name]), 0);
        }
        let [small, large] = ["small", "large"].map(|name| content(&folder.path().join(name)));
        // two drawings and the manifest
        assert!(small.len() == 3 && small.keys().eq(large.keys()));
        assert!(small.iter().all(|(name, bytes)| large[name] != *bytes), "the two differ in every file");
        Self { folder, small, large }
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    /// A folder with the drawings of the one with the small bore and something of the user's own.
    fn old_package(&self, name: &str) -> PathBuf {
        let folder = self.path().join(name);
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir(&folder).unwrap();
        for (file, bytes) in &self.small {
            fs::write(folder.join(file), bytes).unwrap();
        }
        fs::write(folder.join("notes.txt"), "keep").unwrap();
        folder
    }
}

/// The files that show, without the user's own.
fn shown(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = content(folder);
    assert_eq!(found.remove("notes.txt").as_deref(), Some(b"keep".as_slice()), "the user's own file");
    found.retain(|name, _| !name.starts_with(".flatspire-"));
    found
}

#[test]
fn runs_at_once_leave_the_package_of_one_of_them() {
    let bench = Bench::new();
    for round in 0..6 {
        let folder = bench.old_package("shared");
        let children: Vec<Child> = (0..6)
            .map(|k| {
                let spring = if (k + round) % 2 == 0 { "small.toml" } else { "large.toml" };
                start(bench.path(), &["outline", spring, "--out", "shared", "--force"])
            })
            .collect();
        for child in children {
            assert_ended(&child.wait_with_output().unwrap(), 0);
        }
        let left = shown(&folder);
        assert!(left == bench.small || left == bench.large, "{:?}", left.keys());
        assert_eq!(content(&folder).len(), 4, "{:?}", content(&folder).keys());
    }
}

#[test]
fn of_two_designs_at_once_into_one_folder_the_later_one_is_refused() {
    let folder = TempDir::new().unwrap();
    for (name, text) in [("quick.toml", QUICK), ("steady.csv", STEADY), ("softer.csv", SOFTER)] {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let design = |curve| start(folder.path(), &["design", curve, "--brief", "quick.toml", "--out", "p"]);
    let outputs = [design("steady.csv"), design("softer.csv")].map(|child| child.wait_with_output().unwrap());
    let written = outputs.iter().position(|output| output.status.code() == Some(0)).unwrap();
    let refused = assert_ended(&outputs[1 - written], 1);
    assert!(refused.contains("spring.toml") && refused.contains("another curve"), "{refused}");
    // what stands there is what the one that was not refused writes elsewhere
    let curve = ["steady.csv", "softer.csv"][written];
    assert_ended(&run(folder.path(), &["design", curve, "--brief", "quick.toml", "--out", "alone"]), 0);
    assert!(content(&folder.path().join("p")) == content(&folder.path().join("alone")));
}

#[test]
fn a_finished_search_is_written_elsewhere_where_its_folder_refuses_it() {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("quick.toml"), QUICK).unwrap();
    fs::write(folder.path().join("steady.csv"), STEADY).unwrap();
    fs::create_dir(folder.path().join("p")).unwrap();
    fs::write(folder.path().join("p/report.html"), "a stranger's").unwrap();
    let design = |out| run(folder.path(), &["design", "steady.csv", "--brief", "quick.toml", "--out", out]);
    let said = assert_ended(&design("p"), 1);
    let saved = said.trim_end().rsplit(" written to ").next().unwrap();
    assert!(saved.starts_with("flatspire-saved-"), "{said}");
    assert_eq!(content(&folder.path().join("p")).len(), 1);
    let alone = design("alone");
    assert_ended(&alone, 0);
    assert!(String::from_utf8_lossy(&alone.stderr).contains("nothing is searched again"));
    // as a search of its own writes it
    fs::remove_dir_all(folder.path().join(saved)).unwrap();
    let again = design("again");
    assert!(!String::from_utf8_lossy(&again.stderr).contains("nothing is searched again"));
    assert!(content(&folder.path().join("alone")) == content(&folder.path().join("again")));
    let said = |output: &Output| String::from_utf8_lossy(&output.stdout).replace("alone", "again");
    assert_eq!(said(&alone), said(&again));
}

#[test]
fn a_folder_where_a_file_should_go_leaves_the_old_package() {
    let bench = Bench::new();
    let folder = bench.old_package("blocked");
    let name = bench.small.keys().last().unwrap();
    fs::remove_file(folder.join(name)).unwrap();
    fs::create_dir(folder.join(name)).unwrap();
    let before = content(&folder);
    let said = assert_ended(&run(bench.path(), &["outline", "large.toml", "--out", "blocked", "--force"]), 1);
    assert!(said.contains(name) && said.contains("a folder stands where the file is meant"), "{said}");
    assert!(content(&folder) == before);
}

#[test]
fn a_table_into_a_link_goes_where_the_link_points() {
    let bench = Bench::new();
    let target = bench.path().join("elsewhere.csv");
    fs::write(&target, "").unwrap();
    #[cfg(unix)]
    std::os::unix::fs::symlink(&target, bench.path().join("table.csv")).unwrap();
    #[cfg(not(unix))]
    fs::write(bench.path().join("table.csv"), "").unwrap();
    assert_ended(&run(bench.path(), &["predict", "small.toml", "--out", "table.csv"]), 0);
    let table = fs::read_to_string(bench.path().join("table.csv")).unwrap();
    assert!(table.starts_with("deflection_mm") && !table.contains("-0.00000"), "{table}");
    #[cfg(unix)]
    assert_eq!(fs::read_to_string(target).unwrap(), table);
}

#[test]
fn every_writing_command_leaves_other_springs_and_strangers_files_alone() {
    let bench = Bench::new();
    let commands: [&[&str]; 4] = [
        &["outline", "large.toml", "--out"],
        &["flat", "large.toml", "--out"],
        &["scatter", "large.toml", "--runs", "40", "--out"],
        &["compare", "large.toml", "--out"],
    ];
    for command in commands {
        let arguments = |out| [command, &[out]].concat();
        // the folder of another spring
        let folder = bench.old_package("other");
        let before = content(&folder);
        let said = assert_ended(&run(bench.path(), &arguments("other")), 1);
        assert!(
            said.contains("other: found the files of another spring") && said.contains("--force"),
            "{said}"
        );
        assert!(content(&folder) == before, "{command:?}");
        // a stranger's file of the same name
        let fresh = bench.path().join("fresh");
        let _ = fs::remove_dir_all(&fresh);
        let first = run(bench.path(), &arguments("fresh"));
        assert!(
            matches!(first.status.code(), Some(0 | 3)),
            "{command:?}: {}",
            String::from_utf8_lossy(&first.stderr)
        );
        let name = content(&fresh).into_keys().find(|name| !name.starts_with('.')).unwrap();
        fs::remove_dir_all(&fresh).unwrap();
        fs::create_dir(&fresh).unwrap();
        fs::write(fresh.join(&name), "a stranger's").unwrap();
        let said = assert_ended(&run(bench.path(), &arguments("fresh")), 1);
        assert!(said.contains(&name) && said.contains("did not write"), "{said}");
        assert_eq!(content(&fresh).len(), 1);
        let forced = run(bench.path(), &[command, &["fresh", "--force"]].concat());
        assert_eq!(forced.status.code(), first.status.code());
        assert_eq!(content(&fresh)[&format!("{name}.kept")], b"a stranger's");
        // and again, nothing in the way: its own files
        assert_eq!(run(bench.path(), &arguments("fresh")).status.code(), first.status.code());
    }
}

#[cfg(unix)]
mod unix {
    use std::os::unix::fs::{FileTypeExt, PermissionsExt};
    use std::os::unix::process::ExitStatusExt;

    use super::*;

    /// Sends a signal to a child of this test.
    fn signal(child: &Child, name: &str) {
        let sent = Command::new("kill").args(["-s", name, &child.id().to_string()]).status().unwrap();
        assert!(sent.success());
    }

    fn shell(folder: &Path, line: &str) -> Output {
        Command::new("sh")
            .args(["-c", line])
            .current_dir(folder)
            .env("PROGRAM", env!("CARGO_BIN_EXE_flatspire"))
            .stdin(Stdio::null())
            .output()
            .unwrap()
    }

    /// Every file is of the old package or every file is of the new one; all are there unless the run stopped within
    /// the exchange itself, which shows in what is hidden.
    #[track_caller]
    fn assert_one_package(folder: &Path, old: &BTreeMap<String, Vec<u8>>, new: &BTreeMap<String, Vec<u8>>) {
        let left = shown(folder);
        let of = |package: &BTreeMap<String, Vec<u8>>| {
            left.iter().all(|(name, bytes)| package.get(name) == Some(bytes))
        };
        assert!(of(old) || of(new), "a mixture: {:?}", left.keys());
        let exchanging = fs::read_dir(folder)
            .unwrap()
            .any(|entry| entry.unwrap().file_name().to_string_lossy().ends_with("-commit"));
        assert!(left.len() == old.len() || left.len() == new.len() || exchanging, "{:?}", left.keys());
    }

    #[test]
    fn a_run_killed_at_any_moment_leaves_one_package_and_the_next_one_clears_up() {
        let bench = Bench::new();
        let began = Instant::now();
        let folder = bench.old_package("killed");
        assert_ended(&run(bench.path(), &["outline", "large.toml", "--out", "killed", "--force"]), 0);
        let whole = began.elapsed();
        for step in 0..40 {
            bench.old_package("killed");
            let mut child = start(bench.path(), &["outline", "large.toml", "--out", "killed", "--force"]);
            sleep(whole * step / 36);
            let name = ["KILL", "INT", "TERM", "HUP"][step as usize % 4];
            signal(&child, name);
            let ended = child.wait().unwrap();
            assert!(ended.signal().is_some() || ended.success(), "{ended}");
            assert_one_package(&folder, &bench.small, &bench.large);
            if name != "KILL" {
                // a stop signal leaves nothing to clear up, either
                let left = shown(&folder);
                assert!(left == bench.small || left == bench.large, "{name}: {:?}", left.keys());
                assert_eq!(content(&folder).len(), 4, "{name}: {:?}", content(&folder).keys());
            }
            assert_ended(&run(bench.path(), &["outline", "large.toml", "--out", "killed", "--force"]), 0);
            assert!(shown(&folder) == bench.large);
            assert_eq!(content(&folder).len(), 4, "{:?}", content(&folder).keys());
        }
    }

    /// Whether this process ignores a signal, where the system says so.
    fn ignored(number: i32) -> bool {
        let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
        let mask = status.lines().find_map(|line| line.strip_prefix("SigIgn:"));
        let mask = mask.and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok()).unwrap_or(0);
        mask & (1 << (number - 1)) != 0
    }

    #[test]
    fn a_run_stopped_while_it_waits_ends_at_once_and_leaves_nothing() {
        let bench = Bench::new();
        let folder = bench.old_package("held");
        let lock = fs::File::open(&folder).unwrap();
        lock.lock().unwrap();
        // numbers of the signals: POSIX.1, kill
        for (name, number) in [("HUP", 1), ("INT", 2), ("TERM", 15)] {
            // tests that run in the background of a shell, or under nohup, pass on what that ignores
            if ignored(number) {
                println!("{name} is ignored by the caller");
                continue;
            }
            let mut waiting = start(bench.path(), &["outline", "large.toml", "--out", "held", "--force"]);
            sleep(Duration::from_secs(1));
            let began = Instant::now();
            signal(&waiting, name);
            assert_eq!(waiting.wait().unwrap().signal(), Some(number));
            assert!(began.elapsed() < Duration::from_secs(5), "{name}");
            assert!(shown(&folder) == bench.small);
            assert_eq!(content(&folder).len(), 4, "{:?}", content(&folder).keys());
        }
        // as the shell tells it
        let line =
            "\"$PROGRAM\" outline large.toml --out held --force & sleep 1; kill -s TERM $!; wait $!; echo $?";
        assert_eq!(String::from_utf8_lossy(&shell(bench.path(), line).stdout), "143\n");
    }

    #[test]
    fn a_signal_that_the_caller_ignores_stays_ignored() {
        if !Path::new("/proc/self/status").exists() {
            return;
        }
        let bench = Bench::new();
        let folder = bench.old_package("held");
        let lock = fs::File::open(&folder).unwrap();
        lock.lock().unwrap();
        let line = "trap '' HUP; exec \"$PROGRAM\" outline large.toml --out held --force";
        let mut child = Command::new("sh")
            .args(["-c", line])
            .current_dir(bench.path())
            .env("PROGRAM", env!("CARGO_BIN_EXE_flatspire"))
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        sleep(Duration::from_millis(500));
        signal(&child, "HUP");
        sleep(Duration::from_millis(500));
        assert!(child.try_wait().unwrap().is_none(), "it was stopped");
        lock.unlock().unwrap();
        assert!(child.wait().unwrap().success());
        assert!(shown(&folder) == bench.large);
    }

    #[test]
    fn a_design_killed_while_it_writes_leaves_the_old_package() {
        let folder = TempDir::new().unwrap();
        fs::write(folder.path().join("quick.toml"), QUICK).unwrap();
        fs::write(folder.path().join("steady.csv"), STEADY).unwrap();
        fs::write(folder.path().join("softer.csv"), SOFTER).unwrap();
        let place = folder.path().join("p");
        let arguments =
            |curve: &'static str| ["design", curve, "--brief", "quick.toml", "--out", "p", "--force"];
        assert_ended(&run(folder.path(), &arguments("steady.csv")), 0);
        fs::write(place.join("notes.txt"), "keep").unwrap();
        let old = shown(&place);
        for killer in ["INT", "KILL"] {
            let mut child = start(folder.path(), &arguments("softer.csv"));
            let began = Instant::now();
            // as soon as the first new file is begun
            let writes = || fs::read_dir(&place).unwrap().count() > old.len() + 1;
            while !writes() && child.try_wait().unwrap().is_none() {
                assert!(began.elapsed() < PATIENCE);
            }
            // the number of a process that was waited for may be another one's by now
            if child.try_wait().unwrap().is_none() {
                signal(&child, killer);
            }
            child.wait().unwrap();
            let left = shown(&place);
            let exchanged = left.get("spring.toml") != old.get("spring.toml");
            assert!(left == old || exchanged, "{:?}", left.keys());
            if killer == "INT" {
                assert_eq!(content(&place).len(), left.len() + 1, "{:?}", content(&place).keys());
            }
            // another killed run before it began to write
            let mut child = start(folder.path(), &arguments("softer.csv"));
            sleep(Duration::from_millis(300));
            signal(&child, killer);
            child.wait().unwrap();
        }
        assert_ended(&run(folder.path(), &arguments("softer.csv")), 0);
        let new = shown(&place);
        assert!(new.keys().eq(old.keys()) && new["curve.csv"] != old["curve.csv"]);
        assert_eq!(content(&place).len(), new.len() + 1, "{:?}", content(&place).keys());
    }

    #[test]
    fn a_full_disk_leaves_the_old_package_and_says_so() {
        let bench = Bench::new();
        let folder = bench.old_package("full");
        let before = content(&folder);
        // no file may grow beyond a few blocks: the drawing does not fit
        let line = "trap '' XFSZ; ulimit -f 8; exec \"$PROGRAM\" outline large.toml --out full --force";
        let said = assert_ended(&shell(bench.path(), line), 1);
        assert!(said.contains("cannot be written") && said.contains("free some space"), "{said}");
        assert!(content(&folder) == before, "{:?}", content(&folder).keys());
        // and where there was no folder, there is none afterwards
        let line = "trap '' XFSZ; ulimit -f 8; exec \"$PROGRAM\" outline large.toml --out fresh/below";
        assert_ended(&shell(bench.path(), line), 1);
        assert!(!bench.path().join("fresh").exists());
    }

    #[test]
    fn a_device_is_written_to_and_a_full_one_is_said() {
        if !Path::new("/dev/full").exists() {
            return;
        }
        let bench = Bench::new();
        let said = assert_ended(&run(bench.path(), &["predict", "small.toml", "--out", "/dev/full"]), 1);
        assert!(said.contains("/dev/full: cannot be written") && said.contains("free some space"), "{said}");
        assert!(fs::metadata("/dev/full").unwrap().file_type().is_char_device());
        assert_ended(&run(bench.path(), &["predict", "small.toml", "--out", "/dev/null"]), 0);
        assert!(fs::metadata("/dev/null").unwrap().file_type().is_char_device());
        // what was to be read from standard output is lost as well
        for command in ["predict small.toml", "flat small.toml --json", "stock"] {
            let said = assert_ended(&shell(bench.path(), &format!("\"$PROGRAM\" {command} > /dev/full")), 1);
            assert!(said.contains("standard output: cannot be written"), "{command}: {said}");
        }
    }

    #[test]
    fn endless_and_large_inputs_are_refused_at_once() {
        let bench = Bench::new();
        let sparse = fs::File::create(bench.path().join("sparse.csv")).unwrap();
        sparse.set_len(1 << 30).unwrap();
        for input in ["/dev/zero", "sparse.csv"] {
            if !bench.path().join(input).exists() {
                continue;
            }
            // address space of the program with all that it may read; stacks of threads count
            let line = format!("ulimit -v 2000000; exec \"$PROGRAM\" predict small.toml --at {input}");
            let began = Instant::now();
            let said = assert_ended(&shell(bench.path(), &line), 2);
            assert!(said.contains(input) && said.contains("found more than"), "{said}");
            assert!(began.elapsed() < Duration::from_secs(20));
        }
    }

    #[test]
    fn a_pipe_that_nobody_reads_is_no_endless_wait() {
        let bench = Bench::new();
        assert!(Command::new("mkfifo").arg(bench.path().join("pipe")).status().unwrap().success());
        let began = Instant::now();
        let said = assert_ended(&run(bench.path(), &["predict", "small.toml", "--out", "pipe"]), 1);
        assert!(said.contains("pipe") && said.contains("nobody reads"), "{said}");
        let said = assert_ended(&run(bench.path(), &["predict", "small.toml", "--at", "pipe"]), 1);
        assert!(said.contains("pipe") && said.contains("nobody writes"), "{said}");
        assert!(began.elapsed() < Duration::from_secs(30));
    }

    #[test]
    fn streams_and_package_folders_stand_for_files() {
        let bench = Bench::new();
        let plain = run(bench.path(), &["predict", "small.toml"]);
        fs::create_dir(bench.path().join("package")).unwrap();
        fs::copy(bench.path().join("small.toml"), bench.path().join("package/spring.toml")).unwrap();
        for line in ["predict package", "predict - < small.toml", "predict small.toml --out -"] {
            let output = shell(bench.path(), &format!("\"$PROGRAM\" {line}"));
            assert_ended(&output, 0);
            let lines = |bytes: &[u8]| {
                String::from_utf8_lossy(bytes)
                    .lines()
                    .filter(|l| !l.is_empty())
                    .take(50)
                    .map(str::to_owned)
                    .collect::<Vec<_>>()
            };
            assert_eq!(lines(&output.stdout), lines(&plain.stdout), "{line}");
        }
        assert!(!bench.path().join("-").exists());
        fs::write(bench.path().join("steady.csv"), STEADY).unwrap();
        fs::write(bench.path().join("quick.toml"), QUICK).unwrap();
        assert!(Command::new("mkfifo").arg(bench.path().join("pipe")).status().unwrap().success());
        let line =
            "cat steady.csv > pipe & exec \"$PROGRAM\" design pipe --brief quick.toml --out p --time-limit 0";
        assert_ended(&shell(bench.path(), line), 0);
    }

    #[test]
    fn a_closed_pipe_is_no_mistake() {
        let bench = Bench::new();
        for command in ["predict small.toml", "stock", "flat small.toml"] {
            let output =
                shell(bench.path(), &format!("{{ \"$PROGRAM\" {command}; echo $? >&2; }} | head -1"));
            let said = assert_ended(&output, 0);
            assert!(said.ends_with("0\n"), "{said}");
            assert_eq!(String::from_utf8_lossy(&output.stdout).lines().count(), 1);
        }
    }

    #[test]
    fn a_folder_that_may_not_be_written_to_is_said_before_the_search() {
        let bench = Bench::new();
        fs::write(bench.path().join("steady.csv"), STEADY).unwrap();
        let refused = |out: &str| {
            let began = Instant::now();
            let said = assert_ended(&run(bench.path(), &["design", "steady.csv", "--out", out]), 1);
            assert!(said.contains(&format!("{out}: cannot be written")), "{said}");
            assert!(began.elapsed() < Duration::from_secs(5), "it was searched first");
            said
        };
        // nobody may make files here
        if Path::new("/proc/self").exists() {
            refused("/proc/flatspire");
        }
        let locked = bench.path().join("locked");
        fs::create_dir(&locked).unwrap();
        fs::set_permissions(&locked, fs::Permissions::from_mode(0o555)).unwrap();
        // whoever may write everywhere is asked nothing
        if fs::write(locked.join("probe"), "").is_ok() {
            return;
        }
        for out in ["locked", "locked/below"] {
            let said = refused(out);
            assert!(said.contains("choose a folder you may write to"), "{said}");
        }
        assert!(content(&locked).is_empty());
    }

    #[test]
    fn a_folder_that_another_program_holds_is_waited_for() {
        let bench = Bench::new();
        let folder = bench.old_package("held");
        let lock = fs::File::open(&folder).unwrap();
        lock.lock().unwrap();
        let mut child = start(bench.path(), &["outline", "large.toml", "--out", "held", "--force"]);
        sleep(Duration::from_secs(1));
        assert!(child.try_wait().unwrap().is_none(), "it did not wait");
        assert!(shown(&folder) == bench.small);
        lock.unlock().unwrap();
        assert!(child.wait().unwrap().success());
        assert!(shown(&folder) == bench.large);
    }
}
