//! The knowledge inside the binary, parsed when the program was built: `build.rs`.

use super::document::{Document, Items, Texts};

/// The shipped files: path, text, and the document as bytes; none where the text must be parsed.
pub(super) static SHIPPED: &[(&str, &str, &[u8])] =
    include!(concat!(env!("OUT_DIR"), "/shipped.rs"));

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
