//! The answer of `next` on the screen.

use std::io;

use super::belief::{candidate_name, repair_order};
use crate::decide::Standing;
use crate::session::RepairOrder;
use crate::text::figures::{bits, count, minutes, money, percent};
use crate::text::table;
use crate::text::{Page, Tone};

/// How many candidates and measurements are listed before the rest is counted.
const LISTED: usize = 12;

/// The candidates, the ranked measurements, and the repairs to do if nothing more is measured.
pub fn next(page: &mut Page<'_>, standing: &Standing<'_, '_>) -> io::Result<()> {
    let model = standing.model;
    let family = model.family;
    let symptoms = model.complaint.present.iter();
    let symptoms: Vec<&str> = symptoms
        .map(|symptom| family.symptom(*symptom).title.as_str())
        .collect();
    page.text(Tone::Strong, 0, &symptoms.join("; "))?;
    let sheet = match model.vehicle {
        Some(vehicle) if vehicle.invented => format!(
            "Limits from the sheet {}, invented for the demonstration: use it on no vehicle.",
            vehicle.name
        ),
        Some(vehicle) => vehicle.title.clone(),
        None => "No vehicle named: no limits, and instruments taken as exact.".to_owned(),
    };
    page.text(Tone::Plain, 0, &sheet)?;
    page.text(Tone::Faint, 0, &family.worth)?;
    candidates(page, standing)?;
    measurements(page, standing)?;
    let cost = money(standing.repair_now.cost);
    page.heading(&format!("Repairing now: {cost} expected"))?;
    repair_order(page, &RepairOrder::of(standing), LISTED / 2)?;
    let Some(misfit) = standing.misfit() else {
        return Ok(());
    };
    page.gap()?;
    page.text(
        Tone::Strong,
        0,
        &format!(
            "Nothing listed fits. Take {} again before anything is dismantled: without it the \
             listed causes would be at {} instead of {}.",
            family.measurement(misfit.measurement).name,
            percent(misfit.without),
            percent(misfit.listed)
        ),
    )
}

/// The measurements in the order of the ranking, and those that the sheet makes unusable.
fn measurements(page: &mut Page<'_>, standing: &Standing<'_, '_>) -> io::Result<()> {
    let family = standing.model.family;
    page.heading("Measurements, the best first")?;
    let ranking = standing.ranking.iter().take(LISTED).enumerate();
    let rows: Vec<Vec<String>> = ranking
        .map(|(place, ranked)| {
            vec![
                (place + 1).to_string(),
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
        let more = standing.ranking.len() - LISTED;
        page.text(Tone::Faint, 0, &format!("and {more} more"))?;
    }
    for (id, why) in standing.unusable() {
        let name = &family.measurement(id).name;
        page.text(Tone::Plain, 0, &format!("{name} cannot be judged: {why}."))?;
    }
    Ok(())
}

/// The candidates by posterior, the live ones first.
fn candidates(page: &mut Page<'_>, standing: &Standing<'_, '_>) -> io::Result<()> {
    let (model, belief) = (standing.model, &standing.belief);
    let in_play = count(belief.in_play());
    page.heading(&format!("Candidates: {in_play} in play"))?;
    let mut order: Vec<usize> = (0..model.candidates.len()).collect();
    let posterior = &belief.posterior;
    order.sort_by(|a, b| posterior[*b].total_cmp(&posterior[*a]).then(a.cmp(b)));
    let live = order.iter().filter(|place| belief.is_live(**place)).count();
    let shown = LISTED.min(live);
    let mut rows: Vec<Vec<String>> = Vec::new();
    for candidate in &order[..shown] {
        let causes = model.candidates[*candidate].causes.iter();
        let titles: Vec<&str> = causes
            .map(|cause| model.family.cause(*cause).title.as_str())
            .collect();
        rows.push(vec![
            percent(posterior[*candidate]),
            candidate_name(model, *candidate),
            titles.join("; and "),
        ]);
    }
    rows.push(vec![
        percent(belief.unlisted),
        String::new(),
        "none of the listed causes".to_owned(),
    ]);
    let header = ["belief", "candidate", "what is wrong"];
    page.lines(0, &table(&header, &rows, &[0], page.width()))?;
    let (hidden, less) = (order.len() - shown, order.len() - live);
    if hidden > 0 {
        let text = format!("and {hidden} more, {less} of them no longer live");
        page.text(Tone::Faint, 0, &text)?;
    }
    Ok(())
}
