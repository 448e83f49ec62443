//! The debrief: what a trainee did beside what the advice does on the very same vehicle.

use serde::Serialize;

use super::course::{Course, Step, What};
use super::play::Practice;
use crate::record::{History, Mark};
use crate::simulate::Unworkable;
use crate::text::Paper;
use crate::text::figures::{minutes, money};

/// What a safety mark takes off the score.
const OFF: usize = 10;

/// How a job of practice ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum End {
    /// The complaint is gone.
    Cured,
    /// It was handed on.
    HandedOn,
    /// It goes on.
    Open,
}

/// What somebody's way took.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bill {
    /// Minutes of everything.
    pub minutes: f64,
    /// What it cost, in the shop's currency.
    pub cost: f64,
    /// The titles of the measurements, in order.
    pub readings: Vec<String>,
    /// How many repairs did not cure it.
    pub wrong: usize,
}

/// What can be learnt from a job of practice.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Debrief {
    /// The name of the exercise.
    pub exercise: String,
    /// What the customer complains of.
    pub title: String,
    /// How hard it is.
    pub level: &'static str,
    /// Who practised, where that is known.
    pub trainee: Option<String>,
    /// What was wrong.
    pub fault: String,
    /// How it ended.
    pub end: End,
    /// What the trainee's way took.
    pub own: Bill,
    /// What the way of the advice takes.
    pub advised: Bill,
    /// How often help was asked for: hints, advice, suspects.
    pub helps: [usize; 3],
    /// How often something dangerous was done.
    pub safety: usize,
    /// After which step, from 1, the answer was certain.
    pub certain: Option<usize>,
    /// 0 to 100.
    pub score: usize,
    /// What is to be learnt from it.
    pub learn: String,
    #[serde(skip)]
    steps: Vec<Step>,
}

impl Debrief {
    /// The debrief of a record.
    pub fn of(practice: &Practice<'_>, history: &History) -> Result<Self, Unworkable> {
        let family = practice.family;
        let course = Course::of(practice, history);
        let advised = practice.hidden.advised()?;
        let last = course.steps.last();
        let end = match last.map(|step| &step.what) {
            Some(What::Repaired(_, true)) => End::Cured,
            Some(What::HandedOn) => End::HandedOn,
            _ => End::Open,
        };
        let causes = practice.hidden.causes();
        let titles = causes.iter().map(|id| family.cause(*id).title.as_str());
        let titles: Vec<&str> = titles.collect();
        let readings = course.steps.iter();
        let readings = readings.filter(|step| matches!(step.what, What::Read(_)));
        let cure = practice.hidden.cure().unwrap_or_default();
        let tried = advised.tried.iter();
        let wrong = tried.filter(|tried| !tried.repairs.iter().any(|id| cure.contains(id)));
        let safety = course.unsafe_marks();
        Ok(Self {
            exercise: practice.exercise.name.clone(),
            title: practice.exercise.title.clone(),
            level: practice.exercise.level.word(),
            trainee: {
                let opened = &history.state().opened;
                let of = opened.practice.as_ref();
                of.and_then(|of| of.trainee.clone())
            },
            fault: match titles.as_slice() {
                [] => "none of the listed causes: the right end is to hand it on".to_owned(),
                some => some.join("; and "),
            },
            end,
            own: Bill {
                minutes: course.minutes,
                cost: course.cost,
                readings: readings.map(|step| step.title.clone()).collect(),
                wrong: course.wrong(practice),
            },
            advised: Bill {
                minutes: advised.minutes,
                cost: advised.cost,
                readings: advised
                    .taken
                    .iter()
                    .map(|id| family.measurement(*id).title.clone())
                    .collect(),
                wrong: wrong.count(),
            },
            helps: course.helps,
            safety,
            certain: course.certain(),
            score: score(advised.cost, course.cost, safety),
            learn: practice.exercise.learn.clone(),
            steps: course.steps,
        })
    }

    /// Whether the first repair was the right one.
    pub fn is_right_first(&self) -> bool {
        self.end == End::Cured && self.own.wrong == 0
    }

    /// The first measurement that was not the one advised at that place; none where there is none.
    pub fn detour(&self) -> Option<&str> {
        let pairs = self.own.readings.iter().zip(&self.advised.readings);
        let mut other = pairs.filter(|(own, advised)| own != advised);
        other.next().map(|(own, _)| own.as_str())
    }

    /// What the advice reads and the trainee did not.
    pub fn forgotten(&self) -> impl Iterator<Item = &str> {
        let advised = self.advised.readings.iter();
        let forgotten = advised.filter(|title| !self.own.readings.contains(title));
        forgotten.map(String::as_str)
    }

    /// The sheet.
    pub fn paper(&self) -> Paper {
        let mut paper = Paper::default();
        paper.title(format!("{} ({})", self.title, self.level));
        if let Some(trainee) = &self.trainee {
            paper.text(format!("Practised by {trainee}."));
        }
        paper.text(format!("The fault: {}.", self.fault));
        paper.text(format!(
            "You: {}. On the same vehicle the advice: {}.",
            bill(&self.own, Some(self.end)),
            bill(&self.advised, None)
        ));
        paper.text(format!(
            "Score {} of 100: what the advice costs on this vehicle over what your way cost, less {OFF} for each safety \
             mark ({}).",
            self.score, self.safety
        ));
        let [hints, advice, suspects] = self.helps;
        if hints + advice + suspects > 0 {
            paper.text(format!(
                "Help asked for: the question {hints} times, the advice {advice} times, the suspects {suspects} times."
            ));
        }
        paper.heading("What you did");
        let steps = self.steps.iter().zip(1..);
        let rows = steps.map(|(step, number)| row(step, number)).collect();
        let header = ["", "step", "minutes", "suspects left", "better then"];
        paper.table(&header, rows, &[0, 2]);
        if let Some(step) = self.certain {
            paper.text(format!("The answer was certain after step {step}."));
        } else if self.end == End::Cured {
            paper.text("The answer was never certain by the readings.");
        }
        paper.heading("What the advice does");
        for title in &self.advised.readings {
            paper.item(title.trim_end_matches('?'));
        }
        if !self.learn.is_empty() {
            paper.heading("What to take along");
            paper.text(self.learn.clone());
        }
        paper
    }
}

/// What a way took, in words.
fn bill(bill: &Bill, end: Option<End>) -> String {
    let readings = match bill.readings.len() {
        1 => "1 reading".to_owned(),
        more => format!("{more} readings"),
    };
    let wrong = match bill.wrong {
        0 => String::new(),
        1 => ", 1 repair that did not cure it".to_owned(),
        more => format!(", {more} repairs that did not cure it"),
    };
    let end = match end {
        Some(End::HandedOn) => ", handed on",
        Some(End::Open) => ", not finished",
        Some(End::Cured) | None => "",
    };
    format!(
        "{}, {}, {readings}{wrong}{end}",
        minutes(bill.minutes),
        money(bill.cost)
    )
}

fn row(step: &Step, number: usize) -> Vec<String> {
    let title = match &step.what {
        What::Read(_) => format!("{}: {}", step.title.trim_end_matches('?'), step.read),
        What::Repaired(_, true) => format!("{}: the complaint is gone", step.title),
        What::Repaired(_, false) => format!("{}: not cured", step.title),
        What::HandedOn => step.title.clone(),
    };
    let marks = step.marks.iter().map(|mark| match mark {
        Mark::Unsafe => "! dangerous",
        Mark::OutOfOrder => "! too early",
        Mark::OutOfCondition => "! out of condition",
        Mark::Unproved => "! not proved",
        _ => "",
    });
    let title = std::iter::once(title.as_str()).chain(marks);
    let title = title.collect::<Vec<_>>().join("  ");
    let read = matches!(step.what, What::Read(_));
    let left = if matches!(step.what, What::Repaired(_, true)) {
        String::new()
    } else if read && !step.counts {
        "does not count".to_owned()
    } else if read && !step.tells {
        format!("{} (could tell nothing)", step.after)
    } else if step.after < step.before {
        let gone = step.before - step.after;
        format!("{} ({gone} of {} gone)", step.after, step.before)
    } else {
        step.after.to_string()
    };
    let better = step.better.as_ref().filter(|_| read);
    let better = better.map(|(title, took)| format!("{title}, {}", minutes(*took)));
    vec![
        number.to_string(),
        title,
        format!("{:.0}", step.minutes),
        left,
        better.unwrap_or_default(),
    ]
}

/// What the advice costs over what the way cost, in hundredths, less the safety marks: 0 to 100.
fn score(advised: f64, own: f64, safety: usize) -> usize {
    let share = if own > 0.0 { advised / own } else { 1.0 };
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 100"
    )]
    let share = (100.0 * share.clamp(0.0, 1.0)).round() as usize;
    share.saturating_sub(OFF * safety)
}
