//! Two versions of the knowledge on the same drawn vehicles: for `study` and `diff`.

use serde_json::{Value, json};

use super::Error;
use super::progress::bar;
use crate::knowledge::{Family, Knowledge, SymptomId, Vehicle};
use crate::simulate::{Chance, Difference, Mechanic, Paired, Settings, World, paired};
use crate::text::Paper;

/// A family in one version of the knowledge, and the sheet its vehicles are judged by.
#[derive(Clone, Copy)]
pub(super) struct Version<'k> {
    pub(super) family: &'k Family,
    pub(super) sheet: Option<&'k Vehicle>,
}

impl<'k> Version<'k> {
    /// The family of a name, and the sheet of a name or else the family's first.
    pub(super) fn of(knowledge: &'k Knowledge, family: &str, sheet: Option<&str>) -> Option<Self> {
        let family = knowledge.family(family)?;
        let sheet = sheet
            .and_then(|name| knowledge.vehicle(name))
            .filter(|sheet| sheet.family == family.name)
            .or_else(|| first_vehicle(knowledge, family));
        Some(Self { family, sheet })
    }
}

/// The first vehicle of a family.
pub(super) fn first_vehicle<'k>(knowledge: &'k Knowledge, family: &Family) -> Option<&'k Vehicle> {
    knowledge
        .vehicles
        .iter()
        .find(|vehicle| vehicle.family == family.name)
}

/// Lets both versions diagnose the vehicles of the one and of the other, complaint by complaint. What they come to
/// goes on the paper; what other programs read is given.
pub(super) fn on_the_same_vehicles(
    old: Version<'_>,
    new: Version<'_>,
    symptoms: &[SymptomId],
    settings: &Settings,
    interactive: bool,
    paper: &mut Paper,
) -> Result<Vec<Value>, Error> {
    let unusable = |error: &dyn std::fmt::Display| Error::Usage(error.to_string());
    let chance = Chance::new(settings.seed);
    let mut answers = Vec::new();
    for symptom in symptoms {
        let named = new.family.symptom(*symptom);
        let Some(theirs) = old.family.symptom_named(&named.name) else {
            paper.text(format!("{} is not in the old version.", named.name));
            continue;
        };
        let then = Mechanic::new(old.family, old.sheet, theirs, settings.limits)
            .map_err(|error| unusable(&error))?;
        let now = Mechanic::new(new.family, new.sheet, *symptom, settings.limits)
            .map_err(|error| unusable(&error))?;
        paper.heading(format!("{} [{}]", named.title, named.name));
        for (whose, version, symptom) in [
            ("the old version", old, theirs),
            ("the new version", new, *symptom),
        ] {
            let world = World::new(version.family, version.sheet, symptom, chance, 0.0)
                .map_err(|error| unusable(&error))?;
            let vehicles = world.hypotheses() as u64 * u64::from(settings.vehicles);
            let bar = bar(vehicles, "vehicles", interactive);
            let found = paired(&world, &then, &now, settings.vehicles, &|| bar.inc(1))
                .map_err(|error| unusable(&error))?;
            bar.finish_and_clear();
            crate::simulate::paired_words(paper, whose, &found);
            answers.push(answer(&named.name, whose, &found));
        }
    }
    Ok(answers)
}

fn answer(symptom: &str, whose: &str, paired: &Paired) -> Value {
    let difference = |figure: Difference| {
        json!({
            "old": figure.old,
            "new": figure.new,
            "change": figure.change(),
            "within": figure.within,
        })
    };
    json!({
        "symptom": symptom,
        "vehicles_of": whose,
        "vehicles": paired.vehicles,
        "first": difference(paired.first),
        "within_two": difference(paired.within_two),
        "minutes": difference(paired.minutes),
        "cost": difference(paired.cost),
    })
}
