//! Rules of order in the knowledge, from the files to the advice and the prompt.

use halfsplit::decide::{Advice, Circumstances, OrderBy, Point, Policy, Standing};
use halfsplit::infer::{Complaint, Evidence, Model};
use halfsplit::knowledge::{Family, Knowledge, RepairId};
use halfsplit::load::Code;

use super::by_name::{chain_cvt, shipped};
use super::shop::Shop;
use super::textbook::Book;

const CAUSES: &str = "bench/causes.yaml";
const FAMILY: &str = "bench/family.yaml";
const MEASUREMENTS: &str = "bench/measurements/all.yaml";
const TREE: &str = "bench/trees/no-light.yaml";
const LAMP: &str = "    title: Renew the lamp\n";
const WIRE_LOOK: &str = "    title: Wire by eye\n";

fn edited(edits: &[(&str, &str, &str)]) -> Book {
    // The case of the family takes no readings that a rule may ask for.
    let book = Book::new().without("bench/cases/dark-lamp.yaml");
    edits.iter().fold(book, |book, (path, at, more)| {
        book.edit(path, at, &format!("{at}{more}"))
    })
}

fn knowledge(edits: &[(&str, &str, &str)]) -> Knowledge {
    edited(edits).load().unwrap().knowledge
}

/// What is advised after some readings, each given one outcome for sure.
fn advice(
    knowledge: &Knowledge,
    read: &[(&str, &str)],
    aside: &[&str],
    entered: &[&str],
) -> String {
    let family = &knowledge.families[0];
    let (model, evidence, circumstances) = case(knowledge, family, read, aside, entered);
    let standing = Standing::new(&model, evidence, &circumstances, OrderBy::Saves).unwrap();
    match standing.advise(&[], false) {
        Advice::Measure { measurement, .. } => family.measurement(measurement).name.clone(),
        Advice::Repair { first, .. } => family.repair_names(&first),
        Advice::Escalate => "hand on".to_owned(),
        Advice::TakeAgain(_) => "take again".to_owned(),
    }
}

fn case<'k>(
    knowledge: &'k Knowledge,
    family: &'k Family,
    read: &[(&str, &str)],
    aside: &[&str],
    entered: &[&str],
) -> (Model<'k>, Vec<Evidence>, Circumstances) {
    let complaint = Complaint {
        present: vec![family.symptom_named("no-light").unwrap()],
        ..Complaint::default()
    };
    let model = Model::new(family, knowledge.vehicle("trainer"), complaint).unwrap();
    let mut circumstances = Circumstances::on_arrival(family);
    for name in entered {
        circumstances.enter(family, family.set_up_named(name).unwrap());
    }
    let mut evidence = Vec::new();
    for (name, outcome) in read {
        let measurement = family.measurement_named(name).unwrap();
        let of = family.measurement(measurement);
        let place = of.outcome(outcome).unwrap().index();
        let weights = (0..of.outcomes.len()).map(|o| f64::from(u8::from(o == place)));
        let reading = Evidence {
            measurement,
            weights: weights.collect(),
        };
        circumstances.read(family, &reading);
        circumstances.left_out.push(measurement);
        evidence.push(reading);
    }
    let aside = aside
        .iter()
        .map(|name| family.measurement_named(name).unwrap());
    circumstances.left_out.extend(aside);
    (model, evidence, circumstances)
}

/// A measurement is advised first; once it has this reading, another.
fn asks_in_turn(knowledge: &Knowledge, first: (&str, &str), then: &str) {
    assert_eq!(advice(knowledge, &[], &[], &[]), first.0);
    assert_eq!(advice(knowledge, &[first], &[], &[]), then);
}

#[test]
fn first_looks_come_first_in_their_order_and_none_can_be_asked_for() {
    let first = [(
        TREE,
        "examples: [It stays dark.]\n",
        "first_looks: [wire-look, code]\n",
    )];
    let knowledge = knowledge(&first);
    asks_in_turn(&knowledge, ("wire-look", "normal"), "code");
    let family = &knowledge.families[0];
    let (model, _, mut circumstances) = case(&knowledge, family, &[], &[], &[]);
    circumstances.first_looks = Some(Vec::new());
    let standing = Standing::new(&model, vec![], &circumstances, OrderBy::Saves).unwrap();
    let advice = standing.advise(&[], false);
    let wire = family.measurement_named("wire-look");
    assert!(!matches!(advice, Advice::Measure { measurement, .. } if Some(measurement) == wire));
}

#[test]
fn a_repair_waits_for_what_it_requires_and_is_handed_on_where_that_cannot_be_read() {
    let requires = [(
        CAUSES,
        LAMP,
        "    requires: {all: [supply], any: [wire-look, code]}\n",
    )];
    let knowledge = knowledge(&requires);
    let black = ("lamp-look", "black");
    let open = ("code", "open");
    // Black inside and an open circuit: the lamp, but the supply has not been read.
    assert_eq!(advice(&knowledge, &[black, open], &[], &[]), "supply");
    assert_eq!(
        advice(&knowledge, &[black, open, ("supply", "normal")], &[], &[]),
        "renew-lamp"
    );
    // One of `any` is enough, and none is too little.
    let before = advice(&knowledge, &[black, ("supply", "normal")], &[], &[]);
    assert!(before == "code" || before == "wire-look", "{before}");
    // Set aside, it frees nothing: the lamp is not renewed.
    let after = advice(&knowledge, &[black, open], &["supply"], &[]);
    assert_ne!(after, "renew-lamp");
}

#[test]
fn a_measurement_waits_for_what_it_comes_after_unless_that_was_set_aside() {
    let after = [(MEASUREMENTS, WIRE_LOOK, "    after: [code]\n")];
    let first = (
        TREE,
        "examples: [It stays dark.]\n",
        "first_looks: [wire-look]\n",
    );
    let knowledge = knowledge(&[after[0], first]);
    assert_eq!(advice(&knowledge, &[], &[], &[]), "code");
    assert_eq!(
        advice(&knowledge, &[("code", "normal")], &[], &[]),
        "wire-look"
    );
    assert_eq!(advice(&knowledge, &[], &["code"], &[]), "wire-look");
}

#[test]
fn an_outcome_a_complaint_or_a_set_up_closes_what_names_it() {
    let first = (
        TREE,
        "examples: [It stays dark.]\n",
        "first_looks: [wire-look]\n",
    );
    let closed = [
        (MEASUREMENTS, WIRE_LOOK, "    unless: {code: [open]}\n"),
        first,
    ];
    let outcome = knowledge(&closed);
    assert_eq!(advice(&outcome, &[], &[], &[]), "wire-look");
    assert_ne!(advice(&outcome, &[("code", "open")], &[], &[]), "wire-look");
    let complaint = knowledge(&[
        (
            MEASUREMENTS,
            WIRE_LOOK,
            "    unless: {complaint: [no-light]}\n",
        ),
        first,
    ]);
    assert_ne!(advice(&complaint, &[], &[], &[]), "wire-look");
    // A set-up that a reading closes closes what stands on it.
    let cover = [
        (
            FAMILY,
            "  cover-off: {title: Cover removed, minutes: 3, group: cover",
            ", unless: {code: [open]}",
        ),
        (
            TREE,
            "examples: [It stays dark.]\n",
            "first_looks: [supply]\n",
        ),
    ];
    let set_up = knowledge(&cover);
    assert_eq!(advice(&set_up, &[], &[], &[]), "supply");
    assert_ne!(advice(&set_up, &[("code", "open")], &[], &[]), "supply");
}

#[test]
fn what_a_set_up_spoils_is_read_before_it_and_not_after() {
    let spoils = [
        (
            FAMILY,
            "  cover-off: {title: Cover removed, minutes: 3, group: cover",
            ", spoils: [lamp-look]",
        ),
        (
            TREE,
            "examples: [It stays dark.]\n",
            "first_looks: [supply]\n",
        ),
    ];
    let knowledge = knowledge(&spoils);
    asks_in_turn(&knowledge, ("lamp-look", "whole"), "supply");
    let family = &knowledge.families[0];
    let (_, _, circumstances) = case(&knowledge, family, &[], &[], &["cover-off"]);
    let lamp = family.measurement_named("lamp-look").unwrap();
    assert_eq!(circumstances.spoiled, [lamp]);
}

#[test]
fn what_waits_for_itself_or_names_no_outcome_is_found() {
    let circle = edited(&[
        (MEASUREMENTS, WIRE_LOOK, "    after: [code]\n"),
        (
            MEASUREMENTS,
            "    title: Codes\n",
            "    after: [wire-look]\n",
        ),
    ]);
    assert_eq!(circle.findings()[0].code, Code::Cycle);
    let outcome = edited(&[(MEASUREMENTS, WIRE_LOOK, "    unless: {code: [opne]}\n")]);
    let finding = &outcome.findings()[0];
    assert_eq!(finding.code, Code::UnknownOutcome);
    assert!(
        finding.to_string().contains("did you mean `open`?"),
        "{finding}"
    );
    let measurement = edited(&[(CAUSES, LAMP, "    requires: {all: [suply]}\n")]);
    assert_eq!(measurement.findings()[0].code, Code::UnknownMeasurement);
}

#[test]
fn repairing_now_is_refused_with_the_readings_it_lacks() {
    let folder = tempfile::tempdir().unwrap();
    let requires = edited(&[(CAUSES, LAMP, "    requires: {all: [supply]}\n")]);
    for (path, text) in &requires.files {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }
    let folder = folder.path().to_str().unwrap();
    Shop::diagnose(["no-light", "--vehicle", "trainer", "--knowledge", folder])
        .types("take lamp-look\nblack\nrepair\n")
        .run()
        .says("Renew the lamp: not begun before this is read: Supply voltage. Type `take Supply voltage`");
}

#[test]
fn dismantling_that_a_repair_does_not_begin_with_is_no_work_done_for_it() {
    let family = chain_cvt();
    let complaint = Complaint {
        present: vec![family.symptom_named("no-drive").unwrap()],
        ..Complaint::default()
    };
    let model = Model::new(family, shipped().vehicles.first(), complaint).unwrap();
    let arrival = Circumstances::on_arrival(family);
    let mut opened = arrival.clone();
    for set_up in ["raised", "fluid-out", "tray-off"] {
        opened.enter(family, family.set_up_named(set_up).unwrap());
    }
    let standing = Standing::new(&model, Vec::new(), &arrival, OrderBy::Saves).unwrap();
    let weights = standing.belief.weights();
    let cost = |place: &Circumstances, group: usize| {
        let at = Point::new(weights.clone(), place.standing());
        Policy::new(&standing.problem).in_vain(&at, group).0
    };
    let mut outside = 0;
    for group in 0..standing.problem.groups().len() {
        let repairs = standing.repairs_of(group);
        let opens = |id: &RepairId| family.repair(*id).opens_unit() || begins_opened(family, *id);
        if !repairs.iter().any(opens) {
            outside += 1;
            // The pan must be fitted again and the fluid filled before such a repair is proved.
            assert!(
                cost(&opened, group) > cost(&arrival, group),
                "{}",
                family.repair_names(&repairs)
            );
        }
    }
    assert!(outside > 10, "{outside}");
}

/// Whether a repair begins with the fluid out.
fn begins_opened(family: &Family, id: RepairId) -> bool {
    let names = family.repair(id).set_ups.iter();
    let mut names = names.map(|set_up| family.set_up(*set_up).name.as_str());
    names.any(|name| ["fluid-out", "tray-off", "valve-body-off"].contains(&name))
}

#[test]
fn every_repair_is_charged_what_closes_it_out() {
    let plain = knowledge(&[]);
    let closing = Book::new()
        .edit(FAMILY, "shop: {", "shop: {close_out_minutes: 25, ")
        .load()
        .unwrap()
        .knowledge;
    let charged = |knowledge: &Knowledge| -> Vec<(usize, f64)> {
        let family = &knowledge.families[0];
        let (model, evidence, arrival) = case(knowledge, family, &[], &[], &[]);
        let standing = Standing::new(&model, evidence, &arrival, OrderBy::Saves).unwrap();
        let mut policy = Policy::new(&standing.problem);
        let groups = 0..standing.problem.groups().len();
        groups
            .map(|group| {
                let repairs = standing.repairs_of(group).len();
                (repairs, policy.in_vain(&standing.point(), group).0)
            })
            .collect()
    };
    let (before, after) = (charged(&plain), charged(&closing));
    assert!(!before.is_empty());
    for ((repairs, before), (_, after)) in before.iter().zip(&after) {
        // 25 minutes at 60 an hour, for each repair of the group.
        let more = 25.0 * f64::from(u32::try_from(*repairs).unwrap());
        assert!((after - before - more).abs() < 1e-9, "{before} and {after}");
    }
}
