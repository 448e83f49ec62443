//! The opening of a job: which vehicle, and where its record lies.

use std::path::{Path, PathBuf};

use super::basis::{INVENTED, overlay, workshop};
use super::streams::Streams;
use super::visit::VisitError;
use super::word::Line;
use crate::entry::yes_or_no;
use crate::files::Readers;
use crate::knowledge::{Family, Knowledge, SymptomId, Workshop};
use crate::load::ShopProfile;
use crate::record::{Event, Opened, Record};
use crate::session::{Sheet, sheet_called, vehicles};
use crate::text::{Page, Tone, quoted};

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

/// Opens a job: asks for the vehicle where it is not given, and makes the record. Gives it with what is to be shown
/// before the first question; `None` where the input ends or the technician leaves first: nothing is kept then.
pub fn open(
    knowledge: &Knowledge,
    opening: Opening<'_>,
    talk: &mut Streams<'_>,
) -> Result<Option<(Record, String)>, VisitError> {
    let family = opening.family;
    let mut shown = Vec::new();
    let mut page = Page::new(&mut shown, talk.width);
    page.text(Tone::Strong, 0, &family.title)?;
    page.text(Tone::Plain, 0, &family.notice)?;
    page.text(Tone::Plain, 0, &family.worth)?;
    overlay(&mut page, knowledge, family)?;
    workshop(&mut page, &opening.shop.workshop)?;
    let sheet = match opening.sheet {
        Some(sheet) => Some(sheet),
        None => {
            talk.out.write_all(&std::mem::take(&mut shown))?;
            ask_sheet(knowledge, family, talk)?
        }
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
        None => Record::create_in(folder, &opened, &talk.clock, Readers::of_jobs(shared))?,
    };
    for (symptoms, present) in [(&opening.present, true), (&opening.absent, false)] {
        for symptom in family.names_of(symptoms) {
            kept.append(Event::Symptom { symptom, present })?;
        }
    }
    let mut page = Page::new(&mut shown, talk.width);
    page.gap()?;
    let path = kept.path().display();
    page.text(Tone::Plain, 0, &format!("The record of this job: {path}"))?;
    if shared {
        page.text(Tone::Faint, 0, "Others see that folder.")?;
    }
    if vehicle.is_some_and(|vehicle| vehicle.invented) {
        page.text(Tone::Plain, 0, INVENTED)?;
    }
    let help = "`help` lists what can be typed at a prompt; `stop` saves and leaves.";
    page.text(Tone::Faint, 0, help)?;
    Ok(Some((kept, String::from_utf8_lossy(&shown).into_owned())))
}

/// Asks for the vehicle's sheet; `None` where the input ends first.
fn ask_sheet<'k>(
    knowledge: &'k Knowledge,
    family: &Family,
    talk: &mut Streams<'_>,
) -> Result<Option<Sheet<'k>>, VisitError> {
    let vehicles = vehicles(knowledge, family);
    let mut page = talk.page();
    page.gap()?;
    page.text(Tone::Strong, 0, "Which vehicle?")?;
    for (number, vehicle) in (1..).zip(&vehicles) {
        page.entry(&format!("{number} "), &vehicle.title)?;
    }
    let none = "none: no sheet, so limits must be looked up and outcomes answered in words";
    page.entry("0 ", none)?;
    let mut meant: Option<usize> = None;
    loop {
        let Some(line) = talk.hear(">")? else {
            return Ok(None);
        };
        let wanted = line.trim();
        if Line::read(wanted) == Line::Stop {
            return Ok(None);
        }
        let asked = meant.take().filter(|_| yes_or_no(wanted) == Some(true));
        let called = asked.map_or_else(
            || sheet_called(&vehicles, wanted),
            |place| Ok(Sheet::Of(vehicles[place])),
        );
        let page = &mut talk.page();
        match called {
            Ok(sheet) => return Ok(Some(sheet)),
            Err(Some(place)) => {
                meant = Some(place);
                let title = quoted(&vehicles[place].title);
                page.say(&format!("Did you mean {title}? `yes` takes it."))?;
            }
            Err(None) => {
                page.say("Type its number or words of its title; 0 for none, `stop` to leave.")?;
            }
        }
    }
}
