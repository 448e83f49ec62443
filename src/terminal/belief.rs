//! The belief on the screen: what leads, what was ruled out, what to do.

use std::io;

use crate::session::{Change, Offer, OnTheWay, Outlook, RepairOrder, Status};
use crate::text::figures::{bar, minutes, money, percent};
use crate::text::{Page, Tone, few_words, table, wrapping};

/// How many repairs a screen shows before it sums up the rest.
const REPAIRS_SHOWN: usize = 5;
/// The width of a bar in marks.
const BAR: usize = 20;

/// The repairs that would cure the vehicle, with their probabilities and bars, and the share of what is not listed.
pub(super) fn repairs(page: &mut Page<'_>, outlook: &Outlook) -> io::Result<()> {
    let shown = outlook
        .repairs
        .iter()
        .filter(|cure| cure.probability >= 0.005);
    let mut lines: Vec<(String, f64)> = shown
        .take(REPAIRS_SHOWN)
        .map(|cure| (cure.title.clone(), cure.probability))
        .collect();
    let rest = &outlook.repairs[lines.len()..];
    if !rest.is_empty() {
        let noun = if rest.len() == 1 {
            "other repair"
        } else {
            "other repairs"
        };
        let left = rest.iter().map(|cure| cure.probability).sum();
        lines.push((format!("{} {noun}", rest.len()), left));
    }
    lines.push(("none of the listed causes".to_owned(), outlook.unlisted));
    let name_width = page.width().saturating_sub(BAR + 14);
    for (name, p) in lines {
        let mut wrapped = textwrap::wrap(&name, wrapping(name_width)).into_iter();
        let first = wrapped.next().unwrap_or_default();
        let line = format!("{first:name_width$} {:>7}  {}", percent(p), bar(p, BAR));
        page.lines(2, &line)?;
        for further in wrapped {
            page.lines(4, &further)?;
        }
    }
    Ok(())
}

/// The job in a line: vehicle, order, readings, minutes so far, what is in place.
pub(super) fn status(page: &mut Page<'_>, status: &Status) -> io::Result<()> {
    let readings = match status.readings {
        1 => "1 reading".to_owned(),
        more => format!("{more} readings"),
    };
    let order = status.order.as_ref().map(|order| format!("order {order}"));
    let of = status.vehicle.clone().into_iter().chain(order);
    let all = of.chain([readings, minutes(status.minutes)]);
    let mut text = all.collect::<Vec<_>>().join(" · ");
    if !status.in_place.is_empty() {
        text = format!("{text} · {}", status.in_place.join("; "));
    }
    page.text(Tone::Faint, 0, &text)
}

/// What is likely, in one line: the repairs that would cure it, as many as fit.
pub(super) fn likely(page: &mut Page<'_>, outlook: &Outlook) -> io::Result<()> {
    let unlisted = format!(" Nothing listed {}.", percent(outlook.unlisted));
    let mut text = String::new();
    for cure in outlook.repairs.iter().take(3) {
        let (begins, chance) = match text.as_str() {
            "" => ("Likely: ".to_owned(), percent(cure.probability)),
            some => (format!("{some}, "), percent(cure.probability)),
        };
        let wide = textwrap::core::display_width;
        let taken = wide(&begins) + chance.len() + unlisted.len() + 2;
        let left = page.width().saturating_sub(taken);
        let title = few_words(&cure.title);
        if wide(&title) <= left {
            text = format!("{begins}{title} {chance}");
        } else if text.is_empty() {
            // The one that leads is always named, as far as the line goes.
            let words = textwrap::wrap(&title, left.saturating_sub(1).max(10));
            let first = words.first().map(AsRef::as_ref).unwrap_or_default();
            let first = first.trim_end_matches('…');
            text = format!("{begins}{first}… {chance}");
        } else {
            break;
        }
    }
    if text.is_empty() {
        text.push_str("No listed cause is left");
    }
    page.text(Tone::Plain, 0, &format!("{text}.{unlisted}"))
}

/// What the last answer changed, in a line: the chances it moved most, and how many causes are now unlikely.
pub(super) fn changed(page: &mut Page<'_>, change: &Change) -> io::Result<()> {
    let moved = change.moved.iter().filter_map(|shift| {
        let (before, after) = (percent(shift.before), percent(shift.after));
        let bare = before.trim_end_matches(" %");
        let change = format!("{bare} → {after}");
        (before != after).then(|| (few_words(&shift.title), &shift.title, change))
    });
    let moved: Vec<_> = moved.take(2).collect();
    // Two that differ only in what is cut are told whole.
    let alike = matches!(moved.as_slice(), [(one, ..), (other, ..)] if one == other);
    let mut told: Vec<String> = moved
        .iter()
        .map(|(few, title, change)| format!("{} {change}", if alike { title } else { few }))
        .collect();
    if told.is_empty() {
        told.push("It changes little".to_owned());
    }
    for (number, what) in [
        (change.ruled_out.len(), "now unlikely"),
        (change.back.len(), "in question again"),
    ] {
        if number > 0 {
            told.push(format!("{number} {what}"));
        }
    }
    page.say(&format!("{}.", told.join("; ")))
}

/// That the readings fit nothing well, and which fit worst.
pub(super) fn fits_badly(page: &mut Page<'_>, outlook: &Outlook) -> io::Result<()> {
    if outlook.fits_badly.is_empty() {
        return Ok(());
    }
    let text = format!(
        "These readings fit nothing well; worst: {}. Until they do, nothing is opened on their ground.",
        outlook.fits_badly.join(", ")
    );
    page.text(Tone::Strong, 2, &text)
}

/// What readings found by themselves, with what it takes to put right.
pub(super) fn on_the_way(page: &mut Page<'_>, found: &[OnTheWay]) -> io::Result<()> {
    for found in found {
        let text = format!(
            "{}: {}, parts {} ({})",
            found.title,
            minutes(found.minutes),
            money(found.parts),
            found.words,
        );
        page.item(Tone::Strong, 2, "Found on the way: ", &text)?;
    }
    Ok(())
}

/// The cheapest way to end without measuring again, as a numbered order; at most so many steps of it.
pub(super) fn repair_order(page: &mut Page<'_>, now: &RepairOrder, most: usize) -> io::Result<()> {
    for (number, step) in (1..).zip(now.order.iter().take(most)) {
        let text = format!(
            "{} ({} that it cures; {})",
            step.title,
            percent(step.probability),
            money(step.cost),
        );
        page.item(Tone::Plain, 4, &format!("{number}. "), &text)?;
    }
    more(page, 4, now.order.len(), most)?;
    if let Some(p) = now.escalates {
        let p = percent(p);
        let text = format!("then hand the job on ({p} that it comes to that)");
        page.text(Tone::Plain, 4, &text)?;
    }
    if !now.exact {
        let text =
            "Groups share repairs, and are too many to try every order: by probability over cost.";
        page.text(Tone::Faint, 4, text)?;
    }
    Ok(())
}

/// The measurements on offer as a table, at most so many of them, with their ids or without.
pub(super) fn offers(
    page: &mut Page<'_>,
    indent: usize,
    offers: &[Offer],
    most: usize,
    ids: bool,
) -> io::Result<()> {
    if offers.is_empty() {
        return page.text(
            Tone::Plain,
            indent,
            "No measurement left would set anything apart.",
        );
    }
    let rows: Vec<Vec<String>> = (1..)
        .zip(offers.iter().take(most))
        .map(|(place, offer)| {
            let mut name = offer.title.clone();
            if ids {
                name = format!("{name} [{}]", offer.id);
            }
            name = match offer.before_titles.as_slice() {
                [] => name,
                [only] => format!("{name}, after: {only}"),
                several => format!("{name}, after {} others", several.len()),
            };
            vec![
                format!("{place}"),
                name,
                minutes(offer.minutes),
                money(offer.saves),
                offer.equipment.join(", "),
            ]
        })
        .collect();
    let header = ["", "measurement", "time", "saves", "ties up"];
    let width = page.width() - indent;
    page.lines(indent, &table(&header, &rows, &[0, 2, 3], width))?;
    more(page, indent, offers.len(), most)
}

/// How many of a list are not shown, where some are not.
fn more(page: &mut Page<'_>, indent: usize, all: usize, shown: usize) -> io::Result<()> {
    match all.saturating_sub(shown) {
        0 => Ok(()),
        more => page.text(Tone::Faint, indent, &format!("and {more} more")),
    }
}
