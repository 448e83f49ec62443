//! Looked at as someone with dirty hands would: clear, true, short, no wider than 80 columns (the shop
//! sees to that for every session).

use insta::assert_snapshot;

use crate::shop::{Shop, Told};

/// What came on the screen behind a line that was typed.
fn behind(told: &Told, line: &str) -> String {
    let page = told.page();
    let shown = page
        .split_once(&format!("> {line}\n"))
        .unwrap_or_else(|| panic!("{line} was not typed\n{page}"))
        .1;
    shown.split("\n> ").next().unwrap().to_owned()
}

#[test]
fn the_opening_names_the_vehicle_the_notice_and_the_complaint() {
    assert_snapshot!(
        Shop::diagnose([])
            .types("1\nthe revs climb on hills and it does not pick up\n")
            .run()
            .page()
    );
}

#[test]
fn a_proposal_shows_what_can_hurt_the_steps_and_the_limits() {
    let told = Shop::job("slipping")
        .types("take stall-forward\n90\n90\n4\n2400\n")
        .run();
    let page = told.page();
    assert_snapshot!(
        page.split("> take stall-forward\n")
            .nth(1)
            .unwrap()
            .split("\nSaved")
            .next()
            .unwrap()
    );
}

#[test]
fn a_change_shows_what_was_ruled_out_and_what_leads() {
    let told = Shop::job("slipping")
        .types("take complaint-direction\nforward-only\n")
        .run();
    assert_snapshot!(behind(&told, "forward-only").split("\n1. ").next().unwrap());
}

#[test]
fn the_list_ranks_what_is_on_offer() {
    let told = Shop::job("no-drive").types("list\n").run();
    assert_snapshot!(behind(&told, "list"));
}

#[test]
fn why_of_a_cause_shows_its_way() {
    let told = Shop::job("slipping")
        .types("take complaint-direction\nforward-only\nwhy forward-clutch-worn\n")
        .run();
    assert_snapshot!(behind(&told, "why forward-clutch-worn"));
}

#[test]
fn the_help_is_one_screen() {
    let told = Shop::job("slipping").types("help\n").run();
    let help = behind(&told, "help");
    assert!(help.lines().count() <= 24, "{help}");
    assert_snapshot!(help);
}

#[test]
fn the_repair_sheet_says_what_to_do_how_sure_and_what_to_verify() {
    let told = Shop::job("tight-turn-binding")
        .types(
            "take tyre-circumference\nyes\naxles-differ\ntake front-only-turn\nvanishes\nrepair\n",
        )
        .run();
    assert_snapshot!(behind(&told, "repair"));
}

#[test]
fn the_verification_ends_in_a_question_and_the_closing() {
    let told = Shop::job("tight-turn-binding")
        .types("take tyre-circumference\nyes\naxles-differ\nrepair\ndone\nskip\nskip\nyes\n1\n")
        .run();
    let page = told.page();
    assert_snapshot!(page[page.find("Prove").unwrap()..]);
}

#[test]
fn nothing_listed_fits_asks_for_a_reading_again() {
    let told = Shop::job("harsh-engagement")
        .types("take scan-idle-speed\n90\n700\ntake mount-roll\nnormal\ntake unit-noise\nrattle\ntake stall-forward\n90\n4\n1850\ntake stall-reverse\nwait\n4\n1830\ntake scan-converter-slip\nnormal\ntake tray-residue\nflakes\n")
        .run();
    assert_snapshot!(behind(&told, "flakes"));
}

#[test]
fn next_lists_candidates_measurements_and_the_way_to_end() {
    let told = Shop::new()
        .arguments([
            "next",
            "slipping",
            "--vehicle",
            "demo-estate",
            "--reading",
            "stall-forward=2950 rpm",
        ])
        .run();
    assert_snapshot!(told.page());
}

#[test]
fn show_of_a_cause() {
    assert_snapshot!(
        Shop::new()
            .arguments(["show", "forward-clutch-worn"])
            .run()
            .page()
    );
}

#[test]
fn show_of_a_measurement() {
    assert_snapshot!(
        Shop::new()
            .arguments(["show", "gauge-secondary-stall"])
            .run()
            .page()
    );
}

#[test]
fn show_of_a_repair() {
    assert_snapshot!(
        Shop::new()
            .arguments(["show", "renew-strainer"])
            .run()
            .page()
    );
}

#[test]
fn show_of_a_tree() {
    assert_snapshot!(
        Shop::new()
            .arguments(["show", "tight-turn-binding"])
            .run()
            .page()
    );
}

#[test]
fn the_command_line_help() {
    assert_snapshot!(Shop::new().arguments(["--help"]).run().page());
}

#[test]
fn diagnose_help() {
    assert_snapshot!(Shop::new().arguments(["diagnose", "--help"]).run().page());
}

#[test]
fn a_misspelt_symptom() {
    let told = Shop::new()
        .arguments(["diagnose", "sliping", "--vehicle", "demo-estate"])
        .fails_with(2)
        .run();
    assert_snapshot!(told.err, @"halfsplit: there is no symptom `sliping`: did you mean `slipping`?");
}

#[test]
fn every_screen_of_show_fits() {
    let family = crate::shop::family();
    let names = family
        .symptoms
        .iter()
        .map(|symptom| &symptom.name)
        .chain(family.causes.iter().map(|cause| &cause.name))
        .chain(
            family
                .measurements
                .iter()
                .map(|measurement| &measurement.name),
        )
        .chain(family.repairs.iter().map(|repair| &repair.name))
        .chain(family.set_ups.iter().map(|set_up| &set_up.name));
    // One load of the knowledge is enough for the eye: the pages themselves are asked.
    for name in names.step_by(7) {
        Shop::new().arguments(["show", name.as_str()]).run();
    }
    Shop::new().arguments(["show"]).run();
    Shop::new().arguments(["show", "demo-wagon"]).run();
}
