//! A measurement on the screen: what it takes, what can hurt, what to do, what judges it.

use std::io;

use super::pages::{Part, Room};
use crate::session::{LimitShown, Measure, NOT_SURE_ENOUGH, Prospect, Reason, Worth};
use crate::text::figures::{about, added, count, minutes, money, percent};
use crate::text::{Page, Tone, table};

/// Its heading: number, title, time.
pub(super) fn title(page: &mut Page<'_>, measure: &Measure) -> io::Result<()> {
    let title = match measure.number {
        Some(number) => format!("{number}  {}", measure.title),
        None => format!("Prove it: {}", measure.title),
    };
    page.spread(&title, &time(measure))
}

/// The time it takes.
fn time(measure: &Measure) -> String {
    let set_ups = measure.set_ups.iter();
    let to_prepare: f64 = set_ups.map(|set_up| set_up.minutes).sum();
    match &measure.worth {
        Some(Worth { open: true, .. }) => "open: takes no time now".to_owned(),
        Some(Worth { along: true, .. }) => "in the same go".to_owned(),
        Some(worth) if worth.set_up_minutes > 0.0 => format!(
            "{} + {} to prepare",
            minutes(worth.minutes),
            added(worth.set_up_minutes)
        ),
        Some(worth) => minutes(worth.minutes),
        None if to_prepare > 0.0 => format!(
            "{} + {} to prepare",
            minutes(measure.minutes),
            added(to_prepare)
        ),
        None => minutes(measure.minutes),
    }
}

/// Why it is asked for, where that is not plain: it is to be taken again, or the technician chose it.
pub(super) fn reason(page: &mut Page<'_>, measure: &Measure) -> io::Result<()> {
    let Some(words) = measure.reason.as_ref().and_then(Reason::words) else {
        return Ok(());
    };
    match measure.reason {
        Some(Reason::Chosen { .. }) => page.say(&words),
        _ => page.stress(&words),
    }
}

/// What the same drive answers where it is recorded.
pub(super) fn recorded(page: &mut Page<'_>, measure: &Measure) -> io::Result<()> {
    let Some(with) = &measure.recorded else {
        return Ok(());
    };
    page.stress(&format!(
        "Best recorded: one drive of {} also answers",
        minutes(with.minutes)
    ))?;
    for (title, name) in with.titles.iter().zip(&with.measurements) {
        page.entry("  ", &format!("{title} [{name}]"))?;
    }
    page.say(
        "`take NAME` shows the steps of each. Then `recording FILE`; or answer this one by hand.",
    )
}

/// What to prepare, in order, each behind its warnings.
pub(super) fn to_prepare(room: Room, measure: &Measure) -> io::Result<Vec<Part<'_>>> {
    let set_ups = measure.set_ups.iter().zip(1..);
    set_ups
        .map(|(set_up, number)| {
            let mark = if number == 1 {
                "Prepare  "
            } else {
                "    then "
            };
            let text = format!("{} ({:.0})", set_up.title, set_up.minutes);
            Ok(Part {
                cautions: &set_up.cautions,
                shown: room.set(|page| page.entry(mark, &text))?,
                begins: false,
            })
        })
        .collect()
}

/// What to do, in order, behind its warnings.
pub(super) fn to_do(room: Room, measure: &Measure) -> io::Result<Vec<Part<'_>>> {
    let steps = measure.steps.iter().zip(1..);
    steps
        .map(|(step, number)| {
            let mark = format!("{number}. ");
            Ok(Part {
                cautions: &measure.cautions,
                shown: room.set(|page| page.entry(&mark, step))?,
                begins: number == 1,
            })
        })
        .collect()
}

/// The limits that judge it, with who says so.
pub(super) fn limits(page: &mut Page<'_>, measure: &Measure) -> io::Result<()> {
    let words = |name: &str| name.replace('-', " ");
    let names: Vec<String> = measure.limits.iter().map(|of| words(&of.name)).collect();
    if names.is_empty() {
        return Ok(());
    }
    if measure.sheet.is_none() {
        let names = names.join(", ");
        return page.entry(
            "Limit  ",
            &format!("look up in the vehicle's service information: {names}"),
        );
    }
    let source = |limit: &LimitShown| limit.source.clone().unwrap_or_default();
    let (first, one) = (&measure.limits[0], measure.limits.len() == 1);
    let same = measure.limits.iter().all(|of| source(of) == source(first));
    let each = measure.limits.iter().map(|limit| {
        let known = limit.words.as_deref().unwrap_or("not on the sheet");
        let name = if one {
            String::new()
        } else {
            format!("{}: ", words(&limit.name))
        };
        let from = source(limit);
        if same || from.is_empty() {
            format!("{name}{known}")
        } else {
            format!("{name}{known} ({from})")
        }
    });
    let mut text = each.collect::<Vec<_>>().join("; ");
    if same && !source(first).is_empty() {
        text = format!("{text} ({})", source(first));
    }
    page.entry("Limit  ", &text)
}

/// What the advice rests on, for who asks why.
pub(super) fn explained(page: &mut Page<'_>, measure: &Measure) -> io::Result<()> {
    match &measure.reason {
        Some(Reason::Advised { saves, .. }) if *saves < 0.0 => page.say(NOT_SURE_ENOUGH)?,
        Some(Reason::Advised { saves, .. }) if *saves <= 0.0 => {
            page.say("Looked at before anything else, or needed before what leads.")?;
        }
        Some(Reason::Advised {
            repair_now,
            saves,
            fastest,
        }) => {
            page.say(&format!(
                "Repairing now would cost {} on average; testing first saves {} of it.",
                money(*repair_now),
                money(*saves)
            ))?;
            if let Some(fastest) = fastest {
                page.text(
                    Tone::Faint,
                    2,
                    &format!(
                        "By itself most would be saved by: {fastest}. With what comes after counted, this one \
                         costs less on average."
                    ),
                )?;
            }
        }
        _ => reason(page, measure)?,
    }
    if let Some(worth) = &measure.worth {
        page.say(&format!(
            "Of {} suspects still in play it is expected to set apart {}.",
            about(worth.in_play),
            about(worth.separates),
        ))?;
    }
    prospects(page, &measure.prospects)
}

/// What each outcome of a measurement would leave.
pub(super) fn prospects(page: &mut Page<'_>, prospects: &[Prospect]) -> io::Result<()> {
    let row = |prospect: &Prospect| {
        let with = percent(prospect.leads_with);
        let leads = prospect
            .leads
            .as_ref()
            .map(|title| format!("{title} {with}"));
        vec![
            prospect.words.clone(),
            percent(prospect.probability),
            count(prospect.in_play),
            leads.unwrap_or_default(),
        ]
    };
    let rows: Vec<Vec<String>> = prospects.iter().map(row).collect();
    let header = ["if it reads", "chance", "in play", "then leads"];
    page.lines(4, &table(&header, &rows, &[1, 2], page.width() - 4))
}
