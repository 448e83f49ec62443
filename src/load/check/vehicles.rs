//! Spec sheets.

use std::collections::BTreeMap;

use super::bands;
use super::bands::Use;
use super::known::Known;
use super::names;
use super::names::Names;
use super::values;
use crate::knowledge::{SheetLimit, Vehicle};
use crate::load::folder::Folder;
use crate::load::ids::IdKind;
use crate::load::log::{Log, say};
use crate::load::raw::vehicles as raw;
use crate::load::value::{Entry, Name};
use crate::units::Dimension;

/// The names of all vehicles.
pub(super) fn names<'a>(folder: &Folder, log: &'a Log<'a>) -> Names<'a, usize> {
    let names = folder.vehicles.iter();
    let names = names.map(|file| file.vehicle.listed(file.unfinished));
    let whole = folder.vehicles_whole;
    Names::new(IdKind::Vehicle, |place| place, whole, names, log)
}

/// The vehicles of a family, by the names of its folder and in its file; what its measurements judge by settles the
/// units of the sheets.
pub(super) fn of_family(
    family: [&str; 2],
    folder: &Folder,
    uses: &[Use<'_>],
    log: &Log<'_>,
) -> Vec<Vehicle> {
    let dimensions = bands::dimensions(uses, log);
    let mut vehicles: BTreeMap<&str, Vehicle> = BTreeMap::new();
    for file in folder
        .vehicles
        .iter()
        .filter(|file| !file.unfinished && family.contains(&file.family.value.as_str()))
    {
        let vehicle = vehicle(file, &dimensions, log);
        vehicles.entry(&file.vehicle.value).or_insert(vehicle);
    }
    vehicles.into_values().collect()
}

/// The vehicle that something of a family is played on.
pub(super) fn named(
    name: Option<&Name>,
    vehicles: &[Vehicle],
    known: &Known<'_>,
) -> Option<String> {
    let Name { value: name, spot } = name.filter(|name| known.vehicles.find(name).is_some())?;
    if !vehicles.iter().any(|vehicle| vehicle.name == *name) {
        say!(known.log, *spot; UnknownVehicle, "the vehicle `{name}` is of another family");
    }
    Some(name.clone())
}

/// Findings about vehicles whose family is in no folder.
pub(super) fn of_no_family(folder: &Folder, log: &Log<'_>) {
    // A family that is called otherwise than its folder is one finding, in its own file.
    let is_known = |name: &str| {
        let mut families = folder.families.iter();
        families.any(|(folder, raw)| folder == name || raw.file.family.value == name)
    };
    for file in &folder.vehicles {
        let Name { value: name, spot } = &file.family;
        if !is_known(name) {
            say!(log, *spot; UnknownFamily, "there is no family called `{name}`" =>
                "a family is a folder with a family.yaml";
                log.nearest(name, folder.families.keys().map(String::as_str)));
            vehicle(file, &BTreeMap::new(), log);
        }
    }
}

fn vehicle(
    file: &raw::VehicleFile,
    dimensions: &BTreeMap<&str, (Dimension, &str)>,
    log: &Log<'_>,
) -> Vehicle {
    let mut limits = BTreeMap::new();
    for entry in &file.limits.0 {
        names::id(&entry.name, entry.spot, log);
        if let Some(limit) = limit(entry, dimensions.get(entry.name.as_str()).copied(), log) {
            limits.insert(entry.name.clone(), limit);
        }
    }
    Vehicle {
        name: file.vehicle.value.clone(),
        title: file.title.clone(),
        family: file.family.value.clone(),
        invented: file.invented,
        units: file.units.unwrap_or_default(),
        limits,
    }
}

fn limit(
    entry: &Entry<raw::SheetLimit>,
    used: Option<(Dimension, &str)>,
    log: &Log<'_>,
) -> Option<SheetLimit> {
    let raw::SheetLimit {
        min,
        max,
        far,
        unit,
        words,
        source,
    } = entry.value.as_ref()?;
    let mut numbers = BTreeMap::new();
    for (key, number) in [("min", min), ("max", max), ("far", far)] {
        if let Some(number) = number.and_then(|number| values::finite(number, log)) {
            numbers.insert(key.to_owned(), number);
        }
    }
    if let (Some(min), Some(max)) = (min, max)
        && min.value > max.value
    {
        say!(log, max.spot; BadNumber,
            "the max of {} lies below the min of {}", max.value, min.value =>
            "the least good value is min, the greatest is max");
    }
    let given = min.is_some() || max.is_some() || far.is_some();
    if !given && words.is_none() {
        say!(log, entry.spot; MissingField, "`min` is missing here" =>
            "a limit has min, max or far with their unit, or words");
    }
    if unit.is_none() && given {
        say!(log, entry.spot; MissingField, "`unit` is missing here" =>
            "numbers need their unit: unit: kPa");
    }
    let unit = unit.as_ref().and_then(|name| match used {
        Some((dimension, by)) => values::unit(name, dimension, Some(by), log),
        None => values::any_unit(name, log).first().copied(),
    });
    Some(SheetLimit {
        numbers,
        unit,
        words: words.clone(),
        source: source.clone(),
    })
}
