use std::fs;

use halfsplit::cases::{CaseRun, run};
use halfsplit::knowledge::{CauseId, Knowledge, MeasurementId, OutcomeId};
use halfsplit::lint::{check, judge};
use halfsplit::load::{Code, Finding, Source, load};
use halfsplit::units::Probability;
use tempfile::TempDir;

use super::loading_papers::training;
use super::shop::Shop;
use super::textbook::Book;

const FAMILY: &str = "bench/family.yaml";
const CAUSES: &str = "bench/causes.yaml";
const MEASUREMENTS: &str = "bench/measurements/all.yaml";

/// The one finding of a family with one mistake.
fn only(book: &Book) -> Finding {
    let mut findings = book.findings();
    assert_eq!(findings.len(), 1, "{findings:#?}");
    findings.remove(0)
}

#[test]
fn a_probability_in_percent_is_told_as_a_share() {
    for (typed, help) in [
        ("70", "did you mean `0.7`?"),
        (
            "70%",
            "write the bare number: 70 where the unit is %, 0.7 for a probability",
        ),
        (
            "\"70 %\"",
            "write the bare number: 70 where the unit is %, 0.7 for a probability",
        ),
        ("1.9", "it must lie between 0 and 1"),
    ] {
        let book = Book::new().edit(
            MEASUREMENTS,
            "{lamp-broken: 0.7}",
            &format!("{{lamp-broken: {typed}}}"),
        );
        assert_eq!(only(&book).help().as_deref(), Some(help), "{typed}");
    }
}

#[test]
fn a_decimal_comma_is_called_one() {
    let book = Book::new().edit(
        MEASUREMENTS,
        "{wire-broken: 0.9, lamp-broken: 0.5}",
        "{wire-broken: 0,9, lamp-broken: 0.5}",
    );
    let finding = only(&book);
    assert_eq!(finding.code, Code::WrongType);
    assert_eq!(
        finding.help().as_deref(),
        Some("a decimal point belongs here: 0.9")
    );
    // On a line of its own YAML makes a text of it.
    let book = Book::new().edit(CAUSES, "    parts: 3\n", "    parts: 3,5\n");
    assert_eq!(
        only(&book).help().as_deref(),
        Some("a decimal point belongs here: 3.5")
    );
}

#[test]
fn a_file_whose_name_ends_otherwise_is_one_error_whatever_it_holds() {
    for path in [
        CAUSES,
        MEASUREMENTS,
        FAMILY,
        "bench/trees/no-light.yaml",
        "bench/trees/shared.yaml",
        "vehicles/trainer.yaml",
    ] {
        for ending in [".yml", ".YAML"] {
            let book = Book::new();
            let text = book.text(path);
            let renamed = path.replace(".yaml", ending);
            let finding = only(&book.without(path).with(&renamed, text));
            assert_eq!(
                (finding.code, finding.place.file),
                (Code::WrongEnding, renamed)
            );
        }
    }
}

#[test]
fn a_name_that_is_no_id_is_one_error_however_often_it_is_used() {
    for (path, name, typed) in [
        (CAUSES, "  wire-broken: {", "  Wire-broken: {"),
        (CAUSES, "  wire-broken: {", "  wire broken: {"),
        (CAUSES, "  mend-wire: {", "  mend_wire: {"),
        (FAMILY, "  cover-off: {", "  cover-Off: {"),
    ] {
        let finding = only(&Book::new().edit(path, name, typed));
        assert_eq!(finding.code, Code::BadId, "{typed}");
    }
}

#[test]
fn a_family_folder_that_was_renamed_is_one_error() {
    let mut book = Book::new();
    for (path, _) in &mut book.files {
        *path = path.replace("bench/", "lamps/");
    }
    let finding = only(&book);
    assert_eq!(finding.code, Code::UnknownFamily);
    assert_eq!(finding.place.file, "lamps/family.yaml");
}

#[test]
fn a_folder_too_deep_or_too_high_is_one_error() {
    let book = Book::new();
    for (strip, add, words) in [
        ("bench/", "", "this is the folder of one family"),
        ("", "knowledge/", "one folder deeper, in `knowledge`"),
    ] {
        let files = book
            .files
            .iter()
            .filter(|(path, _)| path.starts_with(strip));
        let files =
            files.map(|(path, text)| (format!("{add}{}", &path[strip.len()..]), text.clone()));
        let finding = only(&Book {
            files: files.collect(),
        });
        assert_eq!(finding.code, Code::MissingFile);
        assert!(finding.words.contains(words), "{}", finding.words);
    }
}

#[test]
fn a_copy_of_a_family_further_down_hides_no_family() {
    let book = Book::new();
    let copied = book.text(FAMILY);
    let book = book.with("backup/bench/family.yaml", copied);
    assert_eq!(only(&book).code, Code::StrayFile);
    assert!(book.load().is_ok());
}

/// A cause that is still to be filled in.
fn with_unfinished_cause() -> Book {
    Book::new().edit(
        CAUSES,
        "  supply-low:",
        "  fuse-blown: {unfinished: true, title: Fuse blown, part: supply, rate: 8, repair: mend-wire, source: textbook}\n  supply-low:",
    )
}

/// It comes before the other complaint in the alphabet, which would take its place.
#[test]
fn a_complaint_that_only_an_unfinished_cause_brings_about_is_an_error_until_it_is_unfinished_too() {
    let tree = |mark: &str| {
        format!(
            "symptom: flicker\n{mark}title: The lamp flickers\ncomplaints: ['flicker']\nexamples: [It flickers.]\ntop: {{any: [fuse-blown]}}\n"
        )
    };
    let book = with_unfinished_cause();
    let path = "bench/trees/flicker.yaml";
    let broken = book.clone().with(path, tree(""));
    assert_eq!(broken.codes(), [Code::Unfinished, Code::GateShape]);
    let finding = &broken.findings()[1];
    assert_eq!(finding.place.file, path);
    assert_eq!(finding.words, "all that brings this about is unfinished");
    let marked = book.with(path, tree("unfinished: true\n"));
    assert_eq!(marked.codes(), [Code::Unfinished, Code::Unfinished]);
    assert!(marked.load().is_ok());
}

#[test]
fn a_case_about_what_is_unfinished_is_left_out() {
    let flicker = "symptom: flicker\nunfinished: true\ntitle: The lamp flickers\ncomplaints: ['flicker']\nexamples: [It flickers.]\ntop: {any: [fuse-blown]}\n";
    let book = with_unfinished_cause().with("bench/trees/flicker.yaml", flicker);
    let case = "bench/cases/dark-lamp.yaml";
    let answer = "expect: {repair: renew-lamp}";
    for (from, to) in [
        (answer, "expect: {ambiguity: [lamp-broken, fuse-blown]}"),
        (answer, "expect: {leads: [fuse-blown]}"),
        (answer, "expect: {live: [fuse-blown]}"),
        (
            answer,
            "expect: {live: [lamp-broken], ruled_out: [fuse-blown]}",
        ),
        (answer, "expect: {raised: [fuse-blown]}"),
        (answer, "expect: {lowered: [fuse-blown]}"),
        (
            "symptoms: [no-light]",
            "symptoms: [no-light]\nabsent: [flicker]",
        ),
    ] {
        let loaded = book.clone().edit(case, from, to).load();
        let loaded = loaded.unwrap_or_else(|findings| panic!("{to}: {findings}"));
        assert!(loaded.knowledge.families[0].cases.is_empty(), "{to}");
    }
    // Its own mistakes are told all the same.
    let misspelt = "expect: {live: [fuse-blown, lamp-brokn]}";
    let misspelt = book.clone().edit(case, answer, misspelt);
    assert!(misspelt.codes().contains(&Code::UnknownCause));
    assert_eq!(book.load().unwrap().knowledge.families[0].cases.len(), 1);
}

#[test]
fn what_is_unfinished_may_hold_empty_texts() {
    let empty = |book: Book| book.edit(CAUSES, "title: Fuse blown", "title: ' '");
    let book = empty(with_unfinished_cause());
    assert_eq!(book.codes(), [Code::Unfinished]);
    let finished = book.edit(CAUSES, "unfinished: true", "unfinished: false");
    assert!(finished.codes().contains(&Code::EmptyText));
}

#[test]
fn an_exercise_that_is_unfinished_is_told_and_left_out() {
    let text = "unfinished: true\nexercise: A dark lamp\nsymptom: no-light\nfault: [lamp-broken]\ncustomer: It is dark.\norder: '1'\nlearn: Look first.\nseed: 1\n";
    let book = Book::new().with("bench/exercises/dark.yaml", text);
    assert_eq!(only(&book).code, Code::Unfinished);
    assert!(
        book.load().unwrap().knowledge.families[0]
            .exercises
            .is_empty()
    );
}

/// Where a `#` is said to cut a text off; a name and a text in quotes end before it.
#[test]
fn a_remark_behind_a_name_or_a_text_in_quotes_cuts_nothing_off() {
    let title = "title: Wire by eye";
    for (path, from, to, cut) in [
        (CAUSES, "causes:\n", "causes: #list\n", false),
        (MEASUREMENTS, title, "title: \"Wire by eye\" #quoted", false),
        (MEASUREMENTS, title, "title: 'Wire by eye'  #quoted", false),
        (MEASUREMENTS, title, "title: Wire by eye # as it is", false),
        (
            MEASUREMENTS,
            "[frayed, normal]",
            "[frayed, #list\n      normal]",
            false,
        ),
        (MEASUREMENTS, title, "title: Wire of 3 kΩ  #3 by eye", true),
        (MEASUREMENTS, title, "title: Wire\n      by eye #3", true),
    ] {
        let book = Book::new().edit(path, from, to);
        let source = Source::texts(book.files.clone());
        let loaded = load(&source).unwrap_or_else(|findings| panic!("{to}: {findings}"));
        let found = judge(&source, &loaded.knowledge).0;
        let eaten = found.iter().filter(|one| one.code == Code::EatenText);
        let places: Vec<(u32, u32)> = eaten
            .map(|one| (one.place.line, one.place.column))
            .collect();
        let wanted = cut.then(|| book.place(path, "#3"));
        assert_eq!(places, wanted.into_iter().collect::<Vec<_>>(), "{to}");
    }
}

#[test]
fn a_blank_and_a_quote_that_yaml_does_not_know_are_named() {
    let book = Book::new().edit(CAUSES, "    minutes: 5\n", "\u{a0}   minutes: 5\n");
    let finding = only(&book);
    assert_eq!(finding.code, Code::NotYaml);
    assert_eq!(finding.place.line, 4);
    assert!(finding.words.contains("U+00A0"), "{}", finding.words);
    let book = Book::new().edit(
        CAUSES,
        "    title: Renew the lamp\n",
        "    title: \u{201c}Renew: the lamp\u{201d}\n",
    );
    let finding = only(&book);
    assert_eq!(finding.code, Code::NotYaml);
    assert_eq!(finding.place.line, 3);
    assert!(finding.words.contains("curly quotes"), "{}", finding.words);
}

/// Two of the gauges of the shipped family that are fitted alike, and a reading of one of them.
#[test]
fn a_gauge_without_what_the_others_need_and_a_reading_without_its_gauge_are_found() {
    for (file, from, to, at) in [
        (
            "chain-cvt/family.yaml",
            "needs: [raised, engine-off, underbody-clear]",
            "needs: []",
            "set_ups/transfer-gauge",
        ),
        (
            "chain-cvt/measurements/gauge.yaml",
            "    set_ups: [raised, secondary-gauge, level-right, engine-running, fluid-hot]\n    conditions: [gauge-zero, working-temperature]\n    after: [tcm-answers, dtc-group, fluid-level, fluid-look]\n    only_then: true\n    minutes: 4",
            "    set_ups: [raised, level-right, engine-running, fluid-hot]\n    conditions: [gauge-zero, working-temperature]\n    after: [tcm-answers, dtc-group, fluid-level, fluid-look]\n    only_then: true\n    minutes: 4",
            "measurements/gauge-secondary-idle",
        ),
    ] {
        let files = Source::embedded();
        let edited = files.files().map(|(path, text)| {
            let text = if path == file {
                assert_eq!(text.matches(from).count(), 1, "{from}");
                text.replace(from, to)
            } else {
                text.to_owned()
            };
            (path.to_owned(), text)
        });
        let source = Source::texts(edited.collect::<Vec<_>>()).without_cases();
        let loaded = load(&source).unwrap_or_else(|findings| panic!("{findings}"));
        let found = check(&source, &loaded).findings.0;
        let lacks = |finding: &&Finding| finding.code == Code::SetUpLacks;
        let places: Vec<Option<&str>> = found
            .iter()
            .filter(lacks)
            .map(|one| one.at.as_deref())
            .collect();
        assert!(places.contains(&Some(at)), "{found:#?}");
    }
}

fn denied(folder: &TempDir, code: u8) -> String {
    let arguments = ["check", "--deny", folder.path().to_str().unwrap()];
    Shop::new().arguments(arguments).fails_with(code).run().out
}

#[test]
fn an_accepted_finding_is_silent_and_one_that_does_not_occur_is_told() {
    let family = "training-drive/family.yaml";
    let rate = ("training-drive/causes.yaml", "rate: 12,", "rate: 120,");
    let out = denied(&training(&[rate]), 1);
    let at = "causes/fluid-low/rate";
    assert!(out.contains(&format!("  at: {at}\n")), "{out}");
    let accept = format!(
        "in_place: [engine-off]\naccept:\n  - {{finding: odd-rate, at: {at}, because: Every bench leaks.}}\n"
    );
    let accept = (family, "in_place: [engine-off]\n", accept.as_str());
    let out = denied(&training(&[rate, accept]), 0);
    assert!(out.contains("No findings."), "{out}");
    let out = denied(&training(&[accept]), 1);
    assert!(out.contains("warning[unneeded-accept]"), "{out}");
    // Of one code at one place: another finding there, and the same elsewhere, are told.
    let elsewhere = accept.2.replace("fluid-low", "pump-worn");
    let out = denied(&training(&[rate, (family, accept.1, &elsewhere)]), 1);
    assert!(
        out.contains("odd-rate") && out.contains("unneeded-accept"),
        "{out}"
    );
}

#[test]
fn a_folder_says_once_at_its_start_how_many_warnings_are_not_accepted() {
    let family = "training-drive/family.yaml";
    let unreached = (
        "training-drive/causes.yaml",
        "causes:\n",
        "causes:\n  belt-loose: {title: Belt loose, part: belt, rate: 3, repair: fill-up, source: invented}\n",
    );
    let accept = (
        family,
        "in_place: [engine-off]\n",
        "in_place: [engine-off]\naccept:\n  - {finding: unreachable-cause, at: causes/belt-loose, because: Its tree is drawn next week.}\n  - {finding: odd-rate, at: causes/fluid-low/rate, because: Every bench leaks.}\n",
    );
    let told = |folder: &TempDir, arguments: &[&str]| {
        let shop = Shop::new().arguments(["--knowledge", folder.path().to_str().unwrap()]);
        let told = shop.arguments(arguments.to_vec()).may_complain().run();
        told.err
            .matches("the knowledge has 1 warning, listed by")
            .count()
    };
    let folder = training(&[unreached]);
    assert_eq!(told(&folder, &["show", "belt-loose"]), 1);
    let learned = folder.path().join("learned");
    fs::write(
        &learned,
        "overlay: {family: training-drive, jobs: 3, dates: [2026-01-05, 2026-11-20], prior_jobs: 500, prior_readings: 15, rates: {}, shows: {}}\n",
    )
    .unwrap();
    assert_eq!(
        told(
            &training(&[unreached]),
            &["diff", "--overlay", learned.to_str().unwrap()]
        ),
        1
    );
    let folder = training(&[unreached, accept]);
    assert_eq!(told(&folder, &["show", "belt-loose"]), 0);
}

#[test]
fn only_a_warning_can_be_accepted() {
    let accept = |code: &str| {
        Book::new().edit(
            FAMILY,
            "care:\n",
            &format!("accept: [{{finding: {code}, at: causes, because: So.}}]\ncare:\n"),
        )
    };
    assert_eq!(
        only(&accept("odd-rat")).nearest.as_deref(),
        Some("odd-rate")
    );
    assert_eq!(only(&accept("bad-id")).words, "`bad-id` is an error");
    assert_eq!(accept("odd-rate").findings(), []);
}

/// A figure of `shows`.
type Figure = (MeasurementId, OutcomeId, CauseId, f64);

fn figures(knowledge: &Knowledge) -> Vec<Figure> {
    let mut figures = Vec::new();
    for (place, measurement) in knowledge.families[0].measurements.iter().enumerate() {
        for (cause, row) in &measurement.shows {
            let row = row.0.iter().filter(|(_, figure)| figure.get() > 0.0);
            figures.extend(row.map(|(outcome, figure)| {
                (MeasurementId::at(place), *outcome, *cause, figure.get())
            }));
        }
    }
    figures
}

/// Two hundred figures drawn from the shipped knowledge, each divided by ten by itself. A finding looks at the figures
/// of one measurement, so slips in different measurements are judged in one go. What no neighbour gives away may make
/// two causes of a complaint's tree alike, or a worked case come out otherwise: that is tried one slip at a time.
#[test]
fn of_two_hundred_slipped_points_nine_in_ten_are_found() {
    let source = Source::embedded();
    let knowledge = load(&source).unwrap().knowledge;
    let mut left = figures(&knowledge);
    let mut drawn = Vec::new();
    let mut state: u64 = 15;
    while drawn.len() < 200 {
        // Knuth's linear congruential generator (The Art of Computer Programming, volume 2, section 3.3.4).
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let place = usize::try_from(state >> 33).unwrap() % left.len();
        drawn.push(left.swap_remove(place));
    }
    drawn.retain(|figure| figure.3 >= 0.6);
    let large = drawn.len();
    assert!(large > 60, "{large}");
    let mut missed: Vec<Figure> = Vec::new();
    while !drawn.is_empty() {
        let mut batch: Vec<Figure> = Vec::new();
        drawn.retain(|figure| {
            let apart = batch
                .iter()
                .all(|other| other.0 != figure.0 && other.2 != figure.2);
            if apart {
                batch.push(*figure);
            }
            !apart
        });
        let findings = judge(&source, &slipped(&knowledge, &batch)).0;
        missed.extend(batch.into_iter().filter(|(_, _, cause, figure)| {
            let name = &knowledge.families[0].cause(*cause).name;
            let words = format!("{} for `{name}` ", halfsplit::text::plain(figure / 10.0));
            let is_it =
                |one: &Finding| one.code == Code::OddFigure && one.words.starts_with(&words);
            !findings.iter().any(is_it)
        }));
    }
    let by_neighbours = large - missed.len();
    assert!(
        by_neighbours * 100 >= large * 85,
        "{by_neighbours} of {large}"
    );
    let before = judge(&source, &knowledge).0.len();
    missed.retain(|figure| {
        let slipped = slipped(&knowledge, &[*figure]);
        let same = judge(&source, &slipped).0.len() == before;
        same && run(&slipped, &slipped.families[0])
            .iter()
            .all(CaseRun::passes)
    });
    let found = large - missed.len();
    assert!(found * 10 >= large * 9, "{found} of {large}");
}

/// The knowledge with figures divided by ten.
fn slipped(knowledge: &Knowledge, figures: &[Figure]) -> Knowledge {
    let mut slipped = knowledge.clone();
    for (measurement, outcome, cause, figure) in figures {
        let measurement = &mut slipped.families[0].measurements[measurement.index()];
        let row = measurement.shows.get_mut(cause).unwrap();
        let tenth = Probability::new(figure / 10.0).unwrap();
        row.0.insert(*outcome, tenth);
    }
    slipped
}

#[test]
fn at_most_one_figure_in_a_hundred_is_called_odd_in_the_shipped_knowledge() {
    let source = Source::embedded();
    let knowledge = load(&source).unwrap().knowledge;
    let odd = judge(&source, &knowledge).0;
    let odd = odd.iter().filter(|one| one.code == Code::OddFigure).count();
    assert!(odd * 100 <= figures(&knowledge).len(), "{odd}");
}
