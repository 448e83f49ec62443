//! The knowledge inside the binary, parsed when the program was built: `build.rs`.

use super::document::{Document, Items, Texts};

/// The shipped files in the order of their paths: path, text, and the document as bytes; none where the text must be
/// parsed.
pub(super) static SHIPPED: &[(&str, &str, &[u8])] =
    include!(concat!(env!("OUT_DIR"), "/shipped.rs"));

/// The document of a file as bytes, where the program was built with this file; else none.
pub(super) fn parsed(path: &str, text: &str) -> &'static [u8] {
    let found = SHIPPED.binary_search_by(|(shipped, ..)| (*shipped).cmp(path));
    let shipped = found.ok().map(|place| &SHIPPED[place]);
    shipped.map_or(
        &[],
        |(_, shipped, parsed)| if *shipped == text { *parsed } else { &[] },
    )
}

/// The document of a shipped text: the texts that the file has otherwise, behind their length, and the values.
pub(super) fn document<'t>(file: &'t str, bytes: &'static [u8]) -> Option<Document<'t>> {
    let (length, rest) = bytes.split_first_chunk()?;
    let (rewritten, rest) = rest.split_at_checked(u32::from_le_bytes(*length) as usize)?;
    let rewritten = str::from_utf8(rewritten).ok()?.to_owned();
    Some(Document {
        texts: Texts { file, rewritten },
        items: Items::Stored(rest.as_chunks().0),
    })
}
