//! Bands of values on each vehicle's numbers: every value belongs to one outcome, and every limit that
//! is named stands in a sheet.

use std::collections::{BTreeMap, BTreeSet};

use crate::knowledge::{Limit, LimitBand, Vehicle};
use crate::manual::code::Code;
use crate::manual::log::{Log, Report, Spot};
use crate::manual::placed::Name;
use crate::manual::raw::measurements as raw;
use crate::quantity::conformity::{Band, End};
use crate::quantity::{Dimension, Unit, plain};

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

/// One band that an outcome claims.
pub(super) struct Claim<'r> {
    pub(super) outcome: &'r str,
    pub(super) spot: Spot,
    pub(super) band: LimitBand,
    pub(super) raw: &'r raw::Band,
}

impl Claim<'_> {
    /// The limits that the band names, with their places.
    fn named(&self) -> impl Iterator<Item = (&str, &str, Spot)> {
        let ends = [&self.raw.from, &self.raw.above, &self.raw.to, &self.raw.below];
        ends.into_iter().flatten().filter_map(|end| match &end.value {
            raw::Limit::Number(_) => None,
            raw::Limit::Named(name) => name.rsplit_once('.').map(|(sheet, key)| (sheet, key, end.spot)),
        })
    }
}

impl<'r> Use<'r> {
    pub(super) fn measurement(name: &str, unit: Unit, claims: Vec<Claim<'r>>) -> Self {
        Self { what: name.to_owned(), unit: Some(unit), claims, covers: true, shown: Vec::new() }
    }

    pub(super) fn words(name: &str) -> Self {
        Self { what: name.to_owned(), unit: None, claims: Vec::new(), covers: false, shown: Vec::new() }
    }

    pub(super) fn condition(name: &'r str, unit: Unit, band: &LimitBand, raw: &'r raw::Band, spot: Spot) -> Self {
        let claim = Claim { outcome: name, spot, band: band.clone(), raw };
        Self { what: name.to_owned(), unit: Some(unit), claims: vec![claim], covers: false, shown: Vec::new() }
    }

    /// The sheet's limits it judges by, with the quantity each must have.
    pub(super) fn limits(&self) -> impl Iterator<Item = (&str, Dimension, &str)> {
        self.claims.iter().flat_map(move |claim| {
            let unit = self.unit;
            claim.named().filter_map(move |(sheet, _, _)| unit.map(|unit| (sheet, unit.dimension(), self.what.as_str())))
        })
    }
}

/// Checks all uses of a family on its vehicles.
pub(super) fn check(uses: &[Use<'_>], vehicles: &[Vehicle], vehicles_whole: bool, log: &Log<'_>) {
    let sheets: BTreeSet<&str> = vehicles.iter().flat_map(|vehicle| vehicle.limits.keys().map(String::as_str)).collect();
    for used in uses {
        let mut lacking: BTreeSet<&str> = BTreeSet::new();
        if vehicles_whole {
            lacking_limits(used, vehicles, &sheets, &mut lacking, log);
        }
        let Some(unit) = used.unit else { continue };
        let mut said: BTreeSet<(Code, Spot)> = BTreeSet::new();
        // Literal bands are the same on every vehicle, and are checked also where there is none.
        let literal = used.claims.iter().all(|claim| claim.named().next().is_none());
        if literal {
            on_a_vehicle(used, unit, None, &mut said, log);
        } else {
            for vehicle in vehicles {
                on_a_vehicle(used, unit, Some(vehicle), &mut said, log);
            }
        }
    }
}

/// Warnings about limits that a vehicle, or every vehicle, lacks.
fn lacking_limits<'u>(
    used: &'u Use<'_>,
    vehicles: &[Vehicle],
    sheets: &BTreeSet<&str>,
    lacking: &mut BTreeSet<&'u str>,
    log: &Log<'_>,
) {
    let numbers = used.claims.iter().flat_map(Claim::named).map(|(sheet, key, spot)| (sheet, Some(key), spot));
    let shown = used.shown.iter().map(|name| {
        let (sheet, key) = name.value.rsplit_once('.').map_or((name.value.as_str(), None), |(sheet, key)| (sheet, Some(key)));
        (sheet, key, name.spot)
    });
    let mut seen: BTreeSet<(&str, Option<&str>)> = BTreeSet::new();
    for (sheet, key, spot) in numbers.chain(shown) {
        if !seen.insert((sheet, key)) {
            continue;
        }
        let has = |vehicle: &Vehicle| {
            vehicle.limits.get(sheet).is_some_and(|limit| key.is_none_or(|key| limit.numbers.contains_key(key)))
        };
        let name = key.map_or_else(|| sheet.to_owned(), |key| format!("{sheet}.{key}"));
        let without: Vec<&str> = vehicles.iter().filter(|vehicle| !has(vehicle)).map(|vehicle| vehicle.name.as_str()).collect();
        if without.is_empty() && !vehicles.is_empty() {
            continue;
        }
        if without.len() == vehicles.len() {
            let nearest = log.nearest(sheet, sheets.iter().copied()).filter(|nearest| nearest != sheet);
            log.add(
                Report::new(Code::LimitNowhere, spot, format!("no vehicle of the family has the limit `{name}`"))
                    .nearest(nearest.map(|sheet| key.map_or_else(|| sheet.clone(), |key| format!("{sheet}.{key}"))))
                    .advice("give it in the vehicles' sheets, or judge by a number"),
            );
        } else if lacking.insert(sheet) {
            log.add(
                Report::new(
                    Code::LimitLacking,
                    spot,
                    format!("{} has no limit `{name}`: `{}` cannot be judged there", without.join(", "), used.what),
                )
                .advice("give it in the vehicle's sheet where its service information has it"),
            );
        }
    }
}

/// A limit as it stands in the file, and as a number.
fn shown(limit: &Limit, number: f64) -> String {
    match limit {
        Limit::Number(_) => plain(number),
        Limit::Named { .. } => format!("{limit} = {}", plain(number)),
    }
}

/// The bands of one use with the numbers of one vehicle.
fn on_a_vehicle(
    used: &Use<'_>,
    unit: Unit,
    vehicle: Option<&Vehicle>,
    said: &mut BTreeSet<(Code, Spot)>,
    log: &Log<'_>,
) {
    let place = vehicle.map_or_else(String::new, |vehicle| format!(", on the vehicle `{}`", vehicle.name));
    let mut bands: Vec<(Band, &Claim<'_>)> = Vec::new();
    let mut well = true;
    for claim in &used.claims {
        let Some(band) = numbers(&claim.band, vehicle, unit) else {
            return;
        };
        let empty = band.lowest() > band.highest()
            || (band.lowest().total_cmp(&band.highest()).is_eq()
                && !(band.from.is_some_and(|end| end.closed) && band.to.is_some_and(|end| end.closed)));
        if empty {
            well = false;
            if said.insert((Code::BadBand, claim.spot)) {
                log.add(
                    Report::new(
                        Code::BadBand,
                        claim.spot,
                        format!("`{}` starts at {} and ends at {}: it holds no value{place}", claim.outcome, plain(band.lowest()), plain(band.highest())),
                    )
                    .advice("the lower end comes first"),
                );
            }
        }
        bands.push((band, claim));
    }
    if !well || !used.covers {
        return;
    }
    // From the lowest start on; of two that start alike, the one that includes its start comes first.
    bands.sort_by(|(one, _), (other, _)| {
        let closed = |band: &Band| band.from.is_some_and(|end| end.closed);
        one.lowest().total_cmp(&other.lowest()).then(closed(other).cmp(&closed(one)))
    });
    let mut say = |code: Code, claim: &Claim<'_>, words: String, advice: &str| {
        if said.insert((code, claim.spot)) {
            log.add(Report::new(code, claim.spot, format!("{words}{place}")).advice(advice));
        }
    };
    let gap = "every value must belong to an outcome: let the bands meet";
    if let Some((first, claim)) = bands.first()
        && let Some(end) = first.from
    {
        say(Code::BandsGap, claim, format!("no outcome has the values below {} {}", plain(end.at), unit.symbol()), gap);
    }
    let mut reach: Option<(End, &Claim<'_>)> = None;
    let mut all_above: Option<&Claim<'_>> = None;
    for (band, claim) in &bands {
        if let Some(other) = all_above {
            let from = band.lowest();
            let words = if from.is_finite() { format!("the values from {} {}", plain(from), unit.symbol()) } else { "values".to_owned() };
            say(Code::BandsOverlap, claim, format!("`{}` and `{}` both claim {words}", other.outcome, claim.outcome), "let one band end where the other starts");
        } else if let Some((end, other)) = reach {
            meeting(end, other, band, claim, unit, &mut say);
        }
        match band.to {
            None => all_above = all_above.or(Some(claim)),
            Some(end) if reach.is_none_or(|(last, _)| end.at > last.at || (end.at >= last.at && end.closed)) => {
                reach = Some((end, claim));
            }
            Some(_) => {}
        }
    }
    if let (None, Some((end, claim))) = (all_above, reach) {
        say(Code::BandsGap, claim, format!("no outcome has the values above {} {}", plain(end.at), unit.symbol()), gap);
    }
}

/// Whether a band starts where the ones before it end.
fn meeting<'c>(
    end: End,
    other: &Claim<'c>,
    band: &Band,
    claim: &Claim<'c>,
    unit: Unit,
    say: &mut impl FnMut(Code, &Claim<'c>, String, &str),
) {
    let unit = unit.symbol();
    let overlap = |values: String| format!("`{}` and `{}` both claim {values}", other.outcome, claim.outcome);
    let advice = "let one band end where the other starts: `below` with `from`, or `to` with `above`";
    let Some(start) = band.from else {
        say(Code::BandsOverlap, claim, overlap(format!("the values below {} {unit}", plain(end.at.min(band.highest())))), advice);
        return;
    };
    if start.at < end.at {
        let upper = end.at.min(band.highest());
        say(Code::BandsOverlap, claim, overlap(format!("the values from {} to {} {unit}", plain(start.at), plain(upper))), advice);
    } else if start.at > end.at {
        let words = format!("no outcome has the values from {} to {} {unit}", plain(end.at), plain(start.at));
        say(Code::BandsGap, claim, words, "every value must belong to an outcome: let the bands meet");
    } else if start.closed && end.closed {
        let limit = claim.band.lower.as_ref().map_or_else(|| plain(start.at), |bound| shown(&bound.limit, start.at));
        say(Code::BandsOverlap, claim, overlap(format!("the value {limit} {unit}")), advice);
    } else if !start.closed && !end.closed {
        let limit = claim.band.lower.as_ref().map_or_else(|| plain(start.at), |bound| shown(&bound.limit, start.at));
        say(Code::BandsGap, claim, format!("no outcome has the value {limit} {unit}"), advice);
    }
}

/// A band's numbers; `None` where the vehicle lacks one.
fn numbers(band: &LimitBand, vehicle: Option<&Vehicle>, unit: Unit) -> Option<Band> {
    match vehicle {
        Some(vehicle) => band.on(vehicle, unit).ok(),
        None => {
            let end = |bound: &Option<crate::knowledge::Bound>| match bound {
                None => Some(None),
                Some(bound) => match bound.limit {
                    Limit::Number(at) => Some(Some(End { at, closed: bound.inside })),
                    Limit::Named { .. } => None,
                },
            };
            Some(Band { from: end(&band.lower)?, to: end(&band.upper)? })
        }
    }
}

/// What quantity each limit of a sheet must have, and who says so first; a limit used for two
/// quantities becomes a finding.
pub(super) fn dimensions<'u>(uses: &'u [Use<'_>], log: &Log<'_>) -> BTreeMap<&'u str, (Dimension, &'u str)> {
    let mut known: BTreeMap<&str, (Dimension, &str)> = BTreeMap::new();
    for used in uses {
        for (sheet, dimension, what) in used.limits() {
            let (first, by) = *known.entry(sheet).or_insert((dimension, what));
            if first != dimension
                && let Some((_, _, spot)) = used.claims.iter().flat_map(Claim::named).find(|(name, _, _)| *name == sheet)
            {
                log.say(
                    Code::WrongDimension,
                    spot,
                    format!("`{sheet}` is {} for `{by}` and {} here", first.with_article(), dimension.with_article()),
                );
            }
        }
    }
    known
}

