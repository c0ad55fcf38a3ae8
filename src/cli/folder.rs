//! Writing: all files of a package or none of them, one run at a time in a folder.
//!
//! New files are written into a hidden folder beside their places. When all are there, the old files of the same names
//! are moved aside and the new ones into place: some dozen renames, about a millisecond. A run that is killed at any
//! moment leaves the old package or the new one, in that millisecond a part of one of them, never a mixture. The next
//! run that writes there brings it to an end ([`Held::clear`]).

use std::fs::{self, File, TryLockError};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant};

use super::failure::Failure;
use crate::package::NamedFile;

/// Hidden names begin with this and the number of the process.
const HIDDEN: &str = ".flatspire-";
/// Ends of hidden names: new files, old files moved aside, one file that is being written.
const ENDS: [&str; 3] = ["-new", "-old", "-part"];
/// How long another run's writing is waited for, and how often it is looked after. It takes well under a second.
const PATIENCE: Duration = Duration::from_secs(20);
const LOOK: Duration = Duration::from_millis(10);

/// A folder in which no other run writes as long as this lives.
pub struct Held {
    folder: PathBuf,
    /// the folder itself, locked: the system lets go of it with the process, however that ends
    lock: Option<File>,
    /// folders that were made for this one
    made: Vec<PathBuf>,
}

/// Holds a folder, made where it does not exist, and clears away what a killed run left in it.
pub fn hold(folder: &Path) -> Result<Held, Failure> {
    let made: Vec<PathBuf> =
        folder.ancestors().take_while(|part| !part.exists()).map(Path::to_owned).collect();
    fs::create_dir_all(folder)
        .and_then(|()| Held::standing(folder))
        .map(|mut held| {
            held.made = made;
            held
        })
        .map_err(|source| failed(folder, source))
}

/// Finds out whether files can be written to a folder that may not exist yet, and leaves nothing behind: better said
/// before a search than after it.
pub fn probe(folder: &Path) -> Result<(), Failure> {
    let standing = folder.ancestors().find(|part| part.exists()).unwrap_or(Path::new("."));
    let write = || {
        if !standing.is_dir() {
            return Err(ErrorKind::NotADirectory.into());
        }
        let part = Held::standing(standing)?.hidden("-part");
        File::create(&part).and_then(|_| fs::remove_file(&part))
    };
    write().map_err(|source| failed(folder, source))
}

/// Writes one file under a hidden name beside it and renames it: a stop leaves the old file or the new one.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let write = || {
        // a link stays one
        let place = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        if fs::metadata(&place).is_ok_and(|found| !found.is_file() && !found.is_dir()) {
            // a device or a pipe is written to, not replaced
            return File::options().write(true).open(&place)?.write_all(bytes);
        }
        let folder = place.parent().filter(|parent| !parent.as_os_str().is_empty());
        let part = Held::standing(folder.unwrap_or(Path::new(".")))?.hidden("-part");
        let written = write_whole(&part, bytes).and_then(|()| fs::rename(&part, &place));
        if written.is_err() {
            let _ = fs::remove_file(&part);
        }
        written
    };
    write().map_err(|source| failed(path, source))
}

fn failed(path: &Path, source: io::Error) -> Failure {
    Failure::Write { path: path.to_owned(), source }
}

fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = File::create(path)?;
    file.write_all(bytes)?;
    file.sync_all()
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
            Err(TryLockError::WouldBlock) if began.elapsed() < PATIENCE => sleep(LOOK),
            Err(TryLockError::WouldBlock) => {
                return Err(io::Error::new(ErrorKind::WouldBlock, "another program holds it"));
            }
        }
    }
}

impl Held {
    fn standing(folder: &Path) -> io::Result<Self> {
        let held = Self { folder: folder.to_owned(), lock: lock(folder)?, made: Vec::new() };
        if held.lock.is_some() {
            // nobody else is at work here: what is hidden is left over
            held.clear()?;
        }
        Ok(held)
    }

    /// Writes all files, or none and says why.
    pub fn write_all(&self, files: &[NamedFile]) -> Result<(), Failure> {
        let place = |file: &NamedFile| self.folder.join(&file.name);
        // what cannot be replaced is found before anything is touched
        if let Some(folder) = files.iter().map(place).find(|path| path.is_dir()) {
            return Err(failed(&folder, ErrorKind::IsADirectory.into()));
        }
        let new = self.hidden("-new");
        let stage = || {
            fs::create_dir(&new).map_err(|source| failed(&self.folder, source))?;
            files.iter().try_for_each(|file| {
                write_whole(&new.join(&file.name), &file.bytes).map_err(|source| failed(&place(file), source))
            })
        };
        let staged = stage();
        if staged.is_err() {
            let _ = fs::remove_dir_all(&new);
            return staged;
        }
        let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
        self.exchange(&names).map_err(|source| failed(&self.folder, source))
    }

    /// Moves old files aside and new ones into place; on a fault everything goes back.
    fn exchange(&self, names: &[&str]) -> io::Result<()> {
        let (new, old) = (self.hidden("-new"), self.hidden("-old"));
        // from here on a killed run is brought to its end rather than undone
        fs::create_dir(&old)?;
        let moves = moves(&self.folder, &new, &old, names);
        for (done, (from, to)) in moves.iter().enumerate() {
            if let Err(error) = fs::rename(from, to) {
                for (from, to) in moves[..done].iter().rev() {
                    fs::rename(to, from)?;
                }
                fs::remove_dir(&old)?;
                fs::remove_dir_all(&new)?;
                return Err(error);
            }
        }
        fs::remove_dir(&new)?;
        fs::remove_dir_all(&old)
    }

    /// Ends what a killed run began: files not yet complete go, complete ones go into place.
    fn clear(&self) -> io::Result<()> {
        let mut left: Vec<String> = Vec::new();
        for entry in fs::read_dir(&self.folder)? {
            left.extend(entry?.file_name().into_string().ok().filter(|name| is_hidden(name)));
        }
        // the new ones of a run before its old ones
        left.sort();
        for name in &left {
            let path = self.folder.join(name);
            if let Some(run) = name.strip_suffix("-new")
                && left.contains(&format!("{run}-old"))
            {
                for entry in fs::read_dir(&path)? {
                    let entry = entry?;
                    fs::rename(entry.path(), self.folder.join(entry.file_name()))?;
                }
            }
            if path.is_dir() { fs::remove_dir_all(&path) } else { fs::remove_file(&path) }?;
        }
        Ok(())
    }

    fn hidden(&self, end: &str) -> PathBuf {
        self.folder.join(format!("{HIDDEN}{}{end}", std::process::id()))
    }
}

impl Drop for Held {
    fn drop(&mut self) {
        // nothing was written after all: folders made for it go again, where they are empty
        for folder in &self.made {
            let _ = fs::remove_dir(folder);
        }
    }
}

/// The renames of an exchange in their order: what stands in the way aside first, so that old and new never mix.
fn moves(folder: &Path, new: &Path, old: &Path, names: &[&str]) -> Vec<(PathBuf, PathBuf)> {
    let standing = names.iter().filter(|name| folder.join(name).symlink_metadata().is_ok());
    let aside = standing.map(|name| (folder.join(name), old.join(name)));
    aside.chain(names.iter().map(|name| (new.join(name), folder.join(name)))).collect()
}

/// Whether a name is one of those that a run gives its unfinished files.
fn is_hidden(name: &str) -> bool {
    name.strip_prefix(HIDDEN).is_some_and(|rest| {
        ENDS.iter().any(|end| {
            rest.strip_suffix(end)
                .is_some_and(|run| !run.is_empty() && run.bytes().all(|byte| byte.is_ascii_digit()))
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Files of a folder with their first words, hidden ones too.
    fn content(folder: &Path) -> Vec<(String, String)> {
        let mut found: Vec<(String, String)> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap())
            .map(|entry| {
                let text = fs::read_to_string(entry.path()).unwrap_or_else(|_| "a folder".to_owned());
                (entry.file_name().into_string().unwrap(), text)
            })
            .collect();
        found.sort();
        found
    }

    fn files(names: &[&str], text: &str) -> Vec<(String, String)> {
        names.iter().map(|name| ((*name).to_owned(), text.to_owned())).collect()
    }

    fn fill(folder: &Path, names: &[&str], text: &str) {
        fs::create_dir_all(folder).unwrap();
        for name in names {
            fs::write(folder.join(name), text).unwrap();
        }
    }

    const OLD: [&str; 2] = ["a", "b"];
    const NEW: [&str; 3] = ["a", "b", "c"];

    #[test]
    fn a_run_killed_between_any_two_renames_is_brought_to_its_end_by_the_next() {
        for stop in 0..=5 {
            let folder = tempfile::tempdir().unwrap();
            let folder = folder.path();
            fill(folder, &OLD, "old");
            let (new, old) = (folder.join(".flatspire-12-new"), folder.join(".flatspire-12-old"));
            fill(&new, &NEW, "new");
            fs::create_dir(&old).unwrap();
            let moves = moves(folder, &new, &old, &NEW);
            assert_eq!(moves.len(), 5);
            for (from, to) in &moves[..stop] {
                fs::rename(from, to).unwrap();
            }
            let showing: Vec<String> = content(folder)
                .into_iter()
                .filter(|(name, _)| !is_hidden(name))
                .map(|(_, text)| text)
                .collect();
            assert!(showing.windows(2).all(|pair| pair[0] == pair[1]), "old and new mix: {showing:?}");
            drop(hold(folder).unwrap());
            assert_eq!(content(folder), files(&NEW, "new"), "stopped after {stop} renames");
        }
    }

    #[test]
    fn what_a_run_left_that_had_not_all_its_files_goes() {
        let folder = tempfile::tempdir().unwrap();
        let folder = folder.path();
        fill(folder, &OLD, "old");
        fill(&folder.join(".flatspire-12-new"), &NEW[..1], "new");
        fill(&folder.join(".flatspire-7-old"), &NEW, "older");
        fs::write(folder.join(".flatspire-9-part"), "half").unwrap();
        // somebody else's
        fs::write(folder.join(".flatspire-notes"), "kept").unwrap();
        drop(hold(folder).unwrap());
        assert_eq!(content(folder), [files(&[".flatspire-notes"], "kept"), files(&OLD, "old")].concat());
    }

    #[test]
    fn a_fault_halfway_puts_everything_back() {
        let folder = tempfile::tempdir().unwrap();
        let folder = folder.path();
        fill(folder, &OLD, "old");
        let held = hold(folder).unwrap();
        // the last of the new files is missing
        fill(&held.hidden("-new"), &OLD, "new");
        assert!(held.exchange(&NEW).is_err());
        assert_eq!(content(folder), files(&OLD, "old"));
    }

    #[test]
    fn a_folder_made_for_nothing_goes_again() {
        let parent = tempfile::tempdir().unwrap();
        let folder = parent.path().join("one/two");
        drop(hold(&folder).unwrap());
        assert!(content(parent.path()).is_empty());
        let file = NamedFile { name: "a".to_owned(), bytes: b"new".to_vec() };
        hold(&folder).unwrap().write_all(&[file]).unwrap();
        assert_eq!(content(&folder), files(&["a"], "new"));
    }
}
