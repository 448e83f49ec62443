//! New lines put into a file that someone else wrote: every existing line stays as it is.

use serde_json::Value;

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
/// Where the lines belong is found by their indentation. What they make of the file is then read again:
/// it must be what it said before and one entry more.
pub fn insert(text: &str, way: &[&str], entry: &str) -> Result<String, NoPlace> {
    let by_line = || NoPlace::NotByLine(way.join("."));
    let before = values(text).ok_or(NoPlace::Unreadable)?;
    let mut parent = Some(&before);
    for name in way {
        parent = parent.and_then(|parent| parent.get(name));
    }
    parent.ok_or_else(|| NoPlace::Missing(way.join(".")))?;
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let (indent, after) = place(&lines, way).ok_or_else(by_line)?;
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
    let grown = values(&edited).and_then(|grown| without_last(grown, way));
    if grown == Some(before) {
        Ok(edited)
    } else {
        Err(by_line())
    }
}

/// What a file says, without its remarks.
pub(super) fn values(text: &str) -> Option<Value> {
    serde_yaml::from_str(text.trim_start_matches('\u{feff}')).ok()
}

/// How far the entries of a map or list are indented, and how many lines there are up to its last entry's end;
/// `None` where it is not written with one entry a line.
fn place(lines: &[&str], way: &[&str]) -> Option<(usize, usize)> {
    let (mut first, mut end) = (0, lines.len());
    for name in way {
        let inner = (first..end).find_map(|at| depth(lines[at]))?;
        let key = (first..end).find(|at| {
            let line = lines[*at].trim_start_matches('\u{feff}').trim();
            let rest = line
                .strip_prefix(name)
                .and_then(|rest| rest.strip_prefix(':'));
            depth(lines[*at]) == Some(inner)
                && rest.is_some_and(|rest| rest.is_empty() || rest.trim_start().starts_with('#'))
        })?;
        // The dashes of a list may be indented as far as its name.
        let deeper = |line: &str| {
            depth(line).is_none_or(|depth| {
                depth > inner || (depth == inner && line.trim_start().starts_with("- "))
            })
        };
        first = key + 1;
        end = (first..end).find(|at| !deeper(lines[*at])).unwrap_or(end);
    }
    let indent = (first..end).find_map(|at| depth(lines[at]))?;
    let entry = |at: &usize| depth(lines[*at]) == Some(indent);
    // The last entry goes on for as long as lines are indented further than its first.
    let last = (first..end).rev().find(entry)?;
    let beyond = |at: &usize| margin(lines[*at]).is_some_and(|margin| margin <= indent);
    let end = (last + 1..end).find(beyond).unwrap_or(end);
    let after = (last..end).rev().find(|at| margin(lines[*at]).is_some())? + 1;
    Some((indent, after))
}

/// How far a line is indented; `None` for a line of blanks.
fn margin(line: &str) -> Option<usize> {
    let line = line.trim_start_matches('\u{feff}');
    let content = line.trim_start_matches(' ');
    (!content.trim().is_empty()).then_some(line.len() - content.len())
}

/// The same where the line is no remark.
fn depth(line: &str) -> Option<usize> {
    margin(line).filter(|_| !line.trim_start().starts_with('#'))
}

/// The values without the last entry of what `way` leads to.
fn without_last(mut values: Value, way: &[&str]) -> Option<Value> {
    let parent = way
        .iter()
        .try_fold(&mut values, |parent, name| parent.get_mut(name))?;
    match parent {
        Value::Object(entries) => {
            let last = entries.keys().next_back()?.clone();
            entries.shift_remove(&last)?;
        }
        Value::Array(items) => drop(items.pop()?),
        _ => return None,
    }
    Some(values)
}
