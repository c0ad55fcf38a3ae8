//! File operations of the package writer: one trait, so that tests can put a simulated disk in the place of the real one.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;

/// File operations that the package writer needs.
pub trait Disk {
    /// Whether something stands at a path, a dangling link included.
    fn exists(&self, path: &Path) -> bool;
    /// Whether a folder stands at a path.
    fn is_folder(&self, path: &Path) -> bool;
    /// Names in a folder, in order.
    fn names(&self, folder: &Path) -> io::Result<Vec<String>>;
    /// Bytes of a file.
    fn read(&self, path: &Path) -> io::Result<Vec<u8>>;
    /// Makes one folder.
    fn make_folder(&self, path: &Path) -> io::Result<()>;
    /// Writes a file and syncs its bytes.
    fn write(&self, path: &Path, bytes: &[u8]) -> io::Result<()>;
    /// Renames a file.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;
    /// Removes a file.
    fn remove_file(&self, path: &Path) -> io::Result<()>;
    /// Removes an empty folder.
    fn remove_folder(&self, path: &Path) -> io::Result<()>;
    /// Makes the entries of a folder durable.
    fn sync_folder(&self, path: &Path) -> io::Result<()>;
}

/// The disk of the system.
pub struct SystemDisk;

impl Disk for SystemDisk {
    fn exists(&self, path: &Path) -> bool {
        path.symlink_metadata().is_ok()
    }

    fn is_folder(&self, path: &Path) -> bool {
        path.symlink_metadata().is_ok_and(|found| found.is_dir())
    }

    fn names(&self, folder: &Path) -> io::Result<Vec<String>> {
        let mut names = Vec::new();
        for entry in fs::read_dir(folder)? {
            // the program writes no name that is not Unicode
            names.extend(entry?.file_name().into_string());
        }
        names.sort();
        Ok(names)
    }

    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        fs::read(path)
    }

    fn make_folder(&self, path: &Path) -> io::Result<()> {
        fs::create_dir(path)
    }

    fn write(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        let mut file = File::create(path)?;
        file.write_all(bytes)?;
        file.sync_all()
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    fn remove_file(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    fn remove_folder(&self, path: &Path) -> io::Result<()> {
        fs::remove_dir(path)
    }

    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        // a folder cannot be opened as a file on every system; there the rename itself has to do
        match File::open(path).map(|folder| folder.sync_all()) {
            Ok(Err(error)) if error.kind() == io::ErrorKind::StorageFull => Err(error),
            _ => Ok(()),
        }
    }
}
