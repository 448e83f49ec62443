//! The question of a prompt: its warnings first, then what to do, then the form that answers it.

use maud::{Markup, PreEscaped, html};

use super::form::Form;
use super::screen::{Hidden, warning};
use crate::drawing::{self, Mark};
use crate::knowledge::{Family, Reading, Vehicle};
use crate::record::Found;
use crate::session::{
    Ask, Choice, LIKELIER, Measure, NO_WAY, NOT_SURE_ENOUGH, OnTheWay, Prompt, ReadingAsked,
    Reason, RepairSheet, SetUpAsked, Told, Worth,
};
use crate::sheet::bands;
use crate::text::figures::{about, added, count, minutes, money, percent, plain};
use crate::units::Unit;

/// A question on the page.
pub(super) struct Question<'q> {
    pub(super) prompt: &'q Prompt,
    pub(super) family: Option<&'q Family>,
    pub(super) hidden: Hidden<'q>,
    /// The address of the job.
    pub(super) address: &'q str,
    /// The vehicle's sheet.
    pub(super) vehicle: Option<&'q Vehicle>,
    /// What was sent to this very question when the job stood elsewhere: it stands in the form again.
    pub(super) sent: Option<&'q Form>,
}

impl Question<'_> {
    /// The heading.
    pub(super) fn title(&self) -> String {
        match (&self.prompt.measure, &self.prompt.ask) {
            (_, Ask::Repair(_)) => "Stop measuring and repair".to_owned(),
            (Some(measure), _) => measure.title.clone(),
            (_, Ask::Complaint) => "Complaint".to_owned(),
            (_, Ask::Symptoms { .. }) => "Which complaint is that?".to_owned(),
            (_, Ask::Told { .. }) => "Is that so?".to_owned(),
            (_, Ask::Still { .. }) => "What still stands?".to_owned(),
            (_, Ask::Did { .. }) => "Was that repair done?".to_owned(),
            (_, Ask::HandOn { .. } | Ask::NoSymptom { .. }) => "Hand the job on".to_owned(),
            (_, Ask::Confirm { .. } | Ask::Fixed { .. }) => "Prove the repair".to_owned(),
            (_, Ask::Found { .. }) => "What was it?".to_owned(),
            (_, Ask::Closed { .. }) => "Closed as fixed".to_owned(),
            _ => "Job".to_owned(),
        }
    }

    /// The heading, what to do and the question.
    pub(super) fn shown(&self) -> Markup {
        html! {
            @if let Some(measure) = self.prompt.measure.as_deref() { (self.measure(measure)) } @else { h1 { (self.title()) } }
            @match &self.prompt.ask {
                Ask::Cooling { .. } | Ask::Condition { .. } | Ask::Hold { .. } | Ask::Reading(_) => (self.measuring()),
                Ask::Repair(_) | Ask::Did { .. } | Ask::HandOn { .. } | Ask::Confirm { .. } | Ask::Fixed { .. }
                | Ask::Found { .. } | Ask::Closed { .. } => (self.ending()),
                _ => (self.beginning()),
            }
            @if let Some(words) = self.explained() { (words) }
        }
    }

    /// What is asked before anything is measured, and where nothing can be.
    fn beginning(&self) -> Markup {
        let form = |fields: &Markup| self.hidden.form("answer", fields);
        html! {
            @match &self.prompt.ask {
                Ask::Lost { lost } => {
                    p { "The record names what the knowledge no longer has:" }
                    ul { @for name in lost { li { (name) } } }
                    (form(&html! { button.main name="say" value="yes" { "Go on without it" } }))
                }
                Ask::Still { choices } => {
                    p { "The job was left for long. Look first, and tick what still stands." }
                    (form(&html! {
                        @for (choice, number) in choices.iter().zip(1..) { (self.boxed(&format!("{number}"), &choice.title, false)) }
                        button.main { "So it stands" }
                    }))
                }
                Ask::Complaint => (form(&html! {
                    label for="say" { "What does the customer say? In their own words." }
                    textarea #say name="say" rows="3" required { (self.sent.map_or("", Form::say)) }
                    button.main { "Go on" }
                })),
                Ask::Symptoms { words, choices } => {
                    p { "The customer says: " q { (words) } }
                    (form(&html! {
                        fieldset {
                            legend { "The likeliest by the words first. Tick one, or several." }
                            @for (place, choice) in choices.iter().enumerate() {
                                (self.boxed(&choice.name, &choice.title, place == 0 && choice.matches))
                            }
                        }
                        button.main { "Go on" }
                        button name="say" value="0" { "None of these" }
                    }))
                }
                Ask::Told { told } => {
                    p { "The customer’s words seem to answer this already. Untick what is not so." }
                    (form(&html! {
                        fieldset {
                            legend { "Is that so?" }
                            @for (told, number) in told.iter().zip(1..) { (self.boxed(&format!("{number}"), &told_words(told), true)) }
                        }
                        button.main { "So it is" }
                    }))
                }
                Ask::NoSymptom { words, found } => {
                    p { "The customer says: " q { (words) } }
                    p { "No listed complaint is like it, so no advice follows from the readings. Hand it on, with these words and findings, to somebody who knows this vehicle." }
                    ul { @for told in found { li { (told_words(told)) } } }
                }
                Ask::Stuck { why } => {
                    p.notice { (why) }
                    p { "Take an answer back, or treat them as two jobs." }
                }
                _ => {}
            }
        }
    }

    /// What is asked of a measurement.
    fn measuring(&self) -> Markup {
        let form = |fields: &Markup| self.hidden.form("answer", fields);
        html! {
            @match &self.prompt.ask {
                Ask::Cooling { .. } => {
                    p { "Not yet: the last stall test has not cooled down. The page goes on by itself when it has." }
                    p { a.button href=(self.address) { "Look again" } }
                }
                Ask::Condition { question, unit, from, to, meant, .. } => (form(&html! {
                    p.question { "Before it: " (question) }
                    @if !meant.is_empty() {
                        @for (way, number) in meant.iter().zip(1..) {
                            @let words = way.value.map_or_else(String::new, |value| format!("{} {}", plain(value), way.unit.as_deref().unwrap_or_default()));
                            button name="say" value=(format!("#{number}")) { (words) }
                        }
                    }
                    @if let Some(unit) = unit {
                        (span(*from, *to, unit))
                        (self.number(question, unit, None))
                        button.main { "Take it" }
                    } @else {
                        div.choices {
                            button name="say" value="yes" { "Yes" }
                            button name="say" value="no" { "No" }
                        }
                    }
                })),
                Ask::Hold { limit, warn, cool_down } => (form(&html! {
                    p.question { "Full throttle " (plain(*limit)) " s at most. How long was it held?" }
                    div.stall hidden data-limit=(limit) data-warn=(warn.unwrap_or(*limit)) data-cool=(cool_down) {
                        button.main type="button" data-start { "Start the clock" }
                    }
                    noscript { p { "Count the seconds by hand: this browser runs no script, so there is no clock here." } }
                    label for="say" { "Seconds held" }
                    input #say name="say" inputmode="decimal" required;
                    button.main { "Take it" }
                })),
                Ask::Reading(asked) => (form(&self.reading(asked))),
                _ => {}
            }
        }
    }

    /// What is asked from the repair on.
    fn ending(&self) -> Markup {
        let form = |fields: &Markup| self.hidden.form("answer", fields);
        html! {
            @match &self.prompt.ask {
                Ask::Repair(sheet) => (self.repair(sheet)),
                Ask::Did { title, unread, unproved, .. } => {
                    p.headline { (title) }
                    @if !unread.is_empty() { p.notice { "Not read before it: " (unread.join("; ")) "." } }
                    @if let Some(text) = unproved { p { (text) } }
                    (form(&html! {
                        div.choices {
                            button name="say" value="yes" { "Yes, it is done" }
                            button name="say" value="no" { "No" }
                        }
                    }))
                }
                Ask::HandOn { cost, put_back } => {
                    p { "No listed cause is worth repairing. Handing on costs " (money(*cost)) " here." }
                    @if let Some(outlook) = &self.prompt.outlook { p { (percent(outlook.unlisted)) " that it is none of the listed causes." } }
                    (self.to_do_first("Put back", "put-back", put_back))
                }
                Ask::Confirm { question, choices } => (form(&html! {
                    p.question { (question) }
                    div.choices {
                        @for choice in choices {
                            button name="say" value=(choice.name) { (choice.name.replace('-', " ")) ": " (choice.title) }
                        }
                    }
                })),
                Ask::Fixed { verify, put_back, first, off, not_read, not_done } => {
                    @for text in verify { p { (text) } }
                    (self.to_do_first("Put back", "put-back", put_back))
                    @if let Some(first) = first { p { strong { "First: " } (first) } }
                    @if !not_read.is_empty() { p.notice { "Not read: " (not_read.join("; ")) "." } }
                    @if !off.is_empty() { p.notice { "Not as a mended vehicle reads: " (off.join(", ")) "." } }
                    @if !not_done.is_empty() { p.notice { "Not done yet: " (not_done.join("; ")) "." } }
                    (form(&html! {
                        p.question { "Is the complaint gone?" }
                        div.choices {
                            button name="say" value="yes" { "Yes, it is gone" }
                            button name="say" value="no" { "No, it is still there" }
                        }
                    }))
                }
                Ask::Found { choices } => (form(&self.found(choices))),
                Ask::Closed { cured, found: known, choices, on_the_way } => {
                    (closed(cured, *known, on_the_way))
                    p { a.button.main href={ (self.address) "/sheet" } { "Job sheet" } }
                    @if !choices.is_empty() {
                        details { summary { "It has come out which it was" } (form(&self.found(choices))) }
                    }
                }
                _ => {}
            }
        }
    }

    /// A measurement: why it, its warnings, what to prepare and to do.
    pub(super) fn measure(&self, measure: &Measure) -> Markup {
        let waits = matches!(self.prompt.ask, Ask::Condition { .. } | Ask::Cooling { .. });
        let prepare = measure.set_ups.iter().flat_map(|of| &of.cautions);
        let shown = once(prepare.chain(measure.cautions.iter().filter(|_| !waits)));
        html! {
            h1 {
                @match measure.number {
                    Some(number) => { span.number { (number) } " " (measure.title) }
                    None => { "Prove it: " (measure.title) }
                }
                span.time { (time(measure)) }
            }
            (reason(measure))
            @if let Some(with) = &measure.recorded {
                p.notice {
                    "Best recorded: one drive of " (minutes(with.minutes)) " also answers: " (with.titles.join("; ")) "."
                }
            }
            @for caution in shown { (warning(caution)) }
            (self.set_ups("Prepare", &measure.measurement, &measure.set_ups, true))
            @if !waits && !measure.steps.is_empty() {
                h2 { "Do" }
                ol.ticks data-job=(self.address) data-of=(measure.measurement) {
                    @for step in &measure.steps { li { label { input type="checkbox"; span { (step) } } } }
                }
            }
            @if !waits && let Some(note) = &measure.note { p { strong { "Note. " } (note) } }
            @if !waits { (limits(measure)) }
        }
    }

    /// Set-ups to enter in order, to be ticked off; with their minutes where these are not counted elsewhere.
    fn set_ups(&self, heading: &str, of: &str, set_ups: &[SetUpAsked], timed: bool) -> Markup {
        html! {
            @if !set_ups.is_empty() {
                h2 { (heading) }
                ul.ticks data-job=(self.address) data-of={ (of) "-set-up" } {
                    @for set_up in set_ups {
                        li {
                            label {
                                input type="checkbox";
                                span { (set_up.title) @if timed { " " span.small { (minutes(set_up.minutes)) } } }
                            }
                        }
                    }
                }
            }
        }
    }

    /// Set-ups to enter before a repair, or before the vehicle is handed over, behind their warnings.
    fn to_do_first(&self, heading: &str, of: &str, set_ups: &[SetUpAsked]) -> Markup {
        let cautions = once(set_ups.iter().flat_map(|of| &of.cautions));
        html! {
            @for caution in cautions { (warning(caution)) }
            (self.set_ups(heading, of, set_ups, false))
        }
    }

    /// What a reading can be answered with.
    fn reading(&self, asked: &ReadingAsked) -> Markup {
        let codes =
            self.prompt
                .measure
                .as_ref()
                .zip(self.family)
                .is_some_and(|(measure, family)| {
                    let id = family.measurement_known_as(&measure.measurement);
                    id.is_some_and(|id| matches!(family.measurement(id).reading, Reading::Codes))
                });
        let ways = asked.meant.iter().zip(1..);
        html! {
            @for (way, number) in ways { button name="say" value=(format!("#{number}")) { (way) } }
            p.question { (asked.question) }
            @if let Some(instrument) = &asked.instrument { p.small { "Read with: " (instrument) } }
            @if let Some(part) = asked.part() {
                @for part in asked.parts.iter().filter(|part| part.typed.is_some()) {
                    p.small { (part.name.replace('-', " ")) ": " (part.typed.as_deref().unwrap_or_default()) }
                }
                p.question { (part.question) }
                (self.number(&part.question, &part.unit, None))
                button.main { "Take it" }
            } @else if let Some(unit) = &asked.unit {
                @if let Some(outcomes) = &asked.without_sheet {
                    p { "No sheet is named: judge it by the vehicle’s service information." }
                    div.choices { @for name in outcomes { button name="say" value=(name) { (name.replace('-', " ")) } } }
                } @else {
                    @if asked.tries > 1 { p.small { "Time it " (asked.tries) " times; the mean counts: 1.2, 1.4, 1.3" } }
                    @if asked.lag { div.lag hidden data-tries=(asked.tries) { button type="button" data-lag { "At the lever" } } }
                    (self.number(&asked.question, unit, self.bands(unit).as_ref()))
                    button.main { "Take it" }
                }
            } @else if codes {
                label for="say" { "Codes as they are read; none where there is none" }
                input #say name="say" autocapitalize="characters" spellcheck="false" value=(self.sent.map_or("", Form::say));
                button.main { "Take it" }
            }
            (self.in_words(asked))
            @if !asked.choices.is_empty() {
                div.choices {
                    @for choice in &asked.choices { button name="say" value=(choice.name) { (choice.words()) } }
                }
            }
        }
    }

    /// The bands that judge the number asked for.
    fn bands(&self, symbol: &str) -> Option<Mark> {
        let (measure, family) = self.prompt.measure.as_ref().zip(self.family)?;
        let known = family.measurement(family.measurement_known_as(&measure.measurement)?);
        let shown = Unit::named(symbol, known.number()?.unit.dimension())?;
        bands(known, self.vehicle, shown)
    }

    /// A number with its unit beside it, and the bands that judge it below.
    fn number(&self, question: &str, symbol: &str, bands: Option<&Mark>) -> Markup {
        let read = Unit::read(symbol, None);
        let unit = read.iter().find(|unit| unit.symbol() == symbol).copied();
        let all = unit.into_iter().flat_map(|unit| Unit::of(unit.dimension()));
        let mut units: Vec<Unit> = all.filter(|unit| unit.is_everyday()).collect();
        units.retain(|other| other.symbol() != symbol);
        let typed = self.sent.map_or("", Form::say);
        let chosen = self.sent.map_or("", |form| form.field("unit"));
        let chosen = if chosen.is_empty() { symbol } else { chosen };
        // What a script needs to turn a number in this unit into one of the limits' unit.
        let zero = |other: Unit| unit.and_then(|to| other.convert(0.0, to));
        let one = |other: Unit| unit.and_then(|to| other.convert_difference(1.0, to));
        let choice = |symbol: &str, other: Option<Unit>| {
            html! {
                label.choice {
                    input type="radio" name="unit" value=(symbol) checked[symbol == chosen]
                        data-zero=[other.and_then(zero)] data-one=[other.and_then(one)];
                    span { (symbol) }
                }
            }
        };
        html! {
            div.number-field {
                input #say name="say" inputmode="decimal" aria-label=(question) value=(typed);
                fieldset.units {
                    legend { "Unit" }
                    (choice(symbol, unit))
                    @for other in units { (choice(other.symbol(), Some(other))) }
                }
                @if let Some(bands) = bands {
                    (PreEscaped(drawing::band(bands, "bands")))
                    output.verdict for="say" {}
                }
                div.pad hidden {}
            }
        }
    }

    /// A box to tick; as it was sent, where it was.
    fn boxed(&self, value: &str, title: &str, ticked: bool) -> Markup {
        let ticked = self.sent.map_or(ticked, |form| form.picked(value));
        html! { label.choice { input type="checkbox" name="pick" value=(value) checked[ticked]; span { (title) } } }
    }

    /// Which cause a repair cured.
    fn found(&self, choices: &[Choice]) -> Markup {
        html! {
            fieldset {
                legend { "Which of these was seen? The likeliest by the readings first." }
                @for choice in choices { (self.boxed(&choice.name, &choice.title, false)) }
            }
            button.main { "That was it" }
            button name="say" value="0" { "Nobody saw it" }
        }
    }

    /// The outcomes themselves, where a number is asked for and somebody else has judged it.
    fn in_words(&self, asked: &ReadingAsked) -> Markup {
        let of = self.prompt.measure.as_ref().zip(self.family);
        let of = of.filter(|_| asked.unit.is_some() && asked.without_sheet.is_none());
        let id = of.and_then(|(measure, family)| {
            Some(family.measurement(family.measurement_known_as(&measure.measurement)?))
        });
        html! {
            @if let Some(known) = id {
                details {
                    summary { "Judged already: answer in words" }
                    div.choices {
                        @for outcome in &known.outcomes { button name="say" value=(outcome.name) { (outcome.words()) } }
                    }
                }
            }
        }
    }

    /// A repair to be done.
    fn repair(&self, sheet: &RepairSheet) -> Markup {
        let outlook = self.prompt.outlook.as_deref();
        let next = outlook.and_then(|outlook| outlook.after(&sheet.repairs));
        let cautions = once(sheet.repairs.iter().flat_map(|repair| {
            let prepare = repair.prepare.iter().flatten();
            prepare.flat_map(|of| &of.cautions).chain(&repair.cautions)
        }));
        let several = sheet.repairs.len() > 1;
        html! {
            @if sheet.goes_on { p { "Repair, and see what it shows." } }
            @for repair in &sheet.repairs {
                p.headline { (repair.title) span.time { (minutes(repair.minutes)) ", cost " (money(repair.cost)) } }
            }
            p {
                strong { (percent(sheet.probability)) } " that it cures."
                @if let Some(next) = next { " If not: " (next.title) " (" (percent(next.probability)) ")." }
            }
            @if sheet.likelier { p { (LIKELIER) } }
            @if let Some(saves) = sheet.measuring_saves { p { "Your choice; measuring on would save " (money(saves)) " on average." } }
            @for caution in cautions { (warning(caution)) }
            @for repair in &sheet.repairs {
                @if several { h2 { (repair.title) } }
                @match &repair.prepare {
                    Some(prepare) => (self.set_ups("Prepare", &repair.repair, prepare, false)),
                    None => p.notice { (NO_WAY) },
                }
            }
            @for text in &sheet.care { p { strong { "Care. " } (text) } }
            @if !sheet.against.is_empty() {
                h2 { "Against it" }
                ul { @for of in &sheet.against { li { (of.title) ": " (of.words) " (without it " (percent(of.without)) ")" } } }
            }
            @if !sheet.alike.is_empty() {
                h2 { "Looks alike" }
                ul {
                    @for alike in &sheet.alike {
                        li {
                            (alike.titles.join("; ")) ": " (alike.why)
                            @if !alike.parted_by_titles.is_empty() { " Told apart by: " (alike.parted_by_titles.join("; ")) "." }
                        }
                    }
                }
            }
            h2 { "Prove it with" }
            ul { @for repair in &sheet.repairs { li { (repair.verify) } } }
            (self.hidden.form("answer", &html! { button.main name="say" value="done" { "The repair is done" } }))
            @if !sheet.look_at.is_empty() {
                h2 { "Look at while it is open" }
                (self.hidden.form("answer", &html! {
                    div.choices { @for of in &sheet.look_at { button name="do" value={ "take " (of.measurement) } { (of.title) } } }
                }))
            }
        }
    }

    /// Why this is asked, on a tap.
    fn explained(&self) -> Option<Markup> {
        let measure = self.prompt.measure.as_deref()?;
        let worth = measure.worth.as_ref()?;
        Some(html! {
            details {
                summary { "Why this" }
                @if let Some(Reason::Advised { repair_now, saves, fastest }) = &measure.reason {
                    @if *saves > 0.0 {
                        p { "Repairing now would cost " (money(*repair_now)) " on average; testing first saves " (money(*saves)) " of it." }
                    } @else if *saves < 0.0 {
                        p { (NOT_SURE_ENOUGH) }
                    } @else {
                        p { "Looked at before anything else, or needed before what leads." }
                    }
                    @if let Some(fastest) = fastest { p { "By itself most would be saved by: " (fastest) "." } }
                }
                p { "Of " (about(worth.in_play)) " suspects still in play it is expected to set apart " (about(worth.separates)) "." }
                div.scroll tabindex="0" role="region" aria-label="What each outcome would leave" {
                    table {
                        thead { tr { th scope="col" { "If it reads" } th scope="col" { "Chance" } th scope="col" { "In play" } th scope="col" { "Then leads" } } }
                        tbody {
                            @for of in &measure.prospects {
                                tr {
                                    th scope="row" { (of.words) }
                                    td.figure { (percent(of.probability)) }
                                    td.figure { (count(of.in_play)) }
                                    td { @if let Some(leads) = &of.leads { (leads) " " (percent(of.leads_with)) } }
                                }
                            }
                        }
                    }
                }
                @if let Some(family) = self.family {
                    p { a href={ "/show/" (family.name) "/" (measure.measurement) } { "This measurement in full" } }
                }
            }
        })
    }
}

/// The time that a measurement takes.
fn time(measure: &Measure) -> String {
    let to_prepare: f64 = measure.set_ups.iter().map(|set_up| set_up.minutes).sum();
    match &measure.worth {
        Some(Worth { open: true, .. }) => "open: takes no time now".to_owned(),
        Some(Worth { along: true, .. }) => "in the same go".to_owned(),
        Some(worth) if worth.set_up_minutes > 0.0 => {
            format!(
                "{} + {}",
                minutes(worth.minutes),
                added(worth.set_up_minutes)
            )
        }
        Some(worth) => minutes(worth.minutes),
        None if to_prepare > 0.0 => {
            format!("{} + {}", minutes(measure.minutes), added(to_prepare))
        }
        None => minutes(measure.minutes),
    }
}

/// Why it is asked for, where that is not plain.
fn reason(measure: &Measure) -> Markup {
    let chosen = matches!(measure.reason, Some(Reason::Chosen { .. }));
    html! {
        @if let Some(words) = measure.reason.as_ref().and_then(Reason::words) {
            p.notice[!chosen] { (words) }
        }
    }
}

/// The limits that judge a measurement.
fn limits(measure: &Measure) -> Markup {
    let name = |name: &str| name.replace('-', " ");
    html! {
        @if !measure.limits.is_empty() {
            ul.limits {
                @for limit in &measure.limits {
                    li {
                        "Limit, " (name(&limit.name)) ": "
                        @if measure.sheet.is_none() { "look it up in the vehicle’s service information" }
                        @else if let Some(words) = &limit.words { strong { (words) } }
                        @else { "not on the sheet" }
                        @if let Some(source) = &limit.source { " (" (source) ")" }
                    }
                }
            }
        }
    }
}

/// The cautions, each once.
fn once<'c>(all: impl Iterator<Item = &'c String>) -> Vec<&'c String> {
    let mut shown: Vec<&String> = Vec::new();
    for caution in all {
        if !shown.contains(&caution) {
            shown.push(caution);
        }
    }
    shown
}

/// The limits of a condition.
pub(super) fn span(from: Option<f64>, to: Option<f64>, unit: &str) -> Markup {
    html! {
        @match (from.map(plain), to.map(plain)) {
            (Some(from), Some(to)) => p { (from) " to " (to) " " (unit) },
            (Some(from), None) => p { "at least " (from) " " (unit) },
            (None, Some(to)) => p { "at most " (to) " " (unit) },
            (None, None) => {}
        }
    }
}

fn told_words(told: &Told) -> String {
    let quote = match told.words.as_str() {
        "" => String::new(),
        words => format!(" (“{words}”)"),
    };
    format!(
        "{}: {}{quote}",
        told.title.trim_end_matches('?'),
        told.meaning
    )
}

/// A job closed as fixed.
fn closed(cured: &str, found: Option<Found>, still: &[OnTheWay]) -> Markup {
    let known = match found {
        Some(Found::Only) => "No other cause listed for this complaint has that repair.",
        Some(Found::Stated) => "So it was found.",
        Some(Found::Unknown) => "Which it was, nobody saw.",
        None => "The likeliest by the readings; nobody was asked.",
    };
    html! {
        p.headline { (cured) }
        p { (known) }
        @for found in still { p { strong { "Still to be put right: " } (found.title) " (" (found.words) ")" } }
    }
}
