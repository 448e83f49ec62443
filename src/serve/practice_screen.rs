//! Practice on the page: the exercises, an exercise as it is played, its debrief.

use std::path::Path;

use maud::{Markup, html};

use super::desk::{Taken, Trouble};
use super::form::Form;
use super::question::{Question, span};
use super::reply::{Asked as Request, Reply};
use super::screen::{Hidden, nothing, screen, troubled, warning};
use super::site::{Site, id_of};
use super::trainee::{Trainee, at};
use crate::knowledge::{Knowledge, SymptomId};
use crate::practice::{Asked, Debrief, Practice, is_over};
use crate::record::{Mark, PRACTICE_ENDING, Record};
use crate::session::{Ask, Prompt};
use crate::text::figures::{minutes, money, plain};

/// A request under `/practice`.
pub(super) fn practice(site: &Site, asked: &Request, rest: &[&str], token: &str) -> Reply {
    let knowledge = site.knowledge.own();
    let (id, rest) = match rest {
        [] if asked.posts => return begin(site, asked, token),
        [] => return list(site, token, None),
        [id, rest @ ..] => (*id, rest),
    };
    let Some(file) = site.file(id, PRACTICE_ENDING) else {
        return nothing();
    };
    let back = format!("/practice/{id}");
    let made = match (asked.posts, rest) {
        (true, []) => match Trainee::take(site, knowledge, id, &file, &asked.form) {
            Ok(Taken::Done) => Ok(Reply::see(back.clone())),
            Ok(Taken::Stale) => played(site, knowledge, id, &file, token, true),
            Err(trouble) => Err(trouble),
        },
        (false, []) => played(site, knowledge, id, &file, token, false),
        (false, ["debrief"]) => debrief(knowledge, id, &file),
        _ => return nothing(),
    };
    made.unwrap_or_else(|trouble| troubled(&trouble, &back))
}

fn begin(site: &Site, asked: &Request, token: &str) -> Reply {
    match Trainee::begin(site, site.knowledge.own(), &asked.form) {
        Ok(Ok(file)) => Reply::see(format!("/practice/{}", id_of(&file))),
        Ok(Err(missing)) => list(site, token, Some((missing, &asked.form))),
        Err(trouble) => troubled(&trouble, "/practice"),
    }
}

/// The exercises, and those that are under way.
fn list(site: &Site, token: &str, sent: Option<(&str, &Form)>) -> Reply {
    let knowledge = site.knowledge.own();
    let (missing, form) = sent.unzip();
    let field = |name| form.map_or("", |form| form.field(name));
    let choice = |value: String, title: &str| {
        let chosen = field("exercise") == value;
        html! {
            label.choice { input type="radio" name="exercise" value=(value) required checked[chosen]; span { (title) } }
        }
    };
    let fields = html! {
        label for="name" { "Who practises" }
        input #name name="name" maxlength="100" value=(field("name"));
        @for family in &knowledge.families {
            @if !family.exercises.is_empty() {
                fieldset {
                    legend { "Exercises" }
                    @for of in &family.exercises {
                        (choice(format!("named {} {}", family.name, of.name), &format!("{} ({})", of.title, of.level.word())))
                    }
                }
            }
            fieldset {
                legend { "A vehicle that is drawn, with this complaint" }
                @for of in &family.symptoms { (choice(format!("drawn {} {}", family.name, of.name), &of.title)) }
            }
        }
        label for="seed" { "Number of a drawn vehicle: the same number is the same vehicle" }
        input #seed name="seed" inputmode="numeric" pattern="[0-9]{1,9}" value=(field("seed"));
        label.choice { input type="checkbox" name="no-help" value="yes" checked[field("no-help") == "yes"]; span { "Without help" } }
        button.main { "Begin" }
    };
    let hidden = Hidden {
        action: "/practice",
        token,
        at: "",
    };
    let main = html! {
        h1 { "Practice" }
        p { "A vehicle with a fault that is not told. Take measurements, repair when you are sure; the debrief shows what would have told more." }
        @for family in &knowledge.families { p.notice { (family.notice) } }
        @if let Some(missing) = missing { p.notice role="alert" { strong { (missing) } } }
        (under_way(site))
        (hidden.form("answer", &fields))
    };
    Reply::html(200, screen("Practice", None, &main))
}

/// The exercises that were begun and are not over.
fn under_way(site: &Site) -> Markup {
    let files = site.listed(PRACTICE_ENDING);
    let open = files.iter().filter_map(|(id, file)| {
        let history = Record::read(file).ok()?.history;
        let who = history.state().opened.practice.as_ref()?.trainee.clone();
        let order = history.state().opened.ticket.clone();
        (!is_over(&history)).then(|| (id, who, order.unwrap_or_default()))
    });
    let open: Vec<_> = open.collect();
    html! {
        @if !open.is_empty() {
            section aria-labelledby="under-way" {
                h2 #under-way { "Under way" }
                ul.jobs {
                    @for (id, who, order) in open {
                        li { a href={ "/practice/" (id) } { strong { (who.as_deref().unwrap_or("no name")) } " · " (order) } }
                    }
                }
            }
        }
    }
}

/// An exercise as it stands; `stale` where a move was made on an older state of it.
fn played(
    site: &Site,
    knowledge: &Knowledge,
    id: &str,
    file: &Path,
    token: &str,
    stale: bool,
) -> Result<Reply, Trouble> {
    let trainee = Trainee::read(site, knowledge, id, file)?;
    let address = format!("/practice/{id}");
    let at = at(&trainee.history);
    let hidden = Hidden {
        action: &address,
        token,
        at: &at,
    };
    let exercise = &trainee.practice.exercise;
    let main = html! {
        @if stale {
            p.notice role="alert" { strong { "Not done." } " This exercise has gone on since that page was shown. This is how it stands now." }
        }
        (status(&trainee))
        @for words in trainee.warned.iter().flat_map(|words| words.lines()) { (warning(words)) }
        @if !trainee.said.is_empty() {
            div.said role="status" { @for words in &trainee.said { p { (words) } } }
        }
        @match &trainee.asked {
            Asked::Over => {
                h1 { (exercise.title) }
                p { a.button.main href={ (address) "/debrief" } { "Debrief" } }
            }
            Asked::Free => {
                h1 { (exercise.title) }
                p { "The customer says: " q { (exercise.customer) } }
                (free(&trainee, hidden))
            }
            Asked::Before(prompt) | Asked::Reading(prompt) => (at_hand(&trainee, prompt, hidden)),
        }
        (so_far(&trainee))
    };
    let title = format!("{} – {}", exercise.title, exercise.order);
    let status = if stale { 409 } else { 200 };
    Ok(Reply::html(status, screen(&title, None, &main)))
}

/// The exercise in a line.
fn status(trainee: &Trainee<'_>) -> Markup {
    let (family, course) = (trainee.practice.family, &trainee.course);
    let arrived = family.names_of(&family.in_place);
    let here = trainee.history.state().in_place.iter();
    let here = here.filter(|name| !arrived.contains(name));
    let here = here.filter_map(|name| family.set_up_known_as(name));
    html! {
        p.status {
            strong { "Practice " (trainee.practice.exercise.order) }
            @if let Some(vehicle) = trainee.practice.vehicle { " · " (vehicle.title) }
            " · " (course.readings()) " read · " (minutes(course.minutes)) " · " (money(course.cost))
            @for id in here { " · " (family.set_up(id).title) }
        }
    }
}

/// What can be done where nothing is at hand. Everything is listed by title: its order tells nothing.
fn free(trainee: &Trainee<'_>, hidden: Hidden<'_>) -> Markup {
    let family = trainee.practice.family;
    let symptom: SymptomId = trainee.practice.exercise.symptom;
    let measurements = family
        .measurements
        .iter()
        .filter(|of| of.is_for(&[symptom]));
    let choose = |word: &str, label: &str, button: &str, mut of: Vec<(&str, &str)>| {
        of.sort_unstable_by_key(|(_, title)| *title);
        hidden.form(
            "answer",
            &html! {
                label {
                    (label)
                    select name=(word) required {
                        option value="" { "Choose" }
                        @for (name, title) in of { option value=(name) { (title) } }
                    }
                }
                button.main name="do" value=(word) { (button) }
            },
        )
    };
    let helps = [
        (Mark::Hint, "hint", "Hint"),
        (Mark::Advice, "advice", "Advice"),
        (Mark::Suspects, "suspects", "Suspects"),
    ];
    html! {
        (choose("take", "Measure", "Take it", measurements.map(|of| (of.name.as_str(), of.title.as_str())).collect()))
        (choose("repair", "Repair, when you are sure", "Do it", family.repairs.iter().map(|of| (of.name.as_str(), of.title.as_str())).collect()))
        section.beside aria-label="What else can be done" {
            details {
                summary { "Prepare" }
                (choose("prepare", "Enter by itself", "Enter it", family.set_ups.iter().map(|of| (of.name.as_str(), of.title.as_str())).collect()))
            }
            @if helps.iter().any(|(mark, ..)| trainee.practice.helps(*mark)) {
                details {
                    summary { "Help" }
                    p.small { "Each is counted." }
                    (hidden.form("plain", &html! {
                        @for (mark, word, title) in helps {
                            @if trainee.practice.helps(mark) { button name="do" value=(word) { (title) } }
                        }
                    }))
                }
            }
            details {
                summary { "Note" }
                (hidden.form("aside", &html! {
                    label { "A remark for the record" input name="note"; }
                    button name="do" value="note" { "Keep it" }
                }))
            }
            details {
                summary { "Hand on" }
                (hidden.form("plain", &html! { button name="do" value="hand-on" { "No listed cause is left: hand it on" } }))
            }
        }
    }
}

/// A measurement at hand: what it asks before its reading, or the reading itself.
fn at_hand(trainee: &Trainee<'_>, prompt: &Prompt, hidden: Hidden<'_>) -> Markup {
    let question = Question {
        prompt,
        family: Some(trainee.practice.family),
        hidden,
        address: hidden.action,
        vehicle: trainee.practice.vehicle,
        sent: None,
    };
    html! {
        @if let Some(of) = prompt.measure.as_deref() { (question.measure(of)) }
        @match &prompt.ask {
            Ask::Condition { question, from, to, unit, .. } => (hidden.form("answer", &html! {
                p.question { "Before it: " (question) }
                @if let Some(unit) = unit { (span(*from, *to, unit)) }
                div.choices {
                    button name="say" value="yes" { "See to it" }
                    button name="say" value="no" { "Go on without" }
                }
            })),
            Ask::Hold { limit, .. } => (hidden.form("answer", &html! {
                p.question { "Full throttle " (plain(*limit)) " s at most. How long do you hold it?" }
                label for="say" { "Seconds held" }
                input #say name="say" inputmode="decimal" required;
                button.main { "Hold it so long" }
            })),
            _ => (hidden.form("answer", &html! { button.main name="do" value="read" { "Read it" } })),
        }
        section.beside aria-label="What else can be done" {
            (hidden.form("plain", &html! { button name="do" value="skip" { "Leave it" } }))
        }
    }
}

/// What was read so far.
fn so_far(trainee: &Trainee<'_>) -> Markup {
    let read = trainee
        .course
        .steps
        .iter()
        .filter(|step| !step.read.is_empty());
    let read: Vec<_> = read.collect();
    html! {
        aside {
            @if !read.is_empty() {
                details open {
                    summary { "Read so far: " (read.len()) }
                    ol.so-far {
                        @for step in read {
                            li {
                                (step.title.trim_end_matches('?')) ": " strong { (step.read) }
                                @if !step.counts { " (does not count)" }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The debrief of an exercise that is over.
fn debrief(knowledge: &Knowledge, id: &str, file: &Path) -> Result<Reply, Trouble> {
    let history = Record::read(file)?.history;
    if !is_over(&history) {
        return Ok(Reply::see(format!("/practice/{id}")));
    }
    let practice = Practice::of_record(knowledge, history.state(), None)?;
    let debrief = Debrief::of(&practice, &history)?;
    let main = html! {
        div.scroll tabindex="0" role="region" aria-label="Debrief" { (debrief.paper().html()) }
        p { a.button.main href="/practice" { "Another exercise" } }
    };
    Ok(Reply::html(200, screen(&debrief.title, None, &main)))
}
