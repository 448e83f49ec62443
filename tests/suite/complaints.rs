use std::sync::LazyLock;

use halfsplit::knowledge::Listener;

use super::by_name::shipped;
use super::shop::Shop;

/// The complaints of `tests/complaints/phrasings.txt` in one half: what each means, and its words.
fn phrasings(half: &str) -> Vec<(&'static str, &'static str)> {
    let lines = include_str!("../complaints/phrasings.txt").lines();
    let lines = lines.filter(|line| !line.starts_with('#') && !line.is_empty());
    let parts = lines.map(|line| line.splitn(3, " | ").collect::<Vec<_>>());
    let parts = parts.filter(|parts| parts[0] == half);
    parts.map(|parts| (parts[1], parts[2])).collect()
}

/// The shipped symptom that words mean first; none where they mean none.
fn meant(words: &str) -> Option<&'static str> {
    static LISTENER: LazyLock<Listener<'static>> =
        LazyLock::new(|| Listener::new(&shipped().families[0]));
    let (first, found) = LISTENER.meant(words)[0];
    (found > 0).then_some(&shipped().families[0].symptom(first).name)
}

/// The half that the patterns were built with, and the half that nothing was ever adapted to.
#[test]
fn nine_in_ten_phrasings_of_a_workshop_find_their_complaint_and_what_concerns_none_finds_none() {
    for half in ["build", "measure"] {
        let (none, some): (Vec<_>, Vec<_>) = phrasings(half)
            .into_iter()
            .partition(|(complaint, _)| *complaint == "none");
        assert!(some.len() >= 100 && none.len() >= 15);
        let right = some
            .iter()
            .filter(|(complaint, words)| meant(words) == Some(complaint));
        let (right, all) = (right.count(), some.len());
        assert!(right * 10 >= all * 9, "{half}: {right} of {all}");
        let found = none.iter().filter(|(_, words)| meant(words).is_some());
        assert_eq!(found.count(), 0, "{half}");
    }
}

#[test]
fn misspelt_words_and_other_endings_are_understood() {
    for (words, complaint) in [
        ("slippping", "slipping"),
        ("no dirve forwrad", "no-drive"),
        ("clunk going into revese", "harsh-engagement"),
        ("a lot of vibraton at speed", "judder-straight-ahead"),
        ("it dosent move", "no-drive"),
        ("it won’t go forwards", "no-drive"),
        ("the front end hopps on full lock", "tight-turn-binding"),
    ] {
        assert_eq!(meant(words), Some(complaint), "{words}");
    }
}

#[test]
fn what_is_about_something_else_is_left_out() {
    for (words, complaint) in [
        ("the wipers judder", None),
        ("rattle from the glovebox", None),
        ("airbag light is on", None),
        (
            "the glovebox rattles and it slips in drive",
            Some("slipping"),
        ),
        (
            "tyre pressure light and gearbox light on, no power",
            Some("warning-lamp-reduced-drive"),
        ),
        ("the seat shakes at 110", Some("judder-straight-ahead")),
    ] {
        assert_eq!(meant(words), complaint, "{words}");
    }
}

#[test]
fn what_the_customer_denies_is_not_meant() {
    for (words, complaint) in [
        (
            "no slipping, but it bangs into reverse",
            Some("harsh-engagement"),
        ),
        ("no noise, it just slips", Some("slipping")),
        (
            "it does not slip or flare, it binds on full lock",
            Some("tight-turn-binding"),
        ),
        ("no vibration", None),
        ("slips in drive, reverse ok", Some("slipping")),
        // "Fine today" says when, not that the rear drive is in order.
        ("no rear drive, fine today", Some("no-rear-drive")),
        (
            "shudders on light throttle, fine at other times",
            Some("judder-straight-ahead"),
        ),
        // Here the denial is the complaint.
        ("no reverse", Some("no-drive")),
        ("it does not move", Some("no-drive")),
        ("no drive to the rear axle", Some("no-rear-drive")),
    ] {
        assert_eq!(meant(words), complaint, "{words}");
    }
}

#[test]
fn what_the_customers_words_answer_is_recorded_after_one_confirmation() {
    let words = "hops when parking since the tyres were changed, fine today";
    let told = Shop::diagnose(["--vehicle", "demo-estate"])
        .shipped()
        .types(format!("{words}\n\nyes\nstop\n"))
        .run();
    told.says("Does it do it today: does not do it today (\"fine today\")")
        .says("Work done just before: tyres or wheels changed (\"since the tyres\")");
    let readings = told.state().readings;
    let readings: Vec<[&str; 3]> = readings
        .iter()
        .map(|taken| {
            [
                &taken.reading.measurement,
                &taken.reading.outcome,
                &taken.reading.raw,
            ]
            .map(String::as_str)
        })
        .collect();
    assert_eq!(
        readings,
        [
            ["present-today", "not-today", "fine today"],
            ["recent-work", "tyres", "since the tyres"]
        ]
    );
}

#[test]
fn what_is_not_so_is_asked_as_ever() {
    let typed = "hops when parking since the tyres were changed, fine today\n\n1\nstop\n";
    let told = Shop::diagnose(["--vehicle", "demo-estate"])
        .shipped()
        .types(typed)
        .run();
    assert_eq!(told.state().readings.len(), 1);
    told.says("2 Work done just before");
}

#[test]
fn a_complaint_like_none_leads_through_the_general_looks_to_handing_on() {
    let looks = shipped().families[0].general_looks();
    let name = |id| shipped().families[0].measurement(id).name.as_str();
    let looks: Vec<&str> = looks.into_iter().map(name).collect();
    for look in ["recent-work", "dtc-group", "fluid-level", "leak-look"] {
        assert!(looks.contains(&look), "{looks:?}");
    }
    let skips = "skip\n".repeat(looks.len() - 2);
    let typed = format!("the radio cuts out\nnone\n1\noil change\n{skips}stop\n");
    let told = Shop::diagnose(["--vehicle", "demo-estate"])
        .shipped()
        .types(typed)
        .run();
    told.says("Nothing here fits: hand the job on")
        .says("The customer says: the radio cuts out")
        .says("1 Work done just before: fluid changed or topped up")
        .says("Saved.");
    let state = told.state();
    assert!(state.no_symptom && state.present.is_empty());
    assert_eq!(state.complaints, ["the radio cuts out"]);
}
