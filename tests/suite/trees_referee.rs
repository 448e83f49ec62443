use std::fmt::Display;

use halfsplit::fault_tree::{Budget, Builder, CutSet, Gate, all_of, minimal};
use proptest::prelude::*;

use crate::trees_sketch::{Item, Sketch, p};

/// Two ways of the same sum: they differ by rounding alone.
const ROUNDING: f64 = 1e-12;

/// Every choice of `size` of `parts` in order, repeats allowed where `again` is 0, not where 1.
fn choices(parts: &[usize], size: usize, again: usize) -> Vec<Vec<usize>> {
    if size == 0 {
        return vec![Vec::new()];
    }
    let mut found = Vec::new();
    for (at, part) in parts.iter().enumerate() {
        for mut rest in choices(parts.get(at + again..).unwrap_or(&[]), size - 1, again) {
            rest.insert(0, *part);
            found.push(rest);
        }
    }
    found
}

/// A gate for every threshold: ANY, ALL and the votes between.
fn gates(inputs: usize) -> impl Iterator<Item = Gate> {
    (1..=inputs).map(move |needed| match needed {
        1 => Gate::Any,
        _ if needed == inputs => Gate::All,
        _ => Gate::AtLeast(needed),
    })
}

/// The leaves, every gate over some of them, and with `switch` each of those behind a switch: the
/// parts of a tree, each one thing however often it is used.
fn parts(leaves: &[(char, f64)], switch: Option<f64>) -> Vec<Item<char>> {
    let mut items: Vec<_> = leaves
        .iter()
        .map(|(cause, p)| Item::Leaf(*cause, *p))
        .collect();
    let below: Vec<usize> = (0..items.len()).collect();
    for size in 2..=leaves.len() {
        for inputs in choices(&below, size, 1) {
            items.extend(gates(size).map(|gate| Item::Gate(gate, inputs.clone())));
        }
    }
    if let Some(strength) = switch {
        items.extend(
            (0..items.len())
                .map(|part| Item::Sometimes(strength, part))
                .collect::<Vec<_>>(),
        );
    }
    items
}

/// Every tree whose top is a gate over at most `widest` of the parts, repeats among them.
fn trees_over(items: &[Item<char>], widest: usize) -> Vec<Sketch<char>> {
    let places: Vec<usize> = (0..items.len()).collect();
    let mut items = items.to_vec();
    let mut found: Vec<_> = places
        .iter()
        .map(|top| Sketch::below(&items, *top))
        .collect();
    for size in 1..=widest {
        for inputs in choices(&places, size, 0) {
            for gate in gates(size) {
                items.push(Item::Gate(gate, inputs.clone()));
                found.push(Sketch::below(&items, items.len() - 1));
                items.pop();
            }
        }
    }
    found
}

const FOUR: [(char, f64); 4] = [('a', 0.1), ('b', 0.5), ('c', 0.85), ('d', 0.3)];

/// Impossible, certain, and two leaves of one cause.
const ODD: [(char, f64); 4] = [('a', 0.0), ('b', 1.0), ('c', 0.4), ('c', 0.9)];

fn check_cut_sets<C: Copy + Ord + Display + std::fmt::Debug>(sketch: &Sketch<C>) {
    let tree = sketch.build();
    let causes = sketch.causes();
    assert_eq!(tree.causes(), causes, "{sketch}");
    for order in 0..=causes.len() {
        assert_eq!(
            tree.cut_sets(order),
            sketch.cut_sets_by_trial(order),
            "order {order}{sketch}"
        );
    }
}

/// The probability under every set of causes; and that one cause more never makes it less.
fn check_probability<C: Copy + Ord + Display>(sketch: &Sketch<C>) {
    let tree = sketch.build();
    let causes = sketch.causes();
    let mut values = Vec::new();
    for set in 0_usize..1 << causes.len() {
        let present = |cause| set >> causes.binary_search(&cause).unwrap() & 1 == 1;
        let found = tree.probability(present).unwrap().get();
        let expected = sketch.probability_by_trial(present);
        assert!(
            (found - expected).abs() <= ROUNDING,
            "{found}, not {expected}, with causes {set:b}{sketch}"
        );
        for one in (0..causes.len()).filter(|one| set >> one & 1 == 1) {
            let without: f64 = values[set & !(1 << one)];
            assert!(
                without <= found + ROUNDING,
                "{without} > {found}, causes {set:b}{sketch}"
            );
        }
        values.push(found);
    }
}

#[test]
fn cut_sets_match_trying_every_set_of_causes() {
    let trees = trees_over(&parts(&FOUR, None), 3);
    assert_eq!(trees.len(), 32 + 32 + 2 * 528 + 3 * 5984);
    trees.iter().for_each(check_cut_sets);
}

#[test]
fn cut_sets_of_odd_strengths_match_trying_every_set_of_causes() {
    trees_over(&parts(&ODD, Some(0.0)), 2)
        .iter()
        .for_each(check_cut_sets);
}

#[test]
fn probability_matches_trying_every_state_of_the_leaves() {
    trees_over(&parts(&FOUR, None), 3)
        .iter()
        .for_each(check_probability);
}

#[test]
fn probability_of_odd_strengths_matches_trying_every_state() {
    trees_over(&parts(&ODD, None), 2)
        .iter()
        .for_each(check_probability);
}

#[test]
fn probability_with_shared_switches_matches_trying_every_state() {
    for sketch in trees_over(&parts(&FOUR, Some(0.6)), 2) {
        check_probability(&sketch);
    }
}

/// Two references to one part with strengths of their own are two switches over one thing:
/// P = P(part)·(1 − (1 − 0.6)(1 − 0.7)).
#[test]
fn two_references_to_a_part_switch_apart() {
    let mut builder = Builder::new();
    let part = builder.leaf('a', p(0.5));
    let (one, other) = (
        builder.sometimes(p(0.6), part),
        builder.sometimes(p(0.7), part),
    );
    let top = builder.gate(Gate::Any, "", None, &[one, other]).unwrap();
    let found = builder.finish(top).probability(|_| true).unwrap().get();
    assert!((found - 0.5 * 0.88).abs() < ROUNDING, "{found}");
}

#[test]
fn a_switch_alone_multiplies_and_leaves_the_cut_sets() {
    for sketch in trees_over(&parts(&FOUR, None), 2) {
        let mut switched = sketch.clone();
        switched
            .items
            .push(Item::Sometimes(0.35, sketch.items.len() - 1));
        let (tree, behind) = (sketch.build(), switched.build());
        assert_eq!(tree.cut_sets(4), behind.cut_sets(4), "{switched}");
        let (all, some) = (
            tree.probability(|_| true).unwrap().get(),
            behind.probability(|_| true).unwrap().get(),
        );
        assert!(
            (some - 0.35 * all).abs() <= ROUNDING,
            "{some}, not 0.35·{all}{switched}"
        );
    }
}

/// IEC 61025: one of n is OR, n of n is AND, whatever the inputs.
#[test]
fn votes_of_one_and_of_all_are_any_and_all() {
    let items = parts(&FOUR, Some(0.6));
    let places: Vec<usize> = (0..items.len()).collect();
    for inputs in (1..=2).flat_map(|size| choices(&places, size, 0)) {
        let over = |gate| {
            let mut items = items.clone();
            items.push(Item::Gate(gate, inputs.clone()));
            Sketch::below(&items, items.len() - 1)
        };
        for (gate, needed) in [(Gate::Any, 1), (Gate::All, inputs.len())] {
            let (plain, vote) = (over(gate), over(Gate::AtLeast(needed)));
            let (left, right) = (plain.build(), vote.build());
            assert_eq!(left.cut_sets(4), right.cut_sets(4), "{plain}{vote}");
            let both = [
                left.probability(|_| true).unwrap(),
                right.probability(|_| true).unwrap(),
            ];
            assert_eq!(both[0], both[1], "{plain}{vote}");
        }
    }
}

/// The cut sets of several tops together are those of an ALL over them.
#[test]
fn cut_sets_of_several_trees_match_trying_every_set_of_causes() {
    let items = parts(&FOUR, None);
    let tops: Vec<usize> = (0..items.len()).collect();
    for inputs in (1..=3).flat_map(|size| choices(&tops, size, 0)) {
        let trees: Vec<_> = inputs
            .iter()
            .map(|top| Sketch::below(&items, *top).build())
            .collect();
        let mut together = items.clone();
        together.push(Item::Gate(Gate::All, inputs));
        let together = Sketch::below(&together, items.len());
        for order in 0..=4 {
            let found = all_of(
                &trees.iter().collect::<Vec<_>>(),
                order,
                &mut Budget::endless(),
            )
            .unwrap();
            assert_eq!(
                found,
                together.cut_sets_by_trial(order),
                "order {order}{together}"
            );
        }
    }
}

#[test]
fn a_tree_is_drawn_with_a_shared_part_once() {
    let sketch = Sketch {
        items: vec![
            Item::Leaf('a', 0.5),
            Item::Leaf('b', 1.0),
            Item::Gate(Gate::Any, vec![0, 1]),
            Item::Sometimes(0.6, 2),
            Item::Sometimes(0.7, 3),
            Item::Gate(Gate::All, vec![3, 1]),
            Item::Gate(Gate::AtLeast(2), vec![4, 5, 2, 0]),
        ],
    };
    let drawn = "
- AT LEAST 2 of 4
  - SOMETIMES 0.7
    - SOMETIMES 0.6 (3)
      - ANY (2)
        - a 0.5
        - b 1
  - ALL
    - see (3)
    - b 1
  - see (2)
  - a 0.5";
    assert_eq!(sketch.to_string(), drawn);
}

#[test]
fn no_tree_is_explained_by_nothing_wrong() {
    assert_eq!(
        all_of::<char>(&[], 2, &mut Budget::endless()),
        Ok(vec![CutSet::<char>::new()])
    );
}

/// Two leaves of one cause, each on with 0.4: any of them 1 − 0.6² = 0.64, both 0.16. One leaf used twice stays 0.4. The
/// cut set is the cause alone each time.
#[test]
fn every_leaf_as_written_is_a_link_of_its_own() {
    for (gate, of_two) in [(Gate::Any, 0.64), (Gate::All, 0.16)] {
        for (twice, expected) in [(false, of_two), (true, 0.4)] {
            let mut builder = Builder::new();
            let one = builder.leaf('a', p(0.4));
            let other = if twice {
                one
            } else {
                builder.leaf('a', p(0.4))
            };
            let top = builder.gate(gate, "", None, &[one, other]).unwrap();
            let tree = builder.finish(top);
            let found = tree.probability(|_| true).unwrap().get();
            assert!(
                (found - expected).abs() <= ROUNDING,
                "{found}, not {expected}"
            );
            assert_eq!(
                tree.cut_sets(2),
                [['a'].into_iter().collect::<CutSet<char>>()]
            );
        }
    }
}

#[test]
fn what_stands_outside_the_top_is_left_out() {
    let mut builder = Builder::new();
    let (a, b) = (builder.leaf('a', p(0.4)), builder.leaf('b', p(0.4)));
    builder.gate(Gate::Any, "", None, &[a, b]).unwrap();
    let tree = builder.finish(b);
    assert_eq!(tree.causes(), ['b']);
    assert_eq!(tree.graph().node_count(), 1);
}

#[test]
fn a_gate_that_can_never_come_on_is_refused() {
    let mut builder = Builder::new();
    let a = builder.leaf('a', p(0.4));
    let mut refused = |gate, inputs: &[_]| {
        builder
            .gate(gate, "", None, inputs)
            .unwrap_err()
            .to_string()
    };
    assert_eq!(refused(Gate::All, &[]), "the gate has no inputs");
    assert_eq!(
        refused(Gate::AtLeast(3), &[a, a]),
        "at least 3 of 2 can never be so"
    );
    let none = refused(Gate::AtLeast(0), &[a, a]);
    assert!(none.contains("0 of 2"), "{none}");
}

/// A tree of 11 to 16 places that are uncertain: leaves of few causes, switches, and gates over
/// whatever came before, with what is used nowhere gathered at the top.
fn wide() -> impl Strategy<Value = Sketch<u8>> {
    let leaves = prop::collection::vec((0_u8..9, 0.01..0.99_f64), 9..=13);
    let switches = prop::collection::vec((any::<prop::sample::Index>(), 0.01..0.99_f64), 2..=3);
    let gates = prop::collection::vec(
        (
            prop::collection::vec(any::<prop::sample::Index>(), 2..=5),
            any::<prop::sample::Index>(),
        ),
        3..=9,
    );
    (leaves, gates, switches, any::<prop::sample::Index>()).prop_map(
        |(leaves, gates, switches, vote)| {
            // A strength of its own for each: two leaves of one cause and strength are one thing.
            let count = f64::from(u8::try_from(leaves.len()).unwrap());
            let mut items: Vec<Item<u8>> = (0_u8..)
                .zip(leaves)
                .map(|(at, (cause, part))| Item::Leaf(cause, (f64::from(at) + part) / count))
                .collect();
            let mut switches = switches.into_iter();
            let mut used = [false; 64];
            for (inputs, needed) in gates {
                let inputs: Vec<usize> = inputs
                    .iter()
                    .map(|input| input.index(items.len()))
                    .collect();
                for input in &inputs {
                    used[*input] = true;
                }
                let needed = needed.index(inputs.len()) + 1;
                items.push(Item::Gate(Gate::AtLeast(needed), inputs));
                if let Some((input, strength)) = switches.next() {
                    let input = input.index(items.len());
                    used[input] = true;
                    items.push(Item::Sometimes(strength, input));
                }
            }
            let loose: Vec<usize> = (0..items.len()).filter(|place| !used[*place]).collect();
            let needed = vote.index(loose.len()) + 1;
            items.push(Item::Gate(Gate::AtLeast(needed), loose));
            Sketch { items }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_decision_diagram_matches_trying_every_state(sketch in wide()) {
        let uncertain = sketch.items.iter().filter(|item| !matches!(item, Item::Gate(..))).count();
        prop_assert!((11..=16).contains(&uncertain));
        let found = sketch.build().probability(|_| true).unwrap().get();
        let expected = sketch.probability_by_trial(|_| true);
        prop_assert!((found - expected).abs() <= ROUNDING, "{found}, not {expected}{sketch}");
    }

    #[test]
    fn cut_sets_of_wide_trees_match_trying_every_set(sketch in wide()) {
        let tree = sketch.build();
        for order in [1, 2, 3, 9] {
            prop_assert_eq!(tree.cut_sets(order), sketch.cut_sets_by_trial(order), "order {}{}", order, sketch);
        }
    }

    /// Coherence: one cause more never makes the top less likely, nor its cut sets fewer.
    #[test]
    fn one_cause_more_never_makes_the_top_less_likely(sketch in wide(), order in Just((0_u8..9).collect::<Vec<_>>()).prop_shuffle()) {
        let tree = sketch.build();
        let mut before = 0.0;
        for known in 0..=order.len() {
            let after = tree.probability(|cause| order[..known].contains(&cause)).unwrap().get();
            prop_assert!(before <= after + ROUNDING, "{before} > {after}, causes {:?}{sketch}", &order[..known]);
            before = after;
        }
    }

    #[test]
    fn minimal_keeps_what_holds_no_other(sets in prop::collection::vec(prop::collection::btree_set(0_u8..14, 0..13), 0..60)) {
        let mut expected: Vec<_> = sets.iter().filter(|set| !sets.iter().any(|other| other != *set && other.is_subset(set))).collect();
        expected.sort_by(|a, b| a.len().cmp(&b.len()).then_with(|| a.cmp(b)));
        expected.dedup();
        let expected: Vec<CutSet<u8>> = expected.into_iter().map(|set| set.iter().copied().collect()).collect();
        let given = sets.iter().map(|set| set.iter().copied().collect()).collect();
        prop_assert_eq!(minimal(given), expected);
    }
}
