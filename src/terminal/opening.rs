//! The opening of a job: which vehicle, and where its record lies.

use std::path::{Path, PathBuf};

use super::basis::{invented, overlay, workshop};
use super::streams::Streams;
use super::visit::VisitError;
use super::word::Line;
use crate::entry::{Choice, NoChoice, choose, yes_or_no};
use crate::knowledge::{Family, Knowledge, SymptomId, Vehicle, Workshop};
use crate::load::ShopProfile;
use crate::record::{Event, Opened, Record};
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
    pub order: Option<String>,
    /// The record to make; without one the first free name of today, in the shop's folder of jobs or in this folder.
    pub record: Option<PathBuf>,
    /// The shop.
    pub shop: &'k ShopProfile,
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
pub fn open(
    knowledge: &Knowledge,
    opening: Opening<'_>,
    talk: &mut Streams<'_>,
) -> Result<Option<Record>, VisitError> {
    let family = opening.family;
    let mut page = talk.page();
    page.text(Tone::Strong, 0, &family.title)?;
    page.text(Tone::Plain, 0, &family.notice)?;
    page.text(Tone::Plain, 0, &family.worth)?;
    overlay(&mut page, knowledge, family)?;
    workshop(&mut page, &opening.shop.workshop)?;
    let sheet = match opening.sheet {
        Some(sheet) => Some(sheet),
        None => ask_sheet(knowledge, family, talk)?,
    };
    let vehicle = match sheet {
        Some(Sheet::Of(vehicle)) => Some(vehicle),
        Some(Sheet::Missing) => None,
        None => return Ok(None),
    };
    let mut opened = Opened::new(family.name.clone(), knowledge.fingerprints());
    opened.vehicle = vehicle.map(|vehicle| vehicle.name.clone());
    opened.ticket = opening.order;
    opened.shop = Some(opening.shop.workshop.clone()).filter(|shop| *shop != Workshop::default());
    let folder = opening.shop.jobs.as_deref().unwrap_or(Path::new("."));
    let shared = opening.shop.shared && opening.record.is_none();
    let mut kept = match opening.record {
        Some(path) => Record::create(&path, opened, talk.clock.clone())?,
        None => Record::create_in(folder, &opened, &talk.clock)?,
    };
    for (symptoms, present) in [(&opening.present, true), (&opening.absent, false)] {
        for symptom in family.names_of(symptoms) {
            kept.append(Event::Symptom { symptom, present })?;
        }
    }
    let mut page = talk.page();
    page.gap()?;
    let path = kept.path().display();
    page.text(Tone::Plain, 0, &format!("The record of this job: {path}"))?;
    if shared {
        page.text(Tone::Faint, 0, "Others see that folder.")?;
    }
    if let Some(vehicle) = vehicle.filter(|vehicle| vehicle.invented) {
        page.text(Tone::Plain, 0, &invented(vehicle))?;
    }
    let help = "`help` lists what can be typed at a prompt; `stop` saves and leaves.";
    page.text(Tone::Faint, 0, help)?;
    Ok(Some(kept))
}

/// Asks for the vehicle's sheet; `None` where the input ends first.
fn ask_sheet<'k>(
    knowledge: &'k Knowledge,
    family: &Family,
    talk: &mut Streams<'_>,
) -> Result<Option<Sheet<'k>>, VisitError> {
    let vehicles = knowledge.vehicles.iter();
    let vehicles: Vec<&Vehicle> = vehicles.filter(|v| v.family == family.name).collect();
    let mut page = talk.page();
    page.gap()?;
    page.text(Tone::Strong, 0, "Which vehicle?")?;
    for (number, vehicle) in (1..).zip(&vehicles) {
        let text = format!("{}: {}", vehicle.name, vehicle.title);
        page.entry(&format!("{number} "), &text)?;
    }
    let none = "none: no sheet, so limits must be looked up and outcomes answered in words";
    page.entry("0 ", none)?;
    // A word that only one name has is enough.
    let names = vehicles.iter().map(|vehicle| vehicle.name.as_str());
    let has = |name: &str, word: &str| name.split('-').any(|own| own == word);
    let is_own = |word: &&str| names.clone().filter(|name| has(name, word)).count() == 1;
    let words: Vec<Vec<String>> = names
        .clone()
        .map(|name| name.split('-').filter(is_own).map(str::to_owned).collect())
        .collect();
    let choices = vehicles.iter().zip(&words).map(|(vehicle, words)| Choice {
        name: &vehicle.name,
        gloss: &vehicle.title,
        words,
    });
    let choices: Vec<Choice<'_>> = choices.collect();
    let mut meant: Option<usize> = None;
    loop {
        let Some(line) = talk.hear(">")? else {
            return Ok(None);
        };
        let wanted = line.trim();
        if Line::read(wanted) == Line::Stop {
            return Ok(None);
        }
        if wanted == "0" || wanted.eq_ignore_ascii_case("none") {
            return Ok(Some(Sheet::Missing));
        }
        let number = wanted.parse::<usize>().ok();
        let number = number.and_then(|number| number.checked_sub(1));
        let number = number.filter(|place| *place < vehicles.len());
        let asked = meant.take().filter(|_| yes_or_no(wanted) == Some(true));
        let chosen = number
            .or(asked)
            .map_or_else(|| choose(wanted, &choices, &[]), Ok);
        let page = &mut talk.page();
        match chosen {
            Ok(place) => return Ok(Some(Sheet::Of(vehicles[place]))),
            Err(NoChoice::Near(place)) => {
                meant = Some(place);
                let name = vehicles[place].name.as_str();
                page.say(&format!("Did you mean {name}? `yes` takes it."))?;
            }
            Err(_) => page.say("Type its number or its name; 0 for none, `stop` to leave.")?,
        }
    }
}
