//! A job on the page: read from its record, or an answer on its way into it.

use std::path::Path;
use std::sync::Arc;

use super::site::{Open, Site, held};
use crate::files::fingerprint;
use crate::knowledge::{Family, Knowledge, Vehicle};
use crate::practice::Unplayable;
use crate::record::{Event, History, Opened, Record, RecordError};
use crate::session::{Answer, Ask, NotKnown, Prompt, Session, opened_on};
use crate::simulate::Unworkable;

/// A job as it stands.
pub(super) struct Job {
    pub(super) knowledge: Arc<Knowledge>,
    pub(super) history: History,
    pub(super) prompt: Prompt,
    /// Which question of which lines of the record a form answers.
    pub(super) at: String,
    /// What to do at once.
    pub(super) caution: Option<String>,
    /// What was said to the last answer.
    pub(super) said: Vec<String>,
}

/// What came of an answer.
pub(super) enum Taken {
    /// It is on disk, or the question is asked again.
    Done,
    /// The page it was given on is no longer the state of the job: nothing is recorded.
    Stale,
}

/// Why a job cannot be worked on.
#[derive(Debug, thiserror::Error)]
pub(super) enum Trouble {
    /// Its record cannot be used.
    #[error(transparent)]
    Record(#[from] RecordError),
    /// The knowledge lacks what it was opened with.
    #[error(transparent)]
    NotKnown(#[from] NotKnown),
    /// It is an exercise that cannot be played.
    #[error(transparent)]
    Unplayable(#[from] Unplayable),
    /// The advice on an exercise cannot be followed to its end.
    #[error(transparent)]
    Unworkable(#[from] Unworkable),
}

impl Job {
    /// The family of the transmission.
    pub(super) fn family(&self) -> Result<&Family, NotKnown> {
        Ok(opened_on(&self.knowledge, self.history.state())?.0)
    }

    /// The vehicle's sheet, where one is named.
    pub(super) fn vehicle(&self) -> Option<&Vehicle> {
        self.knowledge
            .vehicle(self.history.state().vehicle.as_ref()?)
    }

    /// A job by its record.
    pub(super) fn read(site: &Site, id: &str, file: &Path) -> Result<Self, Trouble> {
        let history = Record::read(file)?.history;
        let knowledge = site.knowledge.of(&history.state().opened);
        let session = Session::new(&knowledge, history.state(), None, site.profile.units)?;
        let open = site.open(id);
        let open = held(&open);
        let stands = open.lines == history.entries().len();
        let prompt = question(&session, &history, &open, site);
        let at = place(&history, &open, &prompt);
        let (caution, said) = if stands {
            (open.caution.clone(), open.said.clone())
        } else {
            (None, Vec::new())
        };
        drop(open);
        Ok(Self {
            knowledge,
            history,
            prompt,
            at,
            caution,
            said,
        })
    }

    /// Takes an answer: what comes of it is on disk when this returns.
    ///
    /// `at` is the question that `answer` answers, which may say what is missing.
    pub(super) fn take(
        site: &Site,
        (id, file): (&str, &Path),
        at: &str,
        answer: impl FnOnce(&Prompt) -> Result<Answer, &'static str>,
    ) -> Result<Taken, Trouble> {
        let open = site.open(id);
        let mut open = held(&open);
        let (mut record, torn) = Record::open(file, site.clock.clone())?;
        let knowledge = site.knowledge.of(&record.state().opened);
        let session = Session::new(&knowledge, record.state(), None, site.profile.units)?;
        let prompt = question(&session, record.history(), &open, site);
        if at != place(record.history(), &open, &prompt) {
            return Ok(Taken::Stale);
        }
        let turn = if open.lines == record.events().len() {
            open.turn
        } else {
            0
        };
        *open = Open::default();
        open.said
            .extend(torn.map(|torn| format!("The record: {torn}.")));
        match answer(&prompt) {
            Err(missing) => {
                open.said.push(missing.to_owned());
                open.prompt = Some(prompt);
                open.turn = turn + 1;
            }
            Ok(answer) => {
                let step = session.take(record.history(), &prompt, answer);
                for event in step.events {
                    record.append(event)?;
                }
                open.turn = if step.again.is_some() { turn + 1 } else { 0 };
                open.prompt = step.again;
                open.caution = step.caution;
                open.said.extend(step.said);
            }
        }
        open.lines = record.events().len();
        Ok(Taken::Done)
    }

    /// Begins a job; gives the name of its file.
    pub(super) fn begin(site: &Site, opened: &Opened, words: &str) -> Result<String, RecordError> {
        let mut record = Record::create_in(site.path(), opened, &site.clock, site.readers())?;
        record.append(Event::Complaint {
            words: words.to_owned(),
        })?;
        let file = record.path().file_name().unwrap_or_default();
        Ok(file.to_string_lossy().into_owned())
    }
}

/// The question that is open: what an answer left open on these lines of the record, else what the record says.
fn question(session: &Session<'_>, history: &History, open: &Open, site: &Site) -> Prompt {
    let stands = open.lines == history.entries().len();
    let left = open.prompt.as_ref().filter(|_| stands);
    left.map_or_else(|| session.next(history, site.clock.now()), Clone::clone)
}

/// Whether two places in a job are the same question, whatever was recorded between them.
pub(super) fn same_question(at: &str, other: &str) -> bool {
    let question = |at: &str| at.rsplit_once('-').map(|(_, question)| question.to_owned());
    question(at).is_some() && question(at) == question(other)
}

/// Which question of which lines: another question on the same lines, as when a condition has become too old, is another
/// place too.
fn place(history: &History, open: &Open, prompt: &Prompt) -> String {
    let lines = history.entries().len();
    let turn = if open.lines == lines { open.turn } else { 0 };
    let about = prompt.measure.as_ref().map(|measure| &measure.measurement);
    let asked = match &prompt.ask {
        Ask::Condition { condition, .. } => condition.clone(),
        Ask::Reading(asked) => format!("reading {:?}", asked.part().map(|part| &part.name)),
        Ask::Confirm { question, .. } => question.clone(),
        Ask::Did { repair, .. } => format!("did {repair}"),
        Ask::Repair(sheet) => format!(
            "{:?}",
            sheet
                .repairs
                .iter()
                .map(|of| &of.repair)
                .collect::<Vec<_>>()
        ),
        // The seconds left go on while the page is looked at.
        Ask::Cooling { .. } => "cooling".to_owned(),
        ask => format!("{:?}", std::mem::discriminant(ask)),
    };
    let question = fingerprint(format!("{about:?} {asked}").as_bytes());
    format!("{lines}-{turn}-{question}")
}
