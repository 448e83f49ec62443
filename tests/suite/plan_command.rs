use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde_json::Value;

use crate::loading_papers::training;
use crate::shop::{FIRST_EDITION, Shop, program};

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

/// A plan as JSON.
fn planned(arguments: &[&str]) -> Value {
    let arguments: Vec<&str> = ["plan", "--json"]
        .iter()
        .chain(arguments)
        .copied()
        .collect();
    serde_json::from_str(&written(&arguments)).unwrap()
}

/// A plan of the shipped knowledge.
static SHIPPED: LazyLock<Value> =
    LazyLock::new(|| planned(&["tight-turn-binding", "--vehicle", "demo-estate"]));

/// A plan of the small family of docs/knowledge.md.
fn planned_small(more: &[&str]) -> Value {
    let folder = training(&[]);
    let knowledge = folder.path().to_str().unwrap();
    let arguments = [
        "slipping",
        "--vehicle",
        "bench-one",
        "--knowledge",
        knowledge,
    ];
    planned(&[&arguments[..], more].concat())
}

fn number(of: &Value) -> f64 {
    of.as_f64().unwrap()
}

#[test]
fn the_costs_add_up_and_lie_between_the_bound_and_repairing_at_once() {
    let plan = &SHIPPED;
    let cost = number(&plan["expected_cost"]);
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
    let minutes = &plan["testing_minutes"];
    assert!(number(&minutes["expected"]) < number(&minutes["most"]));
    assert!(number(&plan["within"]) < 0.1 * cost);
}

/// How many steps deep a node is written out.
fn depth(node: &Value) -> usize {
    if let Some(outcomes) = node.get("outcomes") {
        let branches = outcomes.as_array().unwrap().iter();
        branches
            .map(|branch| 1 + depth(&branch["then"]))
            .max()
            .unwrap_or(0)
    } else {
        match node.get("then") {
            Some(then) if !then.is_null() => 1 + depth(then),
            _ => 0,
        }
    }
}

#[test]
fn the_policy_is_written_out_as_deep_as_asked() {
    for steps in ["0", "1", "3"] {
        let plan = planned_small(&["--depth", steps]);
        assert_eq!(depth(&plan["policy"]).to_string(), steps);
    }
}

#[test]
fn the_plan_begins_with_what_the_prompt_proposes() {
    let plan = planned(&[
        "tight-turn-binding",
        "--vehicle",
        "demo-estate",
        "--knowledge",
        FIRST_EDITION,
    ]);
    let first = plan["first"].as_str().unwrap();
    let told = Shop::job("tight-turn-binding").types("stop\n").run();
    assert_eq!(told.proposed().as_deref(), Some(first));
}

#[test]
fn the_plan_is_below_what_a_shop_does_by_habit_and_by_repairing_at_once() {
    let plan = &SHIPPED;
    let cost = number(&plan["expected_cost"]) + number(&plan["within"]);
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
    let plan = planned_small(&[]);
    let first = plan["first"].as_str().unwrap();
    let without = planned_small(&["--without", first]);
    assert_ne!(without["what_if"]["first"].as_str().unwrap(), first);
    let dearer = planned_small(&["--labour-rate", "180"]);
    assert!(number(&dearer["what_if"]["expected_cost"]) > number(&plan["expected_cost"]));
}

#[test]
fn a_name_that_does_not_fit_is_said() {
    Shop::new()
        .arguments(["plan", "tight-turn-binding", "--without", "front-only-turm"])
        .fails_with(2)
        .may_complain()
        .run()
        .complains("did you mean `front-only-turn`");
}

#[test]
fn options_of_the_former_search_are_accepted_and_change_nothing() {
    let old = planned_small(&["--seconds", "600", "--nodes", "300"]);
    assert_eq!(old, planned_small(&[]));
}
