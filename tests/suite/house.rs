use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use petgraph::algo::kosaraju_scc;
use petgraph::graph::{DiGraph, NodeIndex};
use regex::Regex;

/// The rooms, lowest first: each may use those before it.
const ROOMS: [&str; 24] = [
    "files",
    "text",
    "units",
    "entry",
    "fault_tree",
    "knowledge",
    "load",
    "record",
    "infer",
    "decide",
    "cases",
    "simulate",
    "learn",
    "diff",
    "lint",
    "drawing",
    "recording",
    "session",
    "sheet",
    "jobs",
    "practice",
    "terminal",
    "serve",
    "commands",
];

/// Every file below a folder that ends in `.rs`.
pub(crate) fn sources(folder: &str) -> Vec<PathBuf> {
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
    let place = |room: &str| ROOMS.iter().position(|known| *known == room);
    let mut uses = 0;
    for file in sources("src") {
        let Some(room) = room_of(&file) else { continue };
        let own = place(&room).unwrap_or_else(|| panic!("{room} is in no place of the house"));
        for used in rooms_used_in(&fs::read_to_string(&file).unwrap()) {
            assert!(
                place(&used).is_some_and(|used| used <= own),
                "{room} uses {used} in {}",
                file.display()
            );
            uses += 1;
        }
    }
    assert!(uses > 100, "{uses} uses");
}

#[test]
fn files_inside_a_room_form_no_circle() {
    let circles: Vec<String> = ROOMS
        .into_iter()
        .filter_map(|room| Some(circle_in(room)?.join(", ")))
        .collect();
    assert!(circles.is_empty(), "{circles:#?}");
}

/// The files of a room that need each other in a circle, where some do.
fn circle_in(room: &str) -> Option<Vec<String>> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let module_of = |file: &Path| {
        let path = file.strip_prefix(&src).unwrap().with_extension("");
        let path = path.to_str().unwrap().replace(['/', '\\'], "::");
        path.strip_suffix("::mod")
            .map_or(path.clone(), str::to_owned)
    };
    let files: Vec<(String, String)> = sources("src")
        .iter()
        .filter(|file| room_of(file).as_deref() == Some(room))
        .map(|file| (module_of(file), code_of(&fs::read_to_string(file).unwrap())))
        .collect();
    circle_of(&files)
}

/// The modules that need each other in a circle, each given with its code.
fn circle_of(files: &[(String, String)]) -> Option<Vec<String>> {
    let mut graph = DiGraph::<&str, ()>::new();
    let nodes: BTreeMap<&str, NodeIndex> = files
        .iter()
        .map(|(module, _)| (module.as_str(), graph.add_node(module)))
        .collect();
    let exports: BTreeMap<&str, BTreeMap<String, String>> = files
        .iter()
        .map(|(module, code)| (module.as_str(), exported(module, code)))
        .collect();
    for (module, code) in files {
        for path in paths_in(module, code) {
            let defined = defined_in(&path, &exports);
            // A room that names its own parts in order to hand them out does not need them.
            let hands_out = exports[module.as_str()].values().any(|from| *from == path);
            if let Some(used) = defined.filter(|used| *used != *module && !hands_out) {
                graph.update_edge(nodes[module.as_str()], nodes[used.as_str()], ());
            }
        }
    }
    kosaraju_scc(&graph)
        .into_iter()
        .find(|circle| circle.len() > 1)
        .map(|circle| circle.iter().map(|node| graph[*node].to_owned()).collect())
}

#[test]
fn a_circle_of_files_is_found_through_what_the_room_hands_out() {
    let files = |parts: &[(&str, &str)]| -> Vec<(String, String)> {
        let owned = |(module, code): &(&str, &str)| ((*module).to_owned(), (*code).to_owned());
        parts.iter().map(owned).collect()
    };
    let room = ("room", "mod a;\nmod b;\npub use a::A;\npub use b::B;");
    let straight = files(&[
        room,
        ("room::a", "use super::B;"),
        ("room::b", "use crate::other::C;"),
    ]);
    assert_eq!(circle_of(&straight), None);
    let circle = files(&[
        room,
        ("room::a", "use super::B;"),
        ("room::b", "fn b(a: super::a::A) {}"),
    ]);
    let found: BTreeSet<String> = circle_of(&circle).unwrap().into_iter().collect();
    assert_eq!(
        found,
        BTreeSet::from(["room::a", "room::b"].map(str::to_owned))
    );
    let through_the_room = files(&[
        (
            "room",
            "mod a;\npub use a::A;\npub struct Shared;\nfn all() { a::work() }",
        ),
        ("room::a", "use super::Shared;"),
    ]);
    assert!(circle_of(&through_the_room).is_some());
}

/// Code with its comments taken out.
fn code_of(text: &str) -> String {
    let lines = text
        .lines()
        .map(|line| line.split("//").next().unwrap_or_default());
    lines.collect::<Vec<_>>().join("\n")
}

/// What a module hands out of its parts: the name, and the whole path it comes from.
fn exported(module: &str, code: &str) -> BTreeMap<String, String> {
    let mut exported = BTreeMap::new();
    for start in ["pub use ", "pub(crate) use ", "pub(super) use "] {
        for statement in code.split(start).skip(1) {
            let statement = statement.split(';').next().unwrap_or_default();
            for path in leaves(statement) {
                let (from, name) = path.split_once(" as ").unwrap_or((&path, ""));
                let name = if name.is_empty() {
                    from.rsplit("::").next().unwrap()
                } else {
                    name
                };
                exported.insert(name.to_owned(), absolute(module, from));
            }
        }
    }
    exported
}

/// Every path of a module's code that leads into its own room, absolute.
fn paths_in(module: &str, code: &str) -> BTreeSet<String> {
    let room = module.split("::").next().unwrap();
    let mut found = BTreeSet::new();
    for statement in code.split("use ").skip(1) {
        let statement = statement.split(';').next().unwrap_or_default();
        found.extend(leaves(statement).iter().map(|path| absolute(module, path)));
    }
    let inline = Regex::new(r"\b(?:(?:crate|self|super)::)+[\w:]+|\b[a-z_]+::\w[\w:]*").unwrap();
    found.extend(
        inline
            .find_iter(code)
            .map(|path| absolute(module, path.as_str())),
    );
    found.retain(|path| path.split("::").next() == Some(room));
    found
}

/// A `use` tree written out: `a::{b, c::{d, e}}` is `a::b`, `a::c::d` and `a::c::e`.
fn leaves(tree: &str) -> Vec<String> {
    let Some((before, group)) = tree.split_once('{') else {
        let path = tree.split_whitespace().collect::<Vec<_>>().join(" ");
        return vec![path.trim_end_matches("::self").to_owned()];
    };
    let before = before.trim();
    let mut group = group.trim_end().to_owned();
    group.pop();
    group.push('}');
    top_level(&group)
        .into_iter()
        .flat_map(leaves)
        .map(|leaf| {
            format!("{before}{leaf}")
                .trim_end_matches("::self")
                .to_owned()
        })
        .collect()
}

/// A path as seen from the root of the library; one that begins with neither `crate`, `self` nor `super` is
/// taken to begin with a part of the module.
fn absolute(module: &str, path: &str) -> String {
    let path = path.trim();
    if let Some(path) = path.strip_prefix("crate::") {
        return path.to_owned();
    }
    let mut base: Vec<&str> = module.split("::").collect();
    let mut rest = path.strip_prefix("self::").unwrap_or(path);
    while let Some(up) = rest.strip_prefix("super::") {
        base.pop();
        rest = up;
    }
    base.push(rest);
    base.join("::")
}

/// The module that defines what a path names, through whatever hands it out.
fn defined_in(path: &str, exports: &BTreeMap<&str, BTreeMap<String, String>>) -> Option<String> {
    let mut path = path.to_owned();
    // A name is handed on through a few rooms at the most.
    for _ in 0..8 {
        let parts: Vec<&str> = path.split("::").collect();
        let (end, module) = (1..=parts.len())
            .rev()
            .map(|end| (end, parts[..end].join("::")))
            .find(|(_, module)| exports.contains_key(module.as_str()))?;
        let Some(name) = parts.get(end) else {
            return Some(module);
        };
        match exports[module.as_str()].get(*name) {
            Some(from) => path = from.clone(),
            None if name.starts_with(char::is_uppercase) || end > 0 => return Some(module),
            None => return None,
        }
    }
    None
}

#[test]
fn every_room_says_what_it_is_for() {
    for room in ROOMS {
        let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
        let file = src.join(room).join("mod.rs");
        let text = fs::read_to_string(&file).unwrap();
        assert!(text.starts_with("//! "), "{}", file.display());
    }
}

#[test]
fn no_file_is_longer_than_a_thousand_lines() {
    for file in sources("src").into_iter().chain(sources("tests")) {
        let lines = fs::read_to_string(&file).unwrap().lines().count();
        assert!(lines <= 1_000, "{} has {lines} lines", file.display());
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

/// The text of every Rust file, with its path.
fn texts() -> Vec<(PathBuf, String)> {
    let files = sources("src").into_iter().chain(sources("tests"));
    files
        .map(|file| (file.clone(), fs::read_to_string(file).unwrap()))
        .collect()
}

#[test]
fn every_section_of_the_method_that_code_cites_exists() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let method = fs::read_to_string(root.join("docs/method.md")).unwrap();
    let cited = Regex::new(r"docs/method\.md,\s+(?:/// |//! |// )?section (\d+)").unwrap();
    let mut found = 0;
    for (file, text) in texts() {
        for section in cited.captures_iter(&text) {
            let heading = format!("\n## {}. ", &section[1]);
            assert!(method.contains(&heading), "{}: {heading}", file.display());
            found += 1;
        }
    }
    assert!(found > 0);
}

/// What only its author could follow.
#[test]
fn no_reference_leads_nowhere() {
    let dead = Regex::new(r"Method \u{a7}\d|\b(?:FT|BY|TS|RO|ME|UN|DR|TC)-\d\d\b").unwrap();
    let lines: Vec<String> = texts()
        .iter()
        .flat_map(|(file, text)| {
            let found = dead.find_iter(text);
            found.map(move |dead| format!("{}: {}", file.display(), dead.as_str()))
        })
        .collect();
    assert!(lines.is_empty(), "{lines:#?}");
}
