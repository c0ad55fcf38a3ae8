//! Exchange of the files of a package in two phases, with a commit record.
//!
//! New files are staged in a hidden folder. The commit record names every file to place and every file to move aside;
//! once it is durable the exchange is completed by this run or the next one. All old files are moved aside before the
//! first new one is placed, in a first run and in every later one: what shows is a part of the old package or a part of
//! the new one, never a mixture.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::super::stop;
use super::disk::Disk;
use super::manifest::fingerprint;
use crate::export::NamedFile;

/// Hidden names begin with this and the number of the process.
pub const HIDDEN: &str = ".flatspire-";
/// Ends of hidden names: commit record, new files, old files moved aside, one file that is being written.
const ENDS: [&str; 4] = ["-commit", "-new", "-old", "-part"];

/// Commit record of an exchange.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Record {
    /// files to place, the manifest last
    place: Vec<String>,
    /// files to move aside with the fingerprint expected of each
    aside: BTreeMap<String, String>,
    /// files to keep beside as `NAME.kept`
    keep: BTreeSet<String>,
}

/// One exchange in a folder.
pub struct Exchange<'a> {
    disk: &'a dyn Disk,
    folder: &'a Path,
    /// number of the process
    run: String,
}

impl<'a> Exchange<'a> {
    /// Exchange by a run in a folder.
    pub fn new(disk: &'a dyn Disk, folder: &'a Path, run: &str) -> Self {
        Self { disk, folder, run: run.to_owned() }
    }

    /// Path of a hidden file or folder of this run.
    pub fn hidden(&self, end: &str) -> PathBuf {
        self.folder.join(format!("{HIDDEN}{}{end}", self.run))
    }

    /// Writes `files`, moves aside those in `aside` (with the fingerprint expected of each) and keeps those in `keep`
    /// beside. Gives the names under which files were kept. After an error everything is as before, or the commit record
    /// stands and the next run completes the exchange.
    pub fn write(
        &self,
        files: &[NamedFile],
        aside: BTreeMap<String, String>,
        keep: BTreeSet<String>,
    ) -> io::Result<Vec<String>> {
        let record = Record { place: files.iter().map(|file| file.name.clone()).collect(), aside, keep };
        if let Err(error) = self.stage(files).and_then(|()| self.commit(&record)) {
            // without its record the exchange has not begun
            self.withdraw()?;
            self.sweep();
            return Err(error);
        }
        let mut moves = Vec::new();
        match self.carry_out(&record, &mut moves) {
            Ok(kept) => {
                // the package is complete: what cannot be cleared away now is cleared away by the next run
                let _ = self.withdraw().map(|()| self.sweep());
                Ok(kept)
            }
            Err(error) => {
                for (from, to) in moves.iter().rev() {
                    self.disk.rename(to, from)?;
                }
                self.sync(&record)?;
                self.withdraw()?;
                self.sweep();
                Err(error)
            }
        }
    }

    fn stage(&self, files: &[NamedFile]) -> io::Result<()> {
        let new = self.hidden("-new");
        self.disk.make_folder(&new)?;
        self.disk.make_folder(&self.hidden("-old"))?;
        let mut folders = BTreeSet::from([new.clone()]);
        for file in files {
            if stop::asked() {
                return Err(ErrorKind::Interrupted.into());
            }
            self.make_folders(&new, &file.name)?;
            let path = new.join(&file.name);
            self.disk.write(&path, &file.bytes)?;
            folders.extend(path.parent().map(Path::to_owned));
        }
        folders.iter().try_for_each(|folder| self.disk.sync_folder(folder))
    }

    /// Writes the commit record under another name and renames it: it is there as a whole or not at all.
    fn commit(&self, record: &Record) -> io::Result<()> {
        let part = self.hidden("-part");
        self.disk.write(&part, &serde_json::to_vec(record)?)?;
        self.disk.rename(&part, &self.hidden("-commit"))?;
        self.disk.sync_folder(self.folder)
    }

    /// Takes the commit record away.
    fn withdraw(&self) -> io::Result<()> {
        let commit = self.hidden("-commit");
        if self.disk.exists(&commit) {
            self.disk.remove_file(&commit)?;
            self.disk.sync_folder(self.folder)?;
        }
        Ok(())
    }

    /// Carries out a record from whatever state an earlier attempt left.
    fn carry_out(&self, record: &Record, moves: &mut Vec<(PathBuf, PathBuf)>) -> io::Result<Vec<String>> {
        let (new, old) = (self.hidden("-new"), self.hidden("-old"));
        let mut kept = Vec::new();
        let placed: BTreeSet<&String> = record.place.iter().collect();
        let names: BTreeSet<&String> =
            placed.iter().copied().chain(record.aside.keys()).chain(&record.keep).collect();
        for name in names {
            let place = self.folder.join(name);
            let done = placed.contains(name) && !self.disk.exists(&new.join(name));
            if done || !self.disk.exists(&place) {
                continue;
            }
            let to = old.join(name);
            let unchanged = || {
                let found = self.disk.read(&place).ok().map(|bytes| fingerprint(&bytes));
                found.is_some() && found.as_ref() == record.aside.get(name)
            };
            let to = if record.keep.contains(name) || self.disk.exists(&to) || !unchanged() {
                let beside = self.beside(name);
                kept.push(beside.clone());
                self.folder.join(beside)
            } else {
                self.make_folders(&old, name)?;
                to
            };
            self.disk.rename(&place, &to)?;
            moves.push((place, to));
        }
        self.sync(record)?;
        for name in &record.place {
            let (from, to) = (new.join(name), self.folder.join(name));
            if self.disk.exists(&from) {
                self.make_folders(self.folder, name)?;
                self.disk.rename(&from, &to)?;
                moves.push((from, to));
            }
        }
        self.sync(record)?;
        Ok(kept)
    }

    /// Free name beside a file: `NAME.kept`, `NAME.kept-2` and so on.
    fn beside(&self, name: &str) -> String {
        let mut beside = format!("{name}.kept");
        let mut count = 1;
        while self.disk.exists(&self.folder.join(&beside)) {
            count += 1;
            beside = format!("{name}.kept-{count}");
        }
        beside
    }

    /// Makes the folders of a relative name below a folder.
    fn make_folders(&self, below: &Path, name: &str) -> io::Result<()> {
        let parents: Vec<&Path> = Path::new(name).ancestors().skip(1).collect();
        for parent in parents.iter().rev().filter(|parent| !parent.as_os_str().is_empty()) {
            let folder = below.join(parent);
            if !self.disk.is_folder(&folder) {
                self.disk.make_folder(&folder)?;
            }
        }
        Ok(())
    }

    /// Makes all renames so far durable.
    fn sync(&self, record: &Record) -> io::Result<()> {
        let mut folders = BTreeSet::from([self.folder.to_owned(), self.hidden("-new"), self.hidden("-old")]);
        for name in record.place.iter().chain(record.aside.keys()).chain(&record.keep) {
            folders.extend(self.folder.join(name).parent().map(Path::to_owned));
        }
        folders
            .iter()
            .filter(|folder| self.disk.is_folder(folder))
            .try_for_each(|folder| self.disk.sync_folder(folder))
    }

    /// Removes what is hidden of this run, as far as that is possible. The record must be gone.
    fn sweep(&self) {
        for end in ["-part", "-new", "-old"] {
            let path = self.hidden(end);
            if self.disk.exists(&path) {
                let _ = remove(self.disk, &path);
            }
        }
    }
}

/// Completes exchanges that have their commit record and removes what is left of others. `dead` says by its number
/// whether a run has ended. Gives the names under which files were kept.
pub fn heal(disk: &dyn Disk, folder: &Path, dead: &dyn Fn(&str) -> bool) -> io::Result<Vec<String>> {
    let mut kept = Vec::new();
    let mut left = Vec::new();
    for name in disk.names(folder)? {
        let Some((run, end)) = hidden_parts(&name).filter(|(run, _)| dead(run)) else { continue };
        if end != "-commit" {
            left.push(folder.join(&name));
            continue;
        }
        let exchange = Exchange::new(disk, folder, run);
        let record: Record = serde_json::from_slice(&disk.read(&folder.join(&name))?)
            .map_err(|error| io::Error::new(ErrorKind::InvalidData, format!("{name} is damaged: {error}")))?;
        kept.extend(exchange.carry_out(&record, &mut Vec::new())?);
        exchange.withdraw()?;
    }
    for path in left.iter().filter(|path| disk.exists(path)) {
        remove(disk, path)?;
    }
    Ok(kept)
}

/// Removes a file, or a folder with all it holds.
fn remove(disk: &dyn Disk, path: &Path) -> io::Result<()> {
    if !disk.is_folder(path) {
        return disk.remove_file(path);
    }
    for name in disk.names(path)? {
        remove(disk, &path.join(name))?;
    }
    disk.remove_folder(path)
}

/// Number of the run and end of a hidden name; `None` for every other name.
pub fn hidden_parts(name: &str) -> Option<(&str, &'static str)> {
    let rest = name.strip_prefix(HIDDEN)?;
    ENDS.iter().find_map(|end| {
        let run = rest.strip_suffix(end)?;
        (!run.is_empty() && run.bytes().all(|byte| byte.is_ascii_digit())).then_some((run, *end))
    })
}
