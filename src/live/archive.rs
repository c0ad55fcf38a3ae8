//! Named files as one archive: stored as they are, dated alike, so that the same files give the same bytes.

use std::io::{Cursor, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::LiveError;
use crate::package::NamedFile;

/// A ZIP archive (ISO/IEC 21320-1) of files, in their order, in a folder.
pub fn archive(folder: &str, files: &[NamedFile]) -> Result<Vec<u8>, LiveError> {
    let failed = |error: String| LiveError::Archive { message: error };
    // the format's own first day: no clock
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for file in files {
        writer.start_file(format!("{folder}/{}", file.name), options).map_err(|e| failed(e.to_string()))?;
        writer.write_all(&file.bytes).map_err(|e| failed(e.to_string()))?;
    }
    Ok(writer.finish().map_err(|e| failed(e.to_string()))?.into_inner())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Read;

    #[test]
    fn files_of_an_archive_keep_their_bytes() {
        let files = [
            NamedFile { name: "a.txt".to_owned(), bytes: b"spring".to_vec() },
            NamedFile { name: "b.bin".to_owned(), bytes: (0..=255).collect() },
        ];
        let bytes = archive("spring", &files).unwrap();
        assert_eq!(bytes, archive("spring", &files).unwrap());
        let mut read = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
        assert_eq!(read.len(), 2);
        for (k, file) in files.iter().enumerate() {
            let mut entry = read.by_index(k).unwrap();
            assert_eq!(entry.name().unwrap(), format!("spring/{}", file.name));
            let mut found = Vec::new();
            entry.read_to_end(&mut found).unwrap();
            assert_eq!(found, file.bytes);
        }
    }
}
