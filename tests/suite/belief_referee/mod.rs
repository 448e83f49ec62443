//! The reasoning against an obvious second implementation, written from the method alone: candidates by
//! trying every set of causes, a tree by every state of its leaves, the repair order by every permutation.

mod case;
mod second;

use crate::by_name::{Job, complaint, evidence};
use case::{Case, Dice, Look, case};
use halfsplit::decide::OrderBy;
use second::{entropy, normalised};

#[track_caller]
fn agree(found: f64, expected: f64, what: &str) {
    let slack = 1e-9 * expected.abs().max(1.0);
    assert!(
        (found - expected).abs() <= slack,
        "{what}: {found} is not {expected}"
    );
}

/// What was compared in one case: whether anything explained it, measurements ranked, repair costs.
fn compare(case: &Case) -> (bool, usize, usize) {
    let knowledge = case.book().load();
    let family = &knowledge.families[0];
    let names = |list: &[usize]| -> Vec<String> {
        list.iter().map(|symptom| format!("s{symptom}")).collect()
    };
    let (present, absent) = (names(&case.present), names(&case.absent));
    let present: Vec<&str> = present.iter().map(String::as_str).collect();
    let absent: Vec<&str> = absent.iter().map(String::as_str).collect();
    let mut said = complaint(family, &present, &absent);
    let Some(expected) = case.candidates() else {
        assert!(
            halfsplit::infer::Model::new(family, None, said).is_err(),
            "nothing explains it"
        );
        return (false, 0, 0);
    };
    if let Some(repair) = case.repaired {
        said.repaired
            .extend(family.repair_named(&format!("r{repair}")));
    }
    let mut job = Job::of(&knowledge, said);
    job.readings = case
        .readings
        .iter()
        .map(|(look, weights)| {
            let named: Vec<(String, f64)> = weights
                .iter()
                .enumerate()
                .map(|(o, w)| (format!("o{o}"), *w))
                .collect();
            let named: Vec<(&str, f64)> =
                named.iter().map(|(name, w)| (name.as_str(), *w)).collect();
            evidence(family, &format!("t{look}"), &named)
        })
        .collect();

    // Candidates and prior.
    let (_, unlisted, floor, reacts, _) = case.figures;
    let sum: f64 = expected.values().sum();
    let cured = |set: &[usize]| {
        case.repaired
            .is_some_and(|done| set.iter().all(|cause| case.repair_of[*cause] == done))
    };
    let kept: Vec<(Vec<usize>, f64)> = expected
        .into_iter()
        .filter(|(set, _)| !cured(set))
        .collect();
    let sets: Vec<Vec<usize>> = kept.iter().map(|(set, _)| set.clone()).collect();
    let found: Vec<Vec<usize>> = job
        .model
        .candidates
        .iter()
        .map(|candidate| candidate.causes.iter().map(|cause| cause.index()).collect())
        .collect();
    assert_eq!(found, sets, "candidates");
    let mut prior: Vec<f64> = kept
        .iter()
        .map(|(_, w)| {
            if sum > 0.0 {
                w / sum * (1.0 - unlisted)
            } else {
                0.0
            }
        })
        .collect();
    prior.extend([unlisted / 2.0; 2]);

    // Rows and update.
    let rows = |look: &Look| -> Vec<Vec<f64>> {
        let mut rows: Vec<Vec<f64>> = sets
            .iter()
            .map(|set| look.row(&set.iter().copied().collect(), floor))
            .collect();
        rows.push(look.unlisted(0.0, floor));
        rows.push(look.unlisted(reacts, floor));
        rows
    };
    let mut belief = prior;
    for (place, (look, weights)) in case.readings.iter().enumerate() {
        let replaced = case.readings[place + 1..]
            .iter()
            .any(|(later, _)| later == look);
        if replaced && !case.looks[*look].repeat {
            continue;
        }
        for (p, row) in belief.iter_mut().zip(rows(&case.looks[*look])) {
            *p *= weights.iter().zip(&row).map(|(w, r)| w * r).sum::<f64>();
        }
    }
    let belief = normalised(belief);
    let answer = job.belief();
    for (at, p) in answer.weights().iter().enumerate() {
        agree(*p, belief[at], "posterior");
    }

    // Ranking.
    let listed = &belief[..sets.len()];
    let in_play = entropy(listed).exp2();
    agree(answer.in_play(), in_play, "in play");
    let standing = job.standing(OrderBy::default());
    let now = case.repair_now(&sets, &belief);
    if let Some(now) = now {
        assert!(standing.repair_now.exact || sets.is_empty());
        agree(standing.repair_now.cost, now, "repair now");
    }
    let mut ranked = 0;
    for (at, look) in case.looks.iter().enumerate() {
        let taken = case.readings.iter().any(|(read, _)| *read == at);
        let rows = rows(look);
        let outcomes = look.chance.len();
        let total: f64 = listed.iter().sum();
        let marginal: Vec<f64> = (0..outcomes)
            .map(|o| {
                listed
                    .iter()
                    .zip(&rows)
                    .map(|(p, row)| p / total * row[o])
                    .sum()
            })
            .collect();
        let bits = if total > 0.0 {
            entropy(&marginal)
                - listed
                    .iter()
                    .zip(&rows)
                    .map(|(p, row)| p / total * entropy(row))
                    .sum::<f64>()
        } else {
            0.0
        };
        let row = job
            .model
            .family
            .measurement_named(&format!("t{at}"))
            .and_then(|id| standing.rank_of(id));
        if taken || bits < 0.001 - 1e-9 {
            assert_eq!(row, None, "t{at} is offered");
            continue;
        }
        let Some(row) = row else {
            assert!(bits < 0.001 + 1e-9, "t{at} of {bits} bits is not offered");
            continue;
        };
        ranked += 1;
        agree(row.bits, bits, "bits");
        agree(row.in_play, in_play, "in play");
        agree(row.separates, in_play * (1.0 - (-bits).exp2()), "separates");
        agree(row.minutes, look.minutes, "minutes");
        let then: Option<f64> = (0..outcomes)
            .map(|o| {
                let after: Vec<f64> = belief
                    .iter()
                    .zip(&rows)
                    .map(|(p, row)| p * row[o])
                    .collect();
                case.repair_now(&sets, &after)
            })
            .sum();
        if let (Some(now), Some(then)) = (now, then) {
            agree(row.saves, now - then - look.minutes, "saves");
        }
    }
    (true, ranked, usize::from(now.is_some()))
}

/// 2,000 small random jobs: candidates, prior, rows, update, ranking and repair order, each to 1e-9.
#[test]
fn the_reasoning_agrees_with_an_obvious_second_implementation() {
    let (mut explained, mut ranked, mut repaired) = (0, 0, 0);
    let mut supersets = 0;
    for seed in 1..=2000_u64 {
        let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
        for _ in 0..8 {
            dice.next();
        }
        let case = case(&mut dice);
        let outcome = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| compare(&case)));
        let (one, some, priced) = outcome.unwrap_or_else(|why| {
            let why = why.downcast_ref::<String>().cloned().unwrap_or_default();
            panic!("seed {seed}: {why}\n{:#?}\nreadings {:?}, present {:?}, absent {:?}, repaired {:?}",
                case.book().files(), case.readings, case.present, case.absent, case.repaired)
        });
        explained += usize::from(one);
        ranked += some;
        repaired += priced;
        supersets += case.candidates().map_or(0, |candidates| {
            let sets: Vec<&Vec<usize>> = candidates.keys().collect();
            let holds = |outer: &[usize], inner: &[usize]| {
                outer.len() > inner.len() && inner.iter().all(|cause| outer.contains(cause))
            };
            sets.iter()
                .filter(|outer| sets.iter().any(|inner| holds(outer, inner)))
                .count()
        });
    }
    // The comparison was of something.
    assert!(
        explained > 1400 && ranked > 800 && repaired > 1400 && supersets > 150,
        "{explained} explained, {ranked} ranked, {repaired} priced, {supersets} supersets"
    );
}
