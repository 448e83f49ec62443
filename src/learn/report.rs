//! What closed jobs say about the knowledge's figures, on the screen.

use std::collections::BTreeMap;
use std::io;

use super::overlay::{Moved, Overlay};
use super::refusal::Refused;
use super::tally::Tally;
use crate::knowledge::{Family, SymptomId};
use crate::text::figures::{percent, rate, times};
use crate::text::{Page, Tone, counted, plain, table};

/// So many of the largest moves are shown of each kind; the overlay holds all.
const LARGEST: usize = 25;

/// What moved, by how much, on how many jobs, largest moves first; and which records do not count.
pub fn learned(
    page: &mut Page<'_>,
    family: &Family,
    tally: &Tally,
    learned: &Overlay,
) -> io::Result<()> {
    let title = format!("What closed jobs say: {} [{}]", family.title, family.name);
    page.text(Tone::Strong, 0, &title)?;
    let Some(all) = tally.jobs() else {
        let text = "No job counts, so nothing is learned and every figure stands.";
        page.text(Tone::Plain, 0, text)?;
        return refusals(page, &tally.refused);
    };
    let jobs = counted(all.jobs, "job", "jobs");
    let refused = match tally.refused.len() {
        0 => "every record counts".to_owned(),
        more => counted(more, "record does not count", "records do not count"),
    };
    let [from, to] = all.dates;
    let text = format!("{jobs} closed as fixed and verified, {from} to {to}; {refused}.");
    page.text(Tone::Plain, 0, &text)?;
    let level = match learned.driveline_jobs {
        Some(jobs) => format!("They were among {jobs} driveline jobs, which fixes the level of all rates."),
        None => "They say which causes are commoner than others: the level of all rates is held as stated.".to_owned(),
    };
    let text = format!(
        "A stated rate counts for {} jobs, a stated row for {} readings. {level} Intervals hold the figure with 95 % \
         probability; `!` marks a stated figure that lies outside. Jobs in which nobody said which cause of a repair \
         it was stand behind a +.",
        plain(learned.prior_jobs),
        plain(learned.prior_readings)
    );
    if learned.no_candidate > 0 {
        let jobs = counted(learned.no_candidate, "job names", "jobs name");
        let text = format!(
            "{jobs} a cause that cannot bring the complaint about by today's fault trees: no rate moves by that."
        );
        page.text(Tone::Plain, 0, &text)?;
    }
    page.text(Tone::Faint, 0, &text)?;
    symptoms(page, family, tally)?;
    rates(page, learned)?;
    shows(page, learned)?;
    refusals(page, &tally.refused)
}

/// The complaints that the jobs came in with: the rates speak of no others.
fn symptoms(page: &mut Page<'_>, family: &Family, tally: &Tally) -> io::Result<()> {
    let symptoms = family.symptoms.iter().enumerate();
    let mut found: Vec<(u64, &str)> = symptoms
        .map(|(place, symptom)| (tally.with_symptom(SymptomId::at(place)), &*symptom.name))
        .filter(|(jobs, _)| *jobs > 0)
        .collect();
    found.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.cmp(b.1)));
    page.heading("The complaints they came in with")?;
    let rows: Vec<Vec<String>> = found
        .into_iter()
        .map(|(jobs, name)| vec![name.to_owned(), jobs.to_string()])
        .collect();
    page.lines(0, &table(&["symptom", "jobs"], &rows, &[1], page.width()))
}

fn rates(page: &mut Page<'_>, learned: &Overlay) -> io::Result<()> {
    page.heading("Rates, of 1,000 jobs")?;
    let moved = learned.rates.0.iter().map(|(cause, figure)| {
        let jobs = match figure.unstated {
            0 => figure.seen.to_string(),
            more => format!("{}+{more}", figure.seen),
        };
        // Twice and half are moves of one size.
        let size = (figure.now / figure.was).ln().abs();
        let row = vec![
            rate(figure.was),
            rate(figure.now),
            times(figure.now / figure.was),
            jobs,
            interval(figure, rate),
        ];
        (size, vec![cause.clone()], row)
    });
    let header = ["cause", "was", "now", "times", "jobs", "interval"];
    moves(page, moved.collect(), &header, &[1, 2, 3, 4])
}

fn shows(page: &mut Page<'_>, learned: &Overlay) -> io::Result<()> {
    page.heading("How often a cause gives an outcome")?;
    let mut moved = Vec::new();
    for (measurement, outcomes) in &learned.shows.0 {
        for (outcome, causes) in &outcomes.0 {
            for (cause, figure) in &causes.0 {
                let row = vec![
                    percent(figure.was),
                    percent(figure.now),
                    format!("{} of {}", figure.seen, figure.jobs),
                    interval(figure, percent),
                ];
                let names = vec![format!("{measurement} = {outcome}"), cause.clone()];
                moved.push(((figure.now - figure.was).abs(), names, row));
            }
        }
    }
    if moved.is_empty() {
        let text = "No measurement was taken in a job where a cause it names was found alone.";
        return page.text(Tone::Plain, 0, text);
    }
    let header = ["reading", "cause", "was", "now", "seen in", "interval"];
    moves(page, moved, &header, &[2, 3, 4])
}

/// The largest moves, each with its size, its names and its figures.
fn moves(
    page: &mut Page<'_>,
    mut moved: Vec<(f64, Vec<String>, Vec<String>)>,
    header: &[&'static str],
    figures: &[usize],
) -> io::Result<()> {
    moved.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    let left_out = moved.len().saturating_sub(LARGEST);
    let shown = moved.into_iter().take(LARGEST);
    let rows: Vec<Vec<String>> = shown.map(|(_, names, row)| [names, row].concat()).collect();
    page.lines(0, &table(header, &rows, figures, page.width()))?;
    match left_out {
        0 => Ok(()),
        more => page.text(Tone::Faint, 0, &format!("and {more} that moved less")),
    }
}

/// The interval of a figure, marked where it does not hold the stated one.
fn interval(figure: &Moved, show: fn(f64) -> String) -> String {
    let [low, high] = figure.interval;
    let mark = if figure.was < low || figure.was > high {
        " !"
    } else {
        ""
    };
    format!("{} to {}{mark}", show(low), show(high))
}

/// The records that do not count, each with its reason.
fn refusals(page: &mut Page<'_>, refused: &[Refused]) -> io::Result<()> {
    if refused.is_empty() {
        return Ok(());
    }
    page.heading("Records that do not count")?;
    let mut kinds: BTreeMap<&str, usize> = BTreeMap::new();
    for Refused { why, .. } in refused {
        *kinds.entry(why.kind()).or_default() += 1;
    }
    let kinds: Vec<String> = kinds
        .into_iter()
        .map(|(kind, count)| format!("{count} {kind}"))
        .collect();
    page.text(Tone::Plain, 0, &format!("{}.", kinds.join(", ")))?;
    for Refused { file, why } in refused {
        page.item(Tone::Plain, 2, "- ", &format!("{}: {why}", file.display()))?;
    }
    Ok(())
}
