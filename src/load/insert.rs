//! New lines put into a file that someone else wrote: every line that stands stays as it is.

use super::log::Log;
use super::node::{Kind, Node, read};
use super::source::Source;

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
/// file. `entry` is written as if it stood at the left margin, an item of a list with its dash.
///
/// Nothing but the new lines differs: what they make of the file is read again and compared with what
/// it said before.
///
/// # Errors
///
/// [`NoPlace`]; the text is then to be written by hand.
pub fn insert(text: &str, way: &[&str], entry: &str) -> Result<String, NoPlace> {
    let name = || way.join(".");
    let by_line = || NoPlace::NotByLine(name());
    let before = tree(text).ok_or(NoPlace::Unreadable)?;
    let parent = follow(&before, way).ok_or_else(|| NoPlace::Missing(name()))?;
    let (first, last) = match &parent.kind {
        Kind::Map(entries) => {
            let lines = entries.iter().map(|(key, _)| key.spot.line);
            (lines.clone().min(), lines.max())
        }
        Kind::List(items) => {
            let lines = items.iter().map(|item| item.spot.line);
            (lines.clone().min(), lines.max())
        }
        _ => return Err(by_line()),
    };
    let (first, last) = first.zip(last).ok_or_else(by_line)?;
    let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let at = |line: u32| (line as usize).checked_sub(1).and_then(|at| lines.get(at));
    let indent = depth(at(first).ok_or_else(by_line)?).ok_or_else(by_line)?;
    // The last entry goes on for as long as lines stand deeper than its first.
    let last = last as usize;
    let beyond = lines[last.min(lines.len())..]
        .iter()
        .position(|line| depth(line).is_some_and(|depth| depth <= indent))
        .map_or(lines.len(), |more| last + more);
    let after = lines[..beyond]
        .iter()
        .rposition(|line| depth(line).is_some())
        .ok_or_else(by_line)?
        + 1;
    let mut edited: String = lines[..after].concat();
    if !edited.ends_with('\n') {
        edited.push_str(end);
    }
    for line in entry.lines() {
        if !line.is_empty() {
            edited.extend(std::iter::repeat_n(' ', indent));
        }
        edited.push_str(line);
        edited.push_str(end);
    }
    edited.push_str(&lines[after..].concat());
    let grown = tree(&edited).ok_or_else(by_line)?;
    if grew(&before, &grown, way) {
        Ok(edited)
    } else {
        Err(by_line())
    }
}

/// A text as a tree of values; `None` where there is any finding on the way.
fn tree(text: &str) -> Option<Node> {
    let source = Source::texts([("file.yaml", text)]);
    let log = Log::new(&source.files);
    let node = read(text, 0, &log)?;
    log.finish().is_empty().then_some(node)
}

/// How deep the content of a line stands; `None` for a line of blanks.
fn depth(line: &str) -> Option<usize> {
    let content = line.trim_start_matches(' ');
    (!content.trim().is_empty()).then_some(line.len() - content.len())
}

fn follow<'n>(node: &'n Node, way: &[&str]) -> Option<&'n Node> {
    way.iter().try_fold(node, |node, name| match &node.kind {
        Kind::Map(entries) => entries
            .iter()
            .find(|(key, _)| key.text == *name)
            .map(|(_, value)| value),
        _ => None,
    })
}

/// Whether a tree is another with one entry more at the end of what `way` leads to.
fn grew(before: &Node, after: &Node, way: &[&str]) -> bool {
    match (&before.kind, &after.kind, way.split_first()) {
        (Kind::Map(before), Kind::Map(after), Some((name, rest))) => {
            before.len() == after.len()
                && before.iter().zip(after).all(|((key, one), (other, two))| {
                    key.text == other.text
                        && if key.text == *name {
                            grew(one, two, rest)
                        } else {
                            same(one, two)
                        }
                })
        }
        (Kind::Map(before), Kind::Map(after), None) => {
            before.len() + 1 == after.len() && before.iter().zip(after).all(same_entry)
        }
        (Kind::List(before), Kind::List(after), None) => {
            before.len() + 1 == after.len()
                && before.iter().zip(after).all(|(one, two)| same(one, two))
        }
        _ => false,
    }
}

/// Whether two trees say the same, wherever it stands.
fn same(one: &Node, two: &Node) -> bool {
    match (&one.kind, &two.kind) {
        (Kind::Null, Kind::Null) => true,
        (Kind::Bool(one), Kind::Bool(two)) => one == two,
        (Kind::Number(_, one), Kind::Number(_, two)) | (Kind::Text(one), Kind::Text(two)) => {
            one == two
        }
        (Kind::List(one), Kind::List(two)) => {
            one.len() == two.len() && one.iter().zip(two).all(|(one, two)| same(one, two))
        }
        (Kind::Map(one), Kind::Map(two)) => {
            one.len() == two.len() && one.iter().zip(two).all(same_entry)
        }
        _ => false,
    }
}

fn same_entry(
    ((key, one), (other, two)): (&(super::node::Key, Node), &(super::node::Key, Node)),
) -> bool {
    key.text == other.text && same(one, two)
}
