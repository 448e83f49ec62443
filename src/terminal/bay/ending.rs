//! The end of a diagnosis: repair, verification, closing.

use super::ask::{Asked, NOT_TAKEN};
use super::validity::yes_or_no;
use super::visit::{BayError, Turn, Visit};
use super::word::Word;
use crate::decide::{Advice, Repairing, Standing};
use crate::infer::understand;
use crate::knowledge::{CauseId, RepairId};
use crate::record;
use crate::record::{Closed, Event, State, Verification};
use crate::terminal;
use crate::text::{Tone, figures};

impl Visit<'_, '_> {
    /// Advises to repair or to hand the job on, and takes what is said to it.
    pub(super) fn repair(
        &mut self,
        _state: &State,
        standing: &Standing<'_, '_>,
        advice: &Advice,
    ) -> Result<Turn, BayError> {
        let path = self.record.path().display().to_string();
        let Some(repairing) = standing.repairing(advice) else {
            return self.hand_on(standing);
        };
        let mut page = self.talk.page();
        page.heading(if repairing.goes_on {
            "Repair, and see what it shows"
        } else {
            "Stop measuring and repair"
        })?;
        if let Advice::Measure { saves, .. } = advice {
            let text = format!(
                "Your choice; measuring on would save {} on average.",
                figures::money(*saves)
            );
            page.text(Tone::Plain, 2, &text)?;
        }
        terminal::repair_sheet(&mut page, standing, &repairing)?;
        page.item(Tone::Faint, 2, "! ", &self.family.notice)?;
        page.text(Tone::Plain, 2, &format!("The record of this job: {path}"))?;
        page.text(
            Tone::Strong,
            2,
            "`done` when it is repaired; `list` and `take` to measure on; `stop` to come back later.",
        )?;
        loop {
            let Some(word) = self.talk.word("repair >")? else {
                return Ok(Turn::Stop);
            };
            let turn = match word {
                Word::Answer(text) if text.eq_ignore_ascii_case("done") => {
                    self.keep_repair(standing, &repairing)?;
                    Turn::On
                }
                Word::Answer(_) => {
                    self.say("Type `done` when the repair is done; `help` lists the words.")?;
                    Turn::Again
                }
                word => self.heed(word, Some(standing))?,
            };
            if turn != Turn::Again {
                return Ok(turn);
            }
        }
    }

    /// Keeps that the repairs were done.
    fn keep_repair(
        &mut self,
        standing: &Standing<'_, '_>,
        repairing: &Repairing,
    ) -> Result<(), BayError> {
        let group = &standing.problem.groups()[repairing.group];
        let likeliest = group.candidates.iter().copied().fold(
            None,
            |best: Option<usize>, candidate| match best {
                Some(most)
                    if standing.belief.posterior[most] >= standing.belief.posterior[candidate] =>
                {
                    best
                }
                _ => Some(candidate),
            },
        );
        let causes: Vec<CauseId> = likeliest
            .map(|candidate| standing.model.candidates[candidate].causes.clone())
            .unwrap_or_default();
        self.repair_now = false;
        self.keep(Event::Repair(record::Repair {
            repairs: repairing
                .repairs
                .iter()
                .map(|repair| self.family.repair(*repair).name.clone())
                .collect(),
            causes: causes
                .iter()
                .map(|cause| self.family.cause(*cause).name.clone())
                .collect(),
            probability: repairing.probability,
        }))
    }

    /// Nothing listed is worth repairing: the job is handed on.
    fn hand_on(&mut self, standing: &Standing<'_, '_>) -> Result<Turn, BayError> {
        let path = self.record.path().display().to_string();
        let mut page = self.talk.page();
        page.heading("Hand the job on")?;
        let text = format!(
            "No listed cause is worth repairing: {} that it is none of them. Handing on costs {} here.",
            figures::percent(standing.belief.unlisted),
            figures::money(standing.problem.escalation_cost())
        );
        page.text(Tone::Plain, 2, &text)?;
        terminal::repairs(&mut page, standing)?;
        page.text(Tone::Plain, 2, &format!("The record of this job: {path}"))?;
        page.text(
            Tone::Strong,
            2,
            "`list` and `take` to measure on, `repair` to repair all the same, `stop` to leave.",
        )?;
        loop {
            let Some(word) = self.talk.word("hand on >")? else {
                return Ok(Turn::Stop);
            };
            let turn = match word {
                Word::Answer(_) | Word::Repair => {
                    self.say("Nothing listed is left to repair here. `note` keeps what was found elsewhere.")?;
                    Turn::Again
                }
                word => self.heed(word, Some(standing))?,
            };
            if turn != Turn::Again {
                return Ok(turn);
            }
        }
    }

    /// Asks for the readings that verify a repair, then whether the complaint is gone.
    pub(super) fn verify(&mut self, state: &State) -> Result<Turn, BayError> {
        let Some(done) = state.under_verification() else {
            return Ok(Turn::On);
        };
        let repairs: Vec<RepairId> = done
            .repair
            .repairs
            .iter()
            .filter_map(|name| self.family.repair_named(name))
            .collect();
        // In the order the repairs name them: the bench before the vehicle runs again.
        let mut measurements = repairs
            .iter()
            .flat_map(|repair| self.family.repair(*repair).verify_with.iter().copied());
        let next = measurements.find(|id| {
            let name = &self.family.measurement(*id).name;
            !done
                .verifications
                .iter()
                .any(|verification| verification.measurement == *name)
        });
        if let Some(id) = next {
            return self.verify_with(state, id);
        }
        let mut page = self.talk.page();
        page.heading("Verify the repair")?;
        for repair in &repairs {
            page.item(Tone::Plain, 2, "", &self.family.repair(*repair).verify)?;
        }
        if let Some(care) = self
            .family
            .care
            .iter()
            .find(|care| care.name == "close-out")
        {
            page.item(Tone::Plain, 2, "", &care.text)?;
        }
        let off: Vec<&str> = done
            .verifications
            .iter()
            .filter(|verification| !verification.as_expected && verification.outcome != NOT_TAKEN)
            .map(|verification| verification.measurement.as_str())
            .collect();
        if !off.is_empty() {
            page.text(
                Tone::Strong,
                2,
                &format!("Not as a mended vehicle reads: {}.", off.join(", ")),
            )?;
        }
        page.text(Tone::Strong, 2, "Is the complaint gone? (yes or no)")?;
        loop {
            let text = match self.line("fixed >")? {
                Asked::Answered(text) => text,
                Asked::Elsewhere(turn) => return Ok(turn),
            };
            let Some(fixed) = yes_or_no(&text) else {
                self.say("Answer yes or no.")?;
                continue;
            };
            let (causes, repairs) = (done.repair.causes.clone(), done.repair.repairs.clone());
            if fixed {
                let closed = match self.close(state, done)? {
                    Asked::Answered(closed) => closed,
                    Asked::Elsewhere(turn) => return Ok(turn),
                };
                self.keep(Event::Closed(closed))?;
                return Ok(Turn::On);
            }
            self.keep(Event::Closed(Closed {
                fixed,
                causes,
                repairs: repairs.clone(),
                found: None,
                among: Vec::new(),
                words: None,
            }))?;
            self.say(&format!(
                "Not fixed: what {} would have cured is ruled out, and the diagnosis goes on.",
                repairs.join(" and ")
            ))?;
            return Ok(Turn::On);
        }
    }

    /// Asks for one verification reading.
    fn verify_with(
        &mut self,
        state: &State,
        id: crate::knowledge::MeasurementId,
    ) -> Result<Turn, BayError> {
        let (family, vehicle, system) = (self.family, self.vehicle, self.system);
        let measurement = family.measurement(id);
        // Its set-ups stand from before the repair or are the technician's own affair.
        self.entering.clear();
        self.arriving.clear();
        let mut page = self.talk.page();
        page.heading(&format!(
            "Verify: {} [{}]",
            measurement.title, measurement.name
        ))?;
        page.item(Tone::Faint, 2, "! ", &family.notice)?;
        terminal::cautions(&mut page, family, measurement)?;
        terminal::steps(&mut page, family, measurement, None)?;
        terminal::limits(&mut page, measurement, vehicle, system)?;
        if let Some(turn) = self.cool_down(state, None, id)? {
            return Ok(turn);
        }
        let held = match self.hold(None, id)? {
            Asked::Answered(held) => held,
            Asked::Elsewhere(turn) => return Ok(turn),
        };
        terminal::question(&mut self.talk.page(), measurement)?;
        let asked = self.until_understood(None, id, "verify >", |visit, text| {
            understand(
                visit.family,
                visit.vehicle,
                id,
                text.trim_start_matches('=').trim(),
                visit.instrument,
            )
        })?;
        let taken = match asked {
            Asked::Answered(taken) => taken,
            Asked::Elsewhere(turn) => return Ok(turn),
        };
        self.instrument = None;
        let normal = &measurement.outcomes[measurement.normal.index()].name;
        let mut outcome = measurement.outcomes[taken.evidence.outcome()].name.clone();
        if held.is_some() {
            NOT_TAKEN.clone_into(&mut outcome);
        } else if outcome != *normal {
            self.say("That is not how a mended vehicle reads.")?;
        }
        self.keep(Event::Verification(Verification {
            measurement: measurement.name.clone(),
            raw: taken.raw,
            as_expected: outcome == *normal,
            outcome,
        }))?;
        Ok(Turn::On)
    }
}
