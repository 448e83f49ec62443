use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use halfsplit::load::{Code, Finding, Source, load};

use super::textbook::{Book, FILES};

const CAUSES: &str = "bench/causes.yaml";
const FAMILY: &str = "bench/family.yaml";

/// What a file in place of the causes gives.
fn found(content: impl Into<Vec<u8>>) -> Vec<Finding> {
    let findings = Book::new().with(CAUSES, content).findings();
    for finding in &findings {
        let text = finding.to_string();
        assert!(
            text.chars().all(|c| c == '\n' || !c.is_control()),
            "{text:?}"
        );
        assert!(text.len() < 4000, "{}", text.len());
    }
    findings
}

fn only(content: impl Into<Vec<u8>>) -> Finding {
    let findings = found(content);
    assert_eq!(findings.len(), 1, "{findings:?}");
    findings.into_iter().next().unwrap()
}

#[test]
fn ten_megabytes_are_refused_before_they_are_read() {
    let finding = only("causes: {}\n".repeat(1_000_000));
    assert_eq!(finding.code, Code::TooLarge);
    assert!(
        finding.words.contains("11000000 bytes"),
        "{}",
        finding.words
    );
}

#[test]
fn nesting_ten_thousand_deep_is_refused() {
    for text in [
        "[".repeat(10_000),
        "{a: ".repeat(10_000),
        "- ".repeat(10_000),
        (0..1000).fold(String::new(), |mut text, depth| {
            writeln!(text, "{}a:", " ".repeat(depth)).unwrap();
            text
        }),
        format!("causes: {}{}", "[".repeat(10_000), "]".repeat(10_000)),
    ] {
        let finding = only(text.clone());
        assert_eq!(finding.code, Code::TooMuch, "{finding}\n{}", &text[..20]);
    }
}

/// Nine levels of nine aliases each would be 387 million texts.
#[test]
fn an_alias_bomb_is_refused() {
    let mut bomb = "a0: &a0 [lol, lol, lol, lol, lol, lol, lol, lol, lol]\n".to_owned();
    for level in 1..9 {
        let inner = vec![format!("*a{}", level - 1); 9].join(", ");
        writeln!(bomb, "a{level}: &a{level} [{inner}]").unwrap();
    }
    assert_eq!(only(bomb).code, Code::TooMuch);
}

#[test]
fn a_merge_bomb_merges_nothing() {
    let mut bomb = "a0: &a0 {x: 1}\n".to_owned();
    for level in 1..40 {
        writeln!(
            bomb,
            "a{level}: &a{level} {{<<: [*a{0}, *a{0}]}}",
            level - 1
        )
        .unwrap();
    }
    assert!(
        found(bomb)
            .iter()
            .all(|finding| finding.code != Code::StrayFile)
    );
}

#[test]
fn bytes_that_are_no_text_are_named_with_their_line() {
    let finding = only(b"repairs:\n  x: \xff\n".to_vec());
    assert_eq!(finding.code, Code::NotUtf8);
    assert!(finding.words.contains("line 2"), "{}", finding.words);
}

#[test]
fn hidden_characters_are_named_with_their_place_and_shown_as_numbers() {
    for (character, name) in [
        ('\0', "U+0000"),
        ('\u{1b}', "U+001B"),
        ('\u{7f}', "U+007F"),
        ('\u{85}', "U+0085"),
        ('\u{9b}', "U+009B"),
        ('\u{ad}', "U+00AD"),
        ('\u{61c}', "U+061C"),
        ('\u{200b}', "U+200B"),
        ('\u{202e}', "U+202E"),
        ('\u{feff}', "U+FEFF"),
        ('\u{e0041}', "U+E0041"),
    ] {
        let finding = only(format!("repairs: {{}}\ncauses: x{character}y\n"));
        assert_eq!(finding.code, Code::ControlCharacter, "{finding}");
        assert_eq!(
            (finding.place.line, finding.place.column),
            (2, 10),
            "{finding}"
        );
        assert!(finding.words.contains(name), "{}", finding.words);
        assert!(!finding.to_string().contains(character), "{finding}");
    }
}

/// YAML ends a line with LF, with CR, or with both.
#[test]
fn every_ending_of_lines_gives_the_same_places() {
    let text = Book::new().text(CAUSES).replace("rate: 20", "rate: many");
    let lf = only(text.clone());
    assert_eq!(lf.code, Code::WrongType);
    for ending in ["\r\n", "\r"] {
        let other = only(text.replace('\n', ending));
        assert_eq!(other.place, lf.place);
        assert_eq!(other.line, lf.line);
    }
}

#[test]
fn a_byte_order_mark_at_the_start_is_passed_over() {
    let text = Book::new().text(CAUSES);
    assert_eq!(found(format!("\u{feff}{text}")), []);
    let finding = only(format!("\u{feff}{}", text.replace("repairs:", "repair:")));
    assert_eq!(
        (finding.code, finding.place.line, finding.place.column),
        (Code::UnknownField, 1, 1)
    );
}

#[test]
fn a_tab_for_an_indent_is_found_at_its_line() {
    let text = Book::new()
        .text(CAUSES)
        .replace("    minutes: 5", "\tminutes: 5");
    let finding = only(text);
    assert_eq!(finding.code, Code::NotYaml);
    assert_eq!(
        (finding.place.line, finding.place.column),
        (4, 1),
        "{finding}"
    );
}

#[test]
fn an_empty_file_says_what_it_lacks() {
    for text in ["", "\n\n", "# nothing\n", "~", "---\n"] {
        let finding = only(text);
        assert!(
            matches!(finding.code, Code::WrongType | Code::NotYaml),
            "{finding}"
        );
    }
}

#[test]
fn two_documents_in_a_file_are_refused() {
    let text = Book::new().text(CAUSES);
    assert_eq!(only(format!("{text}---\n{text}")).code, Code::NotYaml);
}

#[test]
fn a_scalar_or_a_list_for_a_file_is_of_the_wrong_kind() {
    for text in ["just words", "- a\n- b\n", "17", "true"] {
        assert_eq!(only(text).code, Code::WrongType);
    }
}

#[test]
fn keys_that_are_no_names_are_refused() {
    let text = Book::new().text(CAUSES);
    let finding = only(text.replace("causes:\n", "causes:\n  ? [a, b]\n  : {}\n"));
    assert_eq!(finding.code, Code::WrongType);
    assert!(
        finding.words.contains("a name is expected"),
        "{}",
        finding.words
    );
}

#[test]
fn numbers_beyond_all_bounds_are_found() {
    for number in [
        "1e999",
        ".nan",
        "-.inf",
        "99999999999999999999999999999999999999999999",
    ] {
        let text = Book::new()
            .text(CAUSES)
            .replace("rate: 20", &format!("rate: {number}"));
        assert_eq!(only(text).code, Code::BadRate, "{number}");
    }
}

#[test]
fn of_a_hundred_thousand_mistakes_two_thousand_are_told() {
    let mut causes = "repairs: {}\ncauses:\n".to_owned();
    for number in 0..8_000 {
        writeln!(causes, "  c{number}: {{title: t, part: p, rate: 1, repair: r{number}, source: s, extra{number}: 1}}").unwrap();
    }
    let findings = found(causes);
    assert_eq!(findings.last().unwrap().code, Code::TooMuch);
    assert!(findings.len() <= 2001, "{}", findings.len());
    // A list of names that are nowhere, longer than the program looks for the nearest of.
    let names = (0..30_000)
        .map(|number| format!("name-{number}"))
        .collect::<Vec<_>>()
        .join(", ");
    let book = Book::new().edit(FAMILY, "[supply, lamp-look]", &format!("[{names}]"));
    assert!(book.findings().len() <= 2001);
}

#[test]
fn patterns_beyond_any_need_are_refused() {
    let tree = "bench/trees/no-light.yaml";
    let given = "complaints: ['dark', 'no light']";
    let many = vec!["'abcdefghij'"; 5_000].join(", ");
    let book = Book::new().edit(tree, given, &format!("complaints: [{many}]"));
    assert_eq!(book.codes(), [Code::TooMuch]);
    let long = "a".repeat(501);
    let book = Book::new().edit(tree, given, &format!("complaints: ['{long}']"));
    assert_eq!(book.codes(), [Code::BadPattern]);
}

#[test]
fn long_chains_of_shared_parts_and_set_ups_overflow_nothing() {
    let mut shared = "shared:\n  no-current: {event: e, any: [{shared: p0}]}\n".to_owned();
    for number in 0..4_000 {
        writeln!(
            shared,
            "  p{number}: {{event: e, any: [{{shared: p{}}}]}}",
            number + 1
        )
        .unwrap();
    }
    writeln!(shared, "  p4000: {{event: e, any: [wire-broken]}}").unwrap();
    let book = Book::new().with("bench/trees/shared.yaml", shared.clone());
    assert!(book.load().is_ok());
    let round = shared.replace("any: [wire-broken]", "any: [{shared: p0}]");
    let codes = Book::new().with("bench/trees/shared.yaml", round).codes();
    assert_eq!(codes, [Code::Cycle]);
    let mut set_ups = String::new();
    for number in 0..4_000 {
        writeln!(
            set_ups,
            "  s{number}: {{title: t, minutes: 1, needs: [s{}]}}",
            number + 1
        )
        .unwrap();
    }
    set_ups.push_str("  s4000: {title: t, minutes: 1}\n");
    let book = Book::new().edit(
        FAMILY,
        "instruments:\n",
        &format!("{set_ups}instruments:\n"),
    );
    assert!(book.load().is_ok());
}

/// Writes the textbook family into a folder.
fn write(folder: &Path) {
    for (path, text) in FILES {
        let file = folder.join(path);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, text).unwrap();
    }
}

fn codes_of(folder: &Path) -> Vec<(String, Code)> {
    let findings = match load(&Source::folder(folder).unwrap()) {
        Ok(loaded) => loaded.warnings.0,
        Err(findings) => findings.0,
    };
    findings
        .into_iter()
        .map(|finding| (finding.place.file, finding.code))
        .collect()
}

#[test]
fn a_folder_reads_as_its_files_do() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path());
    fs::write(folder.path().join(".hidden"), "x").unwrap();
    fs::write(folder.path().join("README.md"), "x").unwrap();
    let loaded = load(&Source::folder(folder.path()).unwrap()).unwrap();
    assert!(loaded.warnings.is_empty(), "{}", loaded.warnings);
    assert_eq!(
        loaded.knowledge.fingerprints(),
        Book::new().load().unwrap().knowledge.fingerprints()
    );
    // FIPS 180-4: SHA-256 of the empty text starts e3b0c44298fc1c14.
    fs::write(folder.path().join("vehicles/trainer.yaml"), "").unwrap();
    assert!(load(&Source::folder(folder.path()).unwrap()).is_err());
}

#[test]
fn a_folder_that_is_not_there_says_so() {
    let error = Source::folder(Path::new("no/such/folder")).unwrap_err();
    assert_eq!(
        error.to_string(),
        "the knowledge folder no/such/folder cannot be read: it is not there"
    );
    let file = tempfile::NamedTempFile::new().unwrap();
    let error = Source::folder(file.path()).unwrap_err();
    assert!(error.to_string().ends_with("it is not a folder"), "{error}");
}

#[cfg(unix)]
#[test]
fn links_that_lead_round_or_nowhere_and_devices_end_in_findings() {
    use std::os::unix::fs::symlink;
    let folder = tempfile::tempdir().unwrap();
    let at = |path: &str| folder.path().join(path);
    write(folder.path());
    symlink(folder.path(), at("bench/trees/round")).unwrap();
    symlink(at("bench/cases/loop.yaml"), at("bench/cases/loop.yaml")).unwrap();
    symlink("/nowhere", at("bench/cases/lost.yaml")).unwrap();
    symlink("/dev/zero", at("bench/cases/endless.yaml")).unwrap();
    fs::create_dir_all(at("bench/cases/folder.yaml")).unwrap();
    let found = codes_of(folder.path());
    let row = |path: &str, code| (path.to_owned(), code);
    assert_eq!(
        found,
        [
            row("bench/cases/endless.yaml", Code::Unreadable),
            row("bench/cases/folder.yaml", Code::Unreadable),
            row("bench/cases/loop.yaml", Code::Unreadable),
            row("bench/cases/lost.yaml", Code::Unreadable),
            row("bench/trees/round", Code::StrayFile),
        ]
    );
}
