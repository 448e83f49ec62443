//! Set-ups and measurements that lack what all others of their kind have.

use std::collections::BTreeSet;

use super::desk::Desk;
use crate::knowledge::{Family, InstrumentId, Measurement, SetUpId};
use crate::load::{Code, FileKind};

/// So many others must have it.
const OTHERS: usize = 2;

pub(super) fn judge(desk: &Desk<'_>) {
    chains(desk);
    readings(desk);
}

/// Set-ups that tie up the same equipment are the same work at another place: what all the others need, each needs.
fn chains(desk: &Desk<'_>) {
    let family = desk.family;
    let needs = |id: &SetUpId| in_place_for(family, &family.set_up(*id).needs);
    let ids: Vec<SetUpId> = (0..family.set_ups.len()).map(SetUpId::at).collect();
    for id in &ids {
        let set_up = family.set_up(*id);
        let others = ids.iter().filter(|other| {
            *other != id
                && set_up.equipment.is_some()
                && family.set_up(**other).equipment == set_up.equipment
        });
        let lacking = lacking(&needs(id), others.map(needs));
        if !lacking.is_empty() {
            desk.at_name(
                Code::SetUpLacks,
                (FileKind::Family, &["set_ups", &set_up.name]),
                format!(
                    "the other set-ups with {} need {}, and `{}` does not",
                    set_up.equipment.as_deref().unwrap_or_default(),
                    family.names_of(&lacking).join(" and "),
                    set_up.name
                ),
                "add it to its `needs`, or to the `needs` of what it needs",
            );
        }
    }
}

/// The measurements that read one instrument have it fitted: the equipment that all the others tie up, each does.
fn readings(desk: &Desk<'_>) {
    let family = desk.family;
    let equipment = |of: &Measurement| -> BTreeSet<&str> {
        let set_ups = in_place_for(family, &of.set_ups).into_iter();
        let equipment = set_ups.filter_map(|id| family.set_up(id).equipment.as_deref());
        equipment.collect()
    };
    for (index, measurement) in family.measurements.iter().enumerate() {
        let Some(instrument) = instrument(measurement) else {
            continue;
        };
        let all = family.measurements.iter().enumerate();
        let others =
            all.filter(|(other, of)| *other != index && self::instrument(of) == Some(instrument));
        let lacks = lacking(&equipment(measurement), others.map(|(_, of)| equipment(of)));
        if !lacks.is_empty() {
            desk.at_name(
                Code::SetUpLacks,
                (FileKind::Measurements, &["measurements", &measurement.name]),
                format!(
                    "the other measurements with `{}` need a set-up with {}, and `{}` does not",
                    family.name_of(instrument),
                    lacks.join(" and "),
                    measurement.name
                ),
                "add the set-up to its `set_ups`",
            );
        }
    }
}

/// The instrument of a number that is read and not computed.
fn instrument(measurement: &Measurement) -> Option<InstrumentId> {
    measurement.number()?.instrument
}

/// What is in place once these are: they, what they need and what they set, and so on.
fn in_place_for(family: &Family, set_ups: &[SetUpId]) -> BTreeSet<SetUpId> {
    let mut known = BTreeSet::new();
    let mut next = set_ups.to_vec();
    while let Some(id) = next.pop() {
        if known.insert(id) {
            let set_up = family.set_up(id);
            next.extend(set_up.needs.iter().chain(&set_up.sets));
        }
    }
    known
}

/// What all the others have, where they are enough, and `own` has not.
fn lacking<T: Ord + Copy>(own: &BTreeSet<T>, others: impl Iterator<Item = BTreeSet<T>>) -> Vec<T> {
    let others: Vec<BTreeSet<T>> = others.collect();
    let Some((first, rest)) = others.split_first().filter(|_| others.len() >= OTHERS) else {
        return Vec::new();
    };
    let all = first
        .iter()
        .filter(|one| !own.contains(one) && rest.iter().all(|other| other.contains(one)));
    all.copied().collect()
}
