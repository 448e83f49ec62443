//! The answer of `next` on the screen.

use std::io;

use super::belief::{candidate_name, repair_order};
use crate::decide::Standing;
use crate::text::figures::{bits, count, minutes, money, percent};
use crate::text::table;
use crate::text::{Page, Tone};

/// How many candidates and measurements the screen lists before it counts the rest.
const LISTED: usize = 12;

/// The candidates, the ranked measurements and the way to end now.
///
/// # Errors
///
/// Whatever writing gives.
pub fn next(page: &mut Page<'_>, standing: &Standing<'_, '_>) -> io::Result<()> {
    let model = standing.model;
    let family = model.family;
    let symptoms: Vec<&str> = model
        .complaint
        .present
        .iter()
        .map(|symptom| family.symptom(*symptom).title.as_str())
        .collect();
    page.text(Tone::Strong, 0, &symptoms.join("; "))?;
    match model.vehicle {
        Some(vehicle) if vehicle.invented => {
            page.text(
                Tone::Plain,
                0,
                &format!(
                    "Limits from the sheet {}, invented for the demonstration: use it on no vehicle.",
                    vehicle.name
                ),
            )?;
        }
        Some(vehicle) => page.text(Tone::Plain, 0, &vehicle.title)?,
        None => page.text(
            Tone::Plain,
            0,
            "No vehicle named: no limits, and instruments taken as exact.",
        )?,
    }
    page.text(Tone::Faint, 0, &family.worth)?;

    page.heading(&format!(
        "Candidates: {} in play",
        count(standing.belief.in_play())
    ))?;
    candidates(page, standing)?;

    page.heading("Measurements, the best first")?;
    let rows: Vec<Vec<String>> = standing
        .ranking
        .iter()
        .take(LISTED)
        .enumerate()
        .map(|(place, ranked)| {
            vec![
                format!("{}", place + 1),
                family.measurement(standing.ranked(ranked)).name.clone(),
                count(ranked.separates),
                bits(ranked.bits),
                minutes(ranked.minutes),
                money(ranked.saves),
            ]
        })
        .collect();
    if rows.is_empty() {
        page.text(Tone::Plain, 0, "None left that would set anything apart.")?;
    } else {
        let header = ["", "measurement", "separates", "bits", "time", "saves"];
        page.lines(0, &table(&header, &rows, &[0, 2, 3, 4, 5], page.width()))?;
    }
    if standing.ranking.len() > LISTED {
        page.text(
            Tone::Faint,
            0,
            &format!("and {} more", standing.ranking.len() - LISTED),
        )?;
    }
    for (id, why) in standing.unusable() {
        page.text(
            Tone::Plain,
            0,
            &format!("{} cannot be judged: {why}.", family.measurement(id).name),
        )?;
    }

    page.heading(&format!(
        "Repairing now: {} expected",
        money(standing.repair_now.cost)
    ))?;
    repair_order(page, standing, LISTED / 2)?;
    if let Some(misfit) = standing.misfit() {
        page.gap()?;
        let name = &family.measurement(misfit.measurement).name;
        page.text(
            Tone::Strong,
            0,
            &format!(
                "Nothing listed fits. Take {name} again before anything is dismantled: without it the \
                 listed causes would stand at {} instead of {}.",
                percent(misfit.without),
                percent(misfit.listed)
            ),
        )?;
    }
    Ok(())
}

/// The candidates by posterior, the live ones first.
fn candidates(page: &mut Page<'_>, standing: &Standing<'_, '_>) -> io::Result<()> {
    let model = standing.model;
    let mut order: Vec<usize> = (0..model.candidates.len()).collect();
    let posterior = &standing.belief.posterior;
    order.sort_by(|a, b| posterior[*b].total_cmp(&posterior[*a]).then(a.cmp(b)));
    let live = order
        .iter()
        .filter(|candidate| standing.belief.is_live(**candidate))
        .count();
    let mut rows: Vec<Vec<String>> = order
        .iter()
        .take(LISTED.min(live))
        .map(|candidate| {
            let titles: Vec<&str> = model.candidates[*candidate]
                .causes
                .iter()
                .map(|cause| model.family.cause(*cause).title.as_str())
                .collect();
            vec![
                percent(posterior[*candidate]),
                candidate_name(model, *candidate),
                titles.join("; and "),
            ]
        })
        .collect();
    rows.push(vec![
        percent(standing.belief.unlisted),
        String::new(),
        "none of the listed causes".to_owned(),
    ]);
    page.lines(
        0,
        &table(
            &["belief", "candidate", "what is wrong"],
            &rows,
            &[0],
            page.width(),
        ),
    )?;
    let hidden = order.len() - LISTED.min(live);
    if hidden > 0 {
        let less = order.len() - live;
        page.text(
            Tone::Faint,
            0,
            &format!("and {hidden} more, {less} of them no longer live"),
        )?;
    }
    Ok(())
}
