//! Text of unknown origin on its way to a screen or a file: nothing in it may steer a terminal or make a line read
//! otherwise than it is.

use std::io::{self, Write};

use serde::Serialize;

use super::hidden::is_hidden;

/// The text with hidden characters written as `\u{1b}` and the like; a line break or a tab becomes a space.
pub fn clean(text: &str) -> String {
    let mut clean = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\n' | '\r' | '\t' => clean.push(' '),
            c if is_hidden(c) => clean.extend(c.escape_unicode()),
            c => clean.push(c),
        }
    }
    clean
}

/// What a person typed, in quotation marks, hidden characters escaped: at most forty characters of it.
pub fn quoted(text: &str) -> String {
    const SHOWN: usize = 40;
    let mut out = String::from("\u{201c}");
    for c in text.chars().take(SHOWN) {
        if is_hidden(c) {
            out.extend(c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    if text.chars().nth(SHOWN).is_some() {
        out.push('\u{2026}');
    }
    out.push('\u{201d}');
    out
}

/// JSON with every hidden character in it escaped as `\uXXXX` (RFC 8259, section 7).
pub(crate) fn escaped_json(json: &str) -> String {
    let mut safe = String::with_capacity(json.len());
    for line in json.split_inclusive('\n') {
        // Most lines are plain.
        if line.bytes().all(|byte| matches!(byte, b'\n' | b' '..=b'~')) {
            safe.push_str(line);
            continue;
        }
        for c in line.chars() {
            // Outside its strings JSON is plain ASCII, so that whatever is hidden stands in a string.
            if c != '\n' && is_hidden(c) {
                safe.extend(
                    c.encode_utf16(&mut [0; 2])
                        .iter()
                        .map(|unit| format!("\\u{unit:04x}")),
                );
            } else {
                safe.push(c);
            }
        }
    }
    safe
}

/// Writes a value as indented JSON and a line feed; it can be shown on a terminal as it is.
pub(crate) fn json(to: &mut dyn Write, value: &impl Serialize) -> io::Result<()> {
    writeln!(
        to,
        "{}",
        escaped_json(&serde_json::to_string_pretty(value)?)
    )
}
