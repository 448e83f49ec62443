//! Numbers and typed texts inside a sentence.

/// A number as a person would write it: at most six significant digits, no trailing zeros.
#[must_use]
pub fn plain(number: f64) -> String {
    if !number.is_finite() {
        return "no number".to_owned();
    }
    let rounded: f64 = format!("{number:.5e}").parse().unwrap_or(number);
    let size = rounded.abs();
    if size >= 1e15 || (size > 0.0 && size < 1e-6) {
        format!("{rounded:e}")
    } else {
        // Adding zero turns -0.0 into 0.0.
        format!("{}", rounded + 0.0)
    }
}

/// What a person typed, in quotation marks, fit for a screen: at most forty characters, and control
/// characters and marks that turn the direction of writing shown as their code.
#[must_use]
pub fn quoted(text: &str) -> String {
    const SHOWN: usize = 40;
    let mut out = String::from("\u{201c}");
    for character in text.chars().take(SHOWN) {
        if character.is_control() || unseen(character) {
            out.extend(character.escape_unicode());
        } else {
            out.push(character);
        }
    }
    if text.chars().nth(SHOWN).is_some() {
        out.push('\u{2026}');
    }
    out.push('\u{201d}');
    out
}

/// Format characters: they take no room and can make a line read otherwise than it is.
fn unseen(character: char) -> bool {
    matches!(character,
        '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

/// `a`, `a or b`, `a, b or c`.
pub(crate) fn either(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}
