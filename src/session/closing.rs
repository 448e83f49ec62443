//! The end of a job: the repair is verified, and the cause that was found is named.

use jiff::Timestamp;

use super::answer::{Answer, Step};
use super::at_hand::at_hand;
use super::conditions::{asks, yes_or_no};
use super::core::Session;
use super::measure::{Measure, SetUpAsked};
use super::on_the_way::on_the_way;
use super::prompt::{Ask, Choice, Prompt};
use super::recorded::{RecordedCase, recorded_case};
use super::turn::Turn;
use crate::entry::{self, Aside, aside, choose};
use crate::infer::Model;
use crate::knowledge::{CauseId, Family, MeasurementId, RepairId, Verify};
use crate::record::{Closed, Event, Found, History, Repaired, State, Verification};
use crate::text::{nearest, quoted};

/// The outcome that the record has for a verification reading that was not taken, or does not count.
pub(super) const NOT_TAKEN: &str = "not-taken";
/// What the record has as typed where a verification reading was left out.
pub(super) const SKIPPED: &str = "not taken";
/// What is said to somebody who cannot say yet whether the complaint is gone.
pub(super) const WAITS: &str = "Then the job waits: `stop` leaves it open, and once the vehicle has been driven it goes on \
                                with this question. `note` keeps what was seen meanwhile.";

/// The answers to what is confirmed in words, and what each means.
const CONFIRMED: [(&str, &str); 3] = [
    ("done", "it is done, and in order"),
    (NOT_DONE, "the job stays open until it is"),
    ("does-not-apply", "this vehicle does not have it"),
];
const NOT_DONE: &str = "not-done";

/// What a repair cured, as far as its success shows.
struct Cured {
    /// The causes that it was in any case.
    certain: Vec<CauseId>,
    /// The causes of which it was one, or several, the likeliest by the readings first.
    among: Vec<CauseId>,
    /// How that is known; none where today's knowledge has no candidate with these repairs.
    found: Option<Found>,
}

/// The next question of a job whose repair is to be verified: its measurements in the order in which the repairs name
/// them, the bench before the vehicle runs again; then whether the complaint is gone.
pub(super) fn verify_prompt(
    session: &Session<'_>,
    history: &History,
    case: &RecordedCase,
    done: &Repaired,
    now: Timestamp,
) -> Prompt {
    let family = session.family;
    let ids = repairs_of(family, done);
    let repairs = ids.iter().map(|id| family.repair(*id));
    // A reading that does not count is asked for again.
    let stands = |v: &&Verification| v.outcome != NOT_TAKEN || v.raw == SKIPPED;
    let answered = || done.verifications.iter().filter(stands);
    let read = |name: &str| answered().any(|v| v.measurement == name);
    let mut forbidden: Vec<MeasurementId> = Vec::new();
    for verify in repairs.clone().flat_map(|repair| &repair.verify_with) {
        match verify {
            Verify::Read(id) if !read(&family.measurement(*id).name) => {
                let Some(way) = case.way_to(family, *id, &ids) else {
                    forbidden.push(*id);
                    continue;
                };
                let measure = Measure::of(session, *id).reached_by(family, &way);
                return Prompt {
                    ask: asks(session, history, &at_hand(history), &measure, now),
                    measure: Some(Box::new(measure)),
                    ..Prompt::of(Ask::Complaint)
                };
            }
            Verify::Confirm(words) if !read(words) => return Prompt::of(confirm(words)),
            Verify::Read(_) | Verify::Confirm(_) => {}
        }
    }
    let close_out = family.care.iter().find(|care| care.name == "close-out");
    let verify = repairs.map(|repair| repair.verify.clone());
    let left_out = answered().filter(|v| {
        let taken =
            |other: &Verification| other.measurement == v.measurement && other.outcome != NOT_TAKEN;
        v.outcome == NOT_TAKEN && !done.verifications.iter().any(taken)
    });
    let verifications = done.verifications.iter();
    let off = verifications
        .filter(|v| !v.as_expected && ![NOT_TAKEN, NOT_DONE].contains(&v.outcome.as_str()));
    let forbidden = forbidden.iter().map(|id| {
        let title = &family.measurement(*id).title;
        format!("Not to be read now, by what was read before: {title}.")
    });
    Prompt::of(Ask::Fixed {
        verify: verify.chain(forbidden).collect(),
        put_back: SetUpAsked::to_put_back(family, case.circumstances.standing()),
        first: close_out.map(|care| care.text.clone()),
        not_read: left_out.map(|v| title_of(family, &v.measurement)).collect(),
        off: off.map(|v| title_of(family, &v.measurement)).collect(),
        not_done: not_done(done),
    })
}

/// What a recorded name measures; the name itself where the knowledge has it no longer.
fn title_of(family: &Family, name: &str) -> String {
    let id = family.measurement_known_as(name);
    id.map_or_else(
        || name.to_owned(),
        |id| family.measurement(id).title.clone(),
    )
}

/// What verifies a repair in words, to be confirmed.
fn confirm(words: &str) -> Ask {
    Ask::Confirm {
        question: words.to_owned(),
        choices: CONFIRMED
            .map(|(name, title)| Choice::new(name, title))
            .to_vec(),
    }
}

/// What was said not to be done, and not to be done since.
fn not_done(done: &Repaired) -> Vec<String> {
    let mut open: Vec<String> = Vec::new();
    for verification in &done.verifications {
        open.retain(|words| *words != verification.measurement);
        if verification.outcome == NOT_DONE {
            open.push(verification.measurement.clone());
        }
    }
    open
}

/// What a closed job was, and which causes it can have been where nobody knows yet.
pub(super) fn closed_prompt(session: &Session<'_>, state: &State, closed: &Closed) -> Prompt {
    let family = session.family;
    let titles = |names: &[String], between: &str| {
        let known = names.iter().filter_map(|name| family.cause_known_as(name));
        let titles: Vec<&str> = known.map(|id| family.cause(id).title.as_str()).collect();
        titles.join(between)
    };
    let repaired = closed.repairs.iter().map(|name| {
        let id = family.repair_known_as(name);
        id.map_or(name.as_str(), |id| family.repair(id).title.as_str())
    });
    let repaired: Vec<&str> = repaired.collect();
    let mut parts = Vec::new();
    if !closed.causes.is_empty() {
        parts.push(titles(&closed.causes, "; and "));
    }
    if !closed.among.is_empty() {
        parts.push(format!("one of: {}", titles(&closed.among, "; ")));
    }
    let known = matches!(closed.found, Some(Found::Stated | Found::Only));
    let done = state.repairs.last().filter(|_| !known);
    if parts.is_empty() {
        parts.push("No listed cause".to_owned());
    }
    Prompt::of(Ask::Closed {
        cured: format!(
            "{}. Done: {}.",
            parts.join("; and "),
            repaired.join("; and ")
        ),
        found: closed.found,
        choices: done.map_or_else(Vec::new, |done| {
            choices(family, &cured_by(session, state, done).among)
        }),
        on_the_way: {
            let done = state
                .repairs
                .iter()
                .flat_map(|done| repairs_of(family, done));
            let evidence = recorded_case(family, state).evidence;
            on_the_way(family, &evidence, &done.collect::<Vec<_>>())
        },
    })
}

impl Turn<'_> {
    /// Whether the repair cured the complaint: closes the job, asks which cause it was, or goes on looking.
    pub(super) fn fixed(&self, text: &str) -> Result<Step, String> {
        let (family, state) = (self.session.family, self.history.state());
        let fixed = yes_or_no(text).zip(state.under_verification());
        let waits = || match aside(text) {
            Some(Aside::NotKnown | Aside::NotHere | Aside::Next) => WAITS,
            _ => "Answer yes or no.",
        };
        let (fixed, done) = fixed.ok_or_else(waits)?;
        if !fixed {
            return Ok(not_fixed(done));
        }
        if let Some(words) = not_done(done).first() {
            let said =
                format!("Not closed before this is done: {words}. `stop` leaves the job open.");
            return Ok(self.asking(vec![said], confirm(words)));
        }
        let cured = cured_by(&self.session, state, done);
        if cured.among.is_empty() {
            let closed = cured.closing(family, done, Vec::new());
            return Ok(Step::record(vec![Event::Closed(closed)]));
        }
        let choices = choices(family, &cured.among);
        Ok(self.asking(Vec::new(), Ask::Found { choices }))
    }

    /// Which cause was found.
    pub(super) fn found(&self, answer: Answer) -> Result<Step, String> {
        let (family, state) = (self.session.family, self.history.state());
        let Some(done) = state.repairs.last() else {
            return Ok(Step::default());
        };
        let cured = cured_by(&self.session, state, done);
        let seen = match answer {
            Answer::Typed(text) => seen(family, &text, &cured.among, &done.repair.repairs)?,
            Answer::Skip | Answer::Cannot(_) => Vec::new(),
            // Nothing of this answer is kept yet: the question before is asked again.
            Answer::Back(1) => return Ok(Step::default()),
            Answer::Note(words) => return Ok(self.note(words)),
            _ if state.closed.is_some() => {
                return Err(
                    "The job is closed: here it can only be said which cause it was.".to_owned(),
                );
            }
            answer => return self.answer(answer),
        };
        let closed = cured.closing(family, done, seen);
        Ok(match &state.closed {
            None => Step::record(vec![Event::Closed(closed)]),
            Some(before) if closed == before.what || closed.found == Some(Found::Unknown) => {
                Step::default()
            }
            Some(_) => Step::record(vec![
                Event::Reopened {
                    words: Some("to say which cause was found".to_owned()),
                },
                Event::Closed(closed),
            ]),
        })
    }
}

/// Whether something that verifies the repair is done.
pub(super) fn confirmed(words: &str, text: &str) -> Result<Step, String> {
    let choices = CONFIRMED.map(|(name, gloss)| entry::Choice {
        name,
        gloss,
        words: &[],
    });
    let place = text
        .parse::<usize>()
        .ok()
        .and_then(|place| place.checked_sub(1));
    let place = place.filter(|place| *place < choices.len());
    let place = place.map_or_else(|| choose(text, &choices, &[]), Ok);
    let place = place.map_err(|_| "Type done, not done, or does not apply.")?;
    let outcome = CONFIRMED[place].0;
    Ok(Step::record(vec![Event::Verification(Verification {
        measurement: words.to_owned(),
        raw: text.to_owned(),
        outcome: outcome.to_owned(),
        as_expected: outcome != NOT_DONE,
    })]))
}

/// The repair did not cure the complaint.
fn not_fixed(done: &Repaired) -> Step {
    let repairs = done.repair.repairs.clone();
    let words = "Not fixed: what this repair would have cured is out, and the diagnosis goes on.";
    Step::record(vec![Event::Closed(Closed {
        fixed: false,
        causes: done.repair.causes.clone(),
        repairs,
        found: None,
        among: Vec::new(),
        words: None,
    })])
    .saying(words)
}

/// The repairs that were done, as far as the knowledge still has them.
fn repairs_of(family: &Family, done: &Repaired) -> Vec<RepairId> {
    let names = done.repair.repairs.iter();
    names
        .filter_map(|name| family.repair_known_as(name))
        .collect()
}

/// The causes to choose from.
fn choices(family: &Family, causes: &[CauseId]) -> Vec<Choice> {
    let causes = causes.iter().map(|id| family.cause(*id));
    causes
        .map(|cause| Choice::new(&cause.name, &cause.title))
        .collect()
}

impl Cured {
    /// The closing of the job with the causes that were seen; none where nobody saw it.
    fn closing(self, family: &Family, done: &Repaired, seen: Vec<CauseId>) -> Closed {
        let (found, among) = match (self.among.is_empty(), seen.is_empty()) {
            (true, _) => (self.found, Vec::new()),
            (false, true) => (Some(Found::Unknown), self.among),
            (false, false) => (Some(Found::Stated), Vec::new()),
        };
        let mut causes = self.certain;
        if found == Some(Found::Stated) {
            causes.extend(seen);
            causes.sort_unstable();
            causes.dedup();
        }
        Closed {
            fixed: true,
            causes: family.names_of(&causes),
            repairs: done.repair.repairs.clone(),
            found,
            among: family.names_of(&among),
            words: None,
        }
    }
}

/// What a repair cured: of the candidates with just these repairs, the causes that all of them hold, and the causes
/// that only some hold. A set that holds another adds nothing.
fn cured_by(session: &Session<'_>, state: &State, done: &Repaired) -> Cured {
    let family = session.family;
    let mut repairs = repairs_of(family, done);
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
    believed.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    let mut cured = Cured {
        certain: Vec::new(),
        among: Vec::new(),
        found: (!believed.is_empty()).then_some(Found::Only),
    };
    if believed.is_empty() {
        // The knowledge has changed since, or the repair is for another complaint: what it was done for.
        let causes = done.repair.causes.iter();
        cured
            .certain
            .extend(causes.filter_map(|name| family.cause_known_as(name)));
        if cured.certain.is_empty() {
            // Nothing that was read speaks for it: whichever cause it puts right.
            let all = (0..family.causes.len()).map(CauseId::at);
            let mut cures: Vec<CauseId> = all
                .filter(|id| repairs.contains(&family.cause(*id).repair))
                .collect();
            let list = match cures.len() {
                1 => &mut cured.certain,
                _ => &mut cured.among,
            };
            list.append(&mut cures);
        }
    }
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
fn seen(
    family: &Family,
    text: &str,
    among: &[CauseId],
    repairs: &[String],
) -> Result<Vec<CauseId>, String> {
    let typed: Vec<&str> = listed(text).collect();
    let is_unknown = |part: &&str| *part == "0" || part.eq_ignore_ascii_case("unknown");
    if typed.is_empty() {
        return Err("Type its number, several with a comma, or 0 where nobody saw it.".to_owned());
    }
    if typed.iter().any(is_unknown) {
        return match typed.len() {
            1 => Ok(Vec::new()),
            _ => Err("It is unknown, or one of the list: not both.".to_owned()),
        };
    }
    let has_repair = |id: &CauseId| repairs.contains(&family.repair(family.cause(*id).repair).name);
    let cause = |part: &str| {
        let by_name = || {
            let id = family.cause_known_as(&part.to_lowercase());
            id.filter(has_repair)
        };
        at_place(part, among).or_else(by_name).ok_or_else(|| {
            let known = among.iter().map(|id| family.cause(*id).name.as_str());
            let meant = nearest(part, known).map_or_else(
                || "type a number of the list, or 0 where nobody saw it".to_owned(),
                |near| format!("did you mean `{near}`?"),
            );
            let part = quoted(part);
            format!("{part} is no cause that this repair cures: {meant}")
        })
    };
    typed.into_iter().map(cause).collect()
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
