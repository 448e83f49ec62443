use std::collections::BTreeMap;

use serde_json::Value;

use crate::shop::{Shop, program};

/// What the program writes for other programs: as wide as it has to be.
fn written(arguments: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let output = program(arguments, "", folder.path(), &BTreeMap::new());
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

/// A plan as JSON, the same on every machine.
fn planned(more: &[&str]) -> Value {
    let arguments = [
        "plan",
        "tight-turn-binding",
        "--vehicle",
        "demo-estate",
        "--seconds",
        "600",
        "--nodes",
        "100",
        "--json",
    ];
    let arguments: Vec<&str> = arguments.iter().chain(more).copied().collect();
    serde_json::from_str(&written(&arguments)).unwrap()
}

fn number(of: &Value) -> f64 {
    of.as_f64().unwrap()
}

/// Expected cost of a node of the policy, added up from its own figures: minutes at 90 an hour.
fn added_up(node: &Value) -> f64 {
    if node.get("repair_on").is_some() {
        let left = 1.0 - number(&node["probability"]);
        return number(&node["cost"]) + left * added_up(&node["then"]);
    }
    if node.get("measure").is_none() {
        return number(&node["cost"]);
    }
    let then: f64 = node["outcomes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|branch| number(&branch["probability"]) * added_up(&branch["then"]))
        .sum();
    number(&node["minutes"]) * 90.0 / 60.0 + then
}

#[test]
fn the_policy_adds_up_to_its_expected_cost_and_the_bound_lies_below() {
    let plan = planned(&[]);
    let cost = number(&plan["expected_cost"]);
    assert!((added_up(&plan["policy"]) - cost).abs() < 1e-6 * cost);
    assert!(number(&plan["lower_bound"]) <= cost);
    assert!(cost <= number(&plan["repair_now"]));
    let parts = number(&plan["testing"]) + number(&plan["repair"]) + number(&plan["escalation"]);
    assert!((parts - cost).abs() < 1e-6 * cost);
    let ends: f64 = plan["ends"]
        .as_array()
        .unwrap()
        .iter()
        .map(|end| number(&end["probability"]))
        .sum();
    assert!((ends + number(&plan["escalates"]) - 1.0).abs() < 1e-6);
}

#[test]
fn the_plan_is_below_what_a_shop_does_by_habit_and_by_repairing_at_once() {
    let plan = planned(&["--beside"]);
    let cost = number(&plan["expected_cost"]);
    let beside = |name: &str| {
        let others = plan["beside"].as_array().unwrap();
        let other = others
            .iter()
            .find(|other| other["name"].as_str().unwrap().contains(name))
            .unwrap();
        number(&other["cost"]) - number(&other["within"])
    };
    assert!(cost < beside("habitual"));
    assert!(cost < 0.5 * beside("at once"));
}

#[test]
fn what_if_a_measurement_is_not_to_be_had_it_is_not_taken() {
    let plan = planned(&[]);
    let first = plan["first"].as_str().unwrap();
    let without = planned(&["--without", first]);
    assert_ne!(without["what_if"]["first"].as_str().unwrap(), first);
    let dearer = planned(&["--labour-rate", "180"]);
    assert!(number(&dearer["what_if"]["expected_cost"]) > number(&plan["expected_cost"]));
    let doubled = planned(&[
        "--twice",
        "tyre-mismatch-axles",
        "--parts",
        "equalise-tyres=0",
    ]);
    assert!(number(&doubled["what_if"]["expected_cost"]) < number(&plan["expected_cost"]));
}

#[test]
fn a_name_or_price_that_does_not_fit_is_said() {
    for (more, words) in [
        (
            ["--without", "front-only-turm"],
            "did you mean `front-only-turn`",
        ),
        (
            ["--twice", "tyre-mismatch-axle"],
            "did you mean `tyre-mismatch-axles`",
        ),
        (["--parts", "equalise-tyres"], "write REPAIR=MONEY"),
        (["--seconds", "-1"], "no span of time"),
    ] {
        let arguments = ["plan", "tight-turn-binding", "--nodes", "1"];
        let given = more.map(|word| if word == "-1" { "1e300" } else { word });
        Shop::new()
            .arguments(arguments)
            .arguments(given)
            .fails_with(2)
            .may_complain()
            .run()
            .complains(words);
    }
}

#[test]
fn the_drawings_of_a_plan_are_well_formed() {
    let drawn = |how: &str| {
        let arguments = [
            "plan",
            "no-drive",
            "--vehicle",
            "demo-wagon",
            "--seconds",
            "600",
            "--nodes",
            "50",
            how,
        ];
        written(&arguments)
    };
    let svg = drawn("--svg");
    let document = roxmltree::Document::parse(&svg).unwrap();
    assert!(
        document
            .descendants()
            .filter(|node| node.has_tag_name("rect"))
            .count()
            > 5
    );
    let dot = drawn("--dot");
    assert!(dot.starts_with("digraph {\n    rankdir = LR"));
    assert_eq!(dot.matches('{').count(), dot.matches('}').count());
}

#[test]
fn the_figures_that_the_first_step_hangs_on_are_told() {
    let arguments = [
        "plan",
        "tight-turn-binding",
        "--vehicle",
        "demo-estate",
        "--nodes",
        "20",
        "--seconds",
        "1",
        "--sensitive",
    ];
    let told = Shop::new().arguments(arguments).run();
    told.says("Figures that the first step hangs on")
        .says("tried both ways");
}
