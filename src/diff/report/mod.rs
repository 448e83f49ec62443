//! Two editions of the knowledge held against each other.

mod answers;
mod line;
mod texts;

use std::collections::{BTreeMap, BTreeSet};
use std::io;

use crate::diff::{Change, Comparison, Effect, Kind, Thing};
use crate::text::{Page, Tone};

/// What differs: the counts, then each difference on a line, what moves the diagnosis first; then
/// what that does to the answers and to the worked cases.
///
/// `old` and `new` say where the editions came from.
///
/// # Errors
///
/// Whatever writing gives.
pub fn comparison(
    page: &mut Page<'_>,
    comparison: &Comparison,
    old: &str,
    new: &str,
) -> io::Result<()> {
    page.text(Tone::Strong, 0, &format!("From {old} to {new}"))?;
    if comparison.changes.is_empty() {
        let text = "Nothing differs: both state the same. Comments, the order of entries and the \
                    files they stand in state nothing.";
        return page.text(Tone::Plain, 0, text);
    }
    counts(page, &comparison.changes)?;
    let several = families(&comparison.changes) > 1;
    for effect in [Effect::Belief, Effect::Limit, Effect::Cost, Effect::Words] {
        let of_effect = comparison
            .changes
            .iter()
            .filter(|change| change.effect() == effect);
        let lines: Vec<String> = of_effect
            .flat_map(|change| line::lines(change, several))
            .collect();
        if !lines.is_empty() {
            page.heading(heading(effect))?;
            for line in lines {
                page.item(Tone::Plain, 0, "- ", &line)?;
            }
        }
    }
    answers::answers(page, &comparison.answers, several)?;
    answers::cases(page, &comparison.cases, several)
}

fn heading(effect: Effect) -> &'static str {
    match effect {
        Effect::Belief => "What moves the belief",
        Effect::Limit => "Limits, and what a reading counts as",
        Effect::Cost => "Minutes, money and set-ups",
        Effect::Words => "Words, cautions and cases",
    }
}

fn families(changes: &[Change]) -> usize {
    changes
        .iter()
        .filter_map(|change| change.thing.family.as_deref())
        .collect::<BTreeSet<&str>>()
        .len()
}

/// How many differences, in how many things of which kinds, bearing on what.
fn counts(page: &mut Page<'_>, changes: &[Change]) -> io::Result<()> {
    let things: BTreeSet<&Thing> = changes.iter().map(|change| &change.thing).collect();
    let mut kinds: BTreeMap<Kind, usize> = BTreeMap::new();
    for thing in &things {
        *kinds.entry(thing.kind).or_default() += 1;
    }
    let kinds: Vec<String> = kinds
        .into_iter()
        .map(|(kind, number)| count(number, kind.word(), kind.plural()))
        .collect();
    let text = format!(
        "{} in {}.",
        count(changes.len(), "difference", "differences"),
        kinds.join(", ")
    );
    page.text(Tone::Plain, 0, &text)?;
    let mut effects: BTreeMap<Effect, usize> = BTreeMap::new();
    for change in changes {
        *effects.entry(change.effect()).or_default() += 1;
    }
    let effects: Vec<String> = effects
        .into_iter()
        .map(|(effect, number)| {
            let bears_on = match effect {
                Effect::Belief => "the belief",
                Effect::Limit => "what a reading counts as",
                Effect::Cost => "minutes, money or set-ups",
                Effect::Words => "words, cautions or cases",
            };
            format!("{number} on {bears_on}")
        })
        .collect();
    page.text(
        Tone::Plain,
        0,
        &format!("They bear: {}.", effects.join("; ")),
    )
}

/// `1 cause`, `2 causes`.
fn count(number: usize, one: &str, several: &str) -> String {
    match number {
        1 => format!("1 {one}"),
        more => format!("{more} {several}"),
    }
}

/// A name with its family behind it, where that must be said.
fn of_family(name: &str, family: Option<&str>, several: bool) -> String {
    match family {
        Some(family) if several => format!("{name} [{family}]"),
        _ => name.to_owned(),
    }
}
