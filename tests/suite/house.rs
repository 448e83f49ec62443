use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The rooms, lowest first, each with what it may use: `None` is every room below.
const ROOMS: &[(&str, Option<&[&str]>)] = &[
    ("quantity", Some(&[])),
    ("tree", Some(&["quantity"])),
    ("names", Some(&[])),
    ("knowledge", Some(&["quantity", "tree"])),
    ("manual", Some(&["quantity", "tree", "knowledge", "names"])),
    ("belief", Some(&["quantity", "tree", "knowledge"])),
    ("plan", Some(&["quantity"])),
    ("job", Some(&["quantity", "tree"])),
    (
        "advice",
        Some(&["quantity", "tree", "knowledge", "belief", "plan", "job"]),
    ),
    ("proof", None),
    ("screen", None),
    ("bay", None),
    ("command", None),
];

/// What a room may use, itself among it.
fn allowed(place: usize) -> BTreeSet<&'static str> {
    let (room, uses) = ROOMS[place];
    let mut allowed: BTreeSet<&str> = match uses {
        Some(uses) => uses.iter().copied().collect(),
        None => ROOMS[..place].iter().map(|(below, _)| *below).collect(),
    };
    allowed.insert(room);
    allowed
}

/// Every file below a folder that ends in `.rs`.
fn sources(folder: &str) -> Vec<PathBuf> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, found);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                found.push(path);
            }
        }
    }
    let mut found = Vec::new();
    walk(
        &Path::new(env!("CARGO_MANIFEST_DIR")).join(folder),
        &mut found,
    );
    found.sort();
    assert!(!found.is_empty(), "{folder}");
    found
}

/// The room of a file of the library; `None` for `lib.rs` and `main.rs`.
fn room_of(file: &Path) -> Option<String> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let first = file.strip_prefix(src).unwrap().components().next()?;
    let room = Path::new(first.as_os_str())
        .file_stem()?
        .to_str()?
        .to_owned();
    (room != "lib" && room != "main").then_some(room)
}

/// The rooms named after `crate::` in the code of a file, comments left out.
fn rooms_used_in(text: &str) -> BTreeSet<String> {
    let code: String = text
        .lines()
        .map(|line| line.split("//").next().unwrap_or_default())
        .collect::<Vec<_>>()
        .join("\n");
    let mut used = BTreeSet::new();
    for after in code.split("crate::").skip(1) {
        let names = match after.strip_prefix('{') {
            Some(group) => top_level(group),
            None => vec![after],
        };
        for name in names {
            let end = name
                .find(|c: char| !c.is_ascii_alphanumeric() && c != '_')
                .unwrap_or(name.len());
            used.insert(name[..end].to_owned());
        }
    }
    used
}

/// The first words of a `{a::b, c::{d, e}}` group, its opening brace taken off.
fn top_level(group: &str) -> Vec<&str> {
    let (mut depth, mut start, mut names) = (0, 0, Vec::new());
    for (at, c) in group.char_indices() {
        match c {
            '{' => depth += 1,
            ',' if depth == 0 => {
                names.push(group[start..at].trim());
                start = at + 1;
            }
            '}' if depth == 0 => {
                names.push(group[start..at].trim());
                break;
            }
            '}' => depth -= 1,
            _ => {}
        }
    }
    names.retain(|name| !name.is_empty());
    names
}

#[test]
fn uses_are_found_in_every_form() {
    let text = "use crate::a::B;\nuse crate::{c::{D, E}, f};\n// crate::g\nlet h = crate::i::j(); // [`crate::k`]";
    let expected = ["a", "c", "f", "i"].map(str::to_owned);
    assert_eq!(rooms_used_in(text), BTreeSet::from(expected));
}

#[test]
fn a_room_uses_rooms_below_it_and_never_above() {
    let mut uses = 0;
    for file in sources("src") {
        let Some(room) = room_of(&file) else { continue };
        let place = ROOMS
            .iter()
            .position(|(known, _)| *known == room)
            .unwrap_or_else(|| panic!("{room} is in no place of the house"));
        let allowed = allowed(place);
        for used in rooms_used_in(&fs::read_to_string(&file).unwrap()) {
            assert!(
                allowed.contains(used.as_str()),
                "{room} uses {used} in {}",
                file.display()
            );
            uses += 1;
        }
    }
    assert!(uses > 100, "{uses} uses");
}

#[test]
fn every_room_says_what_it_is_for() {
    for (room, _) in ROOMS {
        let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
        let file = [
            src.join(room).join("mod.rs"),
            src.join(format!("{room}.rs")),
        ]
        .into_iter()
        .find(|file| file.exists());
        // The room of the worked cases may not stand yet.
        let Some(file) = file else {
            assert_eq!(*room, "proof");
            continue;
        };
        let text = fs::read_to_string(&file).unwrap();
        assert!(text.starts_with("//! "), "{}", file.display());
    }
}

#[test]
fn no_file_is_longer_than_six_hundred_lines() {
    for file in sources("src").into_iter().chain(sources("tests")) {
        let lines = fs::read_to_string(&file).unwrap().lines().count();
        assert!(lines <= 600, "{} has {lines} lines", file.display());
    }
}

#[test]
fn main_is_thin() {
    let main = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/main.rs");
    assert!(fs::read_to_string(main).unwrap().lines().count() <= 40);
}

/// Only `main` writes to the streams of the process by itself; everything else writes where it is told.
#[test]
fn the_library_prints_nothing_by_itself() {
    for file in sources("src") {
        if file.ends_with("main.rs") {
            continue;
        }
        let text = fs::read_to_string(&file).unwrap();
        for (number, line) in text.lines().enumerate() {
            let code = line.split("//").next().unwrap_or_default();
            let prints = ["println!(", "eprintln!(", "eprint!(", "dbg!("]
                .iter()
                .any(|word| code.contains(word));
            assert!(!prints, "{}:{}: {line}", file.display(), number + 1);
        }
    }
}
