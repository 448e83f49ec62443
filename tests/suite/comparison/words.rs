use super::{changed, loaded, page, told};
use crate::textbook::Book;

const CAUSES: &str = "bench/causes.yaml";
const FAMILY: &str = "bench/family.yaml";
const MEASUREMENTS: &str = "bench/measurements/all.yaml";
const TREE: &str = "bench/trees/no-light.yaml";
const SHARED: &str = "bench/trees/shared.yaml";
const CASE: &str = "bench/cases/dark-lamp.yaml";
const VEHICLE: &str = "vehicles/trainer.yaml";

#[test]
fn each_single_edit_is_one_line_in_the_trades_words() {
    let mut otherwise = Vec::new();
    for (path, from, to, line) in [
        (
            CAUSES,
            "rate: 20,",
            "rate: 9,",
            "lamp-broken: rate 20 -> 9 of 1,000 jobs",
        ),
        (
            CAUSES,
            "rate: 5, repair: mend-wire",
            "rate: 5, repair: renew-lamp",
            "wire-broken: repair mend-wire -> renew-lamp",
        ),
        (
            CAUSES,
            "minutes: 20, parts: 1",
            "minutes: 25, parts: 1",
            "mend-wire: minutes 20 -> 25 min",
        ),
        (
            CAUSES,
            "minutes: 20, parts: 1",
            "minutes: 20, parts: 4",
            "mend-wire: parts 1 -> 4",
        ),
        (
            CAUSES,
            "reveals: [wire-look]",
            "reveals: [code]",
            "mend-wire: reveals: code in, wire-look out",
        ),
        (
            CAUSES,
            "title: Mend the wire,",
            "title: Mend the whole wire,",
            "mend-wire: title \"Mend the wire\" -> \"Mend the whole wire\"",
        ),
        (
            MEASUREMENTS,
            "low: {supply-low: 0.9,",
            "low: {supply-low: 0.7,",
            "supply, low: supply-low 0.9 -> 0.7",
        ),
        (
            MEASUREMENTS,
            "high: {wire-broken: 0.05}",
            "high: {wire-broken: 0.05, supply-low: 0.01}",
            "supply, high: supply-low comes in, 0.01",
        ),
        (
            MEASUREMENTS,
            "{supply-low: 0.9, wire-broken: 0.1}",
            "{supply-low: 0.9}",
            "supply, low: wire-broken goes out, was 0.1",
        ),
        (
            MEASUREMENTS,
            "chance: {low: 0.02,",
            "chance: {low: 0.03,",
            "supply, low: by chance 0.02 -> 0.03",
        ),
        (
            MEASUREMENTS,
            "large: {above: 200}\n    minutes: 3",
            "large: {above: 200}\n    minutes: 4",
            "supply-drop: minutes 3 -> 4 min",
        ),
        (
            MEASUREMENTS,
            "    for: [no-light]\n",
            "",
            "supply: offered for no-light -> every symptom",
        ),
        (
            MEASUREMENTS,
            "steps: [Cover off., Probe on.]",
            "steps: [Cover off., Wait., Probe on.]",
            "supply: step 2 added: \"Wait.\"",
        ),
        (
            MEASUREMENTS,
            "steps: [Cover off., Probe on.]",
            "steps: [Probe on.]",
            "supply: step 1 removed: \"Cover off.\"",
        ),
        (
            MEASUREMENTS,
            "steps: [Cover off., Probe on.]",
            "steps: [Cover off., Probe on well.]",
            "supply: step 2 reworded: \"Probe on.\" -> \"Probe on well.\"",
        ),
        (
            MEASUREMENTS,
            "    cautions: [shock]\n",
            "",
            "supply: cautions: shock out",
        ),
        (
            MEASUREMENTS,
            "set_ups: [cover-off]",
            "set_ups: [probe-fitted]",
            "supply: set-ups: probe-fitted in, cover-off out",
        ),
        (
            MEASUREMENTS,
            "1000 * (before - after)",
            "1000 * (after - before)",
            "supply-drop: formula 1000 * (before - after) -> 1000 * (after - before)",
        ),
        (
            MEASUREMENTS,
            "limit: 5,",
            "limit: 4,",
            "supply: timed limit 5 -> 4 s",
        ),
        (
            VEHICLE,
            "min: 11.5,",
            "min: 11.8,",
            "trainer: supply-window min 11.5 -> 11.8 V (invented)",
        ),
        (
            VEHICLE,
            "supply-window: {min: 11.5, max: 14.5, unit: V, source: invented}",
            "supply-window: {min: 11.5, max: 14.5, unit: V, source: the bench's plate}",
            "trainer: supply-window source \"invented\" -> \"the bench's plate\"",
        ),
        (
            FAMILY,
            "labour_rate: 60",
            "labour_rate: 75",
            "bench: labour rate 60 -> 75 an hour",
        ),
        (
            FAMILY,
            "{minutes: 100, parts: 20}",
            "{minutes: 100, parts: 30}",
            "bench: escalation parts 20 -> 30",
        ),
        (
            FAMILY,
            "Switch the supply off before the cover comes off.",
            "Switch the supply off and wait before the cover comes off.",
            "caution shock: text \"… supply off before the …\" -> \"… supply off and wait before the …\"",
        ),
        (
            FAMILY,
            "cover-on: {title: Cover fitted, minutes: 2",
            "cover-on: {title: Cover fitted, minutes: 5",
            "set-up cover-on: minutes 2 -> 5 min",
        ),
        (
            FAMILY,
            "accuracy: {standard: 0.05}",
            "accuracy: {standard: 0.1}",
            "instrument voltmeter: accuracy standard 0.05 -> 0.1 V",
        ),
        (
            FAMILY,
            "lasts: 20",
            "lasts: 30",
            "condition supply-steady: lasts 20 -> 30 min",
        ),
        (
            TREE,
            "{cause: wire-broken, strength: 0.5}",
            "{cause: wire-broken, strength: 0.4}",
            "no-light, Weak and long: cause wire-broken strength 0.5 -> 0.4",
        ),
        (
            TREE,
            "    - {shared: no-current, strength: 0.9}\n",
            "    - {shared: no-current, strength: 0.9}\n    - {cause: supply-low, strength: 0.2}\n",
            "no-light: cause supply-low comes in, strength 0.2",
        ),
        (
            TREE,
            "{shared: no-current, strength: 0.9}",
            "{shared: no-current}",
            "no-light: part no-current strength 0.9 -> 1",
        ),
        (
            TREE,
            "event: Weak and long",
            "event: Weak and far",
            "no-light, Weak and far: event \"Weak and long\" -> \"Weak and far\"",
        ),
        (
            TREE,
            "all: [supply-low,",
            "any: [supply-low,",
            "no-light, Weak and long: gate all -> any",
        ),
        (
            TREE,
            "    - event: Weak and long\n      all: [supply-low, {cause: wire-broken, strength: 0.5}]\n",
            "",
            "no-light, Weak and long: goes out, was all of supply-low, wire-broken at 0.5",
        ),
        (
            SHARED,
            "at_least: 2",
            "at_least: 3",
            "shared part no-current, Two of three: gate at least 2 -> at least 3",
        ),
        (
            TREE,
            "complaints: ['dark', 'no light']",
            "complaints: ['dark']",
            "no-light: complaint pattern removed: \"no light\"",
        ),
        (
            CASE,
            "value: 12.1 V",
            "value: 12.2 V",
            "worked case dark-lamp: reading 1 changed: \"supply = 12.1 V\" -> \"supply = 12.2 V\"",
        ),
        (
            CASE,
            "expect: {repair: renew-lamp}",
            "expect: {unlisted: true}",
            "worked case dark-lamp: expect renew-lamp -> no listed cause",
        ),
        (
            MEASUREMENTS,
            "    limits: [lamp-colour]\n",
            "    limits: [lamp-colour]\n    after: [supply]\n",
            "lamp-look: after: supply in",
        ),
        (
            MEASUREMENTS,
            "    limits: [lamp-colour]\n",
            "    limits: [lamp-colour]\n    unless: {supply: [low]}\n",
            "lamp-look: unless supply comes in, low",
        ),
        (
            MEASUREMENTS,
            "    limits: [lamp-colour]\n",
            "    limits: [lamp-colour]\n    along: [wire-look]\n",
            "lamp-look: read along with it: wire-look in",
        ),
        (
            MEASUREMENTS,
            "    limits: [lamp-colour]\n",
            "    limits: [lamp-colour]\n    sets: {black: [cover-off]}\n",
            "lamp-look, black: sets comes in, cover-off",
        ),
        (
            CAUSES,
            "    care: [clean]\n",
            "    care: [clean]\n    requires: {all: [supply]}\n",
            "renew-lamp: requires all comes in, supply",
        ),
        (
            CAUSES,
            "    care: [clean]\n",
            "    care: [clean]\n    set_ups: [cover-off]\n",
            "renew-lamp: set-ups: cover-off in",
        ),
        (
            CAUSES,
            "    care: [clean]\n",
            "    care: [clean]\n    cautions: [shock]\n",
            "renew-lamp: cautions: shock in",
        ),
        (
            FAMILY,
            "equipment: probe}",
            "equipment: probe, wait: 4}",
            "set-up probe-fitted: wait 0 -> 4 min",
        ),
        (
            FAMILY,
            "equipment: probe}",
            "equipment: probe, parts: 4}",
            "set-up probe-fitted: parts 0 -> 4",
        ),
        (
            FAMILY,
            "equipment: probe}",
            "equipment: probe, spoils: [supply]}",
            "set-up probe-fitted: spoils: supply in",
        ),
        (
            FAMILY,
            "equipment: probe}",
            "equipment: probe, sets: [cover-off]}",
            "set-up probe-fitted: sets: cover-off in",
        ),
        (
            FAMILY,
            "equipment: probe}",
            "equipment: probe, unless: {lamp-look: [black]}}",
            "set-up probe-fitted: unless lamp-look comes in, black",
        ),
        (
            FAMILY,
            "equipment: probe}",
            "equipment: probe, conditions: [switched-on]}",
            "set-up probe-fitted: conditions: switched-on in",
        ),
        (
            FAMILY,
            "equipment: probe}",
            "equipment: probe, cautions: [shock]}",
            "set-up probe-fitted: cautions: shock in",
        ),
        (
            FAMILY,
            "equipment: probe}",
            "equipment: probe, from: {cover-on: {minutes: 9, needs: []}}}",
            "set-up probe-fitted: from cover-on minutes comes in, 9 min",
        ),
        (
            FAMILY,
            "in_place: [cover-on]\n",
            "in_place: [cover-on]\nput_back: [cover-on]\n",
            "bench: put back: cover-on in",
        ),
        (
            FAMILY,
            "labour_rate: 60,",
            "labour_rate: 60, waiting_rate: 5,",
            "bench: waiting rate 0 -> 5 an hour",
        ),
        (
            TREE,
            "examples: [It stays dark.]\n",
            "examples: [It stays dark.]\nfirst_looks: [supply]\n",
            "no-light: first looks: supply in",
        ),
        (
            MEASUREMENTS,
            "    limits: [lamp-colour]\n",
            "    limits: [lamp-colour]\n    words: {black: [sooty, dark]}\n",
            "lamp-look, black: also typed comes in, dark, sooty",
        ),
        (
            MEASUREMENTS,
            "    limits: [lamp-colour]\n",
            "    limits: [lamp-colour]\n    words: {unclear: [odd]}\n",
            "lamp-look: typed, and unclear: odd in",
        ),
        (
            MEASUREMENTS,
            "    limits: [lamp-colour]\n",
            "    limits: [lamp-colour]\n    told_by: customer\n",
            "lamp-look: told by comes in, customer",
        ),
        (
            MEASUREMENTS,
            "    limits: [lamp-colour]\n",
            "    limits: [lamp-colour]\n    only_then: true\n",
            "lamp-look: only then no -> yes",
        ),
        (
            MEASUREMENTS,
            "    limits: [lamp-colour]\n",
            "    limits: [lamp-colour]\n    finds: {black: [lamp-broken]}\n",
            "lamp-look, black: finds comes in, lamp-broken",
        ),
        (
            MEASUREMENTS,
            "timed: lag",
            "timed: {lag: {tries: 3}}",
            "code: timed tries 1 -> 3 times",
        ),
        (
            MEASUREMENTS,
            "{limit: 5,",
            "{limit: 5, warn: 4,",
            "supply: timed warn comes in, 4 s",
        ),
        (
            CAUSES,
            "verify_with: [lamp-look]",
            "verify_with: [lamp-look, seen to light]",
            "renew-lamp: verify with: seen to light in",
        ),
        (
            FAMILY,
            "in_place: [cover-on]\n",
            "in_place: [cover-on]\nmistold: 0.3\n",
            "bench: share of what is mistold 0.15 -> 0.3",
        ),
        (
            FAMILY,
            "in_place: [cover-on]\n",
            "in_place: [cover-on]\nfades: {lamp-look: {black: 0.5}}\n",
            "bench: fades lamp-look black comes in, 0.5",
        ),
        (
            CASE,
            "vehicle: trainer\n",
            "vehicle: trainer\nnot_before: {renew-lamp: [supply]}\n",
            "worked case dark-lamp: not before renew-lamp comes in, supply",
        ),
    ] {
        let told = told(&Book::new().edit(path, from, to));
        if told != [line] {
            otherwise.push((line, told));
        }
    }
    assert!(otherwise.is_empty(), "{otherwise:#?}");
}

/// A figure of several is named behind its field; a ratio has no unit to be shown.
#[test]
fn the_figures_of_a_recorder_and_a_signal_are_told_in_the_trades_words() {
    let recorder = Book::new().edit(
        FAMILY,
        "in_place: [cover-on]\n",
        "in_place: [cover-on]\nrecorder: {minutes: 4, set_ups: [probe-fitted]}\n",
    );
    assert_eq!(
        told(&recorder),
        [
            "bench: recorder minutes comes in, 4 min",
            "bench: recorder set-ups comes in, probe-fitted",
        ]
    );
    let ratio = |steady: &str| {
        Book::new()
            .edit(
                FAMILY,
                "signals:\n",
                "signals:\n  ratio: {title: Ratio, quantity: ratio, unit: '1', columns: ['ratio']}\n",
            )
            .edit(
                MEASUREMENTS,
                "while: {switch: [closed]}, takes",
                &format!("while: {{switch: [closed]}}, steady: {{ratio: {steady}}}, takes"),
            )
    };
    let page = page(&loaded(&ratio("0.02")), &loaded(&ratio("0.05")));
    assert!(
        page.contains("- supply: recording steady ratio 0.02 -> 0.05\n"),
        "{page}"
    );
}

#[test]
fn things_that_come_and_go_are_said_with_what_they_are() {
    let edited = Book::new()
        .edit(
            CAUSES,
            "causes:\n",
            "causes:\n  fuse-blown: {title: Fuse blown, part: fuse, rate: 7, repair: mend-wire, source: textbook}\n",
        )
        .edit(TREE, "    - lamp-broken\n", "    - lamp-broken\n    - fuse-blown\n");
    assert_eq!(
        told(&edited),
        [
            "fuse-blown comes in: cause, \"Fuse blown\", rate 7 of 1,000 jobs, repair mend-wire",
            "no-light: cause fuse-blown comes in",
        ]
    );
    // From the other side.
    let back = page(&loaded(&edited), &loaded(&Book::new()));
    assert!(
        back.contains("- fuse-blown goes out: cause, \"Fuse blown\", rate 7 of 1,000 jobs"),
        "{back}"
    );
    assert_eq!(
        told(&Book::new().without("vehicles/second-trainer.yaml")),
        ["second-trainer goes out: vehicle, \"Second trainer, invented\""]
    );
    assert_eq!(
        told(&Book::new().without(CASE)),
        ["worked case dark-lamp goes out: \"dark lamp\", expect renew-lamp"]
    );
}

/// Everywhere in the files, as an editor's search and replace does it.
fn renamed(from: &str, to: &str) -> Book {
    let mut book = Book::new();
    for (path, _) in Book::new().files {
        let text = book.text(&path).replace(from, to);
        book = book.with(&path, text);
    }
    book
}

#[test]
fn a_new_id_for_the_same_thing_is_said_once_wherever_it_is_named() {
    for (from, to, line) in [
        (
            "wire-broken",
            "wire-open",
            "wire-open is a new id: it was called wire-broken",
        ),
        (
            "mend-wire",
            "repair-wire",
            "repair-wire is a new id: it was called mend-wire",
        ),
        (
            "lamp-look",
            "lamp-seen",
            "lamp-seen is a new id: it was called lamp-look",
        ),
        (
            "no-light",
            "stays-dark",
            "stays-dark is a new id: it was called no-light",
        ),
        (
            "no-current",
            "current-none",
            "shared part current-none is a new id: it was called no-current",
        ),
        (
            "cover-off",
            "cover-away",
            "set-up cover-away is a new id: it was called cover-off",
        ),
        (
            "voltmeter",
            "meter",
            "instrument meter is a new id: it was called voltmeter",
        ),
        (
            "switched-on",
            "is-on",
            "condition is-on is a new id: it was called switched-on",
        ),
        (
            "shock",
            "mains",
            "caution mains is a new id: it was called shock",
        ),
        (
            "frayed",
            "worn",
            "outcome wire-look/worn is a new id: it was called wire-look/frayed",
        ),
    ] {
        let edited = renamed(from, to);
        assert_eq!(told(&edited), [line], "{from}");
        let page = page(&loaded(&Book::new()), &loaded(&edited));
        // The answers are the same under any name.
        assert!(
            page.contains("Every complaint that both have keeps its candidates"),
            "{page}"
        );
        assert!(
            page.contains("1 case was put to both: the same repair leads"),
            "{page}"
        );
    }
}

/// With another figure it may be another thing.
#[test]
fn a_new_id_with_another_figure_is_another_thing() {
    let edited = renamed("wire-broken", "wire-open").edit(CAUSES, "rate: 5,", "rate: 6,");
    let told = told(&edited);
    assert!(
        told.contains(
            &"wire-open comes in: cause, \"Wire broken\", rate 6 of 1,000 jobs, repair mend-wire"
                .to_owned()
        ),
        "{told:?}"
    );
    assert!(
        told.contains(
            &"wire-broken goes out: cause, \"Wire broken\", rate 5 of 1,000 jobs, repair mend-wire"
                .to_owned()
        ),
        "{told:?}"
    );
}

#[test]
fn what_moves_the_diagnosis_comes_first_and_the_counts_before_it() {
    let edited = Book::new()
        .edit(CAUSES, "title: Lamp broken,", "title: Lamp burnt,")
        .edit(CAUSES, "minutes: 20, parts: 1", "minutes: 30, parts: 1")
        .edit(VEHICLE, "min: 11.5,", "min: 11.8,")
        .edit(CAUSES, "rate: 20,", "rate: 9,");
    let page = page(&loaded(&Book::new()), &loaded(&edited));
    let expected = "\
From older to newer
4 differences in 1 cause, 1 vehicle, 1 repair.
They bear: 1 on the belief; 1 on what a reading counts as; 1 on minutes, money
or set-ups; 1 on words, cautions or cases.

What moves the belief
- lamp-broken: rate 20 -> 9 of 1,000 jobs

Limits, and what a reading counts as
- trainer: supply-window min 11.5 -> 11.8 V (invented)

Minutes, money and set-ups
- mend-wire: minutes 20 -> 30 min

Words, cautions and cases
- lamp-broken: title \"Lamp broken\" -> \"Lamp burnt\"
";
    assert!(page.starts_with(expected), "{page}");
}

#[test]
fn a_text_that_could_steer_the_terminal_is_shown_as_its_code() {
    let edited = Book::new().edit(
        CAUSES,
        "title: Lamp broken,",
        "title: \"Lamp \\u202e broken\",",
    );
    // The loader may refuse it already; what loads is cleaned.
    if edited.load().is_ok() {
        assert!(!changed(&edited).is_empty());
        assert!(told(&edited).iter().all(|line| !line.contains('\u{202e}')));
    }
}
