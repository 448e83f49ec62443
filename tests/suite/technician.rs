//! A technician at the prompts: sees what is asked, and answers what the vehicle at hand gives.

use std::collections::BTreeMap;

use halfsplit::knowledge::{Bound, Condition, ConditionKind, Vehicle};

use crate::shop::{family, flat, proposed_in};

/// What a measurement reads.
#[derive(Clone, Debug)]
pub(crate) enum Reads {
    /// One answer, as typed: a word, or a number. A computed number is typed behind `=`.
    Whole(String),
    /// The raw readings of a computed number, by name.
    Parts(BTreeMap<String, String>),
}

/// What the technician does where the program waits for a decision.
#[derive(Clone, Debug)]
pub(crate) enum Move {
    /// Takes another measurement than the one proposed.
    Take(String, Reads),
    /// Takes the measurement proposed.
    Read(Reads),
    /// Types a line.
    Type(String),
    /// Has no more to say.
    End,
}

/// What the technician decides on.
pub(crate) struct Seen<'s> {
    /// The prompt, without what stands before it on the screen.
    pub(crate) prompt: &'s str,
    /// What came on the screen since the last line.
    pub(crate) screen: &'s str,
    /// The measurement that the screen proposes.
    pub(crate) proposed: Option<String>,
}

/// A technician: `decide` says what is done at a proposal, the rest is answered as it is asked.
pub(crate) struct Technician<'v, D> {
    vehicle: &'v Vehicle,
    decide: D,
    taking: Option<Reads>,
    lines: usize,
}

impl<'v, D: FnMut(&Seen<'_>) -> Move> Technician<'v, D> {
    pub(crate) fn new(vehicle: &'v Vehicle, decide: D) -> Self {
        Self {
            vehicle,
            decide,
            taking: None,
            lines: 0,
        }
    }

    /// The next line, seeing the screen.
    pub(crate) fn line(&mut self, screen: &str) -> Option<Vec<u8>> {
        self.lines += 1;
        assert!(self.lines < 1000, "the talk leads nowhere:\n{screen}");
        self.typed(screen).map(|mut line| {
            line.push('\n');
            line.into_bytes()
        })
    }

    fn typed(&mut self, screen: &str) -> Option<String> {
        let prompt = screen.rsplit('\n').next().unwrap_or_default().trim();
        if let Some(reads) = self.taking.take() {
            return Some(self.answer(prompt, screen, reads));
        }
        let seen = Seen {
            prompt,
            screen,
            proposed: proposed_in(screen),
        };
        match (self.decide)(&seen) {
            Move::Take(name, reads) => {
                self.taking = Some(reads);
                Some(format!("take {name}"))
            }
            Move::Read(reads) => Some(self.answer(prompt, screen, reads)),
            Move::Type(line) => Some(line),
            Move::End => None,
        }
    }

    /// The answer to a prompt on the way to a reading.
    fn answer(&mut self, prompt: &str, screen: &str, reads: Reads) -> String {
        match prompt {
            "cooling >" => {
                self.taking = Some(reads);
                "wait".to_owned()
            }
            "held >" => {
                self.taking = Some(reads);
                "4".to_owned()
            }
            ">" if screen.contains("Before it: ") => {
                self.taking = Some(reads);
                self.condition(screen)
            }
            ">" => match reads {
                Reads::Whole(text) => text,
                Reads::Parts(parts) => panic!("{parts:?} were not asked for:\n{screen}"),
            },
            part => match reads {
                Reads::Whole(text) => format!("= {text}"),
                Reads::Parts(mut parts) => {
                    let name = part.trim_end_matches([' ', '>']);
                    let text = parts
                        .remove(name)
                        .unwrap_or_else(|| panic!("{name} is no part of {parts:?}:\n{screen}"));
                    if !parts.is_empty() {
                        self.taking = Some(Reads::Parts(parts));
                    }
                    text
                }
            },
        }
    }

    /// An answer under which the condition asked for holds.
    fn condition(&self, screen: &str) -> String {
        let question = flat(&screen[screen.rfind("Before it: ").unwrap()..]);
        let condition = family()
            .conditions
            .iter()
            .find(|condition| question.contains(&flat(&condition.ask)))
            .unwrap_or_else(|| panic!("no such condition: {question}"));
        holding(condition, self.vehicle)
    }
}

/// An answer under which a condition holds on a vehicle.
pub(crate) fn holding(condition: &Condition, vehicle: &Vehicle) -> String {
    match &condition.kind {
        ConditionKind::YesNo => "yes".to_owned(),
        ConditionKind::Number { unit, holds, .. } => {
            let at = |bound: &Option<Bound>| {
                bound
                    .as_ref()
                    .map(|bound| bound.limit.on(Some(vehicle), *unit).unwrap())
            };
            let value = match (at(&holds.lower), at(&holds.upper)) {
                (Some(from), Some(to)) => f64::midpoint(from, to),
                (Some(from), None) => from + 1.0,
                (None, Some(to)) => to / 2.0,
                (None, None) => 0.0,
            };
            format!("{value} {unit}")
        }
    }
}
