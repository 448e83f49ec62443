//! Set-ups that exclude one another, or that can never be entered.

use std::collections::{BTreeMap, BTreeSet};

use petgraph::algo::kosaraju_scc;
use petgraph::graphmap::DiGraphMap;

use super::known::Known;
use crate::knowledge::{Family, SetUp, SetUpId};
use crate::load::folder::{FileKind, RawFamily};
use crate::load::log::{Log, Spot, say};
use crate::load::value::{Items, Name};

/// Findings about sets of set-ups. Groups are looked up by name, since a set-up that could not be read
/// is not in the family's list.
pub(super) fn check(family: &Family, raw: &RawFamily, known: &Known<'_>, log: &Log<'_>) {
    if !raw.whole(FileKind::Family) || family.set_ups.len() != known.set_ups.len() {
        return;
    }
    let why = "a vehicle cannot come in with both";
    exclusive(family, known, &raw.file.in_place, why, log);
    let why = "both cannot be in place for one reading";
    for entry in raw
        .measurements
        .iter()
        .flat_map(|file| &file.measurements.0)
    {
        if let Some(measurement) = &entry.value {
            exclusive(family, known, &measurement.set_ups, why, log);
        }
    }
    never_entered(family, raw, log);
}

/// Two of a list that share a group.
fn exclusive(family: &Family, known: &Known<'_>, names: &Items<Name>, why: &str, log: &Log<'_>) {
    let mut seen: BTreeMap<&str, &SetUp> = BTreeMap::new();
    for name in names.iter() {
        let set_up = known
            .set_ups
            .place(&name.value)
            .and_then(|place| family.set_ups.get(place));
        let Some((set_up, group)) =
            set_up.and_then(|set_up| set_up.group.as_ref().map(|group| (set_up, group)))
        else {
            continue;
        };
        let other = *seen.entry(group).or_insert(set_up);
        if other.name != set_up.name {
            conflict(
                name.spot,
                &format!(
                    "`{}` and `{}` are of one group, `{group}`: {why}",
                    other.name, set_up.name
                ),
                log,
            );
        }
    }
}

fn conflict(spot: Spot, words: &str, log: &Log<'_>) {
    say!(log, spot; SetUpConflict, "{words}" =>
        "entering a set-up leaves the others of its group: take one of them out");
}

/// Set-ups whose needs can never hold: two of one group, or needs that in the end need themselves.
fn never_entered(family: &Family, raw: &RawFamily, log: &Log<'_>) {
    let spots: BTreeMap<&str, Spot> = raw
        .file
        .set_ups
        .0
        .iter()
        .map(|entry| (entry.name.as_str(), entry.spot))
        .collect();
    let mut bad: BTreeSet<usize> = BTreeSet::new();
    for (place, set_up) in family.set_ups.iter().enumerate() {
        let mut groups: BTreeMap<&str, &SetUp> = BTreeMap::new();
        for need in set_up
            .needs
            .iter()
            .filter_map(|id| family.set_ups.get(id.index()))
        {
            let Some(group) = &need.group else { continue };
            if let Some(other) = groups.insert(group, need)
                && bad.insert(place)
                && let Some(spot) = spots.get(set_up.name.as_str())
            {
                conflict(
                    *spot,
                    &format!(
                        "`{}` needs `{}` and `{}`, which exclude each other",
                        set_up.name, other.name, need.name
                    ),
                    log,
                );
            }
        }
    }
    // What can be entered, from what is in place on: each set-up waits for its needs.
    let mut reached: BTreeSet<SetUpId> = BTreeSet::new();
    let mut waits: Vec<usize> = family
        .set_ups
        .iter()
        .map(|set_up| set_up.needs.len())
        .collect();
    let mut waiting: BTreeMap<SetUpId, Vec<usize>> = BTreeMap::new();
    let mut ready: Vec<SetUpId> = family.in_place.clone();
    for (place, set_up) in family.set_ups.iter().enumerate() {
        if set_up.needs.is_empty() {
            ready.push(SetUpId::at(place));
        }
        for need in &set_up.needs {
            waiting.entry(*need).or_default().push(place);
        }
    }
    while let Some(next) = ready.pop() {
        if !reached.insert(next) {
            continue;
        }
        for place in waiting.get(&next).into_iter().flatten() {
            waits[*place] -= 1;
            if waits[*place] == 0 {
                ready.push(SetUpId::at(*place));
            }
        }
    }
    // Whoever was not reached needs a circle, or stands in one. The circles are what to mend.
    let mut needs: DiGraphMap<usize, ()> = DiGraphMap::new();
    for (place, set_up) in family.set_ups.iter().enumerate() {
        if !reached.contains(&SetUpId::at(place)) {
            for need in set_up.needs.iter().filter(|need| !reached.contains(need)) {
                needs.add_edge(place, need.index(), ());
            }
        }
    }
    for mut circle in kosaraju_scc(&needs) {
        circle.sort_unstable();
        let alone = circle.len() == 1 && !needs.contains_edge(circle[0], circle[0]);
        let names: Vec<&str> = circle
            .iter()
            .filter_map(|place| family.set_ups.get(*place))
            .map(|set_up| set_up.name.as_str())
            .collect();
        let Some(spot) = names
            .first()
            .and_then(|name| spots.get(name))
            .filter(|_| !alone)
        else {
            continue;
        };
        let words = match names.as_slice() {
            [name] => format!("`{name}` needs itself and can never be entered"),
            names => format!(
                "`{}` need each other and can never be entered",
                names.join("`, `")
            ),
        };
        say!(log, *spot; SetUpConflict, "{words}" =>
            "break the circle: take a need out, or let one be in place when the vehicle comes in");
    }
}
