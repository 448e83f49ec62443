//! The opening of a job: which vehicle, what complaint.

use std::path::{Path, PathBuf};

use super::ask::Asked;
use super::talk::{Heard, Talk};
use super::visit::{BayError, Turn, Visit};
use super::word::Word;
use crate::knowledge::{Family, Knowledge, SymptomId, Vehicle};
use crate::record::{Event, Opened, Record, State};
use crate::terminal;
use crate::text::Tone;

/// What is known before a job is opened.
#[derive(Debug)]
pub struct Opening<'k> {
    /// The family of the transmission.
    pub family: &'k Family,
    /// The vehicle's sheet; `None` where it is still to be asked for.
    pub sheet: Option<Sheet<'k>>,
    /// The symptoms reported already.
    pub present: Vec<SymptomId>,
    /// The symptoms confirmed absent already.
    pub absent: Vec<SymptomId>,
    /// The shop's own words for the job: an order number, a plate.
    pub ticket: Option<String>,
    /// The record to make; without one the first free name of today, in this folder.
    pub record: Option<PathBuf>,
}

/// What the limits of a vehicle are read from.
#[derive(Clone, Copy, Debug)]
pub enum Sheet<'k> {
    /// The sheet of a model.
    Of(&'k Vehicle),
    /// None: the limits must be looked up.
    Missing,
}

/// Opens a job: asks for the vehicle where it is not given, and makes the record. `None` where the
/// input ends or the technician leaves first; nothing is kept then.
///
/// # Errors
///
/// [`BayError`] where the record cannot be made, or the screen or the input fails.
pub fn open(
    knowledge: &Knowledge,
    opening: Opening<'_>,
    talk: &mut Talk<'_>,
) -> Result<Option<Record>, BayError> {
    let Opening {
        family,
        sheet,
        present,
        absent,
        ticket,
        record,
    } = opening;
    let mut page = talk.page();
    page.text(Tone::Strong, 0, &family.title)?;
    page.text(Tone::Plain, 0, &family.notice)?;
    page.text(Tone::Plain, 0, &family.worth)?;
    terminal::overlay(&mut page, knowledge, family)?;
    let sheet = match sheet {
        Some(sheet) => Some(sheet),
        None => ask_sheet(knowledge, family, talk)?,
    };
    let vehicle = match sheet {
        Some(Sheet::Of(vehicle)) => Some(vehicle),
        Some(Sheet::Missing) => None,
        None => return Ok(None),
    };
    let mut opened = Opened::new(family.name.clone(), knowledge.fingerprints.clone());
    opened.vehicle = vehicle.map(|vehicle| vehicle.name.clone());
    opened.ticket = ticket;
    let mut kept = match record {
        Some(path) => Record::create(&path, opened, talk.clock.clone())?,
        None => Record::create_in(Path::new("."), &opened, &talk.clock)?,
    };
    for (symptoms, present) in [(present, true), (absent, false)] {
        for symptom in symptoms {
            kept.append(Event::Symptom {
                symptom: family.symptom(symptom).name.clone(),
                present,
            })?;
        }
    }
    let mut page = talk.page();
    page.gap()?;
    page.text(
        Tone::Plain,
        0,
        &format!("The record of this job: {}", kept.path().display()),
    )?;
    if let Some(vehicle) = vehicle.filter(|vehicle| vehicle.invented) {
        let text = format!(
            "Limits from the sheet {}, invented for the demonstration: use it on no vehicle.",
            vehicle.name
        );
        page.text(Tone::Plain, 0, &text)?;
    }
    page.text(
        Tone::Faint,
        0,
        "`help` lists what can be typed at a prompt; `stop` saves and leaves.",
    )?;
    Ok(Some(kept))
}

/// Asks for the vehicle's sheet; `None` where the input ends first.
fn ask_sheet<'k>(
    knowledge: &'k Knowledge,
    family: &Family,
    talk: &mut Talk<'_>,
) -> Result<Option<Sheet<'k>>, BayError> {
    let vehicles: Vec<&Vehicle> = knowledge
        .vehicles
        .iter()
        .filter(|vehicle| vehicle.family == family.name)
        .collect();
    let mut page = talk.page();
    page.gap()?;
    page.text(Tone::Strong, 0, "Which vehicle?")?;
    for (number, vehicle) in (1..).zip(&vehicles) {
        page.item(
            Tone::Plain,
            2,
            &format!("{number} "),
            &format!("{}: {}", vehicle.name, vehicle.title),
        )?;
    }
    page.item(
        Tone::Plain,
        2,
        "0 ",
        "none: no sheet, so limits must be looked up and outcomes answered in words",
    )?;
    loop {
        let Heard::Line(line) = talk.hear(">")? else {
            return Ok(None);
        };
        let wanted = line.trim();
        if wanted.eq_ignore_ascii_case("stop") {
            return Ok(None);
        }
        if wanted == "0" || wanted.eq_ignore_ascii_case("none") {
            return Ok(Some(Sheet::Missing));
        }
        let by_place = wanted
            .parse::<usize>()
            .ok()
            .and_then(|place| vehicles.get(place.checked_sub(1)?))
            .copied();
        if let Some(vehicle) = by_place.or_else(|| {
            vehicles
                .iter()
                .find(|vehicle| vehicle.name == wanted)
                .copied()
        }) {
            return Ok(Some(Sheet::Of(vehicle)));
        }
        talk.page().text(
            Tone::Plain,
            2,
            "Type its number or its name; 0 for none, `stop` to leave.",
        )?;
    }
}

impl Visit<'_, '_> {
    /// Asks for the complaint in the customer's words, and which symptoms it is.
    pub(super) fn ask_complaint(&mut self, state: &State) -> Result<Turn, BayError> {
        let words = if let Some(words) = state.complaints.last() {
            words.clone()
        } else {
            let mut page = self.talk.page();
            page.gap()?;
            page.text(
                Tone::Strong,
                0,
                "What does the customer say? In their own words.",
            )?;
            match self.customers_words()? {
                Asked::Answered(words) if words.trim().is_empty() => {
                    self.say("A few words, please: what it does, and when.")?;
                    return Ok(Turn::On);
                }
                Asked::Answered(words) => {
                    self.keep(Event::Complaint {
                        words: words.clone(),
                    })?;
                    words
                }
                Asked::Elsewhere(turn) => return Ok(turn),
            }
        };
        self.ask_symptoms(&words)
    }

    /// The customer's words: of what the program heeds, only single words, since any sentence may begin with one.
    fn customers_words(&mut self) -> Result<Asked<String>, BayError> {
        loop {
            let Heard::Line(line) = self.talk.hear("complaint >")? else {
                return Ok(Asked::Elsewhere(Turn::Stop));
            };
            let word = match Word::read(&line) {
                Word::Back(steps) => Word::Back(steps),
                word if !line.trim().contains(char::is_whitespace) => word,
                _ => Word::Answer(line.trim().to_owned()),
            };
            match word {
                Word::Answer(words) => return Ok(Asked::Answered(words)),
                word => match self.heed(word, None)? {
                    Turn::Again => {}
                    turn => return Ok(Asked::Elsewhere(turn)),
                },
            }
        }
    }

    /// Proposes symptoms for the customer's words.
    fn ask_symptoms(&mut self, words: &str) -> Result<Turn, BayError> {
        let mut matching: Vec<(usize, SymptomId)> = self
            .family
            .symptoms
            .iter()
            .enumerate()
            .map(|(place, symptom)| (symptom.matches(words), SymptomId::at(place)))
            .collect();
        matching.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
        let proposed = matching.first().is_some_and(|(hits, _)| *hits > 0);
        let order: Vec<SymptomId> = matching.iter().map(|(_, symptom)| *symptom).collect();
        let mut page = self.talk.page();
        page.gap()?;
        let heading = if proposed {
            "Which complaint is that? The likeliest by the words first."
        } else {
            "The words match no complaint that is known here. Is it one of these?"
        };
        page.text(Tone::Strong, 0, heading)?;
        for (number, (hits, symptom)) in (1..).zip(&matching) {
            let known = self.family.symptom(*symptom);
            let mark = if *hits > 0 { "  (matches)" } else { "" };
            page.item(
                Tone::Plain,
                2,
                &format!("{number} "),
                &format!("{}: {}{mark}", known.name, known.title),
            )?;
        }
        let hint = if proposed {
            "Enter takes the first; or numbers or names, several with a comma; `back` to word it anew."
        } else {
            "Numbers or names, several with a comma; `back` to word it anew."
        };
        page.text(Tone::Plain, 2, hint)?;
        loop {
            let Some(word) = self.talk.word("symptoms >")? else {
                return Ok(Turn::Stop);
            };
            let text = match word {
                Word::Answer(text) => text,
                word => match self.heed(word, None)? {
                    Turn::Again => continue,
                    turn => return Ok(turn),
                },
            };
            match self.chosen_symptoms(&text, &order, proposed) {
                Ok(chosen) => {
                    for symptom in chosen {
                        let symptom = self.family.symptom(symptom).name.clone();
                        self.keep(Event::Symptom {
                            symptom,
                            present: true,
                        })?;
                    }
                    return Ok(Turn::On);
                }
                Err(words) => self.say(&words)?,
            }
        }
    }

    /// The symptoms that were typed: numbers of the list or names.
    fn chosen_symptoms(
        &self,
        text: &str,
        order: &[SymptomId],
        proposed: bool,
    ) -> Result<Vec<SymptomId>, String> {
        let typed: Vec<&str> = text
            .split([',', ' '])
            .map(str::trim)
            .filter(|part| !part.is_empty())
            .collect();
        if typed.is_empty() {
            return match order.first() {
                Some(first) if proposed => Ok(vec![*first]),
                _ => Err("Type a number or a name.".to_owned()),
            };
        }
        typed
            .into_iter()
            .map(|part| {
                part.parse::<usize>()
                    .ok()
                    .and_then(|place| order.get(place.checked_sub(1)?).copied())
                    .or_else(|| self.family.symptom_named(part))
                    .ok_or_else(|| {
                        format!(
                            "{} is no number or name of the list.",
                            crate::text::quoted(part)
                        )
                    })
            })
            .collect()
    }
}
