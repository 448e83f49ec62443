use std::fs;
use std::path::{Path, PathBuf};

use halfsplit::load::{Severity, Source, load};
use proptest::prelude::*;
use rayon::prelude::*;

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
    Quote,
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
        Edit::Quote => format!("{line}\""),
        Edit::Bracket => line.replacen(['}', ']'], "", 1),
    })
}

/// The shipped files with one line of one of them edited.
fn with_edit(
    files: &[(String, String)],
    file: usize,
    number: usize,
    edit: &Edit,
) -> Vec<(String, String)> {
    let mut texts = files.to_vec();
    let lines: Vec<String> = texts[file]
        .1
        .lines()
        .enumerate()
        .filter_map(|(at, line)| {
            if at == number {
                edited(line, edit)
            } else {
                Some(line.to_owned())
            }
        })
        .collect();
    texts[file].1 = lines.join("\n") + "\n";
    texts
}

/// Every line of the files, as the number of its file and of itself.
fn lines(files: &[(String, String)]) -> Vec<(usize, usize)> {
    let count = |file: usize| files[file].1.lines().count();
    (0..files.len())
        .flat_map(|file| (0..count(file)).map(move |line| (file, line)))
        .collect()
}

/// Why an edit is found too far from its place, where it is found at all. A name that was edited away is
/// found where it is still used.
fn found_elsewhere(
    files: &[(String, String)],
    file: usize,
    number: usize,
    edit: &Edit,
) -> Option<String> {
    let findings = load(&Source::texts(with_edit(files, file, number, edit))).err()?;
    let path = &files[file].0;
    let line = u32::try_from(number).unwrap() + 1;
    let was = files[file].1.lines().nth(number).unwrap();
    let near = findings
        .0
        .iter()
        .any(|finding| finding.place.file == *path && finding.place.line.abs_diff(line) <= 2);
    let named = findings.0.iter().any(|finding| {
        let text = format!("{} {}", finding.words, finding.help().unwrap_or_default());
        finding.severity == Severity::Error
            && text
                .split('`')
                .skip(1)
                .step_by(2)
                .any(|name| was.contains(name))
    });
    (!near && !named).then(|| format!("{path}:{line} {edit:?} {was:?}\n{findings}"))
}

/// A thousand edits spread over all lines and kinds: each loads, or gives a finding within two lines of
/// it, or one that names what was edited away.
#[test]
fn a_single_edit_loads_or_is_found_near_its_place() {
    let files = shipped();
    let kinds = [
        Edit::Delete,
        Edit::Swap,
        Edit::Sign,
        Edit::Indent,
        Edit::Outdent,
    ];
    let all: Vec<(usize, usize, Edit)> = lines(&files)
        .into_iter()
        .flat_map(|(file, line)| kinds.clone().map(|edit| (file, line, edit)))
        .collect();
    // A step that shares no factor with the number of kinds, so that each kind comes as often.
    let step = (all.len() / 1000).max(1);
    let step = if step.is_multiple_of(kinds.len()) {
        step + 1
    } else {
        step
    };
    let sample: Vec<&(usize, usize, Edit)> = all.iter().step_by(step).collect();
    let far: Vec<String> = sample
        .par_iter()
        .filter_map(|(file, line, edit)| found_elsewhere(&files, *file, *line, edit))
        .collect();
    assert!(
        far.is_empty(),
        "{} of {}\n\n{}",
        far.len(),
        sample.len(),
        far.join("\n\n")
    );
}

fn slip() -> impl Strategy<Value = Edit> {
    prop_oneof![
        Just(Edit::Double),
        any::<usize>().prop_map(Edit::Slip),
        any::<usize>().prop_map(Edit::Lose),
        Just(Edit::Quote),
        Just(Edit::Bracket),
    ]
}

/// Slips of the keyboard that can turn the rest of a file into something else: whatever they make of
/// it, it loads or is refused.
#[test]
fn a_slip_of_the_keyboard_never_panics() {
    let files = shipped();
    let lines = lines(&files);
    let mut runner = proptest::test_runner::TestRunner::new(ProptestConfig {
        cases: 100,
        failure_persistence: None,
        ..ProptestConfig::default()
    });
    runner
        .run(&(0..lines.len(), slip()), |(at, edit)| {
            let (file, line) = lines[at];
            if let Err(findings) = load(&Source::texts(with_edit(&files, file, line, &edit))) {
                prop_assert!(findings.have_errors());
                prop_assert!(!findings.to_string().is_empty());
            }
            Ok(())
        })
        .unwrap();
}
