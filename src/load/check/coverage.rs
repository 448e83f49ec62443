//! Bands with the numbers of one vehicle: every value belongs to exactly one outcome.

use std::collections::BTreeSet;

use crate::knowledge::{Limit, LimitBand, Vehicle};
use crate::load::code::Code;
use crate::load::log::{Log, Report, Spot};
use crate::load::raw::measurements as raw;
use crate::text::plain;
use crate::units::Unit;
use crate::units::conformity::{Band, End};

const MEET: &str = "every value must belong to an outcome: let the bands meet";
const PART: &str =
    "let one band end where the other starts: `below` with `from`, or `to` with `above`";

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
            let mut sheets: Vec<&str> = claims
                .iter()
                .flat_map(Claim::named)
                .map(|(sheet, _, _)| sheet)
                .collect();
            sheets.sort_unstable();
            sheets.dedup();
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
        if let Some((first, claim)) = bands.first()
            && let Some(end) = first.from
        {
            let words = format!("no outcome has the values below {} {unit}", plain(end.at));
            self.say(Code::BandsGap, claim, &words, MEET);
        }
        // How far the bands so far reach; and the one that has no upper end.
        let mut reach: Option<(End, &Claim<'_>)> = None;
        let mut endless: Option<&Claim<'_>> = None;
        for (band, claim) in bands {
            if let Some(other) = endless {
                let values = match band.from {
                    Some(end) => format!("values from {} {unit} on", plain(end.at)),
                    None => "values".to_owned(),
                };
                self.overlap(other, claim, &values);
            } else if let Some((end, other)) = reach {
                self.meeting(end, other, *band, claim);
            }
            match band.to {
                None => endless = endless.or(Some(claim)),
                Some(end) => {
                    let further = reach.is_none_or(|(last, _)| {
                        end.at > last.at || (end.at >= last.at && end.closed)
                    });
                    if further {
                        reach = Some((end, claim));
                    }
                }
            }
        }
        if let (None, Some((end, claim))) = (endless, reach) {
            let words = format!("no outcome has the values above {} {unit}", plain(end.at));
            self.say(Code::BandsGap, claim, &words, MEET);
        }
    }

    /// Whether a band starts where the ones before it end.
    fn meeting(&mut self, end: End, other: &Claim<'_>, band: Band, claim: &Claim<'_>) {
        let unit = self.unit.symbol();
        let upper = plain(end.at.min(band.highest()));
        let Some(start) = band.from else {
            self.overlap(other, claim, &format!("values below {upper} {unit}"));
            return;
        };
        let from = plain(start.at);
        let limit = match claim.band.lower.as_ref().map(|bound| &bound.limit) {
            Some(name @ Limit::Named { .. }) => format!("{name} = {from}"),
            _ => from.clone(),
        };
        if start.at < end.at {
            self.overlap(
                other,
                claim,
                &format!("values from {from} to {upper} {unit}"),
            );
        } else if start.at > end.at {
            let gap = plain(end.at);
            let words = format!("no outcome has the values from {gap} to {from} {unit}");
            self.say(Code::BandsGap, claim, &words, MEET);
        } else if start.closed && end.closed {
            self.overlap(other, claim, &format!("the value {limit} {unit}"));
        } else if !start.closed && !end.closed {
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
    let mut ends = band.limits().map(|limit| match limit {
        Limit::Named { sheet, key } => Some((sheet.as_str(), key.as_str())),
        Limit::Number(_) => None,
    });
    match (ends.next().flatten(), ends.next().flatten()) {
        (Some((lower, "min")), Some((upper, "max"))) => lower == upper,
        _ => false,
    }
}
