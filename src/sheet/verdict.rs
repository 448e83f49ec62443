//! What a job has come to, in a few words.

use serde::Serialize;

use crate::record::{Found, State};
use crate::session::{Ask, Cure, Prompt};
use crate::text::figures::percent;

/// Where a job is, in the order in which jobs are listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// The cause is looked for, or a repair is to be done.
    Open,
    /// A repair is done and waits for its proof.
    Waiting,
    /// Nothing that is listed is worth another measurement or repair: somebody else must look.
    ToHandOn,
    /// Closed as fixed.
    Closed,
}

/// What a job has come to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Verdict {
    /// Where the job is.
    pub stage: Stage,
    /// The verdict itself.
    pub headline: String,
    /// How sure it is, and what it rests on.
    pub grounds: Vec<String>,
    /// What would most probably cure the vehicle; none once a repair is done, or before there is a complaint.
    pub leading: Option<Cure>,
    /// How probable it is that no listed cause is at work, from 0 to 1.
    pub unlisted: Option<f64>,
    /// What comes next; none where the job is closed.
    pub next: Option<String>,
}

impl Stage {
    /// The stage as an identifier, and as JSON has it.
    pub const fn id(self) -> &'static str {
        match self {
            Self::ToHandOn => "to-hand-on",
            _ => self.word(),
        }
    }

    /// The stage in a word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Waiting => "waiting",
            Self::ToHandOn => "to hand on",
            Self::Closed => "closed",
        }
    }
}

impl Verdict {
    /// What a job has come to, by what is asked next.
    pub fn of(prompt: &Prompt, state: &State) -> Self {
        let outlook = prompt.outlook.as_deref();
        let leading = outlook.and_then(|outlook| outlook.repairs.first()).cloned();
        let measure = prompt.measure.as_deref();
        let next = measure.map(|measure| measure.title.clone());
        let mut verdict = Self {
            stage: Stage::Open,
            headline: String::new(),
            grounds: Vec::new(),
            leading,
            unlisted: outlook.map(|outlook| outlook.unlisted),
            next,
        };
        let verifying = state.under_verification().is_some();
        match &prompt.ask {
            Ask::Closed { cured, found, .. } => verdict.closed(cured, *found, state),
            Ask::Fixed { not_done, .. } => {
                let next = not_done.first().map_or_else(
                    || "say whether the complaint is gone".to_owned(),
                    |words| format!("still to be done: {words}"),
                );
                verdict.waiting(next);
            }
            Ask::Confirm { question, .. } => verdict.waiting(question.clone()),
            _ if verifying => {
                let next = verdict.next.take().unwrap_or_default();
                verdict.waiting(next);
            }
            Ask::Repair(sheet) => {
                let titles: Vec<&str> = sheet.repairs.iter().map(|of| of.title.as_str()).collect();
                let titles = titles.join("; and ");
                verdict.headline = format!("Stop measuring and repair: {titles}.");
                let sure = percent(sheet.probability);
                verdict.grounds.push(format!("{sure} that it cures."));
                verdict.next = Some(format!("repair: {titles}"));
            }
            Ask::HandOn { .. } => {
                verdict.stage = Stage::ToHandOn;
                verdict.headline = "Hand the job on: no listed cause is worth repairing.".into();
                verdict.next = Some("hand the job on".to_owned());
            }
            Ask::NoSymptom { .. } => {
                verdict.stage = Stage::ToHandOn;
                verdict.headline = "Hand the job on: no listed complaint is like this one.".into();
                verdict.next = Some("hand the job on".to_owned());
            }
            Ask::Stuck { why } => {
                verdict.headline = "The readings and the complaint contradict each other.".into();
                verdict.grounds.push(why.clone());
                verdict.next = Some("take an answer back".to_owned());
            }
            Ask::Lost { lost } => {
                verdict.headline = "The knowledge no longer has what the record names.".into();
                verdict.grounds.extend(lost.iter().cloned());
                verdict.next = Some("say whether to go on without it".to_owned());
            }
            Ask::Complaint | Ask::Symptoms { .. } if measure.is_none() => {
                verdict.headline = "The complaint is not settled yet.".into();
                verdict.next = Some("the complaint".to_owned());
            }
            _ => {
                verdict.headline = verdict.leading.as_ref().map_or_else(
                    || "Nothing is found yet.".to_owned(),
                    |cure| {
                        let sure = percent(cure.probability);
                        format!("Not settled yet. Likeliest: {} ({sure}).", cure.title)
                    },
                );
            }
        }
        if let Some(unlisted) = verdict.unlisted {
            let unlisted = percent(unlisted);
            let words = format!("{unlisted} that it is none of the listed causes.");
            verdict.grounds.push(words);
        }
        verdict
    }

    /// A repair is done and not proved.
    fn waiting(&mut self, next: String) {
        self.stage = Stage::Waiting;
        self.headline = "Repaired, and not proved yet.".into();
        self.next = Some(next);
    }

    /// The job is closed as fixed.
    fn closed(&mut self, cured: &str, found: Option<Found>, state: &State) {
        self.stage = Stage::Closed;
        self.headline = format!("Fixed. {cured}");
        self.next = None;
        let known = match found {
            Some(Found::Only) => "No other listed cause of this complaint has that repair.",
            Some(Found::Stated) => "The cause was seen.",
            Some(Found::Unknown) => "Nobody saw which of these causes it was.",
            None => "The causes are the likeliest by the readings; nobody was asked.",
        };
        self.grounds.push(known.to_owned());
        if let Some(done) = state.repairs.last() {
            let sure = percent(done.repair.probability);
            let words = format!("Before the repair it was {sure} probable that it would cure.");
            self.grounds.push(words);
        }
    }
}
