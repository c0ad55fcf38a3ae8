//! Faults of a simulated disk at every file operation of an exchange, and again while the next run completes it.
//!
//! The table of operations, faults and outcomes is kept in `tests/data/disk_faults.csv`; with `FLATSPIRE_WRITE_TABLES`
//! set, the test writes it anew.

use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use super::disk::Disk;
use super::exchange::{Exchange, heal, hidden_parts};
use super::manifest::fingerprint;
use crate::export::NamedFile;

/// A tree of files (bytes) and folders (none).
type Tree = BTreeMap<PathBuf, Option<Vec<u8>>>;

/// Kind of failure of one operation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fault {
    /// this operation fails, all others work
    Once,
    /// this operation and all later ones fail
    Onward,
    /// the process ends within this operation; what it did stays
    Kill,
    /// the power ends within this operation; of what was not synced, this share (in quarters) is left
    PowerLoss(usize),
}

/// A disk in memory.
#[derive(Default)]
struct SimulatedDisk {
    tree: RefCell<Tree>,
    /// trees since the last sync, the durable one first: an ordered journal
    journal: RefCell<Vec<Tree>>,
    operations: RefCell<Vec<&'static str>>,
    fault: Cell<Option<(usize, Fault)>>,
}

impl SimulatedDisk {
    fn of(tree: Tree) -> Self {
        let disk = Self::default();
        disk.journal.replace(vec![tree.clone()]);
        disk.tree.replace(tree);
        disk
    }

    fn with_fault(self, at: usize, fault: Fault) -> Self {
        self.fault.set(Some((at, fault)));
        self
    }

    /// The tree that the next run finds.
    fn after(&self) -> Tree {
        match self.fault.get() {
            Some((at, Fault::PowerLoss(quarters))) if self.operations.borrow().len() > at => {
                let journal = self.journal.borrow();
                journal[(journal.len() - 1) * quarters / 4].clone()
            }
            _ => self.tree.borrow().clone(),
        }
    }

    /// Counts an operation and fails where the fault says so. A file that is being written then is left half written.
    fn step(
        &self,
        name: &'static str,
        change: impl FnOnce(&mut Tree, bool) -> io::Result<()>,
    ) -> io::Result<()> {
        let count = self.operations.borrow().len();
        self.operations.borrow_mut().push(name);
        let fails =
            self.fault.get().is_some_and(|(at, fault)| count == at || (count > at && fault != Fault::Once));
        if fails {
            if self.fault.get().is_some_and(|(at, _)| count == at) && name == "write" {
                change(&mut self.tree.borrow_mut(), true)?;
                self.journal.borrow_mut().push(self.tree.borrow().clone());
            }
            return Err(ErrorKind::StorageFull.into());
        }
        change(&mut self.tree.borrow_mut(), false)?;
        let tree = self.tree.borrow().clone();
        if name == "sync folder" {
            self.journal.replace(vec![tree]);
        } else {
            self.journal.borrow_mut().push(tree);
        }
        Ok(())
    }
}

fn missing() -> io::Error {
    ErrorKind::NotFound.into()
}

impl Disk for SimulatedDisk {
    fn exists(&self, path: &Path) -> bool {
        self.tree.borrow().contains_key(path)
    }

    fn is_folder(&self, path: &Path) -> bool {
        self.tree.borrow().get(path).is_some_and(Option::is_none)
    }

    fn names(&self, folder: &Path) -> io::Result<Vec<String>> {
        let tree = self.tree.borrow();
        let below = tree.keys().filter(|path| path.parent() == Some(folder));
        Ok(below.map(|path| path.file_name().unwrap().to_str().unwrap().to_owned()).collect())
    }

    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        self.tree.borrow().get(path).cloned().flatten().ok_or_else(missing)
    }

    fn make_folder(&self, path: &Path) -> io::Result<()> {
        self.step("make folder", |tree, _| match tree.insert(path.to_owned(), None) {
            None => Ok(()),
            Some(_) => Err(ErrorKind::AlreadyExists.into()),
        })
    }

    fn write(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        self.step("write", |tree, torn| {
            assert!(tree.contains_key(path.parent().unwrap()), "{path:?} has no folder");
            tree.insert(
                path.to_owned(),
                Some(bytes[..if torn { bytes.len() / 2 } else { bytes.len() }].to_vec()),
            );
            Ok(())
        })
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.step("rename", |tree, _| {
            assert!(tree.contains_key(to.parent().unwrap()), "{to:?} has no folder");
            let moved = tree.remove(from).ok_or_else(missing)?;
            tree.insert(to.to_owned(), moved);
            Ok(())
        })
    }

    fn remove_file(&self, path: &Path) -> io::Result<()> {
        self.step("remove", |tree, _| tree.remove(path).map(drop).ok_or_else(missing))
    }

    fn remove_folder(&self, path: &Path) -> io::Result<()> {
        self.step("remove", |tree, _| {
            if tree.keys().any(|below| below.parent() == Some(path)) {
                return Err(ErrorKind::DirectoryNotEmpty.into());
            }
            tree.remove(path).map(drop).ok_or_else(missing)
        })
    }

    fn sync_folder(&self, _: &Path) -> io::Result<()> {
        self.step("sync folder", |_, _| Ok(()))
    }
}

const FOLDER: &str = "/package";
/// Files of both packages; the last is only in the new one.
const NAMES: [&str; 4] = ["curve.csv", "outline_mm.dxf", "solids/part.stl", "former/cone.stl"];
/// Edited by hand since it was written.
const EDITED: &str = "spring.toml";

fn at(name: &str) -> PathBuf {
    Path::new(FOLDER).join(name)
}

/// An old package with a file of the user's own and one edited by hand.
fn old() -> Tree {
    let mut tree = Tree::from([(PathBuf::from(FOLDER), None), (at("solids"), None)]);
    for name in &NAMES[..3] {
        tree.insert(at(name), Some(b"old".to_vec()));
    }
    tree.insert(at("notes.txt"), Some(b"own".to_vec()));
    tree.insert(at(EDITED), Some(b"edited".to_vec()));
    tree
}

fn write(disk: &SimulatedDisk) -> io::Result<Vec<String>> {
    let names = NAMES.iter().chain([&EDITED]);
    let files: Vec<NamedFile> =
        names.map(|name| NamedFile { name: (*name).to_owned(), bytes: b"new".to_vec() }).collect();
    let aside = NAMES[..3].iter().map(|name| ((*name).to_owned(), fingerprint(b"old"))).collect();
    Exchange::new(disk, Path::new(FOLDER), "12").write(&files, aside, BTreeSet::from([EDITED.to_owned()]))
}

/// `old`, `new`, `old in part` or `new in part` of what shows, `in exchange` where nothing does; a panic where both show.
fn state(tree: &Tree) -> &'static str {
    let shown = |name: &&&str| tree.get(&at(name)).cloned().flatten();
    let bytes: Vec<Vec<u8>> = NAMES.iter().collect::<Vec<_>>().iter().filter_map(shown).collect();
    let edited = tree.get(&at(EDITED)).cloned().flatten();
    let kept = tree.get(&at("spring.toml.kept")).cloned().flatten();
    assert_eq!(tree[&at("notes.txt")].as_deref(), Some(b"own".as_slice()), "the user's own file");
    assert!(
        [&edited, &kept].into_iter().any(|found| found.as_deref() == Some(b"edited".as_slice())),
        "the edit is lost"
    );
    let all = |word: &[u8]| bytes.iter().all(|found| found == word);
    match (all(b"old"), all(b"new")) {
        (true, false) if bytes.len() == 3 && edited.as_deref() == Some(b"edited") => "old",
        (false, true) if bytes.len() == 4 && edited.as_deref() == Some(b"new") => "new",
        (true, true) => "in exchange",
        (true, false) => "old in part",
        (false, true) => "new in part",
        _ => panic!("a mixture: {tree:?}"),
    }
}

fn hidden(tree: &Tree, wanted: &str) -> bool {
    tree.keys()
        .filter(|path| path.parent() == Some(Path::new(FOLDER)))
        .filter_map(|path| hidden_parts(path.file_name()?.to_str()?))
        .any(|(_, end)| wanted.is_empty() || end == wanted)
}

/// Completes what a run left, without a fault, and gives the state it ends in.
fn healed(tree: &Tree) -> &'static str {
    let disk = SimulatedDisk::of(tree.clone());
    heal(&disk, Path::new(FOLDER), &|_| true).unwrap();
    let tree = disk.after();
    assert!(!hidden(&tree, ""), "left over: {:?}", tree.keys());
    let ended = state(&tree);
    assert!(ended == "old" || ended == "new", "{ended}: {:?}", tree.keys());
    ended
}

/// All faults; power loss with nothing, a half and all of the unsynced left.
const FAULTS: [Fault; 6] =
    [Fault::Once, Fault::Onward, Fault::Kill, Fault::PowerLoss(0), Fault::PowerLoss(2), Fault::PowerLoss(4)];

#[test]
fn every_fault_at_every_operation_ends_in_the_old_or_the_new_package() {
    let whole = SimulatedDisk::of(old());
    write(&whole).unwrap();
    assert_eq!(state(&whole.after()), "new");
    let operations = whole.operations.take();
    let mut table = String::from("operation,name,fault,left,reported,after_next_run,second_faults\n");
    let mut cases = 0;
    for (k, name) in operations.iter().enumerate() {
        for fault in FAULTS {
            let disk = SimulatedDisk::of(old()).with_fault(k, fault);
            let result = write(&disk);
            let tree = disk.after();
            let left = state(&tree);
            let dead = matches!(fault, Fault::Kill | Fault::PowerLoss(_));
            if !dead {
                // a run that is not killed reports its state correctly: done and new, or an error and old, or an error
                // and a commit record
                let told = match &result {
                    Ok(_) => left == "new",
                    Err(_) => left == "old" || hidden(&tree, "-commit"),
                };
                assert!(told, "{k} {name} {fault:?}: {left}, {result:?}");
            }
            let ended = healed(&tree);
            if !dead && result.is_ok() {
                assert_eq!(ended, "new");
            }
            // a second fault at every operation of the healing
            let mut second = 0;
            for again in FAULTS {
                for step in 0.. {
                    let disk = SimulatedDisk::of(tree.clone()).with_fault(step, again);
                    let result = heal(&disk, Path::new(FOLDER), &|_| true);
                    let reached = disk.operations.borrow().len() > step;
                    if !reached {
                        assert!(result.is_ok());
                        break;
                    }
                    state(&disk.after());
                    assert_eq!(healed(&disk.after()), ended, "{k} {fault:?}, then {step} {again:?}");
                    second += 1;
                }
            }
            cases += 1 + second;
            let reported = match (dead, &result) {
                (true, _) => "-",
                (false, Ok(_)) => "done",
                (false, Err(_)) => "error",
            };
            table.push_str(&format!("{k},{name},{fault:?},{left},{reported},{ended},{second}\n"));
        }
    }
    assert!(cases > 2000, "{cases} cases");
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/disk_faults.csv");
    if std::env::var_os("FLATSPIRE_WRITE_TABLES").is_some() {
        std::fs::write(&kept, &table).unwrap();
    }
    let stored = std::fs::read_to_string(&kept).unwrap();
    assert!(
        stored == table,
        "the table differs from {}; FLATSPIRE_WRITE_TABLES=1 writes it anew",
        kept.display()
    );
}

#[test]
fn an_edit_between_a_kill_and_the_next_run_is_kept() {
    let whole = SimulatedDisk::of(old());
    write(&whole).unwrap();
    for k in 0..whole.operations.borrow().len() {
        let disk = SimulatedDisk::of(old()).with_fault(k, Fault::Kill);
        let _ = write(&disk);
        let mut tree = disk.after();
        tree.insert(at("curve.csv"), Some(b"edited since".to_vec()));
        let disk = SimulatedDisk::of(tree);
        heal(&disk, Path::new(FOLDER), &|_| true).unwrap();
        let tree = disk.after();
        assert!(
            tree.values().any(|bytes| bytes.as_deref() == Some(b"edited since".as_slice())),
            "killed at {k}"
        );
    }
}

#[test]
fn files_of_a_run_in_progress_stay() {
    let disk = SimulatedDisk::of(old()).with_fault(4, Fault::Kill);
    let _ = write(&disk);
    let tree = disk.after();
    let disk = SimulatedDisk::of(tree.clone());
    heal(&disk, Path::new(FOLDER), &|_| false).unwrap();
    assert!(disk.after() == tree && hidden(&tree, "-new"));
}
