//! A value put into a file that someone else wrote: everything else stays as it is.

use serde_json::Value;

use super::insert::{NoPlace, insert, values};
use super::node::{Kind, Node};
use super::yaml;
use crate::text::yaml_scalar;

/// A text with the value that `way` leads to from the top of the file replaced by `value`, which is YAML on one line. Where
/// the last names of `way` are not there, they are added to the map that the others lead to.
///
/// What this makes of the file is read again: it must be what it said before, but for that value.
pub fn amend(text: &str, way: &[&str], value: &str) -> Result<String, NoPlace> {
    let by_line = || NoPlace::NotByLine(way.join("."));
    let mut expected = values(text).ok_or(NoPlace::Unreadable)?;
    let new = values(value).ok_or(NoPlace::Unreadable)?;
    let edited = {
        let file = yaml::read(text, 0).0.ok_or(NoPlace::Unreadable)?;
        edited(text, file.root(), way, value)?
    };
    let (last, parents) = way.split_last().ok_or_else(by_line)?;
    let parent = parents.iter().try_fold(&mut expected, |at, name| {
        let empty = || Value::Object(serde_json::Map::new());
        Some(at.as_object_mut()?.entry(*name).or_insert_with(empty))
    });
    let entries = parent.and_then(Value::as_object_mut).ok_or_else(by_line)?;
    entries.insert((*last).to_owned(), new);
    if values(&edited) == Some(expected) {
        Ok(edited)
    } else {
        Err(by_line())
    }
}

fn edited(text: &str, top: Node<'_>, way: &[&str], value: &str) -> Result<String, NoPlace> {
    let by_line = || NoPlace::NotByLine(way.join("."));
    let mut node = top;
    for (depth, name) in way.iter().enumerate() {
        let Some((_, inner)) = node.step(name) else {
            let missing = way[depth + 1..].iter().rev();
            let value = missing.fold(value.to_owned(), |value, name| {
                format!("{{{}: {value}}}", yaml_scalar(name))
            });
            let entry = format!("{}: {value}", yaml_scalar(name));
            let at = offset(text, node).ok_or_else(by_line)?;
            return match text[at..].strip_prefix('{') {
                Some(rest) => {
                    let between = if rest.trim_start().starts_with('}') {
                        ""
                    } else {
                        ", "
                    };
                    Ok(format!("{}{entry}{between}{rest}", &text[..=at]))
                }
                None => insert(text, &way[..depth], &entry),
            };
        };
        node = inner;
    }
    let at = offset(text, node).ok_or_else(by_line)?;
    let length = scalar(&text[at..], node).ok_or_else(by_line)?;
    Ok(format!("{}{value}{}", &text[..at], &text[at + length..]))
}

/// Where a value begins, in bytes.
fn offset(text: &str, node: Node<'_>) -> Option<usize> {
    let before = |count: u32| count.checked_sub(1).map(|count| count as usize);
    let spot = node.spot();
    let mark = text.len() - text.trim_start_matches('\u{feff}').len();
    let lines = text[mark..].split_inclusive('\n').take(before(spot.line)?);
    let line = mark + lines.map(str::len).sum::<usize>();
    let characters = text[line..].chars().take(before(spot.column)?);
    Some(line + characters.map(char::len_utf8).sum::<usize>())
}

/// How many bytes a number or a text takes as it is written on one line.
fn scalar(written: &str, node: Node<'_>) -> Option<usize> {
    let (Kind::Number(_, plain) | Kind::Text(plain)) = node.kind() else {
        return None;
    };
    if let Some(quoted) = written.strip_prefix('"') {
        let mut escaped = false;
        let end = quoted.find(|c| {
            let ends = c == '"' && !escaped;
            escaped = c == '\\' && !escaped;
            ends
        })?;
        return Some(end + 2);
    }
    if let Some(quoted) = written.strip_prefix('\'') {
        let doubled = plain.matches('\'').count();
        return Some(quoted.find(&plain.replace('\'', "''"))? + plain.len() + doubled + 2);
    }
    written.starts_with(plain).then_some(plain.len())
}
