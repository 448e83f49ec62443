//! The mechanic of the study against what the program tells a person.

use halfsplit::decide::{Advice, Circumstances, Standing};
use halfsplit::decide::{OrderBy, Stop, outlook};
use halfsplit::infer::{Complaint, Evidence, Model, bands_on};
use halfsplit::knowledge::{Family, RepairId, SymptomId};
use halfsplit::simulate::{Chance, Drawn, Mechanic, Seen, Settings, World, study};
use halfsplit::units::conformity::{Known, weights};

use crate::family_text::{Test, Textbook};
use crate::shop::family;

/// What a job came to: how many readings, and the repairs in their order.
type Came = (u32, Vec<Vec<RepairId>>);

/// Follows the advice that `diagnose` gives at its prompt, step by step, without a sheet: a reading is a number only where
/// the knowledge has its limits itself.
fn followed(family: &Family, symptom: SymptomId, world: &World<'_>, drawn: Drawn) -> Came {
    let mut circumstances = Circumstances::on_arrival(family);
    let mut evidence: Vec<Evidence> = Vec::new();
    let (mut again, mut repaired, mut tried) = (Vec::new(), Vec::new(), Vec::new());
    let mut readings = 0;
    let take = |id, times: u32| {
        let measurement = family.measurement(id);
        let weights = match world.read(drawn, &measurement.name, times).unwrap() {
            Seen::Word(word) => {
                let mut weights = vec![0.0; measurement.outcomes.len()];
                weights[measurement.outcome(word).unwrap().index()] = 1.0;
                weights
            }
            Seen::Number { value, uncertainty } => {
                let bands = bands_on(measurement, None).unwrap();
                let known = Known::Normal {
                    value,
                    u: uncertainty,
                };
                // In the steps that the mechanic keeps weights in.
                let weights = weights(known, &bands).into_iter();
                weights.map(|w| (w * 1024.0).round() / 1024.0).collect()
            }
        };
        Evidence {
            measurement: id,
            weights,
        }
    };
    let enter = |now: &mut Circumstances, standing: &Standing<'_, '_>, id| {
        for entered in standing.taking(id).unwrap().way.order {
            now.enter(family, halfsplit::knowledge::SetUpId::at(entered));
        }
    };
    loop {
        let complaint = Complaint {
            present: vec![symptom],
            absent: Vec::new(),
            repaired: repaired.clone(),
        };
        let model = Model::new(family, None, complaint).unwrap();
        // Sums in another order differ in the last digit, which decides between equals.
        evidence.sort_by_key(|reading| reading.measurement);
        let standing =
            Standing::new(&model, evidence.clone(), &circumstances, OrderBy::default()).unwrap();
        match standing.advise(&again, false) {
            Advice::Measure { measurement, .. } => {
                enter(&mut circumstances, &standing, measurement);
                evidence.push(take(measurement, 0));
                circumstances.left_out.push(measurement);
                readings += 1;
            }
            Advice::TakeAgain(misfit) => {
                enter(&mut circumstances, &standing, misfit.measurement);
                again.push(misfit.measurement);
                evidence.retain(|reading| reading.measurement != misfit.measurement);
                evidence.push(take(misfit.measurement, 1));
                readings += 1;
            }
            Advice::Repair { first, .. } => {
                tried.push(first.clone());
                for repair in first {
                    if !repaired.contains(&repair) {
                        repaired.push(repair);
                    }
                }
                repaired.sort_unstable();
                let cured = world
                    .cure(drawn.hypothesis)
                    .is_some_and(|cure| cure.iter().all(|needed| repaired.contains(needed)));
                if cured {
                    return (readings, tried);
                }
            }
            Advice::Escalate => return (readings, tried),
        }
    }
}

#[test]
fn the_mechanic_does_what_a_person_at_the_prompt_is_told() {
    let family = family();
    for (symptom, every) in [("tight-turn-binding", 3), ("no-drive", 9)] {
        let symptom = family.symptom_named(symptom).unwrap();
        let world = World::new(family, None, symptom, Chance::new(2), 0.0).unwrap();
        let mechanic = Mechanic::new(family, None, symptom).unwrap();
        for hypothesis in (0..world.hypotheses()).step_by(every) {
            let drawn = Drawn {
                hypothesis,
                number: 0,
            };
            let course = mechanic.diagnose(&world, drawn).unwrap();
            let tried: Vec<Vec<RepairId>> = course
                .tried
                .iter()
                .map(|tried| tried.repairs.clone())
                .collect();
            assert_eq!(
                (course.readings, tried),
                followed(family, symptom, &world, drawn),
                "{}",
                world.name(hypothesis)
            );
        }
    }
}

#[test]
fn drawn_vehicles_cost_on_average_what_the_plan_promises() {
    // The plan's expected cost is a sum over its tree; this is a mean over vehicles that know nothing of it.
    let causes = [("a", 0.4), ("b", 0.3), ("c", 0.2), ("d", 0.1)];
    let knowledge = Textbook::hypotheses(&causes)
        .test(
            Test::new("look", &["clean", "dusty"])
                .row("a", &[0.8, 0.2])
                .row("b", &[0.3, 0.7])
                .row("c", &[0.1, 0.9])
                .row("d", &[0.6, 0.4])
                .minutes(8.0),
        )
        .test(
            Test::new("listen", &["quiet", "hums", "whines"])
                .row("a", &[0.2, 0.7, 0.1])
                .row("b", &[0.7, 0.2, 0.1])
                .row("c", &[0.1, 0.3, 0.6])
                .row("d", &[0.1, 0.1, 0.8])
                .minutes(12.0),
        )
        .load();
    let family = &knowledge.families[0];
    let symptom = SymptomId::at(0);
    let complaint = Complaint {
        present: vec![symptom],
        ..Complaint::default()
    };
    let model = Model::new(family, None, complaint).unwrap();
    let arrival = Circumstances::on_arrival(family);
    let standing = Standing::new(&model, Vec::new(), &arrival, OrderBy::default()).unwrap();
    let promise = outlook(&standing.problem, &standing.point(), Stop::never());
    assert_eq!(promise.within, 0.0);

    let world = World::new(family, None, symptom, Chance::new(9), 0.0).unwrap();
    let mechanic = Mechanic::new(family, None, symptom).unwrap();
    let each = 2000_u32;
    let (mut mean, mut variance) = (0.0, 0.0);
    for hypothesis in 0..4 {
        let costs: Vec<f64> = (0..each)
            .map(|number| {
                mechanic
                    .diagnose(&world, Drawn { hypothesis, number })
                    .unwrap()
                    .cost
            })
            .collect();
        let n = f64::from(each);
        let p = world.probability(hypothesis);
        let of_fault = costs.iter().sum::<f64>() / n;
        mean += p * of_fault;
        variance += p * p * costs.iter().map(|c| (c - of_fault).powi(2)).sum::<f64>() / (n * n);
    }
    // After a repair in vain the mechanic may measure on, which the plan does not count with: so less is
    // possible, more is not.
    let error = variance.sqrt();
    assert!(
        mean <= promise.cost + 4.5 * error,
        "{mean} ± {error}, promised {}",
        promise.cost
    );
    assert!(mean >= 0.95 * promise.cost, "{mean}");
}

#[test]
fn one_core_and_two_find_the_same() {
    let family = family();
    let symptom = family.symptom_named("tight-turn-binding").unwrap();
    let run = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| {
            let settings = Settings {
                vehicles: 2,
                seed: 4,
            };
            study(family, None, symptom, &settings, &[], &|| {}).unwrap()
        })
    };
    assert_eq!(run(1), run(2));
}

#[test]
fn a_repair_done_for_what_it_shows_counts_as_a_measurement() {
    let family = family();
    let symptom = family.symptom_named("slipping").unwrap();
    let world = World::new(family, None, symptom, Chance::new(1), 0.0).unwrap();
    let mechanic = Mechanic::new(family, None, symptom).unwrap();
    let mut looks = 0;
    for place in 0..2 * world.hypotheses() {
        let drawn = Drawn {
            hypothesis: place / 2,
            number: u32::try_from(place % 2).unwrap(),
        };
        let course = mechanic.diagnose(&world, drawn).unwrap();
        let before: Vec<_> = course
            .tried
            .iter()
            .take_while(|tried| !tried.cured)
            .collect();
        let of_them = before.iter().filter(|tried| tried.look).count();
        if let (Some(counted), Some(all)) = (course.cured_by(), course.cured_by_any()) {
            assert_eq!(all, before.len() + 1);
            assert_eq!(all - counted, of_them);
        }
        for look in course.tried.iter().filter(|tried| tried.look) {
            // Another is likelier, so this one is not even.
            assert!(look.stated < 0.5);
            assert!(
                look.repairs
                    .iter()
                    .any(|id| !family.repair(*id).reveals.is_empty())
            );
            looks += 1;
        }
    }
    assert!(looks > 0);
}
