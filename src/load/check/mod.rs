//! From the files as written to knowledge: names become ids, figures become numbers of their kind, and
//! whatever does not fit becomes a finding.
//!
//! A check gives something also where it finds a mistake, so that the next can go on; the caller throws
//! the knowledge away when there is an error. So nothing here may look up an id it has just given out.

mod bands;
mod cases;
mod causes;
mod circles;
mod coverage;
mod exercises;
mod family;
mod instruments;
mod known;
mod measurements;
pub(super) mod names;
mod order;
mod outcomes;
mod reading;
mod set_ups;
mod shared;
mod signals;
mod trees;
pub(super) mod values;
mod vehicles;

use super::folder::Folder;
use super::log::Log;
use crate::knowledge::{Family, Knowledge};
use known::Known;

/// Checks a folder.
pub(super) fn check<'a>(folder: &Folder, log: &'a Log<'a>) -> Knowledge {
    let vehicle_names = vehicles::names(folder, log);
    let mut families = Vec::new();
    let mut vehicles = Vec::new();
    for (name, raw) in &folder.families {
        let known = Known::new(raw, &vehicle_names, folder.shipped, log);
        let (family, uses) = family::family(name, raw, &known);
        let own = vehicles::of_family([name, &raw.file.family.value], folder, &uses, log);
        if !folder.shipped {
            bands::check(&uses, &own, folder.vehicles_whole, log);
        }
        let cases = cases::cases(raw, &known, &family, &own);
        let exercises = exercises::exercises(raw, &known, &family, &own);
        families.push(Family {
            cases,
            exercises,
            ..family
        });
        vehicles.extend(own);
    }
    vehicles::of_no_family(folder, log);
    vehicles.sort_by(|one, other| one.name.cmp(&other.name));
    Knowledge {
        families,
        vehicles,
        files: Vec::new(),
        overlay: None,
    }
}
