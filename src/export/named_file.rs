//! A file that is not written yet.

/// A file by name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedFile {
    /// its name in the folder
    pub name: String,
    /// its bytes
    pub bytes: Vec<u8>,
}

impl NamedFile {
    /// A file of these bytes.
    pub fn new(name: &str, bytes: impl Into<Vec<u8>>) -> Self {
        Self { name: name.to_owned(), bytes: bytes.into() }
    }
}
