//! A class: who did how well on which exercise, and what was not understood.

use std::collections::BTreeMap;

use serde::Serialize;

use super::debrief::{Debrief, End};
use crate::text::figures::{minutes, times};
use crate::text::{Column, Paper};

/// The debriefs of a class.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Class(pub Vec<Debrief>);

impl Class {
    /// One page for the trainer.
    pub fn paper(&self) -> Paper {
        let mut paper = Paper::default();
        paper.title("The class");
        let columns: [Column<Debrief>; 8] = [
            ("who", |debrief| debrief.trainee.clone().unwrap_or_default()),
            ("exercise", |debrief| debrief.exercise.clone()),
            ("end", |debrief| how_it_ended(debrief).to_owned()),
            ("time", |debrief| minutes(debrief.own.minutes)),
            ("of advice", |debrief| {
                times(debrief.own.minutes / debrief.advised.minutes.max(1.0))
            }),
            ("help", |debrief| {
                debrief.helps.iter().sum::<usize>().to_string()
            }),
            ("unsafe", |debrief| debrief.safety.to_string()),
            ("score", |debrief| debrief.score.to_string()),
        ];
        paper.table_of(&columns, &self.0, &[3, 4, 5, 6, 7]);
        let mut by_exercise: BTreeMap<&str, Vec<&Debrief>> = BTreeMap::new();
        for debrief in &self.0 {
            by_exercise
                .entry(&debrief.exercise)
                .or_default()
                .push(debrief);
        }
        for (exercise, debriefs) in by_exercise {
            let first = debriefs.iter().filter(|debrief| debrief.is_right_first());
            paper.heading(exercise);
            paper.text(format!("The fault: {}.", debriefs[0].fault));
            paper.item(format!(
                "Right first time: {} of {}.",
                first.count(),
                debriefs.len()
            ));
            let detours = debriefs.iter().filter_map(|debrief| debrief.detour());
            if let Some((title, times)) = commonest(detours) {
                paper.item(format!("The commonest first detour ({times}): {title}."));
            }
            let forgotten = debriefs.iter().flat_map(|debrief| debrief.forgotten());
            if let Some((title, times)) = commonest(forgotten) {
                paper.item(format!("Forgotten most often ({times}): {title}."));
            }
        }
        paper
    }
}

/// What comes most often, and how often; the first by name of equals.
fn commonest<'t>(titles: impl Iterator<Item = &'t str>) -> Option<(&'t str, usize)> {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for title in titles {
        *counts.entry(title).or_default() += 1;
    }
    let counts = counts.into_iter();
    counts.min_by_key(|(title, count)| (std::cmp::Reverse(*count), *title))
}

fn how_it_ended(debrief: &Debrief) -> &'static str {
    match debrief.end {
        End::Cured if debrief.is_right_first() => "right first time",
        End::Cured => "cured later",
        End::HandedOn => "handed on",
        End::Open => "not finished",
    }
}
