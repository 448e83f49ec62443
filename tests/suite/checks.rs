//! docs/checks.md, written from the tests whose doc comment begins with `Source, seen:`, `Source, computed:` or
//! `Source, from memory:`, and the source. Several sources are parted by semicolons; the words before the first comma
//! of each name it in the list at the end of the page. `INSTA_UPDATE=always` writes the page.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use crate::house::sources;

const HOW: [&str; 3] = ["seen", "computed", "from memory"];

/// What the checks are about, and the files that hold them.
const SUBJECTS: [(&str, &[&str]); 7] = [
    ("Fault trees", &["trees_published"]),
    ("Belief", &["belief_published"]),
    (
        "Choosing a test, and when to stop",
        &["ranking_published", "planning/ranks", "planning/policies"],
    ),
    ("Repair order", &["planning/repairs"]),
    ("Readings and instruments", &["conformity", "instruments"]),
    ("Units and trouble codes", &["units", "trouble_codes"]),
    ("Mechanics and derived quantities", &["formula"]),
];

/// A test of a published value.
struct Check {
    holds: String,
    source: String,
    how: &'static str,
}

/// The checks of a file, in its order.
fn checks_of(text: &str) -> Vec<Check> {
    let mut found = Vec::new();
    let mut source: Option<(String, &str)> = None;
    for line in text.lines() {
        if let Some(rest) = line.strip_prefix("/// Source, ") {
            let how = HOW.into_iter().find(|how| rest.starts_with(how));
            let how = how.unwrap_or_else(|| panic!("how was this checked? {line}"));
            let named = rest[how.len()..].strip_prefix(": ").unwrap();
            // The lints want backticks about a name such as `MacKay`.
            source = Some((named.trim_end_matches('.').replace('`', ""), how));
        } else if let Some(name) = line
            .strip_prefix("fn ")
            .and_then(|of| of.strip_suffix("() {"))
            && let Some((source, how)) = source.take()
        {
            let holds = name.replace('_', " ");
            found.push(Check { holds, source, how });
        }
    }
    assert!(source.is_none(), "a source without its test");
    found
}

fn suite() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/suite")
}

/// All checks as tables, a subject each.
fn tables() -> String {
    let mut text = String::new();
    for (subject, files) in SUBJECTS {
        write!(text, "\n## {subject}\n\n").unwrap();
        text += "| what the test holds | source | inputs |\n| --- | --- | --- |\n";
        for file in files {
            let code = fs::read_to_string(suite().join(format!("{file}.rs"))).unwrap();
            for Check { holds, source, how } in checks_of(&code) {
                writeln!(text, "| {holds} | {source} | {how} |").unwrap();
            }
        }
    }
    text
}

const BEGIN: &str = "<!-- from the tests -->\n";
const END: &str = "\n<!-- by hand -->\n";

#[test]
fn the_page_of_checks_is_what_the_tests_say() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/checks.md");
    let page = fs::read_to_string(&path).unwrap();
    let (head, rest) = page.split_once(BEGIN).unwrap();
    let (_, tail) = rest.split_once(END).unwrap();
    let expected = format!("{head}{BEGIN}{}{END}{tail}", tables());
    if page != expected {
        if std::env::var("INSTA_UPDATE").is_ok_and(|update| update == "always") {
            fs::write(&path, expected).unwrap();
        } else {
            panic!("docs/checks.md is out of date: run the tests with INSTA_UPDATE=always");
        }
    }
}

#[test]
fn every_check_stands_in_a_file_that_the_page_reads() {
    let read: BTreeSet<PathBuf> = SUBJECTS
        .iter()
        .flat_map(|(_, files)| files.iter())
        .map(|file| suite().join(format!("{file}.rs")))
        .collect();
    for file in sources("tests/suite") {
        let code = fs::read_to_string(&file).unwrap();
        let has_checks = code.lines().any(|line| line.starts_with("/// Source, "));
        assert_eq!(has_checks, read.contains(&file), "{}", file.display());
    }
}

#[test]
fn every_source_of_a_check_stands_in_the_list_of_sources() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/checks.md");
    let page = fs::read_to_string(path).unwrap();
    let (_, list) = page.split_once("\n## Sources\n").unwrap();
    let mut cited = BTreeSet::new();
    for (_, files) in SUBJECTS {
        for file in files {
            let code = fs::read_to_string(suite().join(format!("{file}.rs"))).unwrap();
            for check in checks_of(&code) {
                for source in check.source.split("; ") {
                    cited.insert(source.split(',').next().unwrap().to_owned());
                }
            }
        }
    }
    cited.remove("definitions");
    let listed = list.lines().filter_map(|line| line.strip_prefix("- **"));
    let listed = listed.map(|line| line.split("**").next().unwrap().to_owned());
    assert_eq!(cited, listed.collect::<BTreeSet<String>>());
}
