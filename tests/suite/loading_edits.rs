use std::fs;
use std::path::{Path, PathBuf};

use halfsplit::manual::{Severity, Source, load};
use proptest::prelude::*;

/// A line of a shipped file, and what is done to it.
#[derive(Clone, Debug)]
enum Edit {
    Delete,
    Double,
    Indent,
    Outdent,
    /// The sign of the first number of the line, or a sign put before it.
    Sign,
    /// Two neighbouring characters change places, counted from the first letter.
    Slip(usize),
    /// A character is lost.
    Lose(usize),
    /// The first id of the line is swapped with the last.
    Swap,
    Bracket,
}

fn shipped() -> Vec<(String, String)> {
    fn walk(folder: &Path, base: &Path, files: &mut Vec<(String, String)>) {
        let mut paths: Vec<PathBuf> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .collect();
        paths.sort();
        for path in paths {
            if path.is_dir() {
                walk(&path, base, files);
            } else if path.extension().is_some_and(|ending| ending == "yaml") {
                let name = path
                    .strip_prefix(base)
                    .unwrap()
                    .to_string_lossy()
                    .into_owned();
                files.push((name, fs::read_to_string(&path).unwrap()));
            }
        }
    }
    let base = Path::new(env!("CARGO_MANIFEST_DIR")).join("knowledge");
    let mut files = Vec::new();
    walk(&base, &base, &mut files);
    files
}

fn edited(line: &str, edit: &Edit) -> Option<String> {
    let characters: Vec<char> = line.chars().collect();
    let start = characters
        .iter()
        .position(|c| c.is_alphabetic())
        .unwrap_or(0);
    let at = |offset: usize| start + offset % (characters.len() - start).max(1);
    Some(match edit {
        Edit::Delete => return None,
        Edit::Double => format!("{line}\n{line}"),
        Edit::Indent => format!(" {line}"),
        Edit::Outdent => line.strip_prefix(' ').unwrap_or(line).to_owned(),
        Edit::Sign => match line.find(|c: char| c.is_ascii_digit()) {
            Some(place) => format!("{}-{}", &line[..place], &line[place..]),
            None => line.to_owned(),
        },
        Edit::Slip(offset) => {
            let mut characters = characters.clone();
            let place = at(*offset);
            if place + 1 < characters.len() {
                characters.swap(place, place + 1);
            }
            characters.into_iter().collect()
        }
        Edit::Lose(offset) => {
            let mut characters = characters.clone();
            let place = at(*offset);
            if place < characters.len() {
                characters.remove(place);
            }
            characters.into_iter().collect()
        }
        Edit::Swap => {
            let ids: Vec<&str> = line
                .split(|c: char| !(c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'))
                .filter(|word| word.contains('-') && word.len() > 2)
                .collect();
            match (ids.first(), ids.last()) {
                (Some(first), Some(last)) if first != last => line
                    .replace(first, "\u{1}")
                    .replace(last, first)
                    .replace('\u{1}', last),
                _ => line.to_owned(),
            }
        }
        Edit::Bracket => line.replacen(['}', ']'], "", 1),
    })
}

fn edit() -> impl Strategy<Value = Edit> {
    prop_oneof![
        Just(Edit::Delete),
        Just(Edit::Double),
        Just(Edit::Indent),
        Just(Edit::Outdent),
        Just(Edit::Sign),
        any::<usize>().prop_map(Edit::Slip),
        any::<usize>().prop_map(Edit::Lose),
        Just(Edit::Swap),
        Just(Edit::Bracket),
    ]
}

/// One edit of one line either loads, or gives a finding within two lines of it, or in another file that
/// named what the edit took away; and it never panics.
#[test]
fn a_single_edit_loads_or_is_found_near_its_place() {
    let files = shipped();
    let mut runner = proptest::test_runner::TestRunner::new(ProptestConfig {
        cases: 300,
        failure_persistence: None,
        ..ProptestConfig::default()
    });
    let lines: usize = files.iter().map(|(_, text)| text.lines().count()).sum();
    runner
        .run(&(0..lines, edit()), |(line, edit)| {
            let mut left = line;
            let (file, number) = files
                .iter()
                .enumerate()
                .find_map(|(file, (_, text))| {
                    let count = text.lines().count();
                    if left < count {
                        return Some((file, left));
                    }
                    left -= count;
                    None
                })
                .unwrap();
            let mut texts = files.clone();
            let changed: Vec<String> = texts[file]
                .1
                .lines()
                .enumerate()
                .filter_map(|(at, line)| {
                    if at == number {
                        edited(line, &edit)
                    } else {
                        Some(line.to_owned())
                    }
                })
                .collect();
            texts[file].1 = changed.join("\n") + "\n";
            let path = texts[file].0.clone();
            let was = files[file].1.lines().nth(number).unwrap();
            if let Err(findings) = load(&Source::texts(texts)) {
                let near = findings.0.iter().any(|finding| {
                    finding.place.file == path
                        && finding
                            .place
                            .line
                            .abs_diff(u32::try_from(number).unwrap() + 1)
                            <= 2
                });
                // An id that was edited away is found where it is still used.
                let used = findings.0.iter().any(|finding| {
                    finding.severity == Severity::Error
                        && finding
                            .words
                            .split('`')
                            .skip(1)
                            .step_by(2)
                            .any(|name| was.contains(name))
                });
                prop_assert!(
                    near || used,
                    "{path}:{} {edit:?} {was:?}\n{findings}",
                    number + 1
                );
            }
            Ok(())
        })
        .unwrap();
}
