use halfsplit::fault_tree::{Budget, CutSet, all_of, minimal};

use crate::trees_sketch::{Sketch, each, sets, tree};

fn value(tree: &Sketch<&'static str>) -> f64 {
    tree.build().probability(|_| true).unwrap().get()
}

/// The probability of each cut set, causes independent.
fn products(sets: &[CutSet<&'static str>], strengths: &[(&'static str, f64)]) -> Vec<f64> {
    let of = |cause: &str| strengths.iter().find(|(leaf, _)| *leaf == cause).unwrap().1;
    sets.iter()
        .map(|set| set.iter().map(|cause| of(cause)).product())
        .collect()
}

#[track_caller]
fn close(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found}, not {expected}"
    );
}

#[track_caller]
fn close_relative(found: f64, expected: f64, tolerance: f64) {
    close(found, expected, tolerance * expected.abs());
}

/// NUREG-0492 (Vesely et al. 1981), chapter VIII, fig. VIII-14.
const PRESSURE_TANK: &str = "E1 = T + E2; E2 = K2 + E3; E3 = S·E4; E4 = S1 + E5; E5 = K1 + R";

/// Source, seen: Vesely et al. 1981, VIII, fig. VIII-14.
#[test]
fn the_pressure_tank_has_five_cut_sets() {
    let found = tree(PRESSURE_TANK, &[]).build().cut_sets(5);
    assert_eq!(found, sets("{T} {K2} {S,S1} {S,K1} {S,R}"));
}

/// Source, seen: Vesely et al. 1981, table VIII-1.
///
/// By hand: the sum of the cut sets is 5e-6 + 3e-5 +
/// 1e-4·(3e-5 + 3e-5 + 1e-4) = 3.5016e-5; the book prints 0.14 and 0.86 for the shares.
#[test]
fn the_pressure_tank_bursts_with_the_probability_of_the_handbook() {
    let strengths = [
        ("T", 5e-6),
        ("K2", 3e-5),
        ("S", 1e-4),
        ("S1", 3e-5),
        ("K1", 3e-5),
        ("R", 1e-4),
    ];
    let tank = tree(PRESSURE_TANK, &strengths);
    close_relative(value(&tank), 3.501_584_875_004e-5, 1e-9);
    let found = tank.build().cut_sets(2);
    let parts = products(&found, &strengths);
    let sum: f64 = parts.iter().sum();
    close_relative(sum, 3.5016e-5, 1e-9);
    assert_eq!(found[..2], sets("{K2} {T}"));
    close(parts[0] / sum, 0.856_751, 1e-6);
    close(parts[1] / sum, 0.142_792, 1e-6);
}

/// NUREG-0492, chapter VII, fig. VII-10.
const REPEATED: &str = "T = E1·E2; E1 = A + E3; E3 = B + C; E2 = C + E4; E4 = A·B";

/// Source, seen: Vesely et al. 1981, VII, fig. VII-10.
#[test]
fn a_repeated_leaf_absorbs() {
    assert_eq!(tree(REPEATED, &[]).build().cut_sets(3), sets("{C} {A,B}"));
}

/// Source, computed: Vesely et al. 1981, the tree of fig. VII-10.
///
/// All of A, B, C present: T = C + A·B, so P = 1 − (1 − 0.05)(1 − 0.1·0.2) = 0.069; multiplying gate by
/// gate gives 0.021804.
#[test]
fn a_repeated_leaf_is_one_thing_not_two() {
    let repeated = tree(REPEATED, &[("A", 0.1), ("B", 0.2), ("C", 0.05)]);
    close(value(&repeated), 0.069, 1e-12);
}

/// Source, seen: Siu et al. 2019, 4.1.1.
///
/// Gate by gate would give 4.479997e-10.
#[test]
fn three_channels_with_one_shared_supply_are_no_better_than_the_supply() {
    let mut strengths = each("I1 I2 I3 R2 R6 R7", 1e-6);
    strengths.extend(each("N G", 2e-10));
    let channels = tree(
        "top = 2/3(I1 + s, I2 + s, I3 + s) + N + G; s = R2 + R6 + R7",
        &strengths,
    );
    let found = channels.build().cut_sets(3);
    assert_eq!(
        found,
        sets("{R2} {R6} {R7} {N} {G} {I1,I2} {I1,I3} {I2,I3}")
    );
    close_relative(
        products(&found, &strengths).iter().sum(),
        3.000_403e-6,
        1e-9,
    );
    close_relative(value(&channels), 3.000_399_998_790e-6, 1e-9);
}

/// Three-motor tree, after NUREG-0492, chapter IX.
const THREE_MOTORS: &str = "E1 = E2·E3
    E2 = K5 + E4
    E4 = (K1 + S1 + U1 + V)·(T2 + K5)
    V = (A1 + U2)·(A2 + U3)·(A3 + U4)
    E3 = K2 + T1 + K1 + S1 + T3 + KT1·KT3·(KT2 + T4)";

/// The twelve cut sets of the three-motor tree with its house events true.
const MOTORS_WITH_HOUSE_EVENTS: &str = "{K5} {K1,T2} {S1,T2} {U1,T2}
    {T2,A1,A2,A3} {T2,A1,A2,U4} {T2,A1,U3,A3} {T2,A1,U3,U4}
    {T2,U2,A2,A3} {T2,U2,A2,U4} {T2,U2,U3,A3} {T2,U2,U3,U4}";

/// Source, seen: Vesely et al. 1981, after IX, the three-motor tree.
///
/// House events that are true leave every cut set, and what is left is minimal again.
#[test]
fn the_three_motor_tree_with_house_events_has_twelve_cut_sets() {
    let house = ["KT1", "KT2", "KT3"];
    let without_house = |sets: Vec<CutSet<&'static str>>| {
        let left = sets.into_iter().map(|mut set| {
            set.retain(|cause| !house.contains(cause));
            set
        });
        minimal(left.collect())
    };
    let causes = "K1 K2 K5 S1 U1 U2 U3 U4 A1 A2 A3 T1 T2 T3 T4";
    let strengths = each(causes, 0.02); // the house events keep strength 1
    let motors = tree(THREE_MOTORS, &strengths);
    let found = without_house(motors.build().cut_sets(7));
    assert_eq!(found, sets(MOTORS_WITH_HOUSE_EVENTS));
    // 0.02 + 3·0.02² + 8·0.02⁴ = 0.02120128
    close_relative(
        products(&found, &strengths).iter().sum(),
        0.021_201_28,
        1e-9,
    );
    close_relative(value(&motors), 0.021_153_782_365, 1e-9);
}

/// Source, seen: Vesely et al. 1981, after IX, the three-motor tree.
///
/// `KT1..3` true makes E3 true: E1 = E2. Order 2 keeps 4 sets.
#[test]
fn the_order_cuts_the_three_motor_tree_off() {
    let formulas = "E2 = K5 + E4
        E4 = (K1 + S1 + U1 + V)·(T2 + K5)
        V = (A1 + U2)·(A2 + U3)·(A3 + U4)";
    let motors = tree(formulas, &each("K1 K5 S1 U1 U2 U3 U4 A1 A2 A3 T2", 0.02));
    assert_eq!(motors.build().cut_sets(7), sets(MOTORS_WITH_HOUSE_EVENTS));
    assert_eq!(
        motors.build().cut_sets(2),
        sets("{K5} {K1,T2} {S1,T2} {U1,T2}")
    );
    close_relative(value(&motors), 0.021_153_782_365, 1e-9);
}

/// Source, seen: Vesely et al. 1981, after IX, the three-motor tree.
///
/// `KT1..3` are causes like the others: by order 1 to 7 there are 0, 7, 3, 2, 26, 0, 16 sets.
#[test]
fn the_three_motor_tree_without_house_events_has_54_cut_sets() {
    let motors = tree(THREE_MOTORS, &[]).build();
    let found = motors.cut_sets(18);
    let of_order = |order| found.iter().filter(|set| set.len() == order).count();
    assert_eq!(
        (1..=7).map(of_order).collect::<Vec<_>>(),
        [0, 7, 3, 2, 26, 0, 16]
    );
    assert_eq!(found.len(), 54);
    assert_eq!(motors.cut_sets(2).len(), 7);
}

/// Source, seen: Barlow and Chatterjee 1973, figs 6, 7 and 10.
#[test]
fn a_product_of_two_sums_multiplies_out() {
    let found = tree("T = 1+2+3+4+5 + (6+7+8)·(9+10+11+12+13+14+15+16)", &[])
        .build()
        .cut_sets(4);
    let mut expected: Vec<CutSet<String>> =
        (1..=5).map(|single| vec![single.to_string()]).collect();
    for left in 6..=8 {
        for right in 9..=16 {
            let mut pair = vec![left.to_string(), right.to_string()];
            pair.sort(); // names, not numbers: 10 stands before 6
            expected.push(pair);
        }
    }
    expected.sort_by_key(|set| (set.len(), set.clone()));
    assert_eq!(expected.len(), 29);
    assert_eq!(found, expected);
}

/// Source, seen: Barrère and Hankin 2020, fig. 1.
#[test]
fn a_likely_pair_stands_before_two_single_causes() {
    let strengths = [
        ("x1", 0.2),
        ("x2", 0.1),
        ("x3", 0.001),
        ("x4", 0.002),
        ("x5", 0.05),
        ("x6", 0.1),
        ("x7", 0.05),
    ];
    let sprinklers = tree("top = x1·x2 + x3 + x4 + x5·(x6 + x7)", &strengths);
    let found = sprinklers.build().cut_sets(2);
    assert_eq!(found, sets("{x3} {x4} {x1,x2} {x5,x6} {x5,x7}"));
    let likeliest = found
        .iter()
        .zip(products(&found, &strengths))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .unwrap();
    assert_eq!(*likeliest.0, ["x1", "x2"]);
    close(likeliest.1, 0.02, 1e-12);
    close(value(&sprinklers), 0.030_021_739_21, 1e-12);
}

/// Source, computed: IEC 61025, the meaning of the gates.
///
/// The binomial and Poisson-binomial tails.
#[test]
fn a_voting_gate_has_the_binomial_tail() {
    let vote = |formula, strengths: &[f64]| {
        let leaves = ["a", "b", "c", "d", "e"];
        value(&tree(
            formula,
            &leaves
                .into_iter()
                .zip(strengths.iter().copied())
                .collect::<Vec<_>>(),
        ))
    };
    close(vote("T = 2/3(a, b, c)", &[0.1; 3]), 0.028, 1e-12);
    close(vote("T = 3/5(a, b, c, d, e)", &[0.1; 5]), 0.008_56, 1e-12);
    close(vote("T = 2/3(a, b, c)", &[0.1, 0.2, 0.3]), 0.098, 1e-12);
    close(vote("T = 2/3(a, b, c)", &[0.5, 0.8, 0.9]), 0.85, 1e-12);
    close(
        vote("T = 3/4(a, b, c, d)", &[0.1, 0.2, 0.3, 0.4]),
        0.0428,
        1e-12,
    );
    for (vote_of, gate) in [
        ("T = 1/3(a, b, c)", "T = a+b+c"),
        ("T = 3/3(a, b, c)", "T = a·b·c"),
    ] {
        let strengths = [0.1, 0.2, 0.3];
        close(vote(vote_of, &strengths), vote(gate, &strengths), 1e-12);
    }
}

/// Source, seen: de Kleer and Williams 1987, two adders and three multipliers.
///
/// F and G are both wrong.
#[test]
fn two_wrong_sums_have_four_explanations() {
    let f = tree("F = A1 + M1 + M2", &[]).build();
    let g = tree("G = A1 + A2 + M1 + M3", &[]).build();
    assert_eq!(
        all_of(&[&f, &g], 2, &mut Budget::endless()).unwrap(),
        sets("{A1} {M1} {A2,M2} {M2,M3}")
    );
}

/// Source, from memory: Reiter 1987, the hitting sets of seven conflicts.
#[test]
fn seven_symptoms_have_six_explanations() {
    let symptoms = [
        tree("T = 2 + 4 + 5", &[]),
        tree("T = 1 + 2 + 3", &[]),
        tree("T = 1 + 3 + 5", &[]),
        tree("T = 2 + 4 + 6", &[]),
        tree("T = 2 + 4", &[]),
        tree("T = 2 + 3 + 5", &[]),
        tree("T = 1 + 6", &[]),
    ]
    .map(|symptom| symptom.build());
    let reported: Vec<_> = symptoms.iter().collect();
    let expected = sets("{1,2} {1,3,4} {1,4,5} {2,3,6} {2,5,6} {3,4,6}");
    assert_eq!(
        all_of(&reported, 3, &mut Budget::endless()).unwrap(),
        expected
    );
    assert_eq!(
        all_of(&reported, 2, &mut Budget::endless()).unwrap(),
        sets("{1,2}")
    );
    assert_eq!(
        all_of(&reported, 1, &mut Budget::endless()).unwrap(),
        Vec::<CutSet<&str>>::new()
    );
}
