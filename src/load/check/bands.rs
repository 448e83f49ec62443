//! Where a family judges by bands of values: the limits of a sheet they name must stand in one.

use std::collections::{BTreeMap, BTreeSet};

use super::coverage::{Claim, Coverage};
use crate::knowledge::Vehicle;
use crate::load::log::{Log, say};
use crate::load::value::Name;
use crate::units::{Dimension, Unit};

/// Where a family uses limits of a sheet.
pub(super) struct Use<'r> {
    /// The measurement or condition.
    what: String,
    /// The unit its bands are in; none for words.
    unit: Option<Unit>,
    claims: Vec<Claim<'r>>,
    /// Whether the claims must cover every value.
    covers: bool,
    /// Limits shown beside a reading of words.
    pub(super) shown: Vec<&'r Name>,
}

impl<'r> Use<'r> {
    pub(super) fn new(
        what: &str,
        unit: Option<Unit>,
        claims: Vec<Claim<'r>>,
        covers: bool,
    ) -> Self {
        Self {
            what: what.to_owned(),
            unit,
            claims,
            covers,
            shown: Vec::new(),
        }
    }

    /// The sheet's limits it judges by, with the quantity each must have.
    pub(super) fn limits(&self) -> impl Iterator<Item = (&str, Dimension, &str)> {
        self.claims.iter().flat_map(move |claim| {
            let unit = self.unit;
            claim.named().filter_map(move |(sheet, _, _)| {
                unit.map(|unit| (sheet, unit.dimension(), self.what.as_str()))
            })
        })
    }
}

/// Checks all uses of a family on its vehicles.
pub(super) fn check(uses: &[Use<'_>], vehicles: &[Vehicle], vehicles_whole: bool, log: &Log<'_>) {
    let sheets: BTreeSet<&str> = vehicles
        .iter()
        .flat_map(|vehicle| vehicle.limits.keys().map(String::as_str))
        .collect();
    for used in uses {
        if vehicles_whole {
            lacking_limits(used, vehicles, &sheets, log);
        }
        let Some(unit) = used.unit else { continue };
        let mut coverage = Coverage::new(unit, &used.claims, used.covers, log);
        // Literal bands are the same on every vehicle, and are checked also where there is none.
        if used.limits().next().is_none() {
            coverage.on(None);
        } else {
            for vehicle in vehicles {
                coverage.on(Some(vehicle));
            }
        }
    }
}

/// Warnings about limits that a vehicle, or every vehicle, lacks.
fn lacking_limits(used: &Use<'_>, vehicles: &[Vehicle], sheets: &BTreeSet<&str>, log: &Log<'_>) {
    let mut lacking: BTreeSet<&str> = BTreeSet::new();
    let numbers = used.claims.iter().flat_map(Claim::named);
    let numbers = numbers.map(|(sheet, key, spot)| (sheet, Some(key), spot));
    let shown = used.shown.iter().map(|name| {
        let parts = name.value.rsplit_once('.');
        let (sheet, key) = parts.map_or((&*name.value, None), |(sheet, key)| (sheet, Some(key)));
        (sheet, key, name.spot)
    });
    let named = |sheet: &str, key: Option<&str>| {
        key.map_or_else(|| sheet.to_owned(), |key| format!("{sheet}.{key}"))
    };
    let mut seen: BTreeSet<(&str, Option<&str>)> = BTreeSet::new();
    for (sheet, key, spot) in numbers.chain(shown) {
        if !seen.insert((sheet, key)) {
            continue;
        }
        let lacks = |vehicle: &&Vehicle| {
            let limit = vehicle.limits.get(sheet);
            !limit.is_some_and(|limit| key.is_none_or(|key| limit.numbers.contains_key(key)))
        };
        let name = named(sheet, key);
        let without = vehicles.iter().filter(lacks);
        let without: Vec<&str> = without.map(|vehicle| vehicle.name.as_str()).collect();
        if without.is_empty() && !vehicles.is_empty() {
            continue;
        }
        if without.len() == vehicles.len() {
            let nearest = log.nearest(sheet, sheets.iter().copied());
            say!(log, spot; LimitNowhere, "no vehicle of the family has the limit `{name}`" =>
                "give it in the vehicles' sheets, or judge by a number";
                nearest.map(|sheet| named(&sheet, key)));
        } else if lacking.insert(sheet) {
            say!(log, spot; LimitLacking,
                "{} has no limit `{name}`: `{}` cannot be judged there", without.join(", "), used.what =>
                "give it in the vehicle's sheet where its service information has it");
        }
    }
}

/// What quantity each limit of a sheet must have, and who says so first; a limit used for two
/// quantities becomes a finding.
pub(super) fn dimensions<'u>(
    uses: &'u [Use<'_>],
    log: &Log<'_>,
) -> BTreeMap<&'u str, (Dimension, &'u str)> {
    let mut known: BTreeMap<&str, (Dimension, &str)> = BTreeMap::new();
    for used in uses {
        for (sheet, dimension, what) in used.limits() {
            let (first, by) = *known.entry(sheet).or_insert((dimension, what));
            let mut named = used.claims.iter().flat_map(Claim::named);
            if first != dimension
                && let Some((_, _, spot)) = named.find(|(name, _, _)| *name == sheet)
            {
                say!(log, spot; WrongDimension,
                    "`{sheet}` is {} for `{by}` and {} here", first.with_article(), dimension.with_article());
            }
        }
    }
    known
}
