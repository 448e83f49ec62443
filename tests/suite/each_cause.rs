use std::collections::BTreeMap;
use std::collections::BTreeSet;
use std::fmt::Write as _;

use halfsplit::decide::OrderBy;
use halfsplit::decide::{Advice, Circumstances, Standing};
use halfsplit::infer::{Answer, Complaint, Evidence, Model, Typing, bands_on, understand};
use halfsplit::knowledge::{Measurement, MeasurementId, RepairId, SymptomId, Vehicle};
use halfsplit::session::RepairSheet;
use halfsplit::units::conformity::Band;

use crate::shop::{Shop, family, flat, vehicle};
use crate::technician::{Move, Reads, Technician};

/// How many repairs may be done in vain before a cause counts as missed.
const REPAIRS: usize = 12;

/// A value in the middle of an outcome's band: what the vehicle would most likely read.
fn middle(measurement: &Measurement, bands: &[Band]) -> f64 {
    let number = measurement.number().unwrap();
    let band = bands.first().unwrap();
    let (from, to) = (band.from.map(|end| end.at), band.to.map(|end| end.at));
    // An open end: as far beyond the limit as the limits of the sheet are apart, or half as much again.
    let reach = |at: f64| (at.abs() / 2.0).max(1.0);
    let value = match (from, to) {
        (Some(from), Some(to)) => f64::midpoint(from, to),
        (Some(from), None) => from + reach(from),
        (None, Some(to)) => to - reach(to),
        (None, None) => 0.0,
    };
    number.plausible.map_or(value, |plausible| {
        value.clamp(plausible.from(), plausible.to())
    })
}

/// What is typed for an outcome of a measurement on a vehicle.
fn typed(measurement: &Measurement, vehicle: &Vehicle, outcome: usize) -> String {
    match measurement.number() {
        None => measurement.outcomes[outcome].name.clone(),
        // No number stands for it.
        Some(_) if measurement.outcomes[outcome].bands.is_empty() => {
            measurement.outcomes[outcome].name.clone()
        }
        Some(number) => {
            let bands = bands_on(measurement, Some(vehicle)).unwrap();
            format!(
                "{} {}",
                middle(measurement, &bands[outcome]),
                number.unit.symbol()
            )
        }
    }
}

/// The most likely outcome of a measurement under a candidate; the first of equals.
fn likeliest(model: &Model<'_>, id: MeasurementId, candidate: usize) -> usize {
    let row = model.table(id).row(candidate);
    (0..row.len()).fold(0, |best, outcome| {
        if row[outcome] > row[best] {
            outcome
        } else {
            best
        }
    })
}

/// How the diagnosis of a candidate ended.
#[derive(Clone, Debug)]
struct End {
    /// Repairs done until it was cured; `None` where it was missed.
    repairs: Option<usize>,
    /// Named in an ambiguity on the first repair's sheet.
    named: bool,
    /// Whether every repair done was one that it needs.
    own: bool,
    /// The readings taken and the first repair advised.
    story: String,
}

/// A candidate of a complaint, by the names of its causes.
type Causes = BTreeSet<String>;

/// The diagnosis of one complaint on one vehicle, every candidate at once: those that read alike
/// share their way.
struct Diagnosis {
    vehicle: &'static Vehicle,
    symptom: SymptomId,
    ends: BTreeMap<Causes, End>,
}

/// What has been done so far.
#[derive(Clone, Default)]
struct Way {
    evidence: Vec<Evidence>,
    circumstances: Circumstances,
    again: Vec<MeasurementId>,
    repaired: Vec<RepairId>,
    repairs: usize,
    named: BTreeSet<String>,
    story: String,
}

impl Diagnosis {
    fn of(symptom: SymptomId, vehicle: &'static Vehicle) -> BTreeMap<Causes, End> {
        let mut diagnosis = Self {
            vehicle,
            symptom,
            ends: BTreeMap::new(),
        };
        let model = diagnosis.model(&[]);
        let all = (0..model.candidates.len())
            .map(|candidate| causes_of(&model, candidate))
            .collect();
        let way = Way {
            circumstances: Circumstances::on_arrival(family()),
            ..Way::default()
        };
        diagnosis.follow(&model, all, way);
        diagnosis.ends
    }

    fn model(&self, repaired: &[RepairId]) -> Model<'static> {
        let complaint = Complaint {
            present: vec![self.symptom],
            absent: Vec::new(),
            repaired: repaired.to_vec(),
        };
        Model::new(family(), Some(self.vehicle), complaint).unwrap()
    }

    /// Follows the advice for the candidates that have read alike so far.
    fn follow(&mut self, model: &Model<'_>, alike: Vec<Causes>, mut way: Way) {
        let family = family();
        let standing = Standing::new(
            model,
            way.evidence.clone(),
            &way.circumstances,
            OrderBy::default(),
        )
        .unwrap();
        let measurement = match standing.advise(&way.again, false) {
            advice @ Advice::Repair { .. } => return self.repair(&standing, &advice, alike, way),
            Advice::Escalate => return self.end(alike, &way, None, "handed on"),
            Advice::Measure { measurement, .. } => measurement,
            Advice::TakeAgain(misfit) => {
                way.again.push(misfit.measurement);
                misfit.measurement
            }
        };
        if let Some(ranked) = standing.rank_of(measurement) {
            let leaves: Vec<_> = ranked
                .way
                .leaves
                .indices()
                .map(halfsplit::knowledge::SetUpId::at)
                .collect();
            if !ranked.way.order.is_empty() {
                way.circumstances.in_place = leaves;
            }
        }
        way.circumstances.left_out.push(measurement);
        let mut by_outcome: BTreeMap<usize, Vec<Causes>> = BTreeMap::new();
        for causes in alike {
            let candidate = (0..model.candidates.len())
                .find(|candidate| causes_of(model, *candidate) == causes)
                .unwrap();
            by_outcome
                .entry(likeliest(model, measurement, candidate))
                .or_default()
                .push(causes);
        }
        for (outcome, alike) in by_outcome {
            let mut way = way.clone();
            let known = family.measurement(measurement);
            let text = typed(known, self.vehicle, outcome);
            let taken = match understand(
                family,
                Some(self.vehicle),
                measurement,
                &text,
                &Typing::default(),
            ) {
                Answer::Taken(taken) => taken,
                other => panic!("{text} was not understood for {}: {other:?}", known.name),
            };
            assert_eq!(
                taken.evidence.outcome(),
                outcome,
                "{} reads {text}",
                known.name
            );
            way.evidence.push(taken.evidence);
            write!(
                way.story,
                "{}={} ",
                known.name, known.outcomes[outcome].name
            )
            .unwrap();
            self.follow(model, alike, way);
        }
    }

    /// Repairs, and goes on with the candidates that this does not cure.
    fn repair(
        &mut self,
        standing: &Standing<'_, '_>,
        advice: &Advice,
        alike: Vec<Causes>,
        mut way: Way,
    ) {
        let family = family();
        let repairing = standing.repairing(advice).unwrap();
        let first = &repairing.repairs;
        if way.repairs == 0 {
            let sheet = RepairSheet::of(standing, &repairing, advice);
            way.named = sheet
                .alike
                .into_iter()
                .flat_map(|alike| alike.causes)
                .collect();
            way.story.push_str("-> ");
        }
        let names: Vec<&str> = first
            .iter()
            .map(|repair| family.repair(*repair).name.as_str())
            .collect();
        write!(way.story, "{} ", names.join("+")).unwrap();
        way.repairs += 1;
        way.repaired.extend(
            first
                .iter()
                .copied()
                .filter(|repair| !way.repaired.contains(repair))
                .collect::<Vec<_>>(),
        );
        let cured = |causes: &Causes| {
            causes.iter().all(|name| {
                way.repaired
                    .contains(&family.cause(family.cause_named(name).unwrap()).repair)
            })
        };
        let (well, ill): (Vec<Causes>, Vec<Causes>) = alike.into_iter().partition(cured);
        let repairs = way.repairs;
        self.end(well, &way, Some(repairs), "");
        if ill.is_empty() {
            return;
        }
        if way.repairs == REPAIRS {
            return self.end(ill, &way, None, "too many repairs");
        }
        let model = self.model(&way.repaired);
        self.follow(&model, ill, way);
    }

    fn end(&mut self, causes: Vec<Causes>, way: &Way, repairs: Option<usize>, how: &str) {
        for causes in causes {
            let named = causes.iter().all(|cause| way.named.contains(cause));
            let own = way.repaired.iter().all(|repair| {
                let needs = |name: &String| {
                    family().cause(family().cause_named(name).unwrap()).repair == *repair
                };
                causes.iter().any(needs)
            });
            let story = format!("{}{how}", way.story);
            self.ends.insert(
                causes,
                End {
                    repairs,
                    named,
                    own,
                    story,
                },
            );
        }
    }
}

fn causes_of(model: &Model<'_>, candidate: usize) -> Causes {
    model.candidates[candidate]
        .causes
        .iter()
        .map(|cause| family().cause(*cause).name.clone())
        .collect()
}

/// Every complaint answered as each of its candidates would: the table of what did not end in the
/// first repair, and how many repairs each took.
fn table(symptom: &str) -> (String, usize) {
    let id = family().symptom_named(symptom).unwrap();
    let ends = Diagnosis::of(id, vehicle("demo-estate"));
    let mut table = String::new();
    let mut missed = 0;
    let mut tried_first = 0;
    for (causes, end) in &ends {
        let how = match end.repairs {
            Some(1) => continue,
            _ if end.named => continue,
            Some(repairs) => format!("repair {repairs}"),
            None => "missed".to_owned(),
        };
        // The job ends in the cause's repair all the same where a likelier one was tried first. Where causes
        // act together, their own repairs may be done one after the other.
        missed += usize::from(end.repairs.is_none());
        tried_first += usize::from(end.repairs.is_some() && !end.own);
        let causes: Vec<&str> = causes.iter().map(String::as_str).collect();
        writeln!(
            table,
            "{symptom}: {}: {how}: {}",
            causes.join(" + "),
            end.story
        )
        .unwrap();
    }
    writeln!(table, "{symptom}: {missed} of {} candidates", ends.len()).unwrap();
    // At most one in ten has another repair tried before its own.
    assert!(10 * tried_first <= ends.len(), "\n{table}");
    (table, missed)
}

#[test]
fn each_cause_of_slipping_ends_in_its_repair_or_in_a_stated_ambiguity() {
    let (table, missed) = table("slipping");
    println!("{table}");
    assert_eq!(missed, 0, "\n{table}");
}

#[test]
fn each_cause_of_tight_turn_binding_ends_in_its_repair_or_in_a_stated_ambiguity() {
    let (table, missed) = table("tight-turn-binding");
    assert_eq!(missed, 0, "\n{table}");
}

#[test]
fn each_cause_of_no_drive_ends_in_its_repair_or_in_a_stated_ambiguity() {
    let (table, missed) = table("no-drive");
    // Under tcm-fault every likeliest reading is normal, as under a fault outside the list that touches nothing: it is
    // handed on.
    assert_eq!(missed, 1, "\n{table}");
    assert!(table.contains("no-drive: tcm-fault: missed"), "{table}");
}

#[test]
fn each_cause_of_harsh_engagement_ends_in_its_repair_or_in_a_stated_ambiguity() {
    let (table, missed) = table("harsh-engagement");
    assert_eq!(missed, 0, "\n{table}");
}

/// The same through the prompts, for one cause.
fn through_the_prompts(symptom: &str, cause: &str) {
    let family = family();
    let vehicle = vehicle("demo-estate");
    let symptom_id = family.symptom_named(symptom).unwrap();
    let cause_id = family.cause_named(cause).unwrap();
    let complaint = Complaint {
        present: vec![symptom_id],
        ..Complaint::default()
    };
    let model = Model::new(family, Some(vehicle), complaint).unwrap();
    let candidate = model
        .candidates
        .iter()
        .position(|candidate| candidate.causes == [cause_id])
        .expect("a single-cause candidate");
    let repair = family.repair(family.cause(cause_id).repair);
    let mut done = String::new();
    let mut ended = false;
    let mut technician = Technician::new(vehicle, |seen| match seen.prompt {
        "repair >" => {
            let sheet = flat(seen.screen);
            let heading = |words| sheet.rfind(words);
            let on = heading("Repair, and see what it shows");
            let from = heading("Stop measuring.").max(on).unwrap();
            let (titles, _) = sheet[from..].split_once("that it cures").unwrap();
            titles.clone_into(&mut done);
            Move::Type("done".to_owned())
        }
        "hand on >" => Move::End,
        "verify >" => Move::Type("skip".to_owned()),
        // A stall that verifies is held first.
        "held >" | "cooling >" if seen.screen.contains("\nProve it: ") => {
            Move::Type("skip".to_owned())
        }
        // Whoever has it open sees it.
        "found >" => Move::Type(cause.to_owned()),
        "fixed >" => {
            ended = done.contains(&repair.title);
            Move::Type(if ended { "yes" } else { "no" }.to_owned())
        }
        _ => {
            let Some(name) = &seen.proposed else {
                return Move::End;
            };
            let id = family
                .measurement_named(name)
                .unwrap_or_else(|| panic!("{name}\n{}", seen.screen));
            Move::Read(Reads::Whole(typed(
                family.measurement(id),
                vehicle,
                likeliest(&model, id, candidate),
            )))
        }
    });
    let told = Shop::job(symptom)
        .typist(|screen| technician.line(screen))
        .run();
    drop(technician);
    assert!(ended, "{cause} was not repaired\n{}", told.out);
    assert!(told.state().closed.is_some());
    told.says("Closed as fixed").says(&repair.title);
}

#[test]
fn a_worn_forward_clutch_is_found_and_repaired_through_the_prompts() {
    through_the_prompts("slipping", "forward-clutch-worn");
}

#[test]
fn tyres_of_unequal_circumference_are_found_through_the_prompts() {
    through_the_prompts("tight-turn-binding", "tyre-mismatch-axles");
}

#[test]
fn a_broken_drive_plate_is_found_through_the_prompts() {
    through_the_prompts("no-drive", "drive-plate-broken");
}

#[test]
fn an_idle_that_is_too_high_is_found_through_the_prompts() {
    through_the_prompts("harsh-engagement", "idle-speed-high");
}
