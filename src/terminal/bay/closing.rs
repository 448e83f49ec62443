//! The closing of a job: which cause was found, and what is said of it.

use super::ask::Asked;
use super::visit::{BayError, Turn, Visit};
use super::word::Word;
use crate::infer::Model;
use crate::knowledge::{CauseId, Family, RepairId};
use crate::record::{Closed, Event, Found, Repaired, State};
use crate::session::recorded_case;
use crate::terminal;
use crate::text::Tone;
use crate::text::nearest;
use crate::text::quoted;

/// What a repair cured, as far as it shows by having cured it.
struct Cured {
    /// The causes that it was in any case.
    certain: Vec<CauseId>,
    /// The causes of which it was one, or several, the likeliest by the readings first.
    among: Vec<CauseId>,
    /// How that is known; `None` where today's knowledge has no candidate with these repairs.
    found: Option<Found>,
}

impl Visit<'_, '_> {
    /// The closing of a job that is fixed: asks which cause was found, where the repair cures several.
    pub(super) fn close(
        &mut self,
        state: &State,
        done: &Repaired,
    ) -> Result<Asked<Closed>, BayError> {
        let cured = self.cured(state, done);
        let mut closed = Closed {
            fixed: true,
            causes: self.names(&cured.certain),
            repairs: done.repair.repairs.clone(),
            found: cured.found,
            among: Vec::new(),
            words: None,
        };
        if cured.among.is_empty() {
            return Ok(Asked::Answered(closed));
        }
        let chosen = match self.which(&cured, &closed.repairs)? {
            Asked::Answered(chosen) => chosen,
            Asked::Elsewhere(turn) => return Ok(Asked::Elsewhere(turn)),
        };
        if chosen.is_empty() {
            closed.found = Some(Found::Unknown);
            closed.among = self.names(&cured.among);
        } else {
            closed.found = Some(Found::Stated);
            let mut causes = [cured.certain, chosen].concat();
            causes.sort_unstable();
            causes.dedup();
            closed.causes = self.names(&causes);
        }
        Ok(Asked::Answered(closed))
    }

    /// Asks which cause it was; none where nobody saw it.
    fn which(
        &mut self,
        cured: &Cured,
        repairs: &[String],
    ) -> Result<Asked<Vec<CauseId>>, BayError> {
        let family = self.family;
        let closed = self.record.state().closed.is_some();
        let mut page = self.talk.page();
        page.text(Tone::Strong, 2, "Which of these was found?")?;
        for (number, cause) in (1..).zip(&cured.among) {
            let cause = family.cause(*cause);
            let text = format!("{} [{}]", cause.title, cause.name);
            page.item(Tone::Plain, 2, &format!("{number} "), &text)?;
        }
        page.item(Tone::Plain, 2, "0 ", "unknown: nobody saw it")?;
        loop {
            let Some(word) = self.talk.word("found >")? else {
                return Ok(Asked::Elsewhere(Turn::Stop));
            };
            match word {
                Word::Answer(text) => match chosen(family, &text, cured, repairs) {
                    Ok(chosen) => return Ok(Asked::Answered(chosen)),
                    Err(words) => self.say(&words)?,
                },
                Word::Skip | Word::Cannot(_) => return Ok(Asked::Answered(Vec::new())),
                // Of this answer nothing is kept yet: the question before is asked again.
                Word::Back(1) => return Ok(Asked::Elsewhere(Turn::On)),
                word if closed && !matches!(word, Word::Stop | Word::Help | Word::Note(_)) => {
                    self.say("The job is closed: here it can only be said which cause it was.")?;
                }
                word => match self.heed(word, None)? {
                    Turn::Again => {}
                    turn => return Ok(Asked::Elsewhere(turn)),
                },
            }
        }
    }

    /// What the repair done last cured: of the candidates with just these repairs, the causes that all
    /// of them hold, and the causes that only some hold. A set that holds another adds nothing.
    fn cured(&self, state: &State, done: &Repaired) -> Cured {
        let family = self.family;
        let mut repairs: Vec<RepairId> = done
            .repair
            .repairs
            .iter()
            .filter_map(|name| family.repair_named(name))
            .collect();
        repairs.sort_unstable();
        let case = recorded_case(family, state);
        let mut believed: Vec<(f64, Vec<CauseId>)> = Vec::new();
        if let Ok(model) = Model::new(family, self.vehicle, case.complaint) {
            let belief = model.update(&case.evidence);
            for (place, candidate) in model.candidates.iter().enumerate() {
                let mut own = model.repairs(place);
                own.sort_unstable();
                if own == repairs {
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
            let names = done.repair.causes.iter();
            let certain = names.filter_map(|name| family.cause_named(name)).collect();
            return Cured {
                certain,
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

    fn names(&self, causes: &[CauseId]) -> Vec<String> {
        causes
            .iter()
            .map(|cause| self.family.cause(*cause).name.clone())
            .collect()
    }

    /// Says how the job was closed.
    pub(super) fn say_closed(&mut self, state: &State) -> Result<(), BayError> {
        let Some(closed) = &state.closed else {
            return Ok(());
        };
        let ids = |names: &[String]| -> Vec<CauseId> {
            names
                .iter()
                .filter_map(|name| self.family.cause_named(name))
                .collect()
        };
        let closed = &closed.what;
        let repairs: Vec<RepairId> = closed
            .repairs
            .iter()
            .filter_map(|name| self.family.repair_named(name))
            .collect();
        let text = terminal::found(
            self.family,
            &repairs,
            &ids(&closed.causes),
            &ids(&closed.among),
        );
        let path = self.record.path().display().to_string();
        let mut page = self.talk.page();
        page.heading("Closed as fixed")?;
        page.text(Tone::Strong, 2, &text)?;
        let known = match closed.found {
            Some(Found::Only) => "No other cause listed for this complaint has that repair.",
            Some(Found::Stated) => "So it was found.",
            Some(Found::Unknown) => "Which it was, nobody saw.",
            None => "The likeliest by the readings; nobody was asked.",
        };
        page.text(Tone::Plain, 2, known)?;
        page.text(Tone::Plain, 2, &format!("The record of this job: {path}"))?;
        Ok(())
    }

    /// Takes in which cause it was, where a closed job is opened again and that is not known. Whether
    /// anything was told.
    pub(super) fn tell_cause(&mut self, state: &State) -> Result<bool, BayError> {
        let (Some(closed), Some(done)) = (&state.closed, state.repairs.last()) else {
            return Ok(false);
        };
        let known = matches!(closed.what.found, Some(Found::Stated | Found::Only));
        if known || self.cured(state, done).among.is_empty() {
            return Ok(false);
        }
        self.say("If it has come out since, say which; `stop` leaves it as it is.")?;
        let Asked::Answered(told) = self.close(state, done)? else {
            return Ok(false);
        };
        if told == closed.what || told.found == Some(Found::Unknown) {
            return Ok(false);
        }
        self.keep(Event::Reopened {
            words: Some("to say which cause was found".to_owned()),
        })?;
        self.keep(Event::Closed(told))?;
        Ok(true)
    }
}

/// The causes that were typed: numbers of the list, or names of causes that the repairs cure; none for
/// `unknown`.
fn chosen(
    family: &Family,
    text: &str,
    cured: &Cured,
    repairs: &[String],
) -> Result<Vec<CauseId>, String> {
    let typed: Vec<&str> = text
        .split([',', ' '])
        .map(str::trim)
        .filter(|part| !part.is_empty())
        .collect();
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
    let has_repair = |id: CauseId| repairs.contains(&family.repair(family.cause(id).repair).name);
    typed
        .into_iter()
        .map(|part| {
            let by_number = part
                .parse::<usize>()
                .ok()
                .and_then(|number| cured.among.get(number.checked_sub(1)?).copied());
            let by_name = || {
                let name = part.to_lowercase();
                family.cause_named(&name).filter(|id| has_repair(*id))
            };
            by_number.or_else(by_name).ok_or_else(|| {
                let known = cured
                    .among
                    .iter()
                    .map(|cause| family.cause(*cause).name.as_str());
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
