//! Names of outcomes become their places in a measurement.

use crate::knowledge::{Outcome, OutcomeId};
use crate::load::log::{Log, Spot, say};
use crate::load::value::Entries;

/// Entries whose names are outcomes: the id of each, with what `build` makes of it.
pub(super) fn by_outcome<T, V>(
    entries: &Entries<T>,
    outcomes: &[Outcome],
    log: &Log<'_>,
    build: impl Fn(&T) -> Option<V>,
) -> Vec<(OutcomeId, V)> {
    let found = entries.0.iter().filter_map(|entry| {
        let outcome = outcome(outcomes, &entry.name, entry.spot, log);
        // What the entry says is checked also where its name is unknown.
        let built = entry.value.as_ref().and_then(&build);
        outcome.zip(built)
    });
    found.collect()
}

/// The outcome of a name.
pub(super) fn named(outcomes: &[Outcome], name: &str) -> Option<OutcomeId> {
    outcomes
        .iter()
        .position(|outcome| outcome.name == name)
        .map(OutcomeId::at)
}

/// The outcome of a name, or a finding.
pub(super) fn outcome(
    outcomes: &[Outcome],
    name: &str,
    spot: Spot,
    log: &Log<'_>,
) -> Option<OutcomeId> {
    let found = named(outcomes, name);
    if found.is_none() {
        let names: Vec<&str> = outcomes
            .iter()
            .map(|outcome| outcome.name.as_str())
            .collect();
        say!(log, spot; UnknownOutcome, "this measurement has no outcome `{name}`" =>
            "its outcomes are {}", names.join(", "); log.nearest(name, names.iter().copied()));
    }
    found
}

/// An outcome but the normal one, which takes what the others leave.
pub(super) fn abnormal(
    outcomes: &[Outcome],
    normal: OutcomeId,
    name: &str,
    spot: Spot,
    log: &Log<'_>,
) -> Option<OutcomeId> {
    let found = outcome(outcomes, name, spot, log)?;
    if found == normal {
        say!(log, spot; NormalStated,
            "`{name}` is the normal outcome: it takes what the others leave" =>
            "state the abnormal outcomes alone");
        return None;
    }
    Some(found)
}
