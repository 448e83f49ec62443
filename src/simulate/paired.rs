//! Two versions of the knowledge on the same drawn vehicles.

use std::sync::Arc;

use rayon::prelude::*;
use serde::Serialize;
use serde::ser::{SerializeStruct, Serializer};

use super::chance::Chance;
use super::mechanic::{Course, Mechanic, Unworkable};
use super::study::Settings;
use super::summary::{moments, share};
use super::world::{Drawn, World};
use crate::knowledge::{Family, Knowledge, SymptomId, Vehicle};

/// A family in one version of the knowledge, and the sheet its vehicles are judged by.
#[derive(Clone, Copy, Debug)]
pub struct Version<'k> {
    /// The family.
    pub family: &'k Family,
    /// The sheet.
    pub sheet: Option<&'k Vehicle>,
}

impl<'k> Version<'k> {
    /// The family of a name, and the sheet of a name or else the family's first.
    pub fn of(knowledge: &'k Knowledge, family: &str, sheet: Option<&str>) -> Option<Self> {
        let family = knowledge.family(family)?;
        let mut sheets = knowledge.vehicles.iter();
        let mut of_family = sheets.clone().filter(|sheet| sheet.family == family.name);
        let named = sheet.and_then(|name| {
            sheets.find(|sheet| sheet.family == family.name && sheet.name == name)
        });
        Some(Self {
            family,
            sheet: named.or_else(|| of_family.next()),
        })
    }
}

/// A figure under two versions, and how sure their difference is.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Difference {
    /// The figure under the earlier version.
    pub old: f64,
    /// The figure under the later version.
    pub new: f64,
    /// 95 % of such studies put `new − old` within this of the truth.
    pub within: f64,
}

impl Difference {
    /// How much higher the later version's figure is.
    pub fn change(self) -> f64 {
        self.new - self.old
    }

    /// Whether the difference is more than chance would make it.
    pub fn is_clear(self) -> bool {
        self.change().abs() > self.within
    }
}

impl Serialize for Difference {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut figure = to.serialize_struct("Difference", 4)?;
        figure.serialize_field("old", &self.old)?;
        figure.serialize_field("new", &self.new)?;
        figure.serialize_field("change", &self.change())?;
        figure.serialize_field("within", &self.within)?;
        figure.end()
    }
}

/// Both versions on the vehicles of one of them, with one complaint.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Paired {
    /// The complaint, as the later version names it.
    pub symptom: String,
    /// Whose vehicles: "the old version" or "the new version".
    pub vehicles_of: &'static str,
    /// How many vehicles both diagnosed.
    pub vehicles: usize,
    /// Share whose first repair is the right one.
    pub first: Difference,
    /// Share cured by the second repair at the latest.
    pub within_two: Difference,
    /// Minutes of everything.
    pub minutes: Difference,
    /// Cost of everything.
    pub cost: Difference,
}

/// The vehicles of one version with one complaint, and a mechanic of each version for them.
pub struct Side<'k> {
    symptom: String,
    vehicles_of: &'static str,
    world: World<'k>,
    old: Arc<Mechanic<'k>>,
    new: Arc<Mechanic<'k>>,
    vehicles: u32,
}

impl Side<'_> {
    /// How many vehicles both are to diagnose: for a progress bar.
    pub fn vehicles(&self) -> u64 {
        self.world.hypotheses() as u64 * u64::from(self.vehicles)
    }

    /// Lets both diagnose them; `tick` is called for each vehicle.
    pub fn run(&self, tick: &(dyn Fn() + Sync)) -> Result<Paired, Unworkable> {
        let (world, vehicles) = (&self.world, self.vehicles);
        let drawn: Vec<Drawn> = (0..world.hypotheses())
            .flat_map(|hypothesis| (0..vehicles).map(move |number| Drawn { hypothesis, number }))
            .collect();
        let courses = drawn
            .par_iter()
            .map(|drawn| {
                let old = self.old.diagnose(world, *drawn)?;
                let new = self.new.diagnose(world, *drawn)?;
                tick();
                Ok((old, new))
            })
            .collect::<Result<Vec<(Course, Course)>, Unworkable>>()?;
        let difference = |of: &dyn Fn(&Course) -> f64| {
            let mut sum = Difference::default();
            let mut variance = 0.0;
            for (hypothesis, pairs) in courses.chunks_exact(vehicles.max(1) as usize).enumerate() {
                let probability = world.probability(hypothesis);
                sum.old += probability * moments(pairs.iter().map(|pair| of(&pair.0))).0;
                sum.new += probability * moments(pairs.iter().map(|pair| of(&pair.1))).0;
                let (_, of_mean) = moments(pairs.iter().map(|pair| of(&pair.1) - of(&pair.0)));
                variance += probability * probability * of_mean;
            }
            // The normal quantile for 95 % on two sides.
            sum.within = 1.96 * variance.sqrt();
            sum
        };
        let cured_by = |most: usize| {
            move |course: &Course| share(course.cured_by().is_some_and(|n| n <= most))
        };
        Ok(Paired {
            symptom: self.symptom.clone(),
            vehicles_of: self.vehicles_of,
            vehicles: courses.len(),
            first: difference(&cured_by(1)),
            within_two: difference(&cured_by(2)),
            minutes: difference(&|course| course.minutes),
            cost: difference(&|course| course.cost),
        })
    }
}

/// The comparison of two versions, complaint by complaint: first on the vehicles of the old version, then on those of
/// the new one. A complaint that the old version does not have is left out.
pub fn compare<'k>(
    old: Version<'k>,
    new: Version<'k>,
    symptoms: &[SymptomId],
    settings: &Settings,
) -> Result<Vec<Side<'k>>, Unworkable> {
    let chance = Chance::new(settings.seed);
    let mechanic = |version: Version<'k>, symptom| {
        Mechanic::new(version.family, version.sheet, symptom).map(Arc::new)
    };
    let mut sides = Vec::new();
    for symptom in symptoms {
        let name = &new.family.symptom(*symptom).name;
        let Some(before) = old.family.symptom_named(name) else {
            continue;
        };
        let (then, now) = (mechanic(old, before)?, mechanic(new, *symptom)?);
        for (vehicles_of, version, symptom) in [
            ("the old version", old, before),
            ("the new version", new, *symptom),
        ] {
            sides.push(Side {
                symptom: name.clone(),
                vehicles_of,
                world: World::new(version.family, version.sheet, symptom, chance, 0.0)?,
                old: Arc::clone(&then),
                new: Arc::clone(&now),
                vehicles: settings.vehicles,
            });
        }
    }
    Ok(sides)
}
