//! Spec sheets.

use std::collections::BTreeMap;

use super::bands;
use super::bands::Use;
use super::names;
use super::names::Names;
use super::values;
use crate::knowledge::{SheetLimit, Vehicle};
use crate::load::code::Code;
use crate::load::folder::Folder;
use crate::load::log::{Log, Spot, say};
use crate::load::raw::vehicles as raw;
use crate::load::value::Entry;
use crate::units::{Dimension, Unit};

/// The names of all vehicles.
pub(super) fn names<'a>(folder: &Folder, log: &'a Log<'a>) -> Names<'a, usize> {
    let names = folder.vehicles.iter().map(|file| {
        (
            file.vehicle.value.as_str(),
            file.vehicle.spot,
            file.unfinished,
        )
    });
    Names::new(
        Code::UnknownVehicle,
        |place| place,
        folder.vehicles_whole,
        names,
        log,
    )
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

/// Findings about vehicles whose family is in no folder.
pub(super) fn of_no_family(folder: &Folder, log: &Log<'_>) {
    let families = || folder.families.keys().map(String::as_str);
    let stated = |name: &str| {
        folder
            .families
            .values()
            .any(|raw| raw.file.family.value == name)
    };
    for file in &folder.vehicles {
        let name = &file.family.value;
        // A family that is called otherwise than its folder is one finding, in its own file.
        if !folder.families.contains_key(name) && !stated(name) {
            say!(log, file.family.spot; UnknownFamily,
                "there is no family called `{}`", file.family.value =>
                "a family is a folder with a family.yaml";
                log.nearest(&file.family.value, families()));
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
    let lacks = |field: &str, spot: Spot, advice: &str| {
        say!(log, spot; MissingField, "`{field}` is missing here" => "{advice}");
    };
    if !given && words.is_none() {
        lacks(
            "min",
            entry.spot,
            "a limit has min, max or far with their unit, or words",
        );
    }
    if unit.is_none() && given {
        lacks("unit", entry.spot, "numbers need their unit: unit: kPa");
    }
    let unit = unit.as_ref().and_then(|name| {
        let Some((dimension, by)) = used else {
            return values::any_unit(name, log).first().copied();
        };
        let unit = Unit::named(&name.value, dimension);
        if unit.is_none() {
            values::unfit_unit(
                name,
                dimension,
                &format!("`{by}` reads {}", dimension.with_article()),
                log,
            );
        }
        unit
    });
    Some(SheetLimit {
        numbers,
        unit,
        words: words.clone(),
        source: source.clone(),
    })
}
