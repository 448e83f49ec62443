//! A comparison as a page.

use std::collections::{BTreeMap, BTreeSet};
use std::io;

use super::Comparison;
use super::answers::{AnswerDiffers, Candidates, First, RepairMoved};
use super::cases::{CaseAnswer, CaseDiffers, CasesPut, StandsIn};
use super::change::Change;
use super::entry::Value;
use super::kind::{Effect, Kind, Thing};
use super::list::Sides;
use super::wording::{apart, lines, of_family, one};
use crate::text::figures::{percent, tenths_of_percent};
use crate::text::{Page, Tone, counted};

/// So many of the largest moves are shown, and so many candidates; `--json` has all.
const LARGEST: usize = 5;
/// A smaller move of a repair's probability is counted and not shown.
const SHOWN: f64 = 0.005;

/// The parts of the page, and what the differences in each bear on.
#[rustfmt::skip] // a table reads as a table
const PARTS: [(Effect, &str, &str); 4] = [
    (Effect::Belief, "What moves the belief", "the belief"),
    (Effect::Limit, "Limits, and what a reading counts as", "what a reading counts as"),
    (Effect::Cost, "Minutes, money and set-ups", "minutes, money or set-ups"),
    (Effect::Words, "Words, cautions and cases", "words, cautions or cases"),
];

/// What differs: the counts, then each difference on a line, what moves the diagnosis first; then
/// what that does to the answers and to the worked cases.
///
/// `old` and `new` say where the editions came from.
pub fn comparison(
    page: &mut Page<'_>,
    comparison: &Comparison,
    old: &str,
    new: &str,
) -> io::Result<()> {
    let changes = &comparison.changes;
    page.text(Tone::Strong, 0, &format!("From {old} to {new}"))?;
    if changes.is_empty() {
        let text = "Nothing differs: both state the same. Comments, the order of entries and the \
                    files they are in do not count.";
        return page.text(Tone::Plain, 0, text);
    }
    for line in counts(changes) {
        page.text(Tone::Plain, 0, &line)?;
    }
    let families = changes
        .iter()
        .filter_map(|change| change.thing.family.as_deref());
    let several = families.collect::<BTreeSet<&str>>().len() > 1;
    for (effect, heading, _) in PARTS {
        let of_effect = changes.iter().filter(|change| change.bears_on == effect);
        let lines: Vec<String> = of_effect
            .flat_map(|change| lines(change, several))
            .collect();
        if !lines.is_empty() {
            page.heading(heading)?;
            items(page, &lines)?;
        }
    }
    answers(page, &comparison.answers, several)?;
    cases(page, &comparison.cases, several)
}

fn items(page: &mut Page<'_>, lines: &[String]) -> io::Result<()> {
    let mut lines = lines.iter();
    lines.try_for_each(|line| page.item(Tone::Plain, 0, "- ", line))
}

/// How many differences, in how many entries of which kinds, bearing on what.
fn counts(changes: &[Change]) -> [String; 2] {
    let things: BTreeSet<&Thing> = changes.iter().map(|change| &change.thing).collect();
    let mut kinds: BTreeMap<Kind, usize> = BTreeMap::new();
    for thing in things {
        *kinds.entry(thing.kind).or_default() += 1;
    }
    let kinds = kinds.into_iter().map(|(kind, number)| kind.counted(number));
    let parts = PARTS.into_iter().filter_map(|(effect, _, words)| {
        let of_part = changes.iter().filter(|change| change.bears_on == effect);
        let number = of_part.count();
        (number > 0).then(|| format!("{number} on {words}"))
    });
    let differences = counted(changes.len(), "difference", "differences");
    let kinds = kinds.collect::<Vec<_>>().join(", ");
    [
        format!("{differences} in {kinds}."),
        format!("They bear: {}.", parts.collect::<Vec<_>>().join("; ")),
    ]
}

/// The complaints with another answer before any reading.
fn answers(page: &mut Page<'_>, answers: &[AnswerDiffers], several: bool) -> io::Result<()> {
    page.heading("What it does to the answers, before any reading")?;
    if answers.is_empty() {
        let text = "Every complaint that both have keeps its candidates, the probabilities of its \
                    repairs and the first measurements of its ranking.";
        return page.text(Tone::Plain, 0, text);
    }
    for answer in answers {
        let mut title = of_family(&answer.symptom, Some(&answer.family), several);
        if let Some(vehicle) = &answer.vehicle {
            title = format!("{title}, on {vehicle}");
        }
        page.text(Tone::Strong, 0, &title)?;
        items(page, &answer_lines(answer))?;
    }
    Ok(())
}

fn answer_lines(answer: &AnswerDiffers) -> Vec<String> {
    let mut lines = Vec::new();
    let Sides { was, now } = &answer.fails;
    for (edition, fails) in [("older", was), ("newer", now)] {
        let line = |why| format!("the {edition} has no answer: {why}");
        lines.extend(fails.as_ref().map(line));
    }
    if !lines.is_empty() {
        return lines;
    }
    let Candidates { came, went } = &answer.candidates;
    for (candidates, way) in [(came, "in"), (went, "out")] {
        let names = candidates.iter().map(|causes| causes.join(" + "));
        let mut names: Vec<String> = names.take(LARGEST).collect();
        if candidates.len() > LARGEST {
            names.push(format!("and {} more", candidates.len() - LARGEST));
        }
        if !names.is_empty() {
            lines.push(format!("candidates {way}: {}", names.join(", ")));
        }
    }
    let large = answer.repairs.iter().filter(|moved| moved.size() >= SHOWN);
    let large: Vec<&RepairMoved> = large.take(LARGEST).collect();
    for RepairMoved { repairs, was, now } in &large {
        lines.push(format!(
            "{}: {}",
            repairs.join(" + "),
            apart(*was, *now, percent, tenths_of_percent)
        ));
    }
    let less = answer.repairs.len() - large.len();
    if less > 0 {
        let moves = counted(less, "repair moves", "repairs move");
        let by = ["less", "by less than half a percentage point"][usize::from(large.is_empty())];
        lines.push(format!("{moves} {by}"));
    }
    if answer.ranks_otherwise() {
        let ids = |first: &[First]| first.iter().map(|one| one.id.clone()).collect();
        let [was, now] = [&answer.first.was, &answer.first.now]
            .map(|first| one(&Value::List(ids(first)), false));
        lines.push(format!("first to measure: {was} -> {now}"));
    }
    lines
}

/// The worked cases with another answer.
fn cases(page: &mut Page<'_>, cases: &CasesPut, several: bool) -> io::Result<()> {
    if cases.put == 0 {
        return Ok(());
    }
    page.heading("Worked cases")?;
    let put = counted(cases.put, "case was", "cases were");
    let how = match cases.differ.len() {
        0 => ": the same repair leads, as probable as before".to_owned(),
        differ => format!("; {} otherwise", counted(differ, "answers", "answer")),
    };
    page.text(Tone::Plain, 0, &format!("{put} put to both{how}."))?;
    let differ = cases.differ.iter();
    let lines: Vec<String> = differ.map(|case| case_line(case, several)).collect();
    items(page, &lines)
}

fn case_line(case: &CaseDiffers, several: bool) -> String {
    let name = of_family(&case.case, Some(&case.family), several);
    let stands = match case.stands_in {
        StandsIn::Both => "",
        StandsIn::Old => " (as the older has it)",
        StandsIn::New => " (as the newer has it)",
    };
    let now = match (&case.was, &case.now) {
        // The repairs go without saying where they still lead.
        (Ok(was), Ok(now))
            if was.repairs == now.repairs && !was.nothing_fits && !now.nothing_fits =>
        {
            percent(now.probability)
        }
        (_, now) => led(now),
    };
    format!("{name}{stands}: {} -> {now}", led(&case.was))
}

fn led(answer: &Result<CaseAnswer, String>) -> String {
    match answer {
        Err(why) => format!("no answer ({why})"),
        Ok(answer) if answer.nothing_fits => "nothing listed fits".to_owned(),
        Ok(answer) => {
            let repairs = answer.repairs.join(" + ");
            format!("{repairs} {}", percent(answer.probability))
        }
    }
}
