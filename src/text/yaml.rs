//! A text as a YAML scalar, for the files that the program writes.

/// A text as YAML on one line: bare where every reader takes it for that text, in double quotes otherwise.
///
/// A JSON string is a double-quoted YAML scalar (YAML 1.2, section 1.3).
pub(crate) fn yaml_scalar(text: &str) -> String {
    /// Words that a reader of YAML 1.1 or 1.2 takes for a truth value or for nothing.
    const RESERVED: [&str; 9] = ["true", "false", "null", "yes", "no", "on", "off", "y", "n"];
    let bare = text.starts_with(|c: char| c.is_ascii_alphabetic())
        && !text.ends_with(' ')
        && text
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | ' '))
        && !RESERVED.iter().any(|word| text.eq_ignore_ascii_case(word));
    if bare {
        text.to_owned()
    } else {
        serde_json::Value::from(text).to_string()
    }
}
