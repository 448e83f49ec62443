use std::collections::BTreeSet;
use std::sync::LazyLock;

use halfsplit::diff::{Change, ListDiffers, Sides, What, changes};
use halfsplit::knowledge::Knowledge;
use proptest::prelude::*;
use rayon::prelude::*;

use super::{changed, edits, loaded};
use crate::textbook::Book;

/// Everything that knowledge holds, the texts of its files apart: written out, so that no field
/// can be forgotten.
fn written_out(knowledge: &Knowledge) -> String {
    let mut knowledge = knowledge.clone();
    knowledge.files.clear();
    format!("{knowledge:?}")
}

/// The edits that load.
static LOADING: LazyLock<Vec<(Book, Knowledge)>> = LazyLock::new(|| {
    edits::single()
        .into_par_iter()
        .filter_map(|book| book.load().ok().map(|loaded| (book, loaded.knowledge)))
        .chain(edits::larger().into_par_iter().map(|book| {
            let knowledge = loaded(&book);
            (book, knowledge)
        }))
        .collect()
});

/// The kind of entry and the field that a difference is in.
fn aspect(change: &Change) -> Option<(&'static str, &str)> {
    match &change.what {
        What::Stated { field, .. } | What::Listed { field, .. } => {
            Some((change.thing.kind.word(), field))
        }
        What::Added { .. } | What::Removed { .. } | What::Renamed { .. } => None,
    }
}

#[test]
fn no_single_edit_that_changes_the_knowledge_goes_untold_and_no_other_is_told() {
    let base = loaded(&Book::new());
    let whole = written_out(&base);
    let silent: Vec<String> = LOADING
        .par_iter()
        .filter_map(|(book, edited)| {
            let differs = written_out(edited) != whole;
            let told = !changes(&base, edited).is_empty();
            (differs != told).then(|| {
                let original = Book::new();
                let (path, now) = book
                    .files
                    .iter()
                    .find(|file| !original.files.contains(file))
                    .unwrap();
                let was = original.text(path);
                let now = String::from_utf8_lossy(now).into_owned();
                let line = was
                    .lines()
                    .zip(now.lines())
                    .find(|(was, now)| was != now)
                    .unwrap_or(("", ""));
                format!("{path}, told {told}:\n  {}\n  {}", line.0, line.1)
            })
        })
        .collect();
    assert!(LOADING.len() > 400, "{}", LOADING.len());
    assert!(silent.is_empty(), "{}\n{}", silent.len(), silent.join("\n"));
}

/// The edits reach every field of the format: else the test above would prove less than it says.
#[test]
fn the_single_edits_reach_every_field() {
    let base = loaded(&Book::new());
    let reached: BTreeSet<(&str, String)> = LOADING
        .par_iter()
        .flat_map_iter(|(_, edited)| changes(&base, edited))
        .filter_map(|change| aspect(&change).map(|(kind, field)| (kind, field.to_owned())))
        .collect();
    let fields: &[(&str, &[&str])] = &[
        (
            "family",
            &[
                "title",
                "notice",
                "worth",
                "max_order",
                "unlisted",
                "floor",
                "reacts",
                "labour_rate",
                "escalation",
                "in_place",
                "habit",
            ],
        ),
        ("caution", &["text"]),
        ("care text", &["text"]),
        (
            "set-up",
            &["title", "minutes", "group", "needs", "ends", "equipment"],
        ),
        ("instrument", &["title", "range", "accuracy"]),
        (
            "condition",
            &[
                "ask",
                "answer",
                "holds",
                "instrument",
                "lasts",
                "ended_by",
                "source",
            ],
        ),
        ("ambiguity", &["parted_by", "why"]),
        (
            "repair",
            &[
                "title",
                "minutes",
                "parts",
                "verify",
                "verify_with",
                "care",
                "reveals",
                "opens_valve_body",
            ],
        ),
        ("cause", &["title", "part", "rate", "repair", "source"]),
        ("trouble code", &["means", "kind", "source"]),
        (
            "measurement",
            &[
                "title",
                "ask",
                "unit",
                "instrument",
                "plausible",
                "formula",
                "outcomes",
                "gloss",
                "band",
                "normal",
                "set_ups",
                "conditions",
                "minutes",
                "cautions",
                "for",
                "note",
                "steps",
                "shows",
                "chance",
                "rest",
                "repeat",
                "timed",
                "limits",
                "source",
                "takes",
            ],
        ),
        (
            "symptom",
            &[
                "title",
                "complaints",
                "examples",
                "cause",
                "part",
                "event",
                "event_words",
                "gate",
            ],
        ),
        ("shared part", &["cause", "event_words", "gate"]),
        (
            "worked case",
            &[
                "title",
                "complaint",
                "symptoms",
                "absent",
                "readings",
                "first",
                "expect",
                "found",
                "vehicle",
            ],
        ),
        (
            "vehicle",
            &["title", "invented", "units", "limit", "source"],
        ),
    ];
    let missing: Vec<(&str, &str)> = fields
        .iter()
        .flat_map(|(kind, fields)| fields.iter().map(|field| (*kind, *field)))
        .filter(|(kind, field)| !reached.contains(&(*kind, (*field).to_owned())))
        .collect();
    assert!(missing.is_empty(), "{missing:?}\nreached: {reached:?}");
}

#[test]
fn order_comments_blanks_and_files_state_nothing() {
    let causes = Book::new().text("bench/causes.yaml");
    let (repairs, causes) = causes.split_once("causes:\n").unwrap();
    let mut lines: Vec<&str> = causes.lines().collect();
    lines.reverse();
    let reversed = format!("causes:\n{}\n{repairs}", lines.join("\n"));
    let measurements = Book::new().text("bench/measurements/all.yaml");
    let (others, code) = measurements.split_once("  code:\n").unwrap();
    for edited in [
        Book::new().with("bench/causes.yaml", reversed),
        // A measurement in a file of its own.
        Book::new()
            .with("bench/measurements/all.yaml", others)
            .with(
                "bench/measurements/a.yaml",
                format!("measurements:\n  code:\n{code}"),
            ),
        Book::new().with(
            "bench/codes.yaml",
            "# A remark.\n\ncodes:\n  P0841:\n    source: 'from memory'\n    kind: open\n    means: \"Lamp circuit open\"\n",
        ),
        // The inputs of a gate, the figures of an outcome.
        Book::new()
            .edit(
                "bench/trees/shared.yaml",
                "of: [supply-low, wire-broken, lamp-broken]",
                "of: [wire-broken,   lamp-broken, supply-low]",
            )
            .edit(
                "bench/measurements/all.yaml",
                "low: {supply-low: 0.9, wire-broken: 0.1}",
                "low: {wire-broken: 0.10, supply-low: 0.9}",
            ),
        // What is left out, said.
        Book::new().edit(
            "bench/measurements/all.yaml",
            "chance: {low: 0.02, high: 0.01}",
            "chance: {high: 0.01}",
        ),
        Book::new().edit("bench/trees/no-light.yaml", "top:\n", "top:\n  event: The lamp stays dark\n"),
    ] {
        let told = changed(&edited);
        assert!(told.is_empty(), "{told:#?}");
        assert_eq!(
            super::page(&loaded(&Book::new()), &loaded(&edited)).lines().next(),
            Some("From older to newer")
        );
    }
}

#[test]
fn the_order_in_which_things_are_shown_or_done_is_told() {
    for (path, from, to) in [
        (
            "bench/family.yaml",
            "habit: [supply, lamp-look]",
            "habit: [lamp-look, supply]",
        ),
        (
            "bench/family.yaml",
            "  cover-on: {title: Cover fitted, minutes: 2, group: cover}\n  cover-off: {title: Cover removed, minutes: 3, group: cover}\n",
            "  cover-off: {title: Cover removed, minutes: 3, group: cover}\n  cover-on: {title: Cover fitted, minutes: 2, group: cover}\n",
        ),
        (
            "bench/measurements/all.yaml",
            "steps: [Cover off., Probe on.]",
            "steps: [Probe on., Cover off.]",
        ),
        (
            "bench/measurements/all.yaml",
            "choices: [frayed, normal]",
            "choices: [normal, frayed]",
        ),
    ] {
        let told = changed(&Book::new().edit(path, from, to));
        assert_eq!(told.len(), 1, "{told:#?}");
        assert!(matches!(
            &told[0].what,
            What::Listed { differs, .. } if differs.reordered.is_some() && differs.added.is_empty()
        ));
    }
}

#[test]
fn an_edition_does_not_differ_from_itself() {
    for (_, edited) in LOADING.iter().step_by(20) {
        assert_eq!(changes(edited, edited), []);
    }
}

/// The same difference, seen from the other side.
fn mirrored(change: Change) -> Change {
    let what = match change.what {
        What::Added { states } => What::Removed { states },
        What::Removed { states } => What::Added { states },
        What::Stated {
            field,
            at,
            was,
            now,
        } => What::Stated {
            field,
            at,
            was: now,
            now: was,
        },
        What::Listed { field, differs } => {
            let ListDiffers {
                added,
                removed,
                reworded,
                reordered,
            } = differs;
            What::Listed {
                field,
                differs: ListDiffers {
                    added: removed,
                    removed: added,
                    reworded: reworded.into_iter().map(turned).collect(),
                    reordered: reordered.map(turned),
                },
            }
        }
        What::Renamed { from } => What::Renamed { from },
    };
    Change { what, ..change }
}

fn turned<T>(Sides { was, now }: Sides<T>) -> Sides<T> {
    Sides { was: now, now: was }
}

/// Written out, in an order of their own. Sources beside a number are part of it.
fn sorted(changes: impl IntoIterator<Item = Change>) -> Vec<String> {
    let mut written: Vec<String> = changes
        .into_iter()
        .map(|change| format!("{change:?}"))
        .collect();
    written.sort();
    written
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn seen_from_the_other_side_every_difference_is_turned_round(
        one in 0_usize..100_000,
        other in 0_usize..100_000,
    ) {
        let (_, old) = &LOADING[one % LOADING.len()];
        let (_, new) = &LOADING[other % LOADING.len()];
        let there = changes(old, new);
        let back = changes(new, old);
        // Whatever is called otherwise is told by the newer name, which is the other one.
        let names = |change: &Change| {
            matches!(change.what, What::Renamed { .. })
                || matches!(aspect(change), Some((_, "event_words")))
        };
        if there.iter().any(names) || back.iter().any(names) {
            prop_assert_eq!(
                there.iter().filter(|change| names(change)).count(),
                back.iter().filter(|change| names(change)).count()
            );
            prop_assert_eq!(there.len(), back.len());
        } else {
            prop_assert_eq!(sorted(there.into_iter().map(mirrored)), sorted(back));
        }
    }
}
