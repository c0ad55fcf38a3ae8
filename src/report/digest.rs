//! Fingerprints of script and style, so that the page can forbid every other.

use sha2::{Digest, Sha256};

const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// A text's fingerprint as a content security policy names it (W3C, Content Security Policy Level 3, section 2.3.1).
pub(super) fn source_hash(text: &str) -> String {
    format!("'sha256-{}'", base64(&Sha256::digest(text.as_bytes())))
}

/// Base 64 (RFC 4648, section 4).
fn base64(bytes: &[u8]) -> String {
    let mut text = String::new();
    for chunk in bytes.chunks(3) {
        let group = chunk.iter().fold(0_u32, |group, byte| (group << 8) | u32::from(*byte))
            << (8 * (3 - chunk.len()));
        for k in 0..4 {
            let letter = LETTERS[((group >> (18 - 6 * k)) & 63) as usize];
            text.push(if k <= chunk.len() { char::from(letter) } else { '=' });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_those_of_rfc_4648() {
        for (plain, expected) in
            [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foobar", "Zm9vYmFy")]
        {
            assert_eq!(base64(plain.as_bytes()), expected);
        }
    }

    #[test]
    fn the_fingerprint_of_nothing_is_the_known_one() {
        // SHA-256 of the empty message (FIPS 180-4 examples), in base 64
        assert_eq!(source_hash(""), "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='");
    }
}
