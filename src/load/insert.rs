//! New lines put into a file that someone else wrote: every existing line stays as it is.

use serde_json::Value;

use super::node::Node;
use super::yaml;

/// Why lines cannot be put into a file. The words go on where the file was named.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoPlace {
    /// It is no YAML.
    #[error("it cannot be read")]
    Unreadable,
    /// What they should go under is not there.
    #[error("it has no `{0}`")]
    Missing(String),
    /// What they should go under is in braces, or empty.
    #[error("its `{0}` is not written with one entry a line")]
    NotByLine(String),
}

/// A text with an entry put behind the last of the map or list that `way` leads to from the top of the
/// file. `entry` is written as if at the left margin, an item of a list with its dash.
///
/// Where the last entry ends is found by its indentation. What the lines make of the file is then read again: it must be
/// what it said before and one entry more.
pub fn insert(text: &str, way: &[&str], entry: &str) -> Result<String, NoPlace> {
    let by_line = || NoPlace::NotByLine(way.join("."));
    let before = values(text).ok_or(NoPlace::Unreadable)?;
    let file = yaml::read(text, 0).0.ok_or(NoPlace::Unreadable)?;
    let mut way_down = way.iter();
    let parent = way_down.try_fold(file.root(), |node, name| node.get(name));
    let parent = parent.ok_or_else(|| NoPlace::Missing(way.join(".")))?;
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let (indent, after) = place(&lines, parent).ok_or_else(by_line)?;
    let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let mut edited = lines[..after].concat();
    if !edited.ends_with('\n') {
        edited.push_str(end);
    }
    for line in entry.lines() {
        let margin = if line.is_empty() { 0 } else { indent };
        edited.extend([&" ".repeat(margin), line, end]);
    }
    edited.push_str(&lines[after..].concat());
    let expected = with_entry(before, way, entry);
    if expected.is_some() && values(&edited) == expected {
        Ok(edited)
    } else {
        Err(by_line())
    }
}

/// What a file says, without its remarks.
pub(super) fn values(text: &str) -> Option<Value> {
    serde_yaml::from_str(text.trim_start_matches('\u{feff}')).ok()
}

/// How far the entries of a map or list are indented, and how many lines there are up to its last entry's end.
fn place(lines: &[&str], parent: Node<'_>) -> Option<(usize, usize)> {
    let names = parent.entries().map(|(name, _)| name);
    let last = names.chain(parent.items()).last()?;
    let last = (last.spot().line as usize).checked_sub(1)?;
    let indent = margin(lines.get(last)?)?;
    // The last entry goes on for as long as lines are indented further than its first.
    let beyond = |at: &usize| margin(lines[*at]).is_some_and(|margin| margin <= indent);
    let end = (last + 1..lines.len()).find(beyond);
    let mut its = (last..end.unwrap_or(lines.len())).rev();
    let after = its.find(|at| margin(lines[*at]).is_some())? + 1;
    Some((indent, after))
}

/// How far a line is indented; `None` for a line of blanks.
fn margin(line: &str) -> Option<usize> {
    let line = line.trim_start_matches('\u{feff}');
    let content = line.trim_start_matches(' ');
    (!content.trim().is_empty()).then_some(line.len() - content.len())
}

/// The values with one entry more in what `way` leads to.
fn with_entry(mut values: Value, way: &[&str], entry: &str) -> Option<Value> {
    let mut way = way.iter();
    let parent = way.try_fold(&mut values, |parent, name| parent.get_mut(name))?;
    match (parent, self::values(entry)?) {
        (Value::Object(entries), Value::Object(entry)) => entries.extend(entry),
        (Value::Array(items), Value::Array(item)) => items.extend(item),
        _ => return None,
    }
    Some(values)
}
