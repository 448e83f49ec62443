//! The end of a job: the repair is verified, and the cause that was found is named.

use jiff::Timestamp;

use super::at_hand::at_hand;
use super::conditions::{hold, stall_left};
use super::core::Session;
use super::measure::Measure;
use super::prompt::{Ask, Choice, Prompt, ReadingAsked};
use super::recorded::recorded_case;
use crate::infer::Model;
use crate::knowledge::{CauseId, Family, RepairId};
use crate::record::{Closed, Found, History, Repaired, State};
use crate::text::{nearest, quoted};

/// The outcome that the record has for a verification reading that was not taken.
pub(super) const NOT_TAKEN: &str = "not-taken";

/// What a repair cured, as far as it shows by having cured it.
pub(super) struct Cured {
    /// The causes that it was in any case.
    pub(super) certain: Vec<CauseId>,
    /// The causes of which it was one, or several, the likeliest by the readings first.
    pub(super) among: Vec<CauseId>,
    /// How that is known; none where today's knowledge has no candidate with these repairs.
    pub(super) found: Option<Found>,
}

/// The next question of a job whose repair is to be verified: its measurements in the order in which the repairs name
/// them, the bench before the vehicle runs again; then whether the complaint is gone.
pub(super) fn verify_prompt(
    session: &Session<'_>,
    history: &History,
    done: &Repaired,
    now: Timestamp,
) -> Prompt {
    let family = session.family;
    let repairs: Vec<RepairId> = done
        .repair
        .repairs
        .iter()
        .filter_map(|name| family.repair_known_as(name))
        .collect();
    let read = |name: &str| done.verifications.iter().any(|v| v.measurement == name);
    let next = repairs
        .iter()
        .flat_map(|repair| family.repair(*repair).verify_with.iter().copied())
        .find(|id| !read(&family.measurement(*id).name));
    let Some(id) = next else {
        let close_out = family.care.iter().find(|care| care.name == "close-out");
        return Prompt::of(Ask::Fixed {
            verify: repairs
                .iter()
                .map(|repair| family.repair(*repair).verify.clone())
                .chain(close_out.map(|care| care.text.clone()))
                .collect(),
            off: done
                .verifications
                .iter()
                .filter(|v| !v.as_expected && v.outcome != NOT_TAKEN)
                .map(|v| v.measurement.clone())
                .collect(),
        });
    };
    let at = at_hand(history);
    let ask = stall_left(family, history.state(), &at, id, now)
        .or_else(|| hold(family, &at, id))
        .unwrap_or_else(|| {
            let measurement = family.measurement(id);
            let asked = ReadingAsked::of(measurement, session.vehicle, at.instrument, true);
            Ask::Reading(Box::new(asked))
        });
    Prompt {
        measure: Some(Box::new(Measure::of(
            family,
            session.vehicle,
            session.system,
            id,
        ))),
        ..Prompt::of(ask)
    }
}

/// What a closed job was, and which causes it can have been where nobody knows yet.
pub(super) fn closed_prompt(session: &Session<'_>, state: &State, closed: &Closed) -> Prompt {
    let family = session.family;
    let known = matches!(closed.found, Some(Found::Stated | Found::Only));
    let cured = state.repairs.last().filter(|_| !known);
    let cured = cured.map(|done| cured_by(session, state, done));
    let titles = |names: &[String], between: &str| {
        let titles: Vec<&str> = names
            .iter()
            .filter_map(|name| family.cause_known_as(name))
            .map(|id| family.cause(id).title.as_str())
            .collect();
        titles.join(between)
    };
    let mut parts = Vec::new();
    if !closed.causes.is_empty() {
        parts.push(titles(&closed.causes, "; and "));
    }
    if !closed.among.is_empty() {
        parts.push(format!("one of: {}", titles(&closed.among, "; ")));
    }
    Prompt::of(Ask::Closed {
        cured: format!("{} ({})", parts.join("; and "), closed.repairs.join(" + ")),
        found: closed.found,
        choices: cured.map_or_else(Vec::new, |cured| choices(family, &cured.among)),
    })
}

/// The causes to choose from.
pub(super) fn choices(family: &Family, causes: &[CauseId]) -> Vec<Choice> {
    causes
        .iter()
        .map(|id| family.cause(*id))
        .map(|cause| Choice::new(&cause.name, &cause.title))
        .collect()
}

/// The names of causes.
fn names(family: &Family, causes: &[CauseId]) -> Vec<String> {
    causes
        .iter()
        .map(|cause| family.cause(*cause).name.clone())
        .collect()
}

impl Cured {
    /// The closing of the job with the causes that were seen; none where nobody saw it.
    pub(super) fn closing(self, family: &Family, done: &Repaired, seen: Vec<CauseId>) -> Closed {
        let mut closed = Closed {
            fixed: true,
            causes: Vec::new(),
            repairs: done.repair.repairs.clone(),
            found: self.found,
            among: Vec::new(),
            words: None,
        };
        let mut causes = self.certain;
        if !self.among.is_empty() {
            if seen.is_empty() {
                closed.found = Some(Found::Unknown);
                closed.among = names(family, &self.among);
            } else {
                closed.found = Some(Found::Stated);
                causes.extend(seen);
                causes.sort_unstable();
                causes.dedup();
            }
        }
        closed.causes = names(family, &causes);
        closed
    }
}

/// What a repair cured: of the candidates with just these repairs, the causes that all of them hold, and the causes
/// that only some hold. A set that holds another adds nothing.
pub(super) fn cured_by(session: &Session<'_>, state: &State, done: &Repaired) -> Cured {
    let family = session.family;
    let mut repairs: Vec<RepairId> = done
        .repair
        .repairs
        .iter()
        .filter_map(|name| family.repair_known_as(name))
        .collect();
    repairs.sort_unstable();
    let case = recorded_case(family, state);
    let mut believed: Vec<(f64, Vec<CauseId>)> = Vec::new();
    if let Ok(model) = Model::new(family, session.vehicle, case.complaint) {
        let belief = model.update(&case.evidence);
        for (place, candidate) in model.candidates.iter().enumerate() {
            if model.repairs(place) == repairs {
                believed.push((belief.posterior[place], candidate.causes.clone()));
            }
        }
    }
    let sets: Vec<Vec<CauseId>> = believed.iter().map(|(_, set)| set.clone()).collect();
    let holds = |set: &[CauseId], other: &[CauseId]| {
        other.len() < set.len() && other.iter().all(|cause| set.contains(cause))
    };
    believed.retain(|(_, set)| !sets.iter().any(|other| holds(set, other)));
    if believed.is_empty() {
        // The knowledge has changed since: what the repair was done for.
        let causes = done.repair.causes.iter();
        return Cured {
            certain: causes
                .filter_map(|name| family.cause_known_as(name))
                .collect(),
            among: Vec::new(),
            found: None,
        };
    }
    believed.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    let mut cured = Cured {
        certain: Vec::new(),
        among: Vec::new(),
        found: Some(Found::Only),
    };
    for cause in believed.iter().flat_map(|(_, set)| set) {
        let list = if believed.iter().all(|(_, set)| set.contains(cause)) {
            &mut cured.certain
        } else {
            &mut cured.among
        };
        if !list.contains(cause) {
            list.push(*cause);
        }
    }
    cured
}

/// The causes that were typed: numbers of the list, or names of causes that the repairs cure; none for `unknown`.
///
/// # Errors
///
/// Words where it is no answer.
pub(super) fn seen(
    family: &Family,
    text: &str,
    among: &[CauseId],
    repairs: &[String],
) -> Result<Vec<CauseId>, String> {
    let typed: Vec<&str> = listed(text).collect();
    let is_unknown = |part: &&str| *part == "0" || part.eq_ignore_ascii_case("unknown");
    match typed.as_slice() {
        [] => {
            return Err(
                "Type its number, several with a comma, or 0 where nobody saw it.".to_owned(),
            );
        }
        [only] if is_unknown(only) => return Ok(Vec::new()),
        several if several.iter().any(is_unknown) => {
            return Err("It is unknown, or one of the list: not both.".to_owned());
        }
        _ => {}
    }
    let has_repair = |id: &CauseId| repairs.contains(&family.repair(family.cause(*id).repair).name);
    typed
        .into_iter()
        .map(|part| {
            let by_name = || family.cause_named(&part.to_lowercase()).filter(has_repair);
            at_place(part, among).or_else(by_name).ok_or_else(|| {
                let known = among.iter().map(|id| family.cause(*id).name.as_str());
                let meant = nearest(part, known).map_or_else(
                    || "type a number of the list, or 0 where nobody saw it".to_owned(),
                    |near| format!("did you mean `{near}`?"),
                );
                format!(
                    "{} is no cause that this repair cures: {meant}",
                    quoted(part)
                )
            })
        })
        .collect()
}

/// The pieces of a list that was typed, between commas or spaces.
pub(super) fn listed(text: &str) -> impl Iterator<Item = &str> {
    text.split([',', ' '])
        .map(str::trim)
        .filter(|part| !part.is_empty())
}

/// What is at a typed place of a list, from 1.
pub(super) fn at_place<T: Copy>(text: &str, list: &[T]) -> Option<T> {
    let place: usize = text.parse().ok()?;
    list.get(place.checked_sub(1)?).copied()
}
