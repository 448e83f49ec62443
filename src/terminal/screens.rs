//! The screens of a session: what a prompt holds, written on a page.

use std::io;

use super::belief::{offers, on_the_way, repair_order, repairs};
use super::measure::{cautions, steps};
use crate::record::Found;
use crate::session::{
    Ask, CauseWay, Change, Choice, Hit, Measure, Outlook, Prompt, Prospect, ReadingAsked, Reason,
    RepairSheet, Why, Worth,
};
use crate::text::figures::{bits, count, minutes, money, percent};
use crate::text::{Page, Tone, plain, table};

/// How many measurements the list shows.
const LISTED: usize = 15;
/// How many candidates a screen names as ruled out before it counts the rest.
const RULED_OUT_SHOWN: usize = 6;
/// How many steps of a repair order are shown under a repair.
const ORDER_SHOWN: usize = 4;

/// What is in play, and what would cure it: at the beginning, and whenever the complaint changes.
pub(super) fn overview(page: &mut Page<'_>, outlook: &Outlook) -> io::Result<()> {
    page.gap()?;
    if outlook.repaired.is_empty() {
        let alone = outlook.candidates.iter();
        let single = alone
            .filter(|candidate| candidate.causes.len() == 1)
            .count();
        let causes = match (single, outlook.candidates.len() - single) {
            (single, 0) => format!("{single} causes can explain this"),
            (0, sets) => format!("{sets} sets of causes acting together can explain this"),
            (single, sets) => {
                let noun = if sets == 1 { "set" } else { "sets" };
                format!("{single} causes alone and {sets} {noun} acting together can explain this")
            }
        };
        let text = format!(
            "{causes}; as some are rarer than others, it is as if {} equally likely ones were in play.",
            count(outlook.in_play)
        );
        page.text(Tone::Plain, 0, &text)?;
    }
    page.text(Tone::Plain, 0, "What would cure it, as it stands:")?;
    repairs(page, outlook)
}

/// What the last answer changed.
pub(super) fn changed(page: &mut Page<'_>, change: &Change, outlook: &Outlook) -> io::Result<()> {
    page.gap()?;
    let (before, now) = (count(change.in_play_before), count(outlook.in_play));
    page.say(&format!("Candidates in play: {before} before, {now} now."))?;
    let ruled_out = ("Ruled out: ", &change.ruled_out);
    for (mark, names) in [ruled_out, ("In question again: ", &change.back)] {
        if !names.is_empty() {
            page.entry(mark, &few(names))?;
        }
    }
    repairs(page, outlook)
}

/// The first few of a list, and how many more there are.
fn few(names: &[String]) -> String {
    let shown = names.len().min(RULED_OUT_SHOWN);
    let listed = names[..shown].join(", ");
    match names.len() - shown {
        0 => format!("{listed}."),
        more => format!("{listed} and {more} more."),
    }
}

/// A measurement: why it, its cautions, its steps, its limits.
pub(super) fn measure(page: &mut Page<'_>, measure: &Measure) -> io::Result<()> {
    let (title, name) = (&measure.title, &measure.measurement);
    page.heading(&match measure.number {
        Some(number) => format!("{number}. {title} [{name}]"),
        None => format!("Verify: {title} [{name}]"),
    })?;
    if let Some(because) = &measure.reason {
        reason(page, because)?;
    }
    if let Some(worth) = &measure.worth {
        page.say(&worth_words(worth))?;
    }
    if measure.number.is_some() {
        prospects(page, &measure.prospects)?;
    }
    page.item(Tone::Faint, 2, "! ", &measure.notice)?;
    cautions(page, &measure.cautions)?;
    let set_ups = measure.set_ups.iter();
    let first: Vec<String> = set_ups
        .map(|set_up| format!("{} ({})", set_up.title, minutes(set_up.minutes)))
        .collect();
    steps(page, &first, &measure.steps, measure.note.as_deref())?;
    limits(page, measure)?;
    if measure.number.is_some() && measure.invented && !measure.limits.is_empty() {
        let text = "The sheet is invented for the demonstration: use it on no vehicle.";
        page.text(Tone::Faint, 2, text)?;
    }
    Ok(())
}

/// Why a measurement is asked for.
fn reason(page: &mut Page<'_>, reason: &Reason) -> io::Result<()> {
    match reason {
        Reason::Again { listed, without } => page.stress(&format!(
            "Nothing listed fits the readings. Take this one again before anything is dismantled: \
             without it the listed causes would stand at {} instead of {}.",
            percent(*without),
            percent(*listed)
        )),
        Reason::Advised { saves, .. } if *saves <= 0.0 => {
            page.say("First: it is looked at before anything else, or needed before what leads.")
        }
        Reason::Advised {
            repair_now,
            saves,
            fastest,
        } => {
            page.say(&format!(
                "Test on: repairing now would cost {} on average, testing first saves {} of it.",
                money(*repair_now),
                money(*saves)
            ))?;
            // Where the advice and the plain ranking disagree, one line says why.
            fastest.as_ref().map_or(Ok(()), |fastest| {
                let text = format!(
                    "What saves most by itself is {fastest}; with what comes after counted, this one costs less on \
                     average."
                );
                page.text(Tone::Faint, 2, &text)
            })
        }
        Reason::Chosen {
            advised: Some(advised),
        } => page.say(&format!("Your choice; the plan would take {advised}.")),
        Reason::Chosen { advised: None } => {
            page.say("Your choice; the advice is to stop measuring.")
        }
    }
}

/// What a measurement is worth, and what it takes.
fn worth_words(worth: &Worth) -> String {
    let time = minutes(worth.minutes);
    let time = if worth.open {
        "the repair had it open, so that it takes no time now".to_owned()
    } else if worth.set_up_minutes > 0.0 {
        format!("{time} and {} to set up", minutes(worth.set_up_minutes))
    } else {
        format!("{time}, nothing to set up")
    };
    format!(
        "Why: of {} candidates in play it is expected to set apart {} ({} bit); {time}.",
        count(worth.in_play),
        count(worth.separates),
        bits(worth.bits),
    )
}

/// What each outcome of a measurement would leave.
pub(super) fn prospects(page: &mut Page<'_>, prospects: &[Prospect]) -> io::Result<()> {
    let row = |prospect: &Prospect| {
        let with = percent(prospect.leads_with);
        let leads = prospect.leads.as_ref().map(|name| format!("{name} {with}"));
        vec![
            prospect.outcome.clone(),
            percent(prospect.probability),
            count(prospect.in_play),
            leads.unwrap_or_default(),
        ]
    };
    let rows: Vec<Vec<String>> = prospects.iter().map(row).collect();
    let header = ["if it reads", "chance", "in play", "then leads"];
    page.lines(4, &table(&header, &rows, &[1, 2], page.width() - 4))
}

/// The limits that judge a measurement, with where each came from.
fn limits(page: &mut Page<'_>, measure: &Measure) -> io::Result<()> {
    let Some(sheet) = &measure.sheet else {
        let names: Vec<&str> = measure.limits.iter().map(|l| l.name.as_str()).collect();
        if names.is_empty() {
            return Ok(());
        }
        let names = names.join(", ");
        let text = format!("no sheet named: look up {names} in the vehicle's service information.");
        return page.entry("Limit: ", &text);
    };
    for limit in &measure.limits {
        let name = &limit.name;
        let text = match (&limit.words, &limit.source) {
            (Some(words), Some(source)) => format!("{name} {words} ({source})"),
            _ => format!("{name} is not on the sheet of {sheet}"),
        };
        page.entry("Limit: ", &text)?;
    }
    Ok(())
}

/// The question itself, and what is shown right above its prompt. The measurement is shown already.
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
        Ask::Complaint => {
            page.gap()?;
            let question = "What does the customer say? In their own words.";
            page.text(Tone::Strong, 0, question)
        }
        Ask::Symptoms { choices, .. } => symptoms(page, choices),
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
        // The clock says what it needs.
        Ask::Hold { .. } => Ok(()),
        Ask::Reading(asked) => reading(page, asked),
        Ask::Repair(sheet) => repair(page, sheet, prompt.outlook.as_deref(), path),
        Ask::HandOn { cost } => hand_on(page, *cost, prompt.outlook.as_deref(), path),
        Ask::Confirm { question, choices } => {
            page.heading("Verify the repair")?;
            page.stress(question)?;
            for (number, choice) in (1..).zip(choices) {
                let text = format!("{}: {}", choice.name.replace('-', " "), choice.title);
                page.item(Tone::Plain, 4, &format!("{number} "), &text)?;
            }
            Ok(())
        }
        Ask::Fixed {
            verify,
            off,
            not_done,
        } => {
            page.heading("Verify the repair")?;
            for text in verify {
                page.entry("", text)?;
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
        Ask::Found { choices } => causes(page, choices),
        Ask::Closed {
            cured,
            found,
            on_the_way: still,
            ..
        } => {
            page.heading("Closed as fixed")?;
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
    }
}

/// The symptoms that the customer's words can mean.
fn symptoms(page: &mut Page<'_>, choices: &[Choice]) -> io::Result<()> {
    let matched = choices.first().is_some_and(|first| first.matches);
    page.gap()?;
    let (heading, hint) = if matched {
        (
            "Which complaint is that? The likeliest by the words first.",
            "Enter takes the first; or numbers or names, several with a comma; `back` to word it anew.",
        )
    } else {
        (
            "The words match no complaint that is known here. Is it one of these?",
            "Numbers or names, several with a comma; `back` to word it anew.",
        )
    };
    page.text(Tone::Strong, 0, heading)?;
    for (number, choice) in (1..).zip(choices) {
        let mark = if choice.matches { "  (matches)" } else { "" };
        let text = format!("{}: {}{mark}", choice.name, choice.title);
        page.entry(&format!("{number} "), &text)?;
    }
    page.say(hint)
}

/// The question of a measurement and what can be answered.
fn reading(page: &mut Page<'_>, asked: &ReadingAsked) -> io::Result<()> {
    page.stress(&asked.question)?;
    for (number, choice) in (1..).zip(&asked.choices) {
        let Choice { name, title, .. } = choice;
        let mark = match asked.unit {
            Some(_) => "or ".to_owned(),
            None => format!("{number} "),
        };
        let text = if asked.unit.is_none() && (title.is_empty() || title == name) {
            name.clone()
        } else {
            format!("{name}: {title}")
        };
        page.item(Tone::Plain, 4, &mark, &text)?;
    }
    if !asked.parts.is_empty() {
        page.say("Type each reading in turn; or `=` and the number itself; or an outcome's name.")?;
    } else if let Some(outcomes) = &asked.without_sheet {
        page.say(&format!(
            "No sheet is named: judge it by the vehicle's service information and answer {}.",
            outcomes.join(", ")
        ))?;
    }
    Ok(())
}

/// The repair to do: how sure, what speaks against it, what care it asks, what verifies it.
fn repair(
    page: &mut Page<'_>,
    sheet: &RepairSheet,
    outlook: Option<&Outlook>,
    path: &str,
) -> io::Result<()> {
    page.heading(if sheet.goes_on {
        "Repair, and see what it shows"
    } else {
        "Stop measuring and repair"
    })?;
    if let Some(saves) = sheet.measuring_saves {
        let saves = money(saves);
        page.say(&format!(
            "Your choice; measuring on would save {saves} on average."
        ))?;
    }
    for repair in &sheet.repairs {
        let (title, name) = (&repair.title, &repair.repair);
        let (time, cost) = (minutes(repair.minutes), money(repair.cost));
        let text = format!("{title} [{name}]: {time}, {cost} with parts");
        page.item(Tone::Strong, 2, "> ", &text)?;
    }
    let sure = percent(sheet.probability);
    page.say(&format!("How sure: {sure} that this cures it."))?;
    if let Some(outlook) = outlook {
        repairs(page, outlook)?;
    }
    doubts(page, sheet)?;
    for text in &sheet.care {
        page.item(Tone::Caution, 2, "! ", text)?;
    }
    let look_at = sheet.look_at.iter();
    let look_at: Vec<String> = look_at
        .map(|opened| format!("{} [{}]", opened.title, opened.measurement))
        .collect();
    if !look_at.is_empty() {
        let why = if sheet.goes_on {
            "If this does not cure it, that is what decides how to go on."
        } else {
            "If this does not cure it, that can be answered without opening it again."
        };
        let text = format!("{}. {why}", look_at.join("; "));
        page.item(Tone::Strong, 2, "Look at, while it is open: ", &text)?;
    }
    for repair in &sheet.repairs {
        page.entry("Verify afterwards: ", &repair.verify)?;
    }
    if let Some(now) = outlook.map(|outlook| &outlook.repair_now)
        && !sheet.goes_on
        && (now.order.len() > 1 || now.escalates.is_some())
    {
        page.say("The order, where one does not cure it:")?;
        repair_order(page, now, ORDER_SHOWN)?;
    }
    page.item(Tone::Faint, 2, "! ", &sheet.notice)?;
    page.say(&format!("The record of this job: {path}"))?;
    cautions(page, &sheet.cautions)?;
    page.stress(
        "`done` when it is repaired; `list` and `take` to measure on; `stop` to come back later.",
    )
}

/// What speaks against a repair, and what it is not told apart from.
fn doubts(page: &mut Page<'_>, sheet: &RepairSheet) -> io::Result<()> {
    let against = sheet.against.iter();
    let against: Vec<String> = against
        .map(|reading| {
            let (measurement, outcome) = (&reading.measurement, &reading.outcome);
            let without = percent(reading.without);
            format!("{measurement} {outcome} (without it {without})")
        })
        .collect();
    if against.is_empty() {
        page.say("No reading speaks against it.")?;
    } else {
        page.entry("Against it: ", &format!("{}.", against.join("; ")))?;
    }
    for alike in &sheet.alike {
        let by = match alike.parted_by.as_slice() {
            [] => "no measurement left parts them".to_owned(),
            some => format!("only {} would part them", some.join(" or ")),
        };
        let text = format!("{}. {} ({by}).", alike.causes.join(", "), alike.why);
        page.entry("Looks alike: ", &text)?;
    }
    Ok(())
}

/// Nothing listed is worth repairing.
fn hand_on(
    page: &mut Page<'_>,
    cost: f64,
    outlook: Option<&Outlook>,
    path: &str,
) -> io::Result<()> {
    page.heading("Hand the job on")?;
    if let Some(outlook) = outlook {
        let (unlisted, cost) = (percent(outlook.unlisted), money(cost));
        page.say(&format!(
            "No listed cause is worth repairing: {unlisted} that it is none of them. Handing on costs {cost} here."
        ))?;
        repairs(page, outlook)?;
    }
    page.say(&format!("The record of this job: {path}"))?;
    page.stress(
        "`list` and `take` to measure on, `repair` to repair all the same, `stop` to leave.",
    )
}

/// The causes of which one was found.
pub(super) fn causes(page: &mut Page<'_>, choices: &[Choice]) -> io::Result<()> {
    page.stress("Which of these was found?")?;
    for (number, cause) in (1..).zip(choices) {
        let text = format!("{} [{}]", cause.title, cause.name);
        page.entry(&format!("{number} "), &text)?;
    }
    page.entry("0 ", "unknown: nobody saw it")
}

/// The measurements on offer, to choose from.
pub(super) fn list(page: &mut Page<'_>, outlook: &Outlook, all: bool) -> io::Result<()> {
    let none = "No measurement left would set anything apart.";
    let most = if all { usize::MAX } else { LISTED };
    offers(page, 2, &outlook.offers, most, none)?;
    page.say("`take` and a number, or words of a title, takes one of them.")
}

/// What a search found.
pub(super) fn hits(page: &mut Page<'_>, hits: &[Hit]) -> io::Result<()> {
    if hits.is_empty() {
        return page.say("No title has these words.");
    }
    for Hit { kind, id, title } in hits {
        page.entry(&format!("{kind:11} "), &format!("{title} [{id}]"))?;
    }
    Ok(())
}

/// An explanation.
pub(super) fn why(page: &mut Page<'_>, why: &Why) -> io::Result<()> {
    match why {
        Why::Measurement { prospects: each } => prospects(page, each),
        Why::Cause(way) => cause_way(page, way),
    }
}

/// Which reading moved a cause how far.
fn cause_way(page: &mut Page<'_>, way: &CauseWay) -> io::Result<()> {
    page.stress(&format!("{}: {}", way.cause, way.title))?;
    if !way.candidate {
        return page.say("It is no candidate for this complaint, or was repaired.");
    }
    let row = |what: &str, outcome: &str, belief| {
        vec![what.to_owned(), outcome.to_owned(), percent(belief)]
    };
    let mut rows = vec![row("before any reading", "", way.before)];
    let readings = way.readings.iter();
    rows.extend(readings.map(|moved| row(&moved.measurement, &moved.outcome, moved.belief)));
    let header = ["reading", "outcome", "belief then"];
    page.lines(4, &table(&header, &rows, &[2], page.width() - 4))
}
