//! A repair that was done though another, or none, is advised.

use super::answer::Step;
use super::prompt::{Ask, Prompt};
use super::recorded::recorded_case;
use super::repair::likeliest;
use super::search::{repairs_called, several_called};
use super::turn::Turn;
use crate::entry::{folded, yes_or_no};
use crate::knowledge::{Family, RepairId};
use crate::record::{Event, Repair};
use crate::text::quoted;

/// Words beside those of a title.
const BESIDE: [&str; 5] = ["instead", "a", "an", "other", "already"];

/// The words of a repair in a text that says that it is done.
pub(super) fn said_done<'t>(family: &Family, text: &'t str) -> Option<&'t str> {
    let (first, words) = text.split_once(char::is_whitespace)?;
    let says = ["done", "did"].contains(&first.to_ascii_lowercase().as_str());
    (says && !repairs_called(family, &bare(words)).is_empty()).then_some(words)
}

/// A text without what stands beside the words of a title.
fn bare(text: &str) -> String {
    let text = folded(text);
    let words = text.split(' ').filter(|word| !BESIDE.contains(word));
    words.collect::<Vec<_>>().join(" ")
}

impl Turn<'_> {
    /// Asks whether the repair of these words was done.
    pub(super) fn did(&self, words: &str) -> Result<Step, String> {
        if self.prompt.outlook.is_none() {
            return Err("No further repair can be recorded at this question.".to_owned());
        }
        let family = self.session.family;
        let id = self.repair_called(words)?;
        let unread = recorded_case(family, self.history.state()).unread_before(family, id);
        let ask = Ask::Did {
            repair: family.name_of(id),
            title: family.repair(id).title.clone(),
            unproved: family.unproved.clone().filter(|_| !unread.is_empty()),
            unread,
        };
        Ok(Step {
            again: Some(Prompt {
                ask,
                measure: None,
                ..self.prompt.clone()
            }),
            ..Step::default()
        })
    }

    /// The repair that was asked about was done, or was not.
    pub(super) fn did_it(&self, repair: &str, text: &str) -> Result<Step, String> {
        match (yes_or_no(text), self.session.family.repair_known_as(repair)) {
            (Some(true), Some(id)) => Ok(self.other_repair(id)),
            // Nothing is kept of it: the question before is asked again.
            (Some(false), _) | (_, None) => Ok(Step::default()),
            (None, _) => Err("Answer yes or no.".to_owned()),
        }
    }

    /// A repair goes into the record, with what the readings say of it.
    fn other_repair(&self, id: RepairId) -> Step {
        let family = self.session.family;
        let case = recorded_case(family, self.history.state());
        let believed = self.session.with_standing(&case, |standing| {
            let mut groups = standing.problem.groups().iter();
            let group = groups.position(|group| group.repairs == [id.index()])?;
            let causes = family.names_of(likeliest(standing, group));
            Some((causes, standing.cures(group)))
        });
        let (causes, probability) = believed.ok().flatten().unwrap_or_default();
        self.repaired(&[id], causes, probability)
    }

    /// The events of repairs that were done.
    pub(super) fn repaired(
        &self,
        done: &[RepairId],
        causes: Vec<String>,
        probability: f64,
    ) -> Step {
        let family = self.session.family;
        let mut events = vec![Event::Repair(Repair {
            repairs: family.names_of(done),
            causes,
            probability,
        })];
        events.extend(self.changed(|now| now.repaired(family, done)));
        Step::record(events)
    }

    /// The repair of a name, or of words of its title.
    fn repair_called(&self, words: &str) -> Result<RepairId, String> {
        let family = self.session.family;
        if let Some(id) = family.repair_known_as(words.trim()) {
            return Ok(id);
        }
        match repairs_called(family, &bare(words)).as_slice() {
            [] => Err(format!(
                "No repair has {} in its title: `find` searches all titles.",
                quoted(words)
            )),
            [only] => Ok(*only),
            several => {
                let titles = several.iter().map(|id| family.repair(*id).title.as_str());
                Err(several_called(words, titles))
            }
        }
    }
}
