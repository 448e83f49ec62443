use std::collections::BTreeMap;

use halfsplit::record::Event;
use proptest::prelude::*;

use crate::shop::{Shop, family};

/// Words of the program and of the knowledge, numbers, and rubbish.
fn line() -> impl Strategy<Value = Vec<u8>> {
    let words = [
        "skip",
        "cannot",
        "cannot lift taken",
        "list",
        "take 1",
        "take 3",
        "take 99",
        "with ?",
        "with gauge-3-mpa",
        "why",
        "why forward-clutch-worn",
        "back",
        "back 2",
        "back 99",
        "note x",
        "stop it",
        "help",
        "?",
        "also no-drive",
        "also slipping",
        "absent no-drive",
        "in-place raised",
        "in-place engine-off",
        "repair",
        "wait",
        "done",
        "yes",
        "no",
        "#1",
        "#2",
        "none",
        "normal",
        "low",
        "high",
        "1",
        "2",
        "0",
        "",
        " ",
        "4",
        "40",
        "90 C",
        "2400",
        "1300 kPa",
        "= -450",
        "P0841 u0100",
        "not taken",
    ];
    let family = family();
    let takes: Vec<String> = family
        .measurements
        .iter()
        .map(|measurement| format!("take {}", measurement.name))
        .collect();
    let outcomes: Vec<String> = family
        .measurements
        .iter()
        .flat_map(|measurement| &measurement.outcomes)
        .map(|outcome| outcome.name.clone())
        .collect();
    prop_oneof![
        8 => prop::sample::select(words.map(|word| word.as_bytes().to_vec()).to_vec()),
        4 => prop::sample::select(takes).prop_map(String::into_bytes),
        4 => prop::sample::select(outcomes).prop_map(String::into_bytes),
        2 => (-1e4f64..1e4).prop_map(|number| format!("{number:.2}").into_bytes()),
        1 => any::<String>().prop_map(|text| text.replace('\n', " ").into_bytes()),
        1 => "note [\\PC\u{0}-\u{1f}\u{7f}-\u{9f}]{0,40}".prop_map(|text| text.replace('\n', " ").into_bytes()),
        1 => prop::collection::vec(any::<u8>().prop_filter("one line", |byte| *byte != b'\n'), 0..60),
        1 => (1usize..10_000, any::<char>()).prop_map(|(length, c)| {
            let c = if c == '\n' { ' ' } else { c };
            format!("note {}", c.to_string().repeat(length)).into_bytes()
        }),
    ]
}

/// What the program acknowledges with these words is in the record, as often.
fn acknowledged(told: &crate::shop::Told) {
    let events = told.events();
    let count = |wanted: fn(&Event) -> bool| events.iter().filter(|event| wanted(event)).count();
    let said = |words: &str| told.out.lines().filter(|line| line.trim() == words).count();
    assert!(count(|event| matches!(event, Event::Note { .. })) >= said("Noted."));
    let backs = told
        .flat()
        .matches("taken back; the record keeps that.")
        .count();
    assert_eq!(count(|event| matches!(event, Event::Back { .. })), backs);
    let changes = told.flat().matches(" now unlikely").count();
    assert!(count(|event| matches!(event, Event::Reading(_) | Event::Back { .. })) >= changes);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 200, failure_persistence: None, ..ProptestConfig::default() })]

    /// The shop fails on a control character, a line that is too wide, an error message or a failing
    /// exit code; the record must be whole.
    #[test]
    fn whatever_is_typed_the_talk_holds(lines in prop::collection::vec(line(), 1..30), opened in 0..3usize, interactive in any::<bool>()) {
        let shop = match opened {
            0 => Shop::job("slipping"),
            1 => Shop::job("no-drive"),
            _ => Shop::diagnose(["--vehicle", "demo-wagon"]),
        };
        let mut typed = lines.join(&b'\n');
        typed.push(b'\n');
        let shop = if interactive { shop.at_a_terminal() } else { shop };
        let told = shop.types(typed).run();
        // A job left before anything was said leaves no record to look at.
        if !told.record().exists() {
            told.says("so no job is kept");
            return Ok(());
        }
        acknowledged(&told);
        let again = told.resume().run();
        // Looking at the job again changes no answer in it.
        let answers = |events: Vec<Event>| events.into_iter().filter(Event::is_answer).collect::<Vec<_>>();
        prop_assert_eq!(answers(again.events()), answers(told.events()));
    }

    /// Every reading that is accepted is in the record as it was typed, whatever came between.
    #[test]
    fn every_accepted_answer_is_in_the_record(picks in prop::collection::vec((0..1000usize, 0..1000usize), 1..12)) {
        let family = family();
        let words: Vec<_> = family
            .measurements
            .iter()
            .filter(|measurement| {
                measurement.number().is_none() && measurement.conditions.is_empty() && measurement.timed.is_none()
                    && measurement.is_for(&[family.symptom_named("slipping").unwrap()])
            })
            .collect();
        let mut typed = String::new();
        let mut last = BTreeMap::new();
        for (measurement, outcome) in picks {
            let measurement = words[measurement % words.len()];
            let outcome = &measurement.outcomes[outcome % measurement.outcomes.len()].name;
            typed.push_str(&format!("take {}\n{outcome}\n", measurement.name));
            last.insert(measurement.name.clone(), outcome.clone());
        }
        let told = Shop::job("slipping").types(typed).run();
        let state = told.state();
        let kept: BTreeMap<String, String> =
            state.counting().map(|taken| (taken.reading.measurement.clone(), taken.reading.raw.clone())).collect();
        prop_assert_eq!(kept, last);
    }
}
