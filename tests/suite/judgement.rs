use halfsplit::lint::{check, judge};
use halfsplit::load::{Code, Finding, Source, load};

use super::textbook::Book;

const FAMILY: &str = "bench/family.yaml";
const CAUSES: &str = "bench/causes.yaml";
const CODES: &str = "bench/codes.yaml";
const MEASUREMENTS: &str = "bench/measurements/all.yaml";
const TREE: &str = "bench/trees/no-light.yaml";
const FLICKER: &str = "bench/trees/flicker.yaml";
const CASE: &str = "bench/cases/dark-lamp.yaml";
const VEHICLE: &str = "vehicles/trainer.yaml";
const SECOND_VEHICLE: &str = "vehicles/second-trainer.yaml";
const OTHER_VEHICLE: &str = "vehicles/a-trainer.yaml";

/// An edit: a file, what stands there once, and what stands there then; a new file where nothing stood there.
type Edit = (&'static str, &'static str, &'static str);

/// The textbook family as it is meant, one edit that breaks it, and the one finding that this must give.
struct Judged {
    code: Code,
    /// What makes the family fit for the idea; without findings.
    meant: &'static [Edit],
    broken: Edit,
    /// The file and the text at which the finding points.
    at: (&'static str, &'static str),
    /// What the words must hold.
    words: &'static str,
}

const fn judged(
    code: Code,
    meant: &'static [Edit],
    broken: Edit,
    at: (&'static str, &'static str),
    words: &'static str,
) -> Judged {
    Judged {
        code,
        meant,
        broken,
        at,
        words,
    }
}

/// Two more causes, so that rates have neighbours.
const NEIGHBOURS: &[Edit] = &[
    (
        CAUSES,
        "  supply-low:",
        "  fuse-blown: {title: Fuse blown, part: supply, rate: 8, repair: mend-wire, source: textbook}\n  switch-worn: {title: Switch worn, part: wiring, rate: 12, repair: mend-wire, source: textbook}\n  supply-low:",
    ),
    (
        TREE,
        "    - lamp-broken\n",
        "    - lamp-broken\n    - fuse-blown\n    - switch-worn\n",
    ),
    (
        MEASUREMENTS,
        "frayed: {wire-broken: 0.6}",
        "frayed: {wire-broken: 0.6, fuse-blown: 0.3, switch-worn: 0.3}",
    ),
];

/// The lamp and the wire read alike everywhere, and the family says so.
const ALIKE: &[Edit] = &[
    (
        MEASUREMENTS,
        "large: {wire-broken: 0.8}",
        "large: {wire-broken: 0.8, lamp-broken: 0.7}",
    ),
    (
        MEASUREMENTS,
        "black: {lamp-broken: 0.7}",
        "black: {lamp-broken: 0.7, wire-broken: 0.7}",
    ),
    (
        MEASUREMENTS,
        "frayed: {wire-broken: 0.6}",
        "frayed: {wire-broken: 0.6, lamp-broken: 0.4, supply-low: 0}",
    ),
    (MEASUREMENTS, "lamp-broken: 0.5}", "lamp-broken: 0.8}"),
];

const THREE_FIGURES: &[Edit] = &[(
    MEASUREMENTS,
    "frayed: {wire-broken: 0.6}",
    "frayed: {wire-broken: 0.95, lamp-broken: 0.8, supply-low: 0.9}",
)];

const A_RARE_FIGURE: &[Edit] = &[(
    MEASUREMENTS,
    "frayed: {wire-broken: 0.6}",
    "frayed: {wire-broken: 0.6, lamp-broken: 0.5, supply-low: 0.2}",
)];

const LAMP_FOR_NO_LIGHT: Edit = (
    MEASUREMENTS,
    "    ask: How the lamp looks\n",
    "    ask: How the lamp looks\n    for: [no-light]\n    # lamp\n",
);

const WIRE_FOR_FLICKER: Edit = (
    MEASUREMENTS,
    "    ask: How the wire looks\n",
    "    ask: How the wire looks\n    for: [flicker]\n",
);

/// Three more probes, fitted as the first is.
const PROBES: &[Edit] = &[(
    FAMILY,
    "instruments:\n",
    "  probe-b: {title: Probe at B, minutes: 1, needs: [cover-off], equipment: probe}\n  probe-c: {title: Probe at C, minutes: 1, needs: [cover-off], equipment: probe}\n  probe-d: {title: Probe at D, minutes: 1, needs: [cover-off], equipment: probe}\ninstruments:\n",
)];

/// A limit that two of three sheets have.
const FAR: &[Edit] = &[
    (
        OTHER_VEHICLE,
        "",
        "vehicle: a-trainer\ntitle: Another trainer, invented\nfamily: bench\ninvented: true\nlimits:\n  supply-window: {min: 11.5, max: 14.5, unit: V, source: invented}\n  lamp-colour: {words: clear, source: invented}\n",
    ),
    (VEHICLE, "max: 14.5,", "max: 14.5, far: 20,"),
    (SECOND_VEHICLE, "max: 14000,", "max: 14000, far: 19000,"),
];

const LISTED: &[Edit] = &[(
    FAMILY,
    "care:\n",
    "sources: {textbook: the textbook, from memory: as remembered}\ncare:\n",
)];

const DANGERS: &[Edit] = &[(
    FAMILY,
    "care:\n",
    "dangers: {shock: ['\\bcover off\\b']}\ncare:\n",
)];

/// Every idea of the judgement, at least once.
#[rustfmt::skip] // a table reads as a table
const JUDGED: &[Judged] = &[
    judged(Code::UnshownCause, &[], (MEASUREMENTS, "low: {supply-low: 0.9, wire-broken: 0.1}", "low: {wire-broken: 0.1}"), (CAUSES, "supply-low:"), "no measurement shows"),
    judged(Code::UnshownCause, &[], (MEASUREMENTS, "low: {supply-low: 0.9,", "low: {supply-low: 0,"), (CAUSES, "supply-low:"), "no measurement shows"),
    judged(Code::CausesAlike, ALIKE, (FAMILY, "[lamp-broken, wire-broken]", "[lamp-broken, supply-low]"), (CAUSES, "lamp-broken:"), "tells `lamp-broken` from `wire-broken`"),
    judged(Code::IdleMeasurement, &[], (MEASUREMENTS, "frayed: {wire-broken: 0.6}", "frayed: {wire-broken: 0.04, lamp-broken: 0.04}"), (MEASUREMENTS, "wire-look:"), "for any symptom"),
    judged(Code::UnusedRepair, &[], (CAUSES, "repair: renew-lamp", "repair: mend-wire"), (CAUSES, "renew-lamp:\n"), "`renew-lamp`"),
    judged(Code::UnshownOutcome, &[(MEASUREMENTS, "      high: {wire-broken: 0.05}\n", "")], (MEASUREMENTS, "chance: {low: 0.02, high: 0.01}", "chance: {low: 0.02}"), (MEASUREMENTS, "high: {above"), "`high` of `supply`"),
    judged(Code::UnshownOutcome, &[], (MEASUREMENTS, "[frayed, normal]", "[frayed, normal, singed]"), (MEASUREMENTS, "singed"), "`singed` of `wire-look`"),
    judged(Code::UnshownOutcome, &[], (MEASUREMENTS, "black: Black inside, ", "black: Black inside, grey: Grey, "), (MEASUREMENTS, "grey:"), "`grey` of `lamp-look`"),
    judged(Code::OddRate, NEIGHBOURS, (CAUSES, "rate: 20", "rate: 200"), (CAUSES, "200"), "run from 2 to 12"),
    judged(Code::OddRate, NEIGHBOURS, (CAUSES, "rate: 2,", "rate: 0.2,"), (CAUSES, "0.2"), "run from 5 to 20"),
    judged(Code::OddFigure, THREE_FIGURES, (MEASUREMENTS, "supply-low: 0.9}", "supply-low: 0.09}"), (MEASUREMENTS, "0.09}"), "0.09 for `supply-low`"),
    judged(Code::OddFigure, A_RARE_FIGURE, (MEASUREMENTS, "supply-low: 0.2}", "supply-low: 0.09}"), (MEASUREMENTS, "0.09}"), "the next is 0.5"),
    judged(Code::IdleOffer, &[LAMP_FOR_NO_LIGHT], (MEASUREMENTS, "for: [no-light]\n    # lamp", "for: [flicker, no-light]\n    # lamp"), (MEASUREMENTS, "flicker, no-light]\n    # lamp"), "no candidates of `flicker`"),
    judged(Code::UnusedFigure, &[WIRE_FOR_FLICKER], (MEASUREMENTS, "frayed: {wire-broken: 0.6}", "frayed: {wire-broken: 0.6, lamp-broken: 0.4}"), (MEASUREMENTS, "lamp-broken: 0.4"), "leads to `lamp-broken`"),
    judged(Code::SetUpLacks, PROBES, (FAMILY, "Probe at D, minutes: 1, needs: [cover-off],", "Probe at D, minutes: 1,"), (FAMILY, "probe-d:"), "with probe need cover-off"),
    judged(Code::NarrowBand, &[], (VEHICLE, "max: 14.5", "max: 11.55"), (VEHICLE, "supply-window:"), "is 0.05 V wide"),
    judged(Code::SheetsDiffer, &[], (SECOND_VEHICLE, "min: 11000", "min: 1100"), (VEHICLE, "11.5,"), "1.1 V on second-trainer"),
    judged(Code::SheetsDiffer, FAR, (SECOND_VEHICLE, "far: 19000", "far: 1900"), (VEHICLE, "20,"), "1.9 V on second-trainer"),
    judged(Code::EatenText, &[], (MEASUREMENTS, "title: Wire by eye", "title: Wire #3 by eye"), (MEASUREMENTS, "#3 by"), "`#3 by eye` is a comment"),
    judged(Code::EatenText, &[], (MEASUREMENTS, "title: Wire by eye", "title: \u{201c}Wire by eye\u{201d}"), (MEASUREMENTS, "\u{201c}"), "shown as part"),
    judged(Code::DanglingSource, &[], (CAUSES, "repair: renew-lamp, source: textbook", "repair: renew-lamp, source: tbd"), (CAUSES, "tbd"), "`tbd` says nothing"),
    judged(Code::DanglingSource, &[], (CODES, "from memory", "'?'"), (CODES, "'?'"), "says nothing"),
    judged(Code::DanglingSource, &[], (VEHICLE, "unit: V, source: invented", "unit: V, source: see above"), (VEHICLE, "see above"), "says nothing"),
    judged(Code::DanglingSource, LISTED, (CAUSES, "repair: renew-lamp, source: textbook", "repair: renew-lamp, source: textbok"), (CAUSES, "textbok"), "lists no source"),
    judged(Code::DanglingSource, LISTED, (FAMILY, "switched on?\", source: textbook", "switched on?\", source: a friend"), (FAMILY, "a friend"), "lists no source"),
    judged(Code::GreedyPattern, &[], (TREE, "'dark'", "'dark|flick'"), (TREE, "'dark|flick'"), "finds \"flick\" in an example of `flicker`"),
    judged(Code::GreedyPattern, &[], (FLICKER, "'flicker'", "'flicker|stays'"), (FLICKER, "'flicker|stays'"), "finds \"stays\" in an example of `no-light`"),
    judged(Code::UnmatchedWords, &[], (TREE, "[It stays dark.]", "[It stays gloomy.]"), (TREE, "It stays gloomy"), "no pattern of `no-light`"),
    judged(Code::UnmatchedWords, &[], (CASE, "complaint: it stays dark", "complaint: it stays gloomy"), (CASE, "it stays gloomy"), "no pattern of `no-light`"),
    judged(Code::LongText, &[], (CAUSES, "title: Lamp broken,", "title: The lamp is broken so that not a single ray of light comes out of it any more at all,"), (CAUSES, "The lamp is broken"), "this title takes 84 columns, 76 fit"),
    judged(Code::LongText, &[], (MEASUREMENTS, "[Cover off., Probe on.]", "[Cover off., 'Probe on the terminals, the red one to the left and the black one to the right as seen from in front of the bench.']"), (MEASUREMENTS, "'Probe on"), "this step takes 114 columns, 110 fit"),
    judged(Code::DangerUnwarned, DANGERS, (MEASUREMENTS, "    cautions: [shock]\n", ""), (MEASUREMENTS, "Cover off."), "this step says \"Cover off\""),
];

/// A second symptom stands in every one of these families.
fn bench() -> Book {
    Book::new().with(
        FLICKER,
        "symptom: flicker\ntitle: The lamp flickers\ncomplaints: ['flicker']\nexamples: [It flickers.]\ntop: {any: [wire-broken, supply-low]}\n",
    ).edit(MEASUREMENTS, "for: [no-light]", "for: [no-light, flicker]")
}

fn with(book: Book, edits: &[Edit]) -> Book {
    edits.iter().fold(book, |book, (path, from, to)| {
        if from.is_empty() {
            book.with(path, *to)
        } else {
            book.edit(path, from, to)
        }
    })
}

/// What is judged of a family that loads without findings.
fn found(book: &Book) -> Vec<Finding> {
    let source = Source::texts(book.files.clone());
    let loaded = load(&source).unwrap_or_else(|findings| panic!("{findings}"));
    assert!(loaded.warnings.is_empty(), "{}", loaded.warnings);
    judge(&source, &loaded.knowledge).0
}

/// The codes that these tests give.
pub(super) fn codes() -> impl Iterator<Item = Code> {
    JUDGED.iter().map(|row| row.code)
}

#[test]
fn each_idea_is_found_where_it_is_broken_and_not_where_it_is_meant() {
    let mut wrong = Vec::new();
    for row in JUDGED {
        let meant = with(bench(), row.meant);
        for finding in found(&meant) {
            wrong.push(format!(
                "{} is found where nothing is wrong:\n{finding}",
                row.code
            ));
        }
        let book = with(meant, &[row.broken]);
        let (path, text) = row.at;
        let (line, column) = book.place(path, text);
        let findings = found(&book);
        let right = findings.len() == 1
            && findings[0].code == row.code
            && findings[0].place.file == path
            && (findings[0].place.line, findings[0].place.column) == (line, column)
            && findings[0].words.contains(row.words)
            && findings[0].help().is_some();
        if !right {
            let shown: Vec<String> = findings.iter().map(ToString::to_string).collect();
            wrong.push(format!(
                "{} at {path}:{line}:{column} with {:?} wanted by {:?}, found:\n{}",
                row.code,
                row.words,
                row.broken.2,
                shown.join("\n")
            ));
        }
    }
    assert!(
        wrong.is_empty(),
        "{}\n\n{}",
        wrong.len(),
        wrong.join("\n\n")
    );
}

#[test]
fn a_cause_that_is_shown_for_one_symptom_and_not_for_another_is_named_with_that_other() {
    let book = bench().edit(MEASUREMENTS, "for: [no-light, flicker]", "for: [no-light]");
    let findings = found(&book);
    assert_eq!(findings.len(), 1, "{findings:?}");
    assert_eq!(findings[0].code, Code::UnshownCause);
    assert_eq!(
        findings[0].words,
        "no measurement offered for `flicker` shows the cause `supply-low`"
    );
}

/// The source may say more behind the listed word.
#[test]
fn a_source_is_a_listed_word_alone_or_with_more_about_it() {
    for more in [
        "textbook, page 4",
        "'textbook: page 4'",
        "textbook (page 4)",
    ] {
        let text = format!(
            "repair: renew-lamp, source: \"{}\"",
            more.trim_matches('\'')
        );
        let book =
            with(bench(), LISTED).edit(CAUSES, "repair: renew-lamp, source: textbook", &text);
        assert_eq!(found(&book), [], "{more}");
    }
    let book = with(bench(), LISTED).edit(
        CAUSES,
        "repair: renew-lamp, source: textbook",
        "repair: renew-lamp, source: textbooks",
    );
    assert_eq!(found(&book)[0].code, Code::DanglingSource);
    assert_eq!(found(&book)[0].nearest.as_deref(), Some("textbook"));
}

#[test]
fn the_words_of_a_danger_are_patterns_and_their_names_are_cautions() {
    let book = Book::new().edit(FAMILY, "care:\n", "dangers: {shock: ['(']}\ncare:\n");
    assert_eq!(book.codes(), [Code::BadPattern]);
    let book = Book::new().edit(FAMILY, "care:\n", "dangers: {shok: ['cover']}\ncare:\n");
    assert_eq!(book.codes(), [Code::UnknownCaution]);
    assert_eq!(book.findings()[0].nearest.as_deref(), Some("shock"));
}

/// The shipped files with one text of one file edited.
fn shipped_with(file: &str, from: &str, to: &str) -> Vec<Finding> {
    let files: Vec<(String, String)> = Source::embedded()
        .files()
        .map(|(path, text)| {
            let text = if path == file {
                assert_eq!(text.matches(from).count(), 1, "{from}");
                text.replace(from, to)
            } else {
                text.to_owned()
            };
            (path.to_owned(), text)
        })
        .collect();
    let source = Source::texts(files).without_cases();
    let loaded = load(&source).unwrap_or_else(|findings| panic!("{findings}"));
    check(&source, &loaded).findings.0
}

#[test]
fn a_slipped_point_in_the_shipped_knowledge_is_found() {
    let causes = "chain-cvt/causes.yaml";
    let found = shipped_with(
        causes,
        "outside leak, part: hydraulic supply, rate: 14",
        "outside leak, part: hydraulic supply, rate: 140",
    );
    let codes: Vec<Code> = found.iter().map(|finding| finding.code).collect();
    assert_eq!(codes, [Code::OddRate], "{found:?}");
    let found = shipped_with(
        "chain-cvt/measurements/fluid.yaml",
        "low: {fluid-low-leak: 0.",
        "low: {fluid-low-leak: 0.0",
    );
    let codes: Vec<Code> = found.iter().map(|finding| finding.code).collect();
    assert_eq!(codes, [Code::OddFigure], "{found:?}");
}
