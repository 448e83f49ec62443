//! Text in a drawing: what may stand in it, how wide it is, where it breaks.

use unicode_width::UnicodeWidthChar;

use crate::text::clean;

/// The letters of prose.
pub(super) const PROSE: Face = Face::new(12.0, 15.0, Kind::Prose);
/// The letters of ids: every one as wide as the next.
pub(super) const ID: Face = Face::new(11.0, 15.0, Kind::Mono);
/// The letters of the title.
pub(super) const TITLE: Face = Face::new(21.0, 26.0, Kind::Bold);
/// The letters of the top event.
pub(super) const TOP: Face = Face::new(12.0, 15.0, Kind::Bold);
/// The letters of column headings, numbers on lines and the legend.
pub(super) const SMALL: Face = Face::new(11.0, 14.0, Kind::Prose);

/// How wide the characters from space to `~` are, in thousandths of the size: the advance widths of
/// `DejaVu Sans`, which of the faces a reader may have is among the widest.
#[rustfmt::skip]
const WIDTHS: [u16; 95] = [
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, // space to /
    636, 636, 636, 636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, // 0 to ?
    1000, 684, 686, 698, 770, 632, 575, 775, 752, 295, 295, 656, 557, 863, 748, 787, // @ to O
    603, 787, 695, 635, 611, 732, 684, 989, 685, 611, 685, 390, 337, 390, 838, 500, // P to _
    500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612, // ` to o
    635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838, // p to ~
];

/// Size and kind of letters.
#[derive(Clone, Copy)]
pub(super) struct Face {
    /// In units of the drawing.
    pub(super) size: f64,
    /// From one line to the next.
    pub(super) line: f64,
    pub(super) kind: Kind,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Prose,
    Bold,
    Mono,
}

/// The text as one line that XML takes: control characters made visible, and what XML 1.0 §2.2
/// leaves out of its characters besides.
pub(super) fn safe(text: &str) -> String {
    clean(text)
        .chars()
        .map(|c| {
            if matches!(c, '\u{fffe}' | '\u{ffff}') {
                '\u{fffd}'
            } else {
                c
            }
        })
        .collect()
}

impl Face {
    pub(super) const fn new(size: f64, line: f64, kind: Kind) -> Self {
        Self { size, line, kind }
    }

    /// The width of a text, rather too much than too little: no fonts are at hand to ask.
    pub(super) fn width(self, text: &str) -> f64 {
        text.chars().map(|c| self.letter(c)).sum()
    }

    fn letter(self, c: char) -> f64 {
        let em = match (c.width().unwrap_or(0), self.kind) {
            (0, _) => 0.0,
            (2.., _) => 1.05,
            (_, Kind::Mono) => 0.61,
            (_, kind) => {
                let place = u32::from(c)
                    .checked_sub(32)
                    .and_then(|place| usize::try_from(place).ok());
                let prose = place
                    .and_then(|place| WIDTHS.get(place))
                    .map_or(1.0, |width| f64::from(*width) / 1000.0);
                // Of that face no bold letter is more than 1.261 times as wide as the plain one.
                if kind == Kind::Bold {
                    1.27 * prose
                } else {
                    prose
                }
            }
        };
        em * self.size
    }

    /// The text in lines of at most `width`, at most `lines` of them; what is left out ends in `…`.
    /// Breaks between words, and within a word that no line holds. No text: no line.
    ///
    /// Lines are filled to the least width, to a unit, that takes no more of them: lines of about one length read
    /// better than a full one with a word alone under it.
    pub(super) fn wrap(self, text: &str, width: f64, lines: usize) -> Vec<String> {
        let text = safe(text);
        let pieces = |word| self.pieces(word, width);
        let words: Vec<Word> = text.split_whitespace().flat_map(pieces).collect();
        let needed = filled(&words, width).len();
        let mut least = words.iter().map(|word| word.width).fold(0.0, f64::max);
        let mut enough = width;
        while enough - least > 1.0 {
            let between = f64::midpoint(least, enough);
            if filled(&words, between).len() > needed {
                least = between;
            } else {
                enough = between;
            }
        }
        let mut shown = filled(&words, enough);
        if shown.len() > lines {
            shown.truncate(lines);
            if let Some(last) = shown.last_mut() {
                while self.width(last) + self.letter('…') > width && last.pop().is_some() {}
                last.truncate(last.trim_end().len());
                last.push('…');
            }
        }
        shown
    }

    /// A word in pieces that a line holds; only the last is followed by a space.
    fn pieces(self, word: &str, width: f64) -> Vec<Word> {
        let mut pieces = vec![Word::default()];
        for c in word.chars() {
            let letter = self.letter(c);
            match pieces.last_mut() {
                Some(piece) if piece.width + letter <= width || piece.text.is_empty() => {
                    piece.text.push(c);
                    piece.width += letter;
                }
                _ => pieces.push(Word {
                    text: c.to_string(),
                    width: letter,
                    space: 0.0,
                }),
            }
        }
        if let Some(last) = pieces.last_mut() {
            last.space = self.letter(' ');
        }
        pieces
    }
}

/// A word, or a piece of one, on its way into a line.
#[derive(Default)]
struct Word {
    text: String,
    width: f64,
    /// The width of the space behind it.
    space: f64,
}

/// The words in lines as full as they go; a word too wide for any stands alone.
fn filled(words: &[Word], width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut used = f64::INFINITY;
    for word in words {
        if used + word.width > width {
            lines.push(String::new());
            used = 0.0;
        }
        if let Some(line) = lines.last_mut() {
            line.push_str(&word.text);
            line.push_str(if word.space > 0.0 { " " } else { "" });
        }
        used += word.width + word.space;
    }
    for line in &mut lines {
        line.truncate(line.trim_end().len());
    }
    lines
}
