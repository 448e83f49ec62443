//! causes.yaml.

use std::collections::BTreeSet;

use super::known::{Known, in_order};
use super::values;
use crate::knowledge::{Cause, CauseId, Repair, Requires};
use crate::load::folder::RawFamily;
use crate::load::log::{Log, say};

/// The care that every repair asks for.
const CLOSE_OUT: &str = "close-out";
/// More measurements than this verify nothing better.
const MOST_VERIFY: usize = 3;

pub(super) fn repairs(raw: &RawFamily, known: &Known<'_>, log: &Log<'_>) -> Vec<Repair> {
    in_order(&known.repairs, &raw.causes.repairs.0, |entry, repair| {
        let mut care = known.care.ids(&repair.care);
        if let Some(place) = known.care.place(CLOSE_OUT)
            && !care.contains(&place)
        {
            care.push(place);
        }
        if let Some(Some(extra)) = repair.verify_with.0.get(MOST_VERIFY) {
            say!(log, extra.spot; BadNumber,
                    "at most {MOST_VERIFY} measurements verify a repair");
        }
        let ids = |names| known.measurements.ids(names);
        Some(Repair {
            name: entry.name.clone(),
            formerly: known.repairs.former(&repair.formerly),
            title: values::text(&repair.title, log),
            minutes: values::minutes(repair.minutes, log),
            parts: values::money(repair.parts, log),
            requires: repair
                .requires
                .as_ref()
                .map_or_else(Requires::default, |of| Requires {
                    all: ids(&of.all),
                    any: ids(&of.any),
                }),
            set_ups: known.set_ups.ids(&repair.set_ups),
            cautions: known.cautions.ids(&repair.cautions),
            verify: values::text(&repair.verify, log),
            verify_with: ids(&repair.verify_with),
            care,
            opens_valve_body: repair.opens_valve_body,
            reveals: ids(&repair.reveals),
        })
    })
}

/// The causes; `used` are those that stand in a tree, where that is known.
pub(super) fn causes(
    raw: &RawFamily,
    known: &Known<'_>,
    used: Option<&BTreeSet<CauseId>>,
    log: &Log<'_>,
) -> Vec<Cause> {
    in_order(&known.causes, &raw.causes.causes.0, |entry, cause| {
        let id = known.causes.place(&entry.name).map(CauseId::at);
        if let (Some(id), Some(used)) = (id, used)
            && !used.contains(&id)
        {
            say!(log, entry.spot; UnreachableCause, "no tree holds the cause `{}`", entry.name =>
                    "put it into the tree of a symptom it brings about, or delete it");
        }
        let rate = values::rate(cause.rate, log);
        let repair = known.repairs.find(&cause.repair);
        Some(Cause {
            name: entry.name.clone(),
            formerly: known.causes.former(&cause.formerly),
            title: values::text(&cause.title, log),
            part: values::text(&cause.part, log),
            rate: rate?,
            repair: repair?,
            source: values::text(&cause.source, log),
        })
    })
}
