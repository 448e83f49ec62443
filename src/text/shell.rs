//! What a person copies into a shell.

/// A path as a shell takes it.
pub(crate) fn in_shell(path: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "/._-+:,\\".contains(c);
    if path.chars().all(plain) {
        path.to_owned()
    } else {
        format!("'{}'", path.replace('\'', r"'\''"))
    }
}
