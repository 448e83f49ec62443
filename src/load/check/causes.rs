//! causes.yaml.

use std::collections::BTreeSet;

use super::known::{Known, in_order};
use super::names::each_once;
use super::values;
use crate::knowledge::{Cause, CauseId, Repair, Requires, Verify};
use crate::load::folder::RawFamily;
use crate::load::log::say;
use crate::load::value::{Items, Name};

/// The care that every repair asks for.
const CLOSE_OUT: &str = "close-out";

pub(super) fn repairs(raw: &RawFamily, known: &Known<'_>) -> Vec<Repair> {
    in_order(&known.repairs, &raw.causes.repairs.0, |entry, repair| {
        let mut care = known.care.ids(&repair.care);
        if let Some(place) = known.care.place(CLOSE_OUT)
            && !care.contains(&place)
        {
            care.push(place);
        }
        let ids = |names| known.measurements.ids(names);
        let requires = repair.requires.as_ref().map(|of| Requires {
            all: ids(&of.all),
            any: ids(&of.any),
        });
        Some(Repair {
            name: entry.name.clone(),
            formerly: known.repairs.former(&repair.formerly),
            title: repair.title.clone(),
            minutes: repair.minutes,
            parts: repair.parts,
            requires: requires.unwrap_or_default(),
            set_ups: known.set_ups.ids(&repair.set_ups),
            cautions: known.cautions.ids(&repair.cautions),
            verify: repair.verify.clone(),
            verify_with: verify_with(&repair.verify_with, known),
            care,
            opens_valve_body: repair.opens_valve_body,
            unit_out: repair.unit_out,
            reveals: ids(&repair.reveals),
        })
    })
}

/// What verifies a repair: an entry with a blank in it is confirmed by word, any other names a measurement.
fn verify_with(entries: &Items<Name>, known: &Known<'_>) -> Vec<Verify> {
    let verify = |entry: &Name| {
        let words = entry.value.trim();
        if words.contains(char::is_whitespace) {
            return Some(Verify::Confirm(words.to_owned()));
        }
        known.measurements.find(entry).map(Verify::Read)
    };
    each_once(entries, verify, known.log)
}

/// The causes; `used` are those that stand in a tree, where that is known.
pub(super) fn causes(
    raw: &RawFamily,
    known: &Known<'_>,
    used: Option<&BTreeSet<CauseId>>,
) -> Vec<Cause> {
    in_order(&known.causes, &raw.causes.causes.0, |entry, cause| {
        let id = known.causes.place(&entry.name).map(CauseId::at);
        if let (Some(id), Some(used)) = (id, used)
            && !used.contains(&id)
        {
            say!(known.log, entry.spot; UnreachableCause, "no tree holds the cause `{}`", entry.name =>
                    "put it into the tree of a symptom it brings about, or delete it");
        }
        let rate = values::rate(cause.rate, known.log);
        let repair = known.repairs.find(&cause.repair);
        Some(Cause {
            name: entry.name.clone(),
            formerly: known.causes.former(&cause.formerly),
            title: cause.title.clone(),
            part: cause.part.clone(),
            rate: rate?,
            repair: repair?,
            source: cause.source.clone(),
        })
    })
}
