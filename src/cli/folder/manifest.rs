//! Manifest of a package: which spring it is of, which files it has, and their fingerprints.

use std::collections::BTreeMap;
use std::fmt::Write;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// Name of the manifest in a package folder.
pub const NAME: &str = ".flatspire.json";

/// Version of the manifest's format.
const FORMAT: u32 = 1;

/// Manifest of a package.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    /// version of the format
    format: u32,
    /// version of the program that wrote the package last
    program: String,
    /// fingerprint of the spring, or of the input that the files were made from
    pub spring: String,
    /// fingerprint of the spring that this one was made from, of a second cut
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub made_from: Option<String>,
    /// fingerprints of the files by their names relative to the folder
    pub files: BTreeMap<String, String>,
}

impl Manifest {
    /// Manifest without files yet.
    pub fn new(spring: &str, made_from: Option<&str>) -> Self {
        Self {
            format: FORMAT,
            program: env!("CARGO_PKG_VERSION").to_owned(),
            spring: spring.to_owned(),
            made_from: made_from.map(str::to_owned),
            files: BTreeMap::new(),
        }
    }

    /// Manifest in the bytes of its file; `None` where it is damaged or of another format.
    pub fn parse(bytes: &[u8]) -> Option<Self> {
        serde_json::from_slice(bytes).ok().filter(|found: &Self| found.format == FORMAT)
    }

    /// Bytes of the manifest's file.
    pub fn bytes(&self) -> Vec<u8> {
        // maps of text to text always have a JSON form
        let mut bytes = serde_json::to_vec_pretty(self).unwrap_or_default();
        bytes.push(b'\n');
        bytes
    }
}

/// Fingerprint of bytes (SHA-256, hexadecimal).
pub fn fingerprint(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fingerprint_is_the_sha_256_of_the_standard() {
        // NIST FIPS 180-4, example of the message "abc"
        assert_eq!(fingerprint(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn a_manifest_comes_back_and_a_damaged_one_does_not() {
        let mut manifest = Manifest::new("abc", None);
        manifest.files.insert("solids/a.stl".to_owned(), "12".to_owned());
        assert_eq!(Manifest::parse(&manifest.bytes()), Some(manifest.clone()));
        assert_eq!(Manifest::parse(&manifest.bytes()[..20]), None);
        manifest.format = 2;
        assert_eq!(Manifest::parse(&manifest.bytes()), None);
    }
}
