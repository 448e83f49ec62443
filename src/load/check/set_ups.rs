//! Set-ups that exclude one another, or that can never be entered.

use std::collections::BTreeMap;

use petgraph::graphmap::DiGraphMap;

use super::circles::circles;
use super::known::Known;
use crate::knowledge::{Family, SetUpId};
use crate::load::folder::{FileKind, RawFamily};
use crate::load::log::{Log, Spot, say};
use crate::load::value::{Items, Name};

/// Findings about sets of set-ups. Groups are looked up by name, since a set-up that could not be read
/// is not in the family's list.
pub(super) fn check(family: &Family, raw: &RawFamily, known: &Known<'_>) {
    if !raw.whole(FileKind::Family) || family.set_ups.len() != known.set_ups.len() {
        return;
    }
    let why = "a vehicle cannot come in with both";
    exclusive(family, known, &raw.file.in_place, why);
    let why = "both cannot be in place for one reading";
    for measurement in raw.measured().filter_map(|entry| entry.value.as_ref()) {
        exclusive(family, known, &measurement.set_ups, why);
    }
    never_entered(family, known);
}

/// Two of a list that share a group.
fn exclusive(family: &Family, known: &Known<'_>, names: &Items<Name>, why: &str) {
    let mut seen: BTreeMap<&str, &str> = BTreeMap::new();
    for name in names.iter() {
        let place = known.set_ups.place(&name.value);
        let set_up = place.and_then(|place| family.set_ups.get(place));
        let Some(group) = set_up.and_then(|set_up| set_up.group.as_deref()) else {
            continue;
        };
        let (name, spot) = (name.value.as_str(), name.spot);
        let other = *seen.entry(group).or_insert(name);
        if other != name {
            let words = format!("`{other}` and `{name}` are of one group, `{group}`: {why}");
            conflict(spot, &words, known.log);
        }
    }
}

fn conflict(spot: Spot, words: &str, log: &Log<'_>) {
    say!(log, spot; SetUpConflict, "{words}" =>
        "entering a set-up leaves the others of its group: take one of them out");
}

/// Set-ups whose needs can never hold: two of one group, or needs that in the end need themselves.
fn never_entered(family: &Family, known: &Known<'_>) {
    let spot = |id: SetUpId| known.set_ups.at(id.index()).1;
    for (id, set_up) in (0..).map(SetUpId::at).zip(&family.set_ups) {
        let mut groups: BTreeMap<&str, &str> = BTreeMap::new();
        let needs = set_up.needs.iter();
        let both = needs
            .filter_map(|id| family.set_ups.get(id.index()))
            .find_map(|need| {
                let other = groups.insert(need.group.as_deref()?, &need.name)?;
                Some((other, &need.name))
            });
        if let Some((one, other)) = both {
            let name = &set_up.name;
            let words = format!("`{name}` needs `{one}` and `{other}`, which exclude each other");
            conflict(spot(id), &words, known.log);
        }
    }
    // What is in place when a vehicle comes in needs nothing.
    let entered = |id: &SetUpId| !family.in_place.contains(id);
    let mut needs: DiGraphMap<SetUpId, ()> = DiGraphMap::new();
    for (id, set_up) in (0..).map(SetUpId::at).zip(&family.set_ups) {
        let needed = set_up
            .needs
            .iter()
            .filter(|need| entered(need) && entered(&id));
        needs.extend(needed.map(|need| (id, *need)));
    }
    for circle in circles(&needs) {
        let names = circle.iter().map(|id| known.set_ups.at(id.index()).0);
        let names: Vec<&str> = names.collect();
        let words = match names.as_slice() {
            [name] => format!("`{name}` needs itself and can never be entered"),
            names => format!(
                "`{}` need each other and can never be entered",
                names.join("`, `")
            ),
        };
        say!(known.log, spot(circle[0]); SetUpConflict, "{words}" =>
            "break the circle: take a need out, or let one be in place when the vehicle comes in");
    }
}
