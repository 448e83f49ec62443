//! A technician who answers every prompt of a session: what the vehicle at hand gives, else what a sound one does.

use std::collections::BTreeMap;

use halfsplit::knowledge::Family;
use halfsplit::session::{Ask, Prompt, ReadingAsked};

/// What a vehicle reads, by measurement; where a measurement has raw readings, one line each.
#[derive(Clone, Debug, Default)]
pub(crate) struct Player {
    pub(crate) reads: BTreeMap<&'static str, &'static str>,
    /// The symptom that the customer means.
    pub(crate) symptom: String,
    /// Whether a repair that is done cured it.
    pub(crate) cured: bool,
}

impl Player {
    /// A technician at a vehicle with a fault that brings a complaint about: what it most often gives, where it gives it
    /// in more than half of the cases.
    pub(crate) fn with_a_fault(family: &'static Family, symptom: &str) -> Self {
        let tree = &family.symptom(family.symptom_named(symptom).unwrap()).tree;
        let single = tree.causes().into_iter().find(|cause| {
            tree.probability(|other| other == *cause)
                .is_ok_and(|p| p.get() > 0.5)
        });
        let mut reads = BTreeMap::new();
        for measurement in &family.measurements {
            let row = single.and_then(|cause| measurement.shows.get(&cause));
            let most =
                row.and_then(|row| row.0.iter().max_by(|a, b| a.1.get().total_cmp(&b.1.get())));
            if let Some((outcome, _)) = most.filter(|(_, p)| p.get() > 0.5) {
                let outcome = measurement.outcomes[outcome.index()].name.as_str();
                reads.insert(measurement.name.as_str(), outcome);
            }
        }
        Self {
            reads,
            symptom: symptom.to_owned(),
            cured: true,
        }
    }

    /// What is typed at a prompt; none where nothing is asked any more.
    pub(crate) fn types(&self, family: &Family, prompt: &Prompt) -> Option<String> {
        let typed = match &prompt.ask {
            Ask::Complaint => family
                .symptom(family.symptom_named(&self.symptom)?)
                .title
                .clone(),
            Ask::Symptoms { .. } => self.symptom.clone(),
            Ask::Told { .. } => "no".to_owned(),
            Ask::Still { .. } => "all".to_owned(),
            Ask::Lost { .. } | Ask::Did { .. } => "yes".to_owned(),
            Ask::Condition { unit, from, to, .. } => match (unit, from, to) {
                (None, ..) => "yes".to_owned(),
                (Some(unit), Some(from), Some(to)) => {
                    format!("{} {unit}", f64::midpoint(*from, *to))
                }
                (Some(unit), Some(from), None) => format!("{} {unit}", from * 1.1),
                (Some(unit), None, Some(to)) => format!("{} {unit}", to * 0.9),
                (Some(unit), None, None) => format!("20 {unit}"),
            },
            Ask::Hold { .. } => "4".to_owned(),
            Ask::Reading(asked) => self.reading(family, prompt, asked),
            Ask::Repair(_) | Ask::Confirm { .. } => "done".to_owned(),
            Ask::Fixed { .. } => if self.cured { "yes" } else { "no" }.to_owned(),
            Ask::Found { .. } => "1".to_owned(),
            Ask::HandOn { .. }
            | Ask::NoSymptom { .. }
            | Ask::Stuck { .. }
            | Ask::Cooling { .. }
            | Ask::Closed { .. } => return None,
        };
        Some(typed)
    }

    fn reading(&self, family: &Family, prompt: &Prompt, asked: &ReadingAsked) -> String {
        let measure = prompt.measure.as_ref().unwrap();
        let known = family.measurement(family.measurement_named(&measure.measurement).unwrap());
        let proves = measure.number.is_none();
        match self
            .reads
            .get(measure.measurement.as_str())
            .filter(|_| !proves)
        {
            None => known.outcomes[known.normal.index()].name.clone(),
            Some(typed) => match asked.part() {
                None => (*typed).to_owned(),
                Some(_) if !typed.contains('\n') => (*typed).to_owned(),
                Some(part) => {
                    let place = asked.parts.iter().position(|other| other == part).unwrap();
                    typed.lines().nth(place).unwrap().to_owned()
                }
            },
        }
    }
}
