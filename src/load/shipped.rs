//! The knowledge inside the binary, parsed when the program was built: `build.rs`.

use std::borrow::Cow;

use granit_parser::{Event, ScalarStyle, StructureStyle};

/// The shipped files: path, text, and the events of the text; none where it must be parsed.
pub(super) static SHIPPED: &[(&str, &str, &[u8])] =
    include!(concat!(env!("OUT_DIR"), "/shipped.rs"));

/// The events of a shipped text, in order, each with its line and column.
pub(super) struct Events<'t> {
    pub(super) text: &'t str,
    pub(super) bytes: &'t [u8],
}

impl<'t> Events<'t> {
    fn number(&mut self) -> Option<usize> {
        let (mut number, mut shift) = (0, 0);
        loop {
            let (byte, rest) = self.bytes.split_first()?;
            self.bytes = rest;
            number |= usize::from(byte & 127) << shift;
            shift += 7;
            if *byte < 128 {
                return Some(number);
            }
        }
    }

    fn scalar(&mut self, own: bool, style: ScalarStyle) -> Option<Event<'t>> {
        let length = self.number()?;
        let text = if own {
            let (text, rest) = self.bytes.split_at_checked(length)?;
            self.bytes = rest;
            str::from_utf8(text).ok()?
        } else {
            let start = self.number()?;
            self.text.get(start..start + length)?
        };
        Some(Event::Scalar(Cow::Borrowed(text), style, 0, None))
    }
}

impl<'t> Iterator for Events<'t> {
    type Item = (Event<'t>, usize, usize);

    fn next(&mut self) -> Option<Self::Item> {
        let (letter, rest) = self.bytes.split_first()?;
        self.bytes = rest;
        let (line, column) = (self.number()?, self.number()?);
        let event = match letter {
            b'[' => Event::SequenceStart(StructureStyle::Block, 0, None),
            b']' => Event::SequenceEnd,
            b'{' => Event::MappingStart(StructureStyle::Block, 0, None),
            b'}' => Event::MappingEnd,
            b'p' | b'P' => self.scalar(*letter == b'P', ScalarStyle::Plain)?,
            // Whether its escapes hide anything was seen when the files were tested.
            _ => self.scalar(*letter == b'Q', ScalarStyle::SingleQuoted)?,
        };
        Some((event, line, column))
    }
}
