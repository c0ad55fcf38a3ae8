//! Writing: all files of a package or none of them, one run at a time in a folder, files of others untouched.
//!
//! A package has a manifest. Files that it names and that are unchanged may be replaced; files that it does not name,
//! files changed by hand and packages of other springs are refused by name, or kept beside as `NAME.kept` with
//! `--force`. The exchange of old and new files is that of [`exchange`]; a run that was killed is brought to its end by
//! the next one.

mod disk;
mod exchange;
#[cfg(test)]
mod faults;
mod manifest;

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File, TryLockError};
use std::io::{self, ErrorKind, Write};
use std::path::{Component, Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant};

use self::disk::{Disk, SystemDisk};
use self::exchange::{Exchange, heal};
use self::manifest::Manifest;
pub use self::manifest::fingerprint;
use super::failure::Failure;
use super::stop::{self, Writing};
use super::terminal;
use crate::export::NamedFile;

/// Longest wait for another run's writing, and the interval between two attempts. Writing takes well under a second.
const PATIENCE: Duration = Duration::from_secs(20);
const INTERVAL: Duration = Duration::from_millis(10);
/// Longest wait for a reader of a pipe.
const PIPE_PATIENCE: Duration = Duration::from_secs(5);

/// Files of a command and what they belong to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Contents {
    /// fingerprint of the spring, or of the input
    pub spring: String,
    /// fingerprint of the spring that this one was made from: a second cut may replace another one of the same part
    pub made_from: Option<String>,
    /// may take the place of the package that stands there: the caller knows its spring file to be of the same target
    pub succeeds: bool,
    /// keep what is in the way beside rather than refuse
    pub force: bool,
}

impl Contents {
    /// Some files of the spring or curve in a file.
    pub fn part_of(input: &Path, force: bool) -> Result<Self, Failure> {
        let bytes = super::files::read(&super::files::spring_path(input))?;
        Ok(Self { spring: fingerprint(&bytes), made_from: None, succeeds: false, force })
    }

    /// The whole package of the spring, or of the assembly, whose file it holds.
    pub fn package(files: &[NamedFile], force: bool) -> Self {
        let spring = main_file(files);
        let spring = fingerprint(spring.map_or(&[], |file| &file.bytes));
        Self { spring, made_from: None, succeeds: false, force }
    }

    /// Also made from the spring in a file.
    pub fn made_from(self, input: &Path) -> Result<Self, Failure> {
        let made_from = Some(Self::part_of(input, self.force)?.spring);
        Ok(Self { made_from, ..self })
    }
}

/// Names of the file that says what a package is of: of an assembly, or of a spring.
pub const MAIN_FILES: [&str; 2] = ["assembly.toml", "spring.toml"];

/// File that says what a package is of.
pub fn main_file(files: &[NamedFile]) -> Option<&NamedFile> {
    MAIN_FILES.iter().find_map(|name| files.iter().find(|file| file.name == *name))
}

/// A folder in which no other run writes as long as this lives.
pub struct Held {
    folder: PathBuf,
    /// the folder itself, locked: the system releases it when the process ends
    _lock: Option<File>,
    /// folders that were made for this one
    made: Made,
    /// last: a stop signal that waits ends the run here
    _writing: Writing,
}

/// Folders made for a package, innermost first; where nothing is written into them they go again.
#[derive(Default)]
struct Made(Vec<PathBuf>);

impl Drop for Made {
    fn drop(&mut self) {
        for folder in &self.0 {
            let _ = fs::remove_dir(folder);
        }
    }
}

/// Holds a folder, made where it does not exist, and completes or removes what a killed run left in it.
pub fn hold(folder: &Path) -> Result<Held, Failure> {
    // in this order: the folders go before a stop signal that waits ends the run
    let _writing = Writing::begin();
    let made = Made(folder.ancestors().take_while(|part| !part.exists()).map(Path::to_owned).collect());
    let mut held = fs::create_dir_all(folder)
        .and_then(|()| Held::existing(folder))
        .map_err(|source| failed(folder, source))?;
    held.made = made;
    Ok(held)
}

/// Finds out whether files can be written to a folder that may not exist yet, and leaves nothing behind: the error is
/// reported before a search, not after it.
pub fn probe(folder: &Path) -> Result<(), Failure> {
    let existing = folder.ancestors().find(|part| part.exists()).unwrap_or(Path::new("."));
    let write = || {
        if !existing.is_dir() {
            return Err(ErrorKind::NotADirectory.into());
        }
        let held = Held::existing(existing)?;
        let part = held.exchange().hidden("-part");
        File::create(&part).and_then(|_| fs::remove_file(&part))
    };
    write().map_err(|source| failed(folder, source))
}

/// Place beside a folder for what cannot be written into it, named after a fingerprint.
fn place_beside(out: &Path, of: &str) -> PathBuf {
    out.parent().unwrap_or(Path::new("")).join(format!("flatspire-saved-{}", &of[..12]))
}

/// Files of a package that an earlier run saved beside `out`; `None` where nothing was saved, or it was changed since.
pub fn saved(out: &Path, of: &str) -> Option<Vec<NamedFile>> {
    let place = place_beside(out, of);
    let manifest = Manifest::parse(&fs::read(place.join(manifest::NAME)).ok()?)?;
    let whole = manifest.files.iter().map(|(name, print)| {
        let inside = is_inside(name).then(|| fs::read(place.join(name)).ok()).flatten();
        inside
            .filter(|bytes| fingerprint(bytes) == *print)
            .map(|bytes| NamedFile { name: name.clone(), bytes })
    });
    whole.collect()
}

/// Writes a finished search to a place of its own: beside the folder asked for, else among the system's temporary files.
/// The place is named after `of`, a fingerprint: the same search finds its own place again.
pub fn saved_elsewhere(
    out: &Path,
    of: &str,
    package: &[NamedFile],
    contents: &Contents,
    failure: Failure,
) -> Failure {
    let beside = place_beside(out, of);
    let temporary = place_beside(&std::env::temp_dir().join("out"), of);
    for place in [beside, temporary] {
        let written = hold(&place).and_then(|held| held.write_all(package, contents));
        if written.is_ok() {
            return Failure::SavedElsewhere { failure: Box::new(failure), place };
        }
    }
    failure
}

/// Writes one file under a hidden name beside it and renames it: a stop leaves the old file or the new one. A link
/// stays one, a dangling one too; `-` is standard output. What stands in the way and is no file of that kind (by
/// `replaceable`) is refused, or kept beside with `force`.
pub fn write(
    path: &Path,
    bytes: &[u8],
    replaceable: impl Fn(&[u8]) -> bool,
    force: bool,
) -> Result<(), Failure> {
    if path == Path::new("-") {
        return terminal::print(&String::from_utf8_lossy(bytes));
    }
    let place = link_target(path);
    let found = fs::metadata(&place).ok();
    if found.as_ref().is_some_and(|found| !found.is_file() && !found.is_dir()) {
        // a device or a pipe is written to, not replaced
        return write_through(&place, bytes).map_err(|source| failed(path, source));
    }
    let strange = found.is_some_and(|found| found.is_file())
        && !fs::read(&place).is_ok_and(|standing| standing.is_empty() || replaceable(&standing));
    if strange && !force {
        return Err(Failure::StrangeFile { path: path.to_owned() });
    }
    let write = || {
        let _writing = Writing::begin();
        let folder = place.parent().filter(|parent| !parent.as_os_str().is_empty());
        let held = Held::existing(folder.unwrap_or(Path::new(".")))?;
        let part = held.exchange().hidden("-part");
        let written = SystemDisk.write(&part, bytes).and_then(|()| {
            if strange {
                let mut kept = place.clone().into_os_string();
                kept.push(".kept");
                fs::rename(&place, kept)?;
            }
            fs::rename(&part, &place)
        });
        if written.is_err() {
            let _ = fs::remove_file(&part);
        }
        written
    };
    write().map_err(|source| failed(path, source))
}

/// The place that a path names, links followed, dangling ones too.
fn link_target(path: &Path) -> PathBuf {
    let mut place = path.to_owned();
    // as many links in a row as systems follow
    for _ in 0..40 {
        let Ok(target) = fs::read_link(&place) else { break };
        place = place.parent().unwrap_or(Path::new("")).join(target);
    }
    place
}

/// Writes to a device or a pipe. A pipe that nobody reads would be waited for without end.
fn write_through(place: &Path, bytes: &[u8]) -> io::Result<()> {
    let (sender, opened) = std::sync::mpsc::channel();
    let owned = place.to_owned();
    std::thread::spawn(move || sender.send(File::options().write(true).open(owned)));
    match opened.recv_timeout(PIPE_PATIENCE) {
        Ok(file) => file?.write_all(bytes),
        Err(_) => Err(io::Error::new(ErrorKind::TimedOut, "nobody reads this pipe")),
    }
}

fn failed(path: &Path, source: io::Error) -> Failure {
    Failure::Write { path: path.to_owned(), source }
}

/// Locks a folder. `None` where that is not possible (a folder is no file on some systems, some network drives know no
/// locks): the hidden names, which differ from process to process, keep two runs apart there.
fn lock(folder: &Path) -> io::Result<Option<File>> {
    let Ok(file) = File::open(folder) else { return Ok(None) };
    let began = Instant::now();
    loop {
        match file.try_lock() {
            Ok(()) => return Ok(Some(file)),
            Err(TryLockError::Error(_)) => return Ok(None),
            Err(TryLockError::WouldBlock) if stop::asked() => return Err(ErrorKind::Interrupted.into()),
            Err(TryLockError::WouldBlock) if began.elapsed() < PATIENCE => sleep(INTERVAL),
            Err(TryLockError::WouldBlock) => {
                return Err(io::Error::new(ErrorKind::WouldBlock, "another program holds it"));
            }
        }
    }
}

/// Whether a run has ended, where no lock tells: known where the system lists its processes.
fn ended(run: &str) -> bool {
    let processes = Path::new("/proc");
    processes.join("self").exists() && !processes.join(run).exists()
}

/// Writes the files of a finished search into a folder, or to a place of their own where the folder refuses them.
pub fn write_or_save(out: &Path, files: &[NamedFile], contents: &Contents) -> Result<(), Failure> {
    let written = hold(out).and_then(|held| held.write_all(files, contents));
    written.map_err(|failure| saved_elsewhere(out, &contents.spring, files, contents, failure))
}

impl Held {
    fn existing(folder: &Path) -> io::Result<Self> {
        let writing = Writing::begin();
        let lock = lock(folder)?;
        let locked = lock.is_some();
        let held = Self { folder: folder.to_owned(), _lock: lock, made: Made::default(), _writing: writing };
        let kept = heal(&SystemDisk, folder, &|run| locked || ended(run))?;
        say_kept(folder, &kept);
        Ok(held)
    }

    fn exchange(&self) -> Exchange<'_> {
        Exchange::new(&SystemDisk, &self.folder, &std::process::id().to_string())
    }

    /// Writes all files, or none and says why.
    pub fn write_all(&self, files: &[NamedFile], contents: &Contents) -> Result<(), Failure> {
        let kept = replace(&SystemDisk, &self.exchange(), &self.folder, files, contents)?;
        say_kept(&self.folder, &kept);
        Ok(())
    }
}

/// Whether a relative name stays within its folder.
fn is_inside(name: &str) -> bool {
    Path::new(name).components().all(|part| matches!(part, Component::Normal(_)))
}

fn say_kept(folder: &Path, kept: &[String]) {
    for name in kept {
        terminal::note(&format!("{}: what stood there is kept", folder.join(name).display()));
    }
}

/// Replaces what a folder holds of a package by `files`. Gives the names under which files were kept.
fn replace(
    disk: &dyn Disk,
    exchange: &Exchange,
    folder: &Path,
    files: &[NamedFile],
    contents: &Contents,
) -> Result<Vec<String>, Failure> {
    let own = Path::new(manifest::NAME);
    let standing = disk.exists(&folder.join(own)).then(|| disk.read(&folder.join(own))).transpose();
    let standing = standing.map_err(|source| failed(&folder.join(own), source))?;
    let old = standing.as_deref().and_then(Manifest::parse);
    if standing.is_some() && old.is_none() && !contents.force {
        return Err(Failure::StrangeFile { path: folder.join(own) });
    }
    let other = old.as_ref().is_some_and(|old| old.spring != contents.spring);
    let succeeds =
        contents.succeeds && main_file(files).is_some_and(|file| disk.exists(&folder.join(&file.name)));
    let same_part =
        contents.made_from.is_some() && old.as_ref().is_some_and(|old| old.made_from == contents.made_from);
    if other && !succeeds && !same_part && !contents.force {
        return Err(Failure::OtherSpring { path: folder.to_owned() });
    }
    let mut new = Manifest::new(&contents.spring, contents.made_from.as_deref());
    let (mut aside, mut keep) = (BTreeMap::new(), BTreeSet::new());
    let known = old.map(|old| old.files).unwrap_or_default();
    for file in files {
        let path = folder.join(&file.name);
        if !is_inside(&file.name) {
            return Err(failed(&path, ErrorKind::InvalidInput.into()));
        }
        let print = fingerprint(&file.bytes);
        if disk.is_folder(&path) {
            return Err(failed(&path, ErrorKind::IsADirectory.into()));
        }
        if disk.exists(&path) {
            let found = disk.read(&path).ok().map(|bytes| fingerprint(&bytes));
            match (found, known.get(&file.name)) {
                (Some(found), recorded) if recorded == Some(&found) || found == print => {
                    aside.insert(file.name.clone(), found);
                }
                (_, Some(_)) if !contents.force => return Err(Failure::ChangedFile { path }),
                (_, None) if !contents.force => return Err(Failure::StrangeFile { path }),
                _ => {
                    keep.insert(file.name.clone());
                }
            }
        }
        new.files.insert(file.name.clone(), print);
    }
    for (name, print) in known {
        if new.files.contains_key(&name) {
            continue;
        }
        let standing = disk.read(&folder.join(&name)).map(|bytes| fingerprint(&bytes));
        let below = |file: &NamedFile| file.name.split_once('/').is_some_and(|(_, below)| *below == name);
        if !other && files.iter().any(below) {
            // an older version of the program wrote it here; it stands in a folder of the package now
            aside.insert(name, print);
        } else if standing.as_ref().is_ok_and(|standing| *standing == contents.spring) {
            // the spring's own file, changed by hand since the rest was written
            new.files.insert(name, contents.spring.clone());
        } else if other {
            // a file of the spring that was here before would be taken for one of this spring
            keep.insert(name);
        } else {
            new.files.insert(name, print);
        }
    }
    if let Some(bytes) = &standing {
        aside.insert(manifest::NAME.to_owned(), fingerprint(bytes));
    }
    let mut all = files.to_vec();
    all.push(NamedFile { name: manifest::NAME.to_owned(), bytes: new.bytes() });
    exchange.write(&all, aside, keep).map_err(|source| failed(folder, source))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn files(names: &[&str], text: &str) -> Vec<NamedFile> {
        names
            .iter()
            .map(|name| NamedFile { name: (*name).to_owned(), bytes: text.as_bytes().to_vec() })
            .collect()
    }

    fn contents(spring: &str, succeeds: bool, force: bool) -> Contents {
        Contents { spring: spring.to_owned(), made_from: None, succeeds, force }
    }

    fn text(folder: &Path, name: &str) -> String {
        fs::read_to_string(folder.join(name)).unwrap_or_default()
    }

    #[test]
    fn a_folder_made_for_nothing_is_removed() {
        let parent = tempfile::tempdir().unwrap();
        let folder = parent.path().join("one/two");
        drop(hold(&folder).unwrap());
        assert!(!parent.path().join("one").exists());
        hold(&folder)
            .unwrap()
            .write_all(&files(&["a", "solids/b"], "new"), &contents("1", true, false))
            .unwrap();
        assert_eq!((text(&folder, "a"), text(&folder, "solids/b")), ("new".to_owned(), "new".to_owned()));
    }

    #[test]
    fn strange_changed_and_other_files_are_refused_by_name_and_kept_with_force() {
        let parent = tempfile::tempdir().unwrap();
        let folder = parent.path();
        fs::write(folder.join("b"), "a stranger's").unwrap();
        let held = hold(folder).unwrap();
        let refused = held.write_all(&files(&["a", "b"], "new"), &contents("1", true, false)).unwrap_err();
        assert!(matches!(&refused, Failure::StrangeFile { path } if path.ends_with("b")), "{refused}");
        assert!(!folder.join("a").exists());
        held.write_all(&files(&["a", "b"], "new"), &contents("1", true, true)).unwrap();
        assert_eq!(
            (text(folder, "b"), text(folder, "b.kept")),
            ("new".to_owned(), "a stranger's".to_owned())
        );

        fs::write(folder.join("a"), "by hand").unwrap();
        let refused = held.write_all(&files(&["a"], "newer"), &contents("1", false, false)).unwrap_err();
        assert!(matches!(&refused, Failure::ChangedFile { path } if path.ends_with("a")), "{refused}");
        held.write_all(&files(&["a"], "newer"), &contents("1", false, true)).unwrap();
        assert_eq!((text(folder, "a"), text(folder, "a.kept")), ("newer".to_owned(), "by hand".to_owned()));

        let refused = held.write_all(&files(&["c"], "x"), &contents("2", false, false)).unwrap_err();
        assert!(matches!(refused, Failure::OtherSpring { .. }), "{refused}");
        // drawings alone have no spring file whose target could be the same
        let refused = held.write_all(&files(&["a"], "x"), &contents("2", true, false)).unwrap_err();
        assert!(matches!(refused, Failure::OtherSpring { .. }), "{refused}");
        held.write_all(&files(&["spring.toml"], "1"), &contents("1", false, false)).unwrap();
        // the whole package of another spring: what does not belong to it is set aside
        held.write_all(&files(&["a", "spring.toml"], "x"), &contents("2", true, false)).unwrap();
        assert_eq!(
            (text(folder, "a"), text(folder, "b"), text(folder, "b.kept-2")),
            ("x".into(), String::new(), "new".into())
        );
    }

    #[test]
    fn a_second_cut_replaces_another_one_of_the_same_part() {
        let parent = tempfile::tempdir().unwrap();
        let held = hold(parent.path()).unwrap();
        let cut = |spring: &str, part: &str| Contents {
            made_from: Some(part.to_owned()),
            ..contents(spring, false, false)
        };
        held.write_all(&files(&["a", "b"], "x"), &cut("1", "part")).unwrap();
        held.write_all(&files(&["a"], "y"), &cut("2", "part")).unwrap();
        assert_eq!((text(parent.path(), "a"), text(parent.path(), "b.kept")), ("y".into(), "x".into()));
        let refused = held.write_all(&files(&["a"], "z"), &cut("3", "another")).unwrap_err();
        assert!(matches!(refused, Failure::OtherSpring { .. }), "{refused}");
    }

    #[test]
    fn the_springs_own_file_stays_when_it_was_changed_by_hand() {
        let parent = tempfile::tempdir().unwrap();
        let held = hold(parent.path()).unwrap();
        held.write_all(&files(&["drawing", "spring.toml"], "x"), &contents("1", false, false)).unwrap();
        fs::write(parent.path().join("spring.toml"), "by hand").unwrap();
        let own = Contents::part_of(&parent.path().join("spring.toml"), true).unwrap();
        held.write_all(&files(&["outline"], "y"), &own).unwrap();
        assert_eq!(
            (text(parent.path(), "spring.toml"), text(parent.path(), "drawing.kept")),
            ("by hand".into(), "x".into())
        );
        // and now the folder is that of the changed spring
        held.write_all(&files(&["outline"], "z"), &Contents { force: false, ..own }).unwrap();
    }

    #[test]
    fn a_file_that_stands_in_a_folder_now_is_not_left_where_it_stood() {
        let parent = tempfile::tempdir().unwrap();
        let held = hold(parent.path()).unwrap();
        let written = contents("1", false, false);
        held.write_all(&files(&["plan.svg", "rate.svg", "spring.toml"], "old"), &written).unwrap();
        fs::write(parent.path().join("rate.svg"), "by hand").unwrap();
        held.write_all(&files(&["pictures/plan.svg", "pictures/rate.svg", "spring.toml"], "old"), &written)
            .unwrap();
        assert!(!parent.path().join("plan.svg").exists() && !parent.path().join("rate.svg").exists());
        assert_eq!(
            (text(parent.path(), "pictures/plan.svg"), text(parent.path(), "rate.svg.kept")),
            ("old".into(), "by hand".into())
        );
    }

    #[test]
    fn a_name_that_leaves_the_folder_is_refused() {
        let parent = tempfile::tempdir().unwrap();
        let held = hold(&parent.path().join("in")).unwrap();
        for name in ["../out", "/out"] {
            assert!(held.write_all(&files(&[name], "x"), &contents("1", true, true)).is_err(), "{name}");
        }
    }
}
