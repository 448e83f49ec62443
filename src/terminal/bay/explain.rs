//! Why: what each outcome would leave, and which reading moved a cause how far.

use super::visit::{BayError, Visit};
use crate::decide::Standing;
use crate::infer::counting;
use crate::knowledge::CauseId;
use crate::terminal;
use crate::text::nearest;
use crate::text::{Tone, figures};

/// How many measurements the list shows.
const LISTED: usize = 15;

impl Visit<'_, '_> {
    /// The ranked list, to choose from.
    pub(super) fn list(&mut self, standing: &Standing<'_, '_>) -> Result<(), BayError> {
        let mut page = self.talk.page();
        terminal::ranking(&mut page, standing, LISTED)?;
        page.text(
            Tone::Plain,
            2,
            "`take` and a number or a name takes one of them.",
        )?;
        Ok(())
    }

    /// Explains a measurement, a cause or a repair by its name; without one, the leading cause.
    pub(super) fn why(
        &mut self,
        standing: &Standing<'_, '_>,
        name: Option<&str>,
    ) -> Result<(), BayError> {
        let family = self.family;
        let Some(name) = name else {
            return self.why_leading(standing);
        };
        if let Some(id) = family.measurement_named(name) {
            terminal::prospects(&mut self.talk.page(), standing, id)?;
            return Ok(());
        }
        if let Some(cause) = family.cause_named(name) {
            return self.why_cause(standing, cause);
        }
        if let Some(repair) = family.repair_named(name) {
            for (place, cause) in family.causes.iter().enumerate() {
                if cause.repair == repair {
                    self.why_cause(standing, CauseId::at(place))?;
                }
            }
            return Ok(());
        }
        let measurements = family
            .measurements
            .iter()
            .map(|measurement| measurement.name.as_str());
        let causes = family.causes.iter().map(|cause| cause.name.as_str());
        let text = match nearest(name, measurements.chain(causes)) {
            Some(nearest) => format!("There is no `{name}`: did you mean `{nearest}`?"),
            None => format!("There is no measurement, cause or repair `{name}`."),
        };
        self.say(&text)
    }

    /// Explains the cause that leads.
    fn why_leading(&mut self, standing: &Standing<'_, '_>) -> Result<(), BayError> {
        let leading = standing.model.marginals(&standing.belief).into_iter().fold(
            None,
            |best: Option<(CauseId, f64)>, (cause, p)| match best {
                Some((_, most)) if most >= p => best,
                _ => Some((cause, p)),
            },
        );
        match leading {
            Some((cause, _)) => self.why_cause(standing, cause),
            None => self.say("No listed cause is left."),
        }
    }

    /// Which reading moved a cause how far.
    fn why_cause(&mut self, standing: &Standing<'_, '_>, cause: CauseId) -> Result<(), BayError> {
        let model = standing.model;
        let belief_in = |evidence: &[&crate::infer::Evidence]| {
            let belief = model.after(evidence.iter().copied());
            model
                .marginals(&belief)
                .into_iter()
                .find(|(id, _)| *id == cause)
                .map_or(0.0, |(_, p)| p)
        };
        let readings = counting(self.family, &standing.evidence);
        let mut rows = vec![vec![
            "before any reading".to_owned(),
            String::new(),
            figures::percent(belief_in(&[])),
        ]];
        for taken in 1..=readings.len() {
            let reading = readings[taken - 1];
            let measurement = self.family.measurement(reading.measurement);
            rows.push(vec![
                measurement.name.clone(),
                measurement.outcomes[reading.outcome()].name.clone(),
                figures::percent(belief_in(&readings[..taken])),
            ]);
        }
        let known = self.family.cause(cause);
        let title = format!("{}: {}", known.name, known.title);
        let mut page = self.talk.page();
        page.text(Tone::Strong, 2, &title)?;
        if !model
            .candidates
            .iter()
            .any(|candidate| candidate.causes.contains(&cause))
        {
            page.text(
                Tone::Plain,
                2,
                "It is no candidate for this complaint, or was repaired.",
            )?;
            return Ok(());
        }
        let text = crate::text::table(
            &["reading", "outcome", "belief then"],
            &rows,
            &[2],
            page.width() - 4,
        );
        page.lines(4, &text)?;
        Ok(())
    }
}
