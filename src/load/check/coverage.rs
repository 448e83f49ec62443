//! Bands with the numbers of one vehicle: every value belongs to exactly one outcome.

use std::collections::BTreeSet;

use crate::knowledge::{Bound, Limit, LimitBand, Vehicle};
use crate::load::code::Code;
use crate::load::log::{Log, Report, Spot};
use crate::load::raw::measurements as raw;
use crate::text::plain;
use crate::units::Unit;
use crate::units::conformity::{Band, End};

const MEET: &str = "every value must belong to an outcome: let the bands meet";
const PART: &str =
    "let one band end where the other starts: `below` with `from`, or `to` with `above`";

/// Where a band without a lower end starts, and where one without an upper end ends.
const FROM_BELOW: End = End {
    at: f64::NEG_INFINITY,
    closed: false,
};
const ENDLESS: End = End {
    at: f64::INFINITY,
    closed: false,
};

/// One band that an outcome claims.
pub(super) struct Claim<'r> {
    pub(super) outcome: &'r str,
    pub(super) spot: Spot,
    pub(super) band: LimitBand,
    pub(super) raw: &'r raw::Band,
}

impl Claim<'_> {
    /// The limits that the band names, with their places.
    pub(super) fn named(&self) -> impl Iterator<Item = (&str, &str, Spot)> {
        let ends = [
            &self.raw.from,
            &self.raw.above,
            &self.raw.to,
            &self.raw.below,
        ];
        ends.into_iter()
            .flatten()
            .filter_map(|end| match &end.value {
                raw::Limit::Number(_) => None,
                raw::Limit::Named(name) => {
                    let (sheet, key) = name.value.rsplit_once('.')?;
                    Some((sheet, key, name.spot))
                }
            })
    }
}

/// The check of one measurement's bands, vehicle by vehicle: what is wrong on several is said once.
pub(super) struct Coverage<'a, 's> {
    unit: Unit,
    claims: &'a [Claim<'a>],
    covers: bool,
    said: BTreeSet<(Code, Spot)>,
    place: String,
    log: &'a Log<'s>,
}

impl<'a, 's> Coverage<'a, 's> {
    /// `covers`: whether the bands together must hold every value.
    pub(super) const fn new(
        unit: Unit,
        claims: &'a [Claim<'a>],
        covers: bool,
        log: &'a Log<'s>,
    ) -> Self {
        Self {
            unit,
            claims,
            covers,
            said: BTreeSet::new(),
            place: String::new(),
            log,
        }
    }

    /// Checks the bands with a vehicle's numbers, or those that need none. A vehicle that lacks a
    /// number is passed over: the measurement is not used on it.
    pub(super) fn on(&mut self, vehicle: Option<&Vehicle>) {
        let claims = self.claims;
        self.place = vehicle.map_or_else(String::new, |vehicle| {
            // The figure that does not fit is in the sheet as often as here.
            let named = claims.iter().flat_map(Claim::named);
            let sheets: BTreeSet<&str> = named.map(|(sheet, ..)| sheet).collect();
            let sheets: Vec<&str> = sheets.into_iter().collect();
            format!(
                ", on the vehicle `{}` with its `{}`",
                vehicle.name,
                sheets.join("` and `")
            )
        });
        let mut bands: Vec<(Band, &'a Claim<'a>)> = Vec::new();
        for claim in claims {
            let Ok(band) = claim.band.on(vehicle, self.unit) else {
                return;
            };
            bands.push((band, claim));
        }
        let mut well = true;
        for (band, claim) in bands.iter().filter(|(band, _)| is_empty(*band)) {
            well = false;
            if is_from_min_to_max(&claim.band) {
                // The sheet has its min above its max, which is a finding of its own there.
                continue;
            }
            let (from, to) = (plain(band.lowest()), plain(band.highest()));
            let words = format!(
                "`{}` starts at {from} and ends at {to}: it holds no value",
                claim.outcome
            );
            self.say(Code::BadBand, claim, &words, "the lower end comes first");
        }
        if well && self.covers {
            // By their starts; of two with the same start, first the one that includes it.
            bands.sort_by(|(one, _), (other, _)| {
                let closed = |band: &Band| band.from.is_some_and(|end| end.closed);
                one.lowest()
                    .total_cmp(&other.lowest())
                    .then(closed(other).cmp(&closed(one)))
            });
            self.every_value(&bands);
        }
    }

    fn say(&mut self, code: Code, claim: &Claim<'_>, words: &str, advice: &str) {
        if self.said.insert((code, claim.spot)) {
            let words = format!("{words}{}", self.place);
            self.log
                .add(Report::new(code, claim.spot, words).advice(advice));
        }
    }

    /// Walks up the bands, which stand in the order of their starts.
    fn every_value(&mut self, bands: &[(Band, &'a Claim<'a>)]) {
        let unit = self.unit.symbol();
        // How far the bands so far reach, and which of them does.
        let mut reach: Option<(End, &Claim<'_>)> = None;
        for (band, claim) in bands {
            let (start, end) = (band.from.unwrap_or(FROM_BELOW), band.to.unwrap_or(ENDLESS));
            if let Some((last, other)) = reach {
                self.meeting(last, other, start, end, claim);
            } else if band.from.is_some() {
                let gap = values(f64::NEG_INFINITY, start.at, unit);
                self.say(
                    Code::BandsGap,
                    claim,
                    &format!("no outcome has the {gap}"),
                    MEET,
                );
            }
            let further =
                |(last, _): (End, _)| end.at > last.at || (end.at >= last.at && end.closed);
            if reach.is_none_or(further) {
                reach = Some((end, claim));
            }
        }
        if let Some((end, claim)) = reach.filter(|(end, _)| end.at.is_finite()) {
            let words = format!("no outcome has the values above {} {unit}", plain(end.at));
            self.say(Code::BandsGap, claim, &words, MEET);
        }
    }

    /// Whether a band starts where the ones before it end.
    fn meeting(&mut self, last: End, other: &Claim<'_>, start: End, end: End, claim: &Claim<'_>) {
        let unit = self.unit.symbol();
        let limit = match claim.band.lower.as_ref().map(|bound| &bound.limit) {
            Some(name @ Limit::Named { .. }) => format!("{name} = {}", plain(start.at)),
            _ => plain(start.at),
        };
        if start.at < last.at {
            self.overlap(other, claim, &values(start.at, last.at.min(end.at), unit));
        } else if start.at > last.at {
            let words = format!("no outcome has the {}", values(last.at, start.at, unit));
            self.say(Code::BandsGap, claim, &words, MEET);
        } else if start.closed && last.closed {
            self.overlap(other, claim, &format!("the value {limit} {unit}"));
        } else if !start.closed && !last.closed {
            let words = format!("no outcome has the value {limit} {unit}");
            self.say(Code::BandsGap, claim, &words, PART);
        }
    }

    fn overlap(&mut self, other: &Claim<'_>, claim: &Claim<'_>, values: &str) {
        let words = if other.outcome == claim.outcome {
            format!("two bands of `{}` claim {values}", claim.outcome)
        } else {
            format!(
                "`{}` and `{}` both claim {values}",
                other.outcome, claim.outcome
            )
        };
        self.say(Code::BandsOverlap, claim, &words, PART);
    }
}

/// The values between two ends, which may be infinite.
fn values(from: f64, to: f64, unit: &str) -> String {
    match (from.is_finite(), to.is_finite()) {
        (true, true) => format!("values from {} to {} {unit}", plain(from), plain(to)),
        (true, false) => format!("values from {} {unit} on", plain(from)),
        (false, true) => format!("values below {} {unit}", plain(to)),
        (false, false) => "values".to_owned(),
    }
}

/// Whether a band holds no value at all.
fn is_empty(band: Band) -> bool {
    match (band.from, band.to) {
        (Some(from), Some(to)) => {
            from.at > to.at || (from.at >= to.at && !(from.closed && to.closed))
        }
        _ => false,
    }
}

/// Whether a band goes from the min to the max of one limit.
fn is_from_min_to_max(band: &LimitBand) -> bool {
    let named = |bound: &Option<Bound>, wanted: &str| match bound {
        Some(Bound {
            limit: Limit::Named { sheet, key },
            ..
        }) if key == wanted => Some(sheet.clone()),
        _ => None,
    };
    let lower = named(&band.lower, "min");
    lower.is_some() && lower == named(&band.upper, "max")
}
