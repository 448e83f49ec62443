//! The answer of `next` on the screen.

use std::io;

use super::basis::INVENTED;
use super::belief::{fits_badly, offers, on_the_way, repair_order};
use crate::decide::{Advice, RecordedDrive, Standing, Way};
use crate::knowledge::Family;
use crate::session::{LIKELIER, Outlook, Reason};
use crate::text::figures::{count, minutes, money, percent};
use crate::text::{Page, Tone, table};

/// How many candidates and measurements are listed before the rest is counted.
const LISTED: usize = 12;

/// The candidates, the ranked measurements, and the repairs to do if nothing more is measured.
pub fn next(page: &mut Page<'_>, standing: &Standing<'_, '_>) -> io::Result<()> {
    let model = standing.model;
    let family = model.family;
    let outlook = Outlook::of(standing);
    let symptoms = model.complaint.present.iter();
    let symptoms = symptoms.map(|id| family.symptom(*id).title.as_str());
    page.text(Tone::Strong, 0, &symptoms.collect::<Vec<_>>().join("; "))?;
    let vehicle = model.vehicle.map_or(
        "No vehicle named: numbers are judged only where the knowledge has their limits itself.",
        |vehicle| &vehicle.title,
    );
    page.text(Tone::Plain, 0, vehicle)?;
    if model.vehicle.is_some_and(|vehicle| vehicle.invented) {
        page.text(Tone::Plain, 0, INVENTED)?;
    }
    page.text(Tone::Faint, 0, &family.worth)?;
    advised(page, standing, &standing.advise(&[], false))?;
    candidates(page, &outlook)?;
    page.heading("Measurements, by what each saves by itself")?;
    offers(page, 0, &outlook.offers, LISTED, true)?;
    for (id, why) in standing.unusable() {
        let name = &family.measurement(id).name;
        page.text(Tone::Plain, 0, &format!("{name} cannot be judged: {why}."))?;
    }
    fits_badly(page, &outlook)?;
    let cost = money(outlook.repair_now.cost);
    page.heading(&format!("Repairing now: {cost} expected"))?;
    repair_order(page, &outlook.repair_now, LISTED / 2)?;
    on_the_way(page, &outlook.on_the_way)?;
    let Some(misfit) = standing.misfit() else {
        return Ok(());
    };
    page.gap()?;
    let mut text = format!(
        "Nothing listed fits. Most in the way stands {}: without it the listed causes would be at {} instead of {}.",
        family.measurement(misfit.measurement).name,
        percent(misfit.without),
        percent(misfit.listed)
    );
    if standing.may_be_read_again(misfit.measurement) {
        text += " Take it again before anything is dismantled.";
    }
    page.text(Tone::Strong, 0, &text)
}

/// What is advised: the step that the plan and the prompt begin with.
fn advised(page: &mut Page<'_>, standing: &Standing<'_, '_>, advice: &Advice) -> io::Result<()> {
    let family = standing.model.family;
    page.heading("Advised next")?;
    let id = match advice {
        Advice::Measure {
            recorded: Some(drive),
            ..
        } => return recorded(page, standing, drive),
        Advice::Measure { measurement, .. } => *measurement,
        Advice::TakeAgain(again) => {
            let id = again.measurement;
            if let Some(words) = Reason::of(standing, advice, id, false).words() {
                page.text(Tone::Plain, 0, &words)?;
            }
            id
        }
        Advice::Repair { first, .. } => {
            let likelier = standing.repairing(advice).is_some_and(|now| now.likelier);
            let titles = first.iter().map(|id| {
                let repair = family.repair(*id);
                format!("{} [{}]", repair.title, repair.name)
            });
            let titles = titles.collect::<Vec<_>>().join("; ");
            page.text(Tone::Strong, 0, &format!("Repair: {titles}"))?;
            return if likelier {
                page.text(Tone::Plain, 0, LIKELIER)
            } else {
                Ok(())
            };
        }
        Advice::Escalate => return page.text(Tone::Strong, 0, "Hand the job on."),
    };
    let measurement = family.measurement(id);
    let title = format!("{} [{}]", measurement.title, measurement.name);
    let Some(taking) = standing.taking(id) else {
        return page.text(Tone::Strong, 0, &title);
    };
    let text = format!("{title}: {}", minutes(taking.minutes));
    page.text(Tone::Strong, 0, &text)?;
    first(page, family, &taking.way)
}

/// A drive to be recorded: what it takes and what it answers.
fn recorded(
    page: &mut Page<'_>,
    standing: &Standing<'_, '_>,
    drive: &RecordedDrive,
) -> io::Result<()> {
    let family = standing.model.family;
    let takes = minutes(drive.taking.minutes);
    let text = format!("Record one drive, which answers all of these: {takes}");
    page.text(Tone::Strong, 0, &text)?;
    for id in &drive.answers {
        let measurement = family.measurement(*id);
        let text = format!("{} [{}]", measurement.title, measurement.name);
        page.text(Tone::Strong, 2, &text)?;
    }
    first(page, family, &drive.taking.way)
}

/// What must be in place first.
fn first(page: &mut Page<'_>, family: &Family, way: &Way) -> io::Result<()> {
    let entered = way.order.iter().map(|place| &family.set_ups[*place]);
    let entered: Vec<&str> = entered.map(|set_up| set_up.title.as_str()).collect();
    if entered.is_empty() {
        return Ok(());
    }
    page.text(Tone::Plain, 2, &format!("First: {}.", entered.join("; ")))
}

/// The candidates by posterior, the live ones first.
fn candidates(page: &mut Page<'_>, outlook: &Outlook) -> io::Result<()> {
    let in_play = count(outlook.in_play);
    page.heading(&format!("Candidates: {in_play} in play"))?;
    let all = &outlook.candidates;
    let live = all.iter().filter(|candidate| candidate.live).count();
    let shown = LISTED.min(live);
    let mut rows: Vec<Vec<String>> = all[..shown]
        .iter()
        .map(|candidate| {
            vec![
                percent(candidate.posterior),
                format!("{} [{}]", candidate.title, candidate.causes.join(" + ")),
            ]
        })
        .collect();
    rows.push(vec![
        percent(outlook.unlisted),
        "none of the listed causes".to_owned(),
    ]);
    let header = ["belief", "what is wrong"];
    page.lines(0, &table(&header, &rows, &[0], page.width()))?;
    let (hidden, less) = (all.len() - shown, all.len() - live);
    if hidden > 0 {
        let text = format!("and {hidden} more, {less} of them no longer live");
        page.text(Tone::Faint, 0, &text)?;
    }
    Ok(())
}
