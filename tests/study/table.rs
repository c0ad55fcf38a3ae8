//! Tables of the study: a header, and a line a row.

/// The whole table.
#[allow(dead_code)] // the tests only read
pub fn written(header: &str, lines: impl Iterator<Item = String>) -> String {
    let mut text = format!("{header}\n");
    for line in lines {
        text.push_str(&line);
        text.push('\n');
    }
    text
}

/// Rows of a table; `None` where its header or a line is another one.
#[allow(dead_code)] // the example only writes
pub fn rows<T>(text: &str, header: &str, read: impl Fn(&str) -> Option<T>) -> Option<Vec<T>> {
    let mut lines = text.lines();
    (lines.next()? == header).then_some(())?;
    lines.map(read).collect()
}
