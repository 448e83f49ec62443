//! Cards to hang up or hand out: a measurement, or the first looks of a complaint.

use crate::knowledge::{Family, MeasurementId, SymptomId};
use crate::text::Paper;
use crate::text::figures::minutes;

/// How many causes an outcome is said to speak for.
const SPEAKS_FOR: usize = 4;
/// An outcome speaks for a cause that gives it at least this often.
const SPEAKS_FROM: f64 = 0.2;

/// The card of a measurement.
pub fn card(family: &Family, id: MeasurementId) -> Paper {
    let measurement = family.measurement(id);
    let mut paper = Paper::default();
    paper.title(format!(
        "{} ({})",
        measurement.title.trim_end_matches('?'),
        minutes(measurement.minutes.get())
    ));
    paper.text(measurement.ask.clone());
    for caution in family.caution_texts(&measurement.cautions) {
        paper.text(caution);
    }
    if !measurement.set_ups.is_empty() {
        let titles = measurement.set_ups.iter();
        let titles = titles.map(|id| family.set_up(*id).title.as_str());
        paper.heading("Prepare");
        titles.for_each(|title| paper.item(title));
    }
    paper.heading("Do");
    measurement.steps.iter().for_each(|step| paper.item(step));
    paper.heading("What it speaks for");
    for (place, outcome) in measurement.outcomes.iter().enumerate() {
        let causes = if place == measurement.normal.index() {
            "nothing; it takes suspects away".to_owned()
        } else {
            speaks_for(family, id, place)
        };
        paper.item(format!("{}: {causes}", outcome.words()));
    }
    if let Some(note) = &measurement.note {
        paper.text(note.clone());
    }
    paper
}

/// The card of a complaint: what is looked at first.
pub fn first_looks(family: &Family, id: SymptomId) -> Paper {
    let symptom = family.symptom(id);
    let mut paper = Paper::default();
    paper.title(symptom.title.clone());
    paper.heading("First looks");
    for look in &symptom.first_looks {
        let look = family.measurement(*look);
        let title = look.title.trim_end_matches('?');
        paper.item(if look.ask.starts_with(title) {
            look.ask.clone()
        } else {
            format!("{title}: {}", look.ask)
        });
    }
    paper
}

/// The measurements of a complaint, in the trade's habitual order and then by title.
pub fn measurements_of(family: &Family, id: SymptomId) -> Vec<MeasurementId> {
    let all = (0..family.measurements.len()).map(MeasurementId::at);
    let mut ids: Vec<MeasurementId> = all
        .filter(|of| family.measurement(*of).is_for(&[id]))
        .collect();
    let habit = |of: &MeasurementId| {
        let place = family.habit.iter().position(|known| known == of);
        place.unwrap_or(usize::MAX)
    };
    ids.sort_by_key(|of| (habit(of), &family.measurement(*of).title));
    ids
}

/// The causes that give an outcome most often, over all complaints.
fn speaks_for(family: &Family, id: MeasurementId, outcome: usize) -> String {
    let measurement = family.measurement(id);
    let mut given: Vec<(f64, &str)> = Vec::new();
    for (cause, row) in &measurement.shows {
        let own = row.0.iter().find(|(of, _)| of.index() == outcome);
        let often = own.map_or(0.0, |(_, p)| p.get());
        if often >= SPEAKS_FROM {
            given.push((often, &family.cause(*cause).title));
        }
    }
    given.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(b.1)));
    let titles = given.iter().take(SPEAKS_FOR).map(|(_, title)| *title);
    let titles = titles.collect::<Vec<_>>().join("; ");
    match given.len().saturating_sub(SPEAKS_FOR) {
        _ if titles.is_empty() => "no one cause by itself".to_owned(),
        0 => titles,
        more => format!("{titles}; and {more} more"),
    }
}
