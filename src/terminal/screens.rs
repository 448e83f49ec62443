//! The screens of a session: what a prompt holds, written on pages.

use std::io;

use super::belief::{fits_badly, likely, offers, on_the_way, repair_order, repairs, status};
use super::complaint;
use super::measure::{explained, limits, reason, recorded, title, to_do, to_prepare};
use super::pages::{Part, Room, warning};
use crate::record::Found;
use crate::session::{
    Ask, CauseWay, Choice, Hit, LIKELIER, Measure, NO_WAY, OnTheWay, Outlook, Prompt, Read,
    ReadingAsked, RepairSheet, SetUpAsked, SoFar, Why,
};
use crate::text::figures::{minutes, money, percent};
use crate::text::{Page, Tone, counted, few_words, plain, table};

/// How many measurements the list shows.
const LISTED: usize = 15;
/// How many suspects an explanation names as now unlikely before it counts the rest.
const UNLIKELY_SHOWN: usize = 12;

/// What of a measurement the screen shows already.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// Its heading and what is to be prepared.
    Heading,
    /// All of it.
    Steps,
}

/// A prompt on pages: what is new of it, and the question whole on the last.
pub fn pages(
    room: Room,
    said: &str,
    prompt: &Prompt,
    shown: Option<Shown>,
    path: &str,
) -> io::Result<Vec<String>> {
    let asked = room.set(|page| question(page, prompt, path))?;
    let glance = room.set(|page| glance(page, prompt))?;
    let head = format!("{said}{glance}");
    match (&prompt.ask, &prompt.measure) {
        (Ask::Repair(sheet), _) => {
            let title = room.set(|page| repair_title(page, sheet))?;
            let about = room.set(|page| how_sure(page, sheet, prompt.outlook.as_deref()))?;
            let parts = repair_parts(room, sheet, &about)?;
            room.pages(&head, &title, &parts, &asked)
        }
        (_, Some(measure)) => {
            let title = room.set(|page| title(page, measure))?;
            let waits = matches!(prompt.ask, Ask::Condition { .. } | Ask::Cooling { .. });
            let mut parts = Vec::new();
            if shown.is_none() {
                parts = to_prepare(room, measure)?;
            }
            if shown != Some(Shown::Steps) && !waits {
                parts.extend(to_do(room, measure)?);
            }
            match shown {
                None => {
                    let why = room.set(|page| {
                        reason(page, measure)?;
                        recorded(page, measure)
                    })?;
                    room.pages(&head, &format!("{title}{why}"), &parts, &asked)
                }
                Some(Shown::Heading) if !parts.is_empty() => {
                    room.pages(&format!("{said}\n"), &title, &parts, &asked)
                }
                Some(_) => room.pages(said, "", &[], &asked),
            }
        }
        _ => room.pages(&head, "", &[], &asked),
    }
}

/// What stands above a proposal: the job in a line, and what is likely in another.
fn glance(page: &mut Page<'_>, prompt: &Prompt) -> io::Result<()> {
    let Some(now) = &prompt.status else {
        return Ok(());
    };
    page.gap()?;
    status(page, now)?;
    let proposes = matches!(
        prompt.ask,
        Ask::Reading(_) | Ask::Condition { .. } | Ask::Hold { .. } | Ask::Cooling { .. }
    );
    if let Some(outlook) = prompt.outlook.as_deref().filter(|_| proposes) {
        likely(page, outlook)?;
    }
    page.gap()
}

/// What is in play when a complaint is told, or another one.
pub(super) fn overview(page: &mut Page<'_>, outlook: &Outlook) -> io::Result<()> {
    let all = outlook.candidates.len();
    let pairs = outlook.candidates.iter();
    let pairs = pairs.filter(|candidate| candidate.causes.len() > 1).count();
    page.gap()?;
    page.say(&match pairs {
        0 => format!("{all} causes can explain this."),
        pairs => format!(
            "{}, and {} of several, can explain this.",
            counted(
                u32::try_from(all - pairs).unwrap_or(u32::MAX),
                "cause",
                "causes"
            ),
            counted(u32::try_from(pairs).unwrap_or(u32::MAX), "set", "sets"),
        ),
    })
}

/// The question itself, and what is shown right above its prompt.
pub(super) fn question(page: &mut Page<'_>, prompt: &Prompt, path: &str) -> io::Result<()> {
    match &prompt.ask {
        Ask::Lost { lost } => {
            page.gap()?;
            let found = "The record names what the knowledge no longer has:";
            page.text(Tone::Strong, 0, found)?;
            for name in lost {
                page.entry("", name)?;
            }
            let question = "Go on without it, as if it had never been recorded? (yes or no)";
            page.text(Tone::Strong, 0, question)
        }
        Ask::Still { choices } => {
            page.stress("Look first: what of this still stands?")?;
            for (number, choice) in (1..).zip(choices) {
                page.entry(&format!("{number} "), &choice.title)?;
            }
            page.say("Numbers; `all`, or `none`.")
        }
        Ask::Complaint => {
            page.gap()?;
            let question = "What does the customer say? In their own words.";
            page.text(Tone::Strong, 0, question)
        }
        Ask::Symptoms { choices, .. } => complaint::symptoms(page, choices),
        Ask::Told { told } => complaint::told(page, told),
        Ask::NoSymptom { words, found } => complaint::no_symptom(page, words, found, path),
        Ask::Stuck { why } => {
            page.gap()?;
            page.text(Tone::Strong, 0, why)?;
            let hint = "Take one back (`back`), or treat them as two jobs.";
            page.text(Tone::Plain, 0, hint)
        }
        Ask::Cooling { seconds } => page.say(&format!(
                "Not yet: the last stall test has not cooled down. {seconds} s are left, engine idling in P or N, \
                 not switched off. `wait` counts them down; `list` has other measurements."
            ),
        ),
        Ask::Condition {
            question,
            unit,
            from,
            to,
            ..
        } => {
            let span = match (unit.as_deref(), from.map(plain), to.map(plain)) {
                (None, ..) => " (yes or no)".to_owned(),
                (Some(unit), Some(from), Some(to)) => format!(" ({from} to {to} {unit})"),
                (Some(unit), Some(from), None) => format!(" (at least {from} {unit})"),
                (Some(unit), None, Some(to)) => format!(" (at most {to} {unit})"),
                (Some(_), None, None) => String::new(),
            };
            page.item(Tone::Strong, 2, "Before it: ", &format!("{question}{span}"))
        }
        Ask::Hold { limit, .. } => page.say(&format!(
            "Full throttle {} s at most. Enter starts the clock, Enter again stops it; or type the seconds held.",
            plain(*limit)
        )),
        Ask::Reading(asked) => reading(page, asked, prompt.measure.as_deref()),
        Ask::Repair(_) => page.stress("done · why · list, take · stop"),
        Ask::Did {
            title,
            unread,
            unproved,
            ..
        } => was_done(page, title, unread, unproved.as_deref()),
        Ask::HandOn { cost, put_back } => {
            hand_on(page, *cost, prompt.outlook.as_deref())?;
            to_put_back(page, put_back)?;
            page.stress("`list` and `take` to measure on, `stop` to leave.")
        }
        Ask::Confirm { question, choices } => {
            page.text(Tone::Heading, 0, "Prove the repair")?;
            page.stress(question)?;
            for (number, choice) in (1..).zip(choices) {
                let text = format!("{}: {}", choice.name.replace('-', " "), choice.title);
                page.item(Tone::Plain, 4, &format!("{number} "), &text)?;
            }
            Ok(())
        }
        Ask::Fixed { .. } => fixed(page, &prompt.ask),
        Ask::Found { choices } => causes(page, choices),
        Ask::Closed {
            cured,
            found,
            on_the_way,
            ..
        } => closed(page, cured, found.as_ref(), on_the_way, path),
    }
}

/// Whether a repair was done that need not be the advised one, and what speaks against it.
fn was_done(
    page: &mut Page<'_>,
    title: &str,
    unread: &[String],
    unproved: Option<&str>,
) -> io::Result<()> {
    page.stress(&format!("{title}: was that done? (yes or no)"))?;
    if !unread.is_empty() {
        page.say(&format!("Not read before it: {}.", unread.join("; ")))?;
    }
    unproved.map_or(Ok(()), |text| page.say(text))
}

/// Whether the complaint is gone, behind what is to be done and seen before that is answered.
fn fixed(page: &mut Page<'_>, ask: &Ask) -> io::Result<()> {
    let Ask::Fixed {
        verify,
        put_back,
        first,
        off,
        not_read,
        not_done,
    } = ask
    else {
        return Ok(());
    };
    page.text(Tone::Heading, 0, "Prove the repair")?;
    for text in verify {
        page.entry("", text)?;
    }
    to_put_back(page, put_back)?;
    if let Some(first) = first {
        page.item(Tone::Strong, 2, "First: ", first)?;
    }
    if !not_read.is_empty() {
        page.say(&format!("Not read: {}.", not_read.join("; ")))?;
    }
    if !off.is_empty() {
        let text = format!("Not as a mended vehicle reads: {}.", off.join(", "));
        page.stress(&text)?;
    }
    if !not_done.is_empty() {
        page.stress(&format!("Not done yet: {}.", not_done.join("; ")))?;
    }
    page.stress("Is the complaint gone? (yes or no)")
}

/// A job closed as fixed: what it was, how that is known, what is still to be put right.
fn closed(
    page: &mut Page<'_>,
    cured: &str,
    found: Option<&Found>,
    still: &[OnTheWay],
    path: &str,
) -> io::Result<()> {
    page.text(Tone::Heading, 0, "Closed as fixed")?;
    page.stress(cured)?;
    let known = match found {
        Some(Found::Only) => "No other cause listed for this complaint has that repair.",
        Some(Found::Stated) => "So it was found.",
        Some(Found::Unknown) => "Which it was, nobody saw.",
        None => "The likeliest by the readings; nobody was asked.",
    };
    page.say(known)?;
    on_the_way(page, still)?;
    page.say(&format!("The record of this job: {path}"))
}

/// The question of a measurement and what can be answered.
fn reading(page: &mut Page<'_>, asked: &ReadingAsked, measure: Option<&Measure>) -> io::Result<()> {
    if let Some(measure) = measure {
        if let Some(note) = &measure.note {
            page.item(Tone::Plain, 2, "Note  ", note)?;
        }
        limits(page, measure)?;
    }
    page.stress(&asked.question)?;
    choices(page, asked)?;
    if !asked.parts.is_empty() {
        page.say("Type each reading in turn; or `=` and the number itself; or an outcome.")?;
    } else if let Some(outcomes) = &asked.without_sheet {
        page.say(&format!(
            "No sheet is named: judge it by the vehicle's service information and answer {}.",
            outcomes.join(", ")
        ))?;
    }
    part(page, asked)
}

/// The raw reading that is asked for now, where a number is computed from several.
pub(super) fn part(page: &mut Page<'_>, asked: &ReadingAsked) -> io::Result<()> {
    asked.part().map_or(Ok(()), |part| {
        page.item(Tone::Strong, 2, &format!("{}: ", part.name), &part.question)
    })
}

/// What can be answered in words: side by side where they are short.
fn choices(page: &mut Page<'_>, asked: &ReadingAsked) -> io::Result<()> {
    let texts: Vec<String> = (1..)
        .zip(&asked.choices)
        .map(|(number, choice)| match asked.unit {
            Some(_) => format!("or  {}", choice.words()),
            None => format!("{number}  {}", choice.words()),
        })
        .collect();
    let wide = |text: &String| textwrap::core::display_width(text);
    let widest = texts.iter().map(wide).max().unwrap_or(0) + 3;
    let columns = ((page.width() - 4) / widest.max(1)).clamp(1, 3);
    if columns == 1 {
        let mut texts = texts.iter();
        return texts.try_for_each(|text| {
            let (mark, text) = text.split_once("  ").unwrap_or(("", text));
            page.item(Tone::Plain, 4, &format!("{mark}  "), text)
        });
    }
    for row in texts.chunks(columns) {
        let cells = row
            .iter()
            .map(|text| format!("{text}{}", " ".repeat(widest - wide(text))));
        page.lines(4, &cells.collect::<String>())?;
    }
    Ok(())
}

/// The heading of a repair.
fn repair_title(page: &mut Page<'_>, sheet: &RepairSheet) -> io::Result<()> {
    let heading = if sheet.goes_on {
        "Repair, and see what it shows."
    } else {
        "Stop measuring."
    };
    page.text(Tone::Heading, 0, heading)?;
    for repair in &sheet.repairs {
        let cost = format!("{}, cost {}", minutes(repair.minutes), money(repair.cost));
        page.spread(&repair.title, &cost)?;
    }
    Ok(())
}

/// How sure a repair is, what comes after it, what speaks against it.
fn how_sure(page: &mut Page<'_>, sheet: &RepairSheet, outlook: Option<&Outlook>) -> io::Result<()> {
    if let Some(saves) = sheet.measuring_saves {
        let saves = money(saves);
        page.say(&format!(
            "Your choice; measuring on would save {saves} on average."
        ))?;
    }
    let mut sure = format!("{} that it cures.", percent(sheet.probability));
    if let Some(outlook) = outlook.filter(|_| !sheet.goes_on) {
        let next = outlook
            .after(&sheet.repairs)
            .map(|step| format!("{} ({})", few_words(&step.title), percent(step.probability)));
        let escalates = outlook.repair_now.escalates;
        let on = escalates.map(|_| "hand the job on".to_owned());
        let after: Vec<String> = next.into_iter().chain(on).collect();
        if !after.is_empty() {
            sure = format!("{sure} If not: {}.", after.join(", then "));
        }
    }
    page.say(&sure)?;
    if sheet.likelier {
        page.say(LIKELIER)?;
    }
    if let Some(outlook) = outlook {
        on_the_way(page, &outlook.on_the_way)?;
    }
    let against = sheet.against.iter();
    let against: Vec<String> = against
        .map(|reading| {
            let without = percent(reading.without);
            format!(
                "{}: {} (without it {without})",
                reading.title, reading.words
            )
        })
        .collect();
    if !against.is_empty() {
        page.entry("Against it  ", &format!("{}.", against.join("; ")))?;
    }
    for alike in &sheet.alike {
        let by = match alike.parted_by_titles.as_slice() {
            [] => "nothing left tells them apart".to_owned(),
            some => format!("told apart by: {}", some.join("; ")),
        };
        let text = format!("{} ({by}).", alike.titles.join("; "));
        page.entry("Looks alike  ", &text)?;
    }
    Ok(())
}

/// A repair in parts: how sure it is, the work behind its warnings, its care, what to look at, what proves it.
fn repair_parts<'p>(room: Room, sheet: &'p RepairSheet, about: &str) -> io::Result<Vec<Part<'p>>> {
    let part = |cautions: &'p [String], shown: String| Part {
        cautions,
        shown,
        begins: !cautions.is_empty(),
    };
    let entry = |mark: &str, text: &str| room.set(|page| page.entry(mark, text));
    let several = sheet.repairs.len() > 1;
    let mut parts = vec![part(&[], about.to_owned())];
    for repair in &sheet.repairs {
        match &repair.prepare {
            None => parts.push(part(&[], entry("Prepare  ", NO_WAY)?)),
            Some(prepare) => {
                for (place, set_up) in prepare.iter().enumerate() {
                    let mark = if place == 0 { "Prepare  " } else { "    then " };
                    parts.push(Part {
                        begins: false,
                        ..part(&set_up.cautions, entry(mark, &set_up.title)?)
                    });
                }
            }
        }
        let work = if several {
            entry("Do  ", &repair.title)?
        } else {
            String::new()
        };
        parts.push(part(&repair.cautions, work));
        if !repair.lacks.is_empty() {
            let text = format!("{}, which is not here.", repair.lacks.join(", "));
            parts.push(part(&[], entry("It takes  ", &text)?));
        }
    }
    for text in &sheet.care {
        parts.push(part(&[], entry("Care  ", text)?));
    }
    let look_at: Vec<&str> = sheet.look_at.iter().map(|of| of.title.as_str()).collect();
    if !look_at.is_empty() {
        let text = format!("{} (then `take` it).", look_at.join("; "));
        parts.push(part(&[], entry("Look at while it is open  ", &text)?));
    }
    for repair in &sheet.repairs {
        parts.push(part(&[], entry("Prove it  ", &repair.verify)?));
    }
    Ok(parts)
}

/// Nothing listed is worth repairing.
fn hand_on(page: &mut Page<'_>, cost: f64, outlook: Option<&Outlook>) -> io::Result<()> {
    page.text(Tone::Heading, 0, "Hand the job on")?;
    if let Some(outlook) = outlook {
        let (unlisted, cost) = (percent(outlook.unlisted), money(cost));
        page.say(&format!(
            "No listed cause is worth repairing: {unlisted} that it is none of them. Handing on costs {cost} here."
        ))?;
        repairs(page, outlook)?;
        fits_badly(page, outlook)?;
        on_the_way(page, &outlook.on_the_way)?;
    }
    Ok(())
}

/// What must be put back before the vehicle is handed over, each behind its warnings.
fn to_put_back(page: &mut Page<'_>, set_ups: &[SetUpAsked]) -> io::Result<()> {
    let mut shown: Vec<&String> = Vec::new();
    for (place, set_up) in set_ups.iter().enumerate() {
        for caution in &set_up.cautions {
            if !shown.contains(&caution) {
                warning(page, caution)?;
                shown.push(caution);
            }
        }
        let mark = if place == 0 {
            "Put back  "
        } else {
            "     then "
        };
        page.entry(mark, &set_up.title)?;
    }
    Ok(())
}

/// The causes of which one was found.
pub(super) fn causes(page: &mut Page<'_>, choices: &[Choice]) -> io::Result<()> {
    page.stress("Which of these was found?")?;
    for (number, cause) in (1..).zip(choices) {
        page.entry(&format!("{number} "), &cause.title)?;
    }
    page.entry("0 ", "unknown: nobody saw it")
}

/// What was read so far.
pub(super) fn readings(page: &mut Page<'_>, so_far: &[Read]) -> io::Result<()> {
    if so_far.is_empty() {
        return page.say("Nothing was read yet.");
    }
    for Read {
        number,
        title,
        words,
        counts,
    } in so_far
    {
        let mark = if *counts { "" } else { " (does not count)" };
        let title = title.trim_end_matches('?');
        page.entry(&format!("{number:2} "), &format!("{title}: {words}{mark}"))?;
    }
    Ok(())
}

/// A job that is taken up again: its complaint, its age, what was read.
pub(super) fn resumed(page: &mut Page<'_>, so_far: &SoFar, opened: &str) -> io::Result<()> {
    if !so_far.complaint.is_empty() {
        page.text(Tone::Strong, 0, &so_far.complaint.join("; "))?;
    }
    page.text(Tone::Plain, 0, opened)?;
    if so_far.readings.is_empty() {
        return Ok(());
    }
    page.text(Tone::Plain, 0, "Read so far:")?;
    readings(page, &so_far.readings)
}

/// The measurements on offer, to choose from.
pub(super) fn list(page: &mut Page<'_>, outlook: &Outlook, all: bool) -> io::Result<()> {
    let most = if all { usize::MAX } else { LISTED };
    offers(page, 2, &outlook.offers, most, false)?;
    page.say("`take` and a number, or words of a title, takes one of them.")
}

/// What a search found.
pub(super) fn hits(page: &mut Page<'_>, hits: &[Hit]) -> io::Result<()> {
    if hits.is_empty() {
        return page.say("No title has these words.");
    }
    for Hit { kind, title, .. } in hits {
        page.entry(&format!("{kind:11} "), title)?;
    }
    Ok(())
}

/// Why this is asked, what would cure the vehicle, and what the last answer made unlikely.
pub(super) fn why_now(page: &mut Page<'_>, prompt: &Prompt) -> io::Result<()> {
    if let Some(measure) = &prompt.measure {
        explained(page, measure)?;
    }
    let Some(outlook) = &prompt.outlook else {
        return Ok(());
    };
    page.stress("What would cure it, as it stands:")?;
    repairs(page, outlook)?;
    if !matches!(
        prompt.ask,
        Ask::Reading(_) | Ask::Condition { .. } | Ask::Hold { .. }
    ) {
        page.say("The cheapest order, where one does not cure it:")?;
        repair_order(page, &outlook.repair_now, LISTED)?;
    }
    if let Ask::Repair(sheet) = &prompt.ask {
        for alike in &sheet.alike {
            page.entry(&format!("Like {}: ", alike.titles.join("; ")), &alike.why)?;
        }
    }
    let Some(change) = &prompt.change else {
        return Ok(());
    };
    for (mark, titles) in [
        ("Now unlikely: ", &change.ruled_out),
        ("In question again: ", &change.back),
    ] {
        if !titles.is_empty() {
            page.entry(mark, &few(titles))?;
        }
    }
    Ok(())
}

/// The first few of a list, and how many more there are.
fn few(titles: &[String]) -> String {
    let shown = titles.len().min(UNLIKELY_SHOWN);
    let listed = titles[..shown].join("; ");
    match titles.len() - shown {
        0 => format!("{listed}."),
        more => format!("{listed}; and {more} more."),
    }
}

/// An explanation.
pub(super) fn why(page: &mut Page<'_>, why: &Why) -> io::Result<()> {
    match why {
        Why::Measurement { prospects: each } => super::measure::prospects(page, each),
        Why::Cause(way) => cause_way(page, way),
    }
}

/// Which reading moved a cause how far.
fn cause_way(page: &mut Page<'_>, way: &CauseWay) -> io::Result<()> {
    page.stress(&way.title)?;
    if !way.candidate {
        return page.say("It is no candidate for this complaint, or was repaired.");
    }
    let row = |what: &str, outcome: &str, belief| {
        vec![what.to_owned(), outcome.to_owned(), percent(belief)]
    };
    let mut rows = vec![row("before any reading", "", way.before)];
    let readings = way.readings.iter();
    rows.extend(readings.map(|moved| row(&moved.title, &moved.words, moved.belief)));
    let header = ["reading", "outcome", "how likely then"];
    page.lines(4, &table(&header, &rows, &[2], page.width() - 4))
}
