//! Characters that are not seen. `build.rs` takes this file in as well.

/// Whether a character is one to escape: a control (C0, C1, DEL), or a format character that takes no room, turns the
/// direction of writing or breaks a line (Unicode 16.0, general categories Cc, Cf, Zl and Zp).
pub(crate) fn is_hidden(character: char) -> bool {
    // Almost every character is one of these.
    if matches!(character, ' '..='~') {
        return false;
    }
    character.is_control()
        || matches!(character,
            '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

/// Whether a character is hidden in the text of a file: all of them but the end of a line and the tab.
pub(crate) fn is_hidden_in_text(character: char) -> bool {
    is_hidden(character) && !matches!(character, '\n' | '\t')
}
