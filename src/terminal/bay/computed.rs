//! Numbers that are computed: their raw readings one by one, or the number itself.

use std::collections::BTreeMap;

use super::ask::{Asked, Echo};
use super::visit::{BayError, Turn, Visit};
use crate::decide::Standing;
use crate::infer::{Answer, Part, Taken, derive, understand, understand_part};
use crate::knowledge::MeasurementId;
use crate::terminal;
use crate::text::Tone;

impl Visit<'_, '_> {
    /// Asks for each raw reading of a computed number; the number itself can be typed behind `=`.
    pub(super) fn computed(
        &mut self,
        standing: &Standing<'_, '_>,
        id: MeasurementId,
    ) -> Result<Asked<Taken>, BayError> {
        let measurement = self.family.measurement(id);
        let Some(number) = measurement.number() else {
            return Ok(Asked::Elsewhere(Turn::Again));
        };
        self.talk.page().text(Tone::Strong, 2, &measurement.ask)?;
        terminal::in_words(&mut self.talk.page(), measurement)?;
        self.say("Type each reading in turn; or `=` and the number itself; or an outcome's name.")?;
        loop {
            let mut parts = BTreeMap::new();
            for take in &number.takes {
                let mut page = self.talk.page();
                page.item(Tone::Strong, 2, &format!("{}: ", take.name), &take.ask)?;
                let first = parts.is_empty();
                let asked = self.until_understood(
                    Some(standing),
                    id,
                    &format!("{} >", take.name),
                    |visit, text| {
                        // The number itself, or a word for its outcome, in place of the first raw reading.
                        let whole = text.strip_prefix('=').map(str::trim);
                        let outcome = first && measurement.outcome(text.trim()).is_some();
                        if first && (whole.is_some() || outcome) {
                            let text = whole.unwrap_or(text);
                            return whole_in_part(understand(
                                visit.family,
                                visit.vehicle,
                                id,
                                text,
                                visit.instrument,
                            ));
                        }
                        part_alone(understand_part(visit.family, take, text, visit.instrument))
                    },
                )?;
                match asked {
                    Asked::Answered(Piece::Part(part)) => {
                        parts.insert(take.name.clone(), part);
                    }
                    Asked::Answered(Piece::Whole(taken)) => return Ok(Asked::Answered(*taken)),
                    Asked::Elsewhere(turn) => return Ok(Asked::Elsewhere(turn)),
                }
            }
            match derive(self.family, self.vehicle, id, parts) {
                Ok(taken) => {
                    if let Some(echo) = &taken.echo {
                        self.say(echo)?;
                    }
                    return Ok(Asked::Answered(taken));
                }
                Err(words) => self.say(&words)?,
            }
        }
    }
}

/// A raw reading, or the whole number in its place.
enum Piece {
    Part(Part),
    Whole(Box<Taken>),
}

impl Echo for Piece {
    fn echo(&self) -> Option<String> {
        match self {
            Self::Part(part) => Some(format!("Taken as {}.", part.echo)),
            Self::Whole(taken) => taken.echo.clone(),
        }
    }
}

fn part_alone(answer: Answer<Part>) -> Answer<Piece> {
    match answer {
        Answer::Taken(part) => Answer::Taken(Box::new(Piece::Part(*part))),
        Answer::Question {
            alternatives,
            words,
        } => Answer::Question {
            alternatives: alternatives.into_iter().map(Piece::Part).collect(),
            words,
        },
        Answer::Refused(words) => Answer::Refused(words),
    }
}

fn whole_in_part(answer: Answer) -> Answer<Piece> {
    match answer {
        Answer::Taken(taken) => Answer::Taken(Box::new(Piece::Whole(taken))),
        Answer::Question {
            alternatives,
            words,
        } => Answer::Question {
            alternatives: alternatives
                .into_iter()
                .map(|taken| Piece::Whole(Box::new(taken)))
                .collect(),
            words,
        },
        Answer::Refused(words) => Answer::Refused(words),
    }
}
