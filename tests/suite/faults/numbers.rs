//! Numbers stay finite, and do not depend on what they must not depend on.

use halfsplit::fault_tree::{Builder, Gate};
use halfsplit::infer::{Belief, Complaint, Evidence, Model};
use halfsplit::knowledge::{Family, MeasurementId, SymptomId};
use halfsplit::load::{Source, load};
use halfsplit::units::{Probability, Rate};

use super::Draws;
use crate::by_name::chain_cvt;
use crate::textbook::{Book, FILES};

fn reported(symptom: usize) -> Complaint {
    Complaint {
        present: vec![SymptomId::at(symptom)],
        ..Complaint::default()
    }
}

/// A reading that is not sure of its outcome.
fn reading(family: &Family, measurement: usize, draws: &mut Draws) -> Evidence {
    let id = MeasurementId::at(measurement);
    let mut weights: Vec<f64> = family
        .measurement(id)
        .outcomes
        .iter()
        .map(|_| (draws.below(1_000) as f64 / 999.0).powi(4))
        .collect();
    let sum: f64 = weights.iter().sum();
    if sum > 0.0 {
        for weight in &mut weights {
            *weight /= sum;
        }
    } else {
        weights[0] = 1.0;
    }
    Evidence {
        measurement: id,
        weights,
    }
}

fn is_a_distribution(belief: &Belief) {
    let all = belief.weights();
    assert!(all.iter().all(|p| (0.0..=1.0).contains(p)), "{all:?}");
    let sum: f64 = all.iter().sum();
    assert!((sum - 1.0).abs() < 1e-12, "{sum}");
}

fn same(one: &Belief, other: &Belief) {
    for (a, b) in one.weights().iter().zip(other.weights()) {
        assert!((a - b).abs() <= 1e-12 * a.max(1e-3), "{a} {b}");
    }
}

#[test]
fn beliefs_sum_to_one_whatever_is_read_and_in_whatever_order() {
    let family = chain_cvt();
    let mut draws = Draws(6);
    for turn in 0..200 {
        let model = Model::new(family, None, reported(turn % family.symptoms.len())).unwrap();
        let mut readings: Vec<Evidence> = (0..family.measurements.len())
            .filter(|_| draws.below(3) == 0)
            .collect::<Vec<_>>()
            .into_iter()
            .map(|measurement| reading(family, measurement, &mut draws))
            .collect();
        let belief = model.update(&readings);
        is_a_distribution(&belief);
        for place in (1..readings.len()).rev() {
            readings.swap(place, draws.below(place + 1));
        }
        same(&belief, &model.update(&readings));
    }
}

#[test]
fn ten_thousand_readings_that_contradict_one_another_leave_a_belief() {
    let loaded = Book::new().load().unwrap().knowledge;
    let family = &loaded.families[0];
    let model = Model::new(family, None, reported(0)).unwrap();
    // A measurement whose readings add up, and every other against it.
    let supply = family.measurement_named("supply").unwrap();
    let certain = |outcome: usize| {
        let mut weights = vec![0.0; family.measurement(supply).outcomes.len()];
        weights[outcome] = 1.0;
        Evidence {
            measurement: supply,
            weights,
        }
    };
    let readings: Vec<Evidence> = (0..10_000).map(|turn| certain(turn % 3)).collect();
    is_a_distribution(&model.after(&readings));
    is_a_distribution(&model.update(&readings));
    // All of one kind, which a cause all but rules out.
    let alike: Vec<Evidence> = (0..10_000).map(|_| certain(2)).collect();
    is_a_distribution(&model.after(&alike));
}

#[test]
fn a_shared_part_that_is_given_twice_to_a_gate_changes_nothing() {
    let p = |number: f64| Probability::new(number).unwrap();
    let mut draws = Draws(7);
    for _ in 0..200 {
        let strengths: Vec<f64> = (0..5).map(|_| draws.below(101) as f64 / 100.0).collect();
        let all = draws.below(2) == 0;
        let tree = |times: usize| {
            let mut tree = Builder::new();
            let leaves: Vec<_> = strengths
                .iter()
                .zip(0_u32..)
                .map(|(s, cause)| tree.leaf(cause, p(*s)))
                .collect();
            let gate = if all { Gate::All } else { Gate::Any };
            let part = tree.gate(gate, "", Some("part"), &leaves[..3]).unwrap();
            let mut inputs = vec![part; times];
            inputs.extend(&leaves[3..]);
            let top = tree.gate(Gate::Any, "", None, &inputs).unwrap();
            tree.finish(top)
        };
        let (once, twice) = (tree(1), tree(2));
        for set in 0_u32..32 {
            let present = |cause: u32| set >> cause & 1 == 1;
            let (a, b) = (
                once.probability(present).unwrap(),
                twice.probability(present).unwrap(),
            );
            assert!((a.get() - b.get()).abs() < 1e-15, "{a:?} {b:?}");
        }
        assert_eq!(once.cut_sets(3), twice.cut_sets(3));
    }
}

/// The odds of a single cause times `k` are those of a rate r′ with r′/(1 − r′) = k·r/(1 − r).
#[test]
fn scaling_all_odds_keeps_the_order_among_candidates_of_equal_size() {
    let family = chain_cvt();
    for factor in [1e-3, 0.5, 2.0] {
        let mut scaled = family.clone();
        for cause in &mut scaled.causes {
            let odds = cause.rate.odds() * factor;
            cause.rate = Rate::per_thousand(1_000.0 * odds / (1.0 + odds)).unwrap();
        }
        for symptom in 0..family.symptoms.len() {
            let model = Model::new(family, None, reported(symptom)).unwrap();
            let other = Model::new(&scaled, None, reported(symptom)).unwrap();
            let known: Vec<(usize, f64, f64)> = model
                .candidates
                .iter()
                .filter_map(|candidate| {
                    let same = other
                        .candidates
                        .iter()
                        .find(|it| it.causes == candidate.causes)?;
                    Some((candidate.causes.len(), candidate.weight, same.weight))
                })
                .collect();
            assert!(known.len() > 3);
            for one in &known {
                for two in known
                    .iter()
                    .filter(|two| two.0 == one.0 && two.1 > one.1 * (1.0 + 1e-9))
                {
                    assert!(two.2 > one.2, "{one:?} {two:?}");
                }
            }
        }
    }
}

#[test]
fn other_ids_change_no_figure() {
    // In another order of the alphabet, too.
    let names = [
        ("lamp-broken", "z-lamp"),
        ("wire-broken", "a-wire"),
        ("supply-low", "m-supply"),
        ("renew-lamp", "z-renew"),
        ("mend-wire", "a-mend"),
        ("supply-drop", "z-drop"),
        ("lamp-look", "a-look"),
        ("no-light", "z-dark"),
        ("no-current", "a-current"),
    ];
    let renamed = FILES.map(|(path, text)| {
        let text = names
            .iter()
            .fold(text.to_owned(), |text, (from, to)| text.replace(from, to));
        (path.to_owned(), text.into_bytes())
    });
    let renamed = load(&Source::texts(renamed)).unwrap().knowledge;
    let plain = Book::new().load().unwrap().knowledge;
    let (family, other) = (&plain.families[0], &renamed.families[0]);
    let name = |name: &str| {
        names
            .iter()
            .find(|(from, _)| *from == name)
            .map_or(name, |(_, to)| *to)
            .to_owned()
    };
    let model = Model::new(family, None, reported(0)).unwrap();
    let again = Model::new(other, None, reported(0)).unwrap();
    let mut draws = Draws(8);
    for _ in 0..100 {
        let readings: Vec<Evidence> = (0..family.measurements.len())
            .collect::<Vec<_>>()
            .into_iter()
            .map(|measurement| reading(family, measurement, &mut draws))
            .collect();
        let translated: Vec<Evidence> = readings
            .iter()
            .map(|it| {
                let known = name(&family.measurement(it.measurement).name);
                Evidence {
                    measurement: other.measurement_named(&known).unwrap(),
                    weights: it.weights.clone(),
                }
            })
            .collect();
        let (one, two) = (model.update(&readings), again.update(&translated));
        for (place, candidate) in model.candidates.iter().enumerate() {
            let mut causes: Vec<_> = candidate
                .causes
                .iter()
                .map(|id| other.cause_named(&name(&family.cause(*id).name)).unwrap())
                .collect();
            causes.sort_unstable();
            let there = again
                .candidates
                .iter()
                .position(|it| it.causes == causes)
                .unwrap();
            let (a, b) = (one.posterior[place], two.posterior[there]);
            assert!((a - b).abs() < 1e-12, "{a} {b}");
        }
    }
}
