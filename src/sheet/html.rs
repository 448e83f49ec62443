//! A sheet as HTML: one document that needs nothing else, for a screen, a telephone and paper.

use maud::{Markup, PreEscaped, html};

use super::document::{Style, finished, framed};
use super::part::{Reading, RepairDone};
use super::tree::{Branch, Likely, Tree};
use super::value::Sheet;
use crate::drawing;
use crate::record::Picture;
use crate::text::figures::{minutes, money, percent, short};

/// A sheet as an HTML document. `back` is the address of the page that the sheet was asked for on, where it was.
pub fn html(sheet: &Sheet, style: Style<'_>, back: Option<&str>) -> String {
    let title = match &sheet.order {
        Some(order) => format!("Job sheet, order {order}"),
        None => format!("Job sheet {}", sheet.job),
    };
    let body = html! {
        body.sheet {
            @if let Some(back) = back {
                nav aria-label="Job" { a href=(back) { "Back to the job" } " " a href={ (back) "/sheet.html" } { "Keep as a file" } }
            }
            main { (all(sheet)) }
        }
    };
    let icon = html! {
        @if back.is_some() { link rel="icon" type="image/svg+xml" href="/icon.svg"; }
    };
    finished(framed(&title, style, &icon, &body))
}

fn all(sheet: &Sheet) -> Markup {
    html! {
        (head(sheet))
        @if sheet.invented {
            p.notice { strong { "Demonstration." } " The limits on this sheet are invented: use them on no vehicle." }
        }
        @for warning in &sheet.warnings { p.notice { strong { "Note. " } (warning) } }
        (verdict(sheet))
        (repairs(sheet))
        (readings(sheet))
        (course(sheet))
        @for (tree, number) in sheet.trees.iter().zip(1..) { (fault_tree(tree, number)) }
        (time(sheet))
        (aside(sheet))
        (sign_off())
        p.small { (sheet.notice) }
        p.small {
            "Written by halfsplit " (env!("CARGO_PKG_VERSION")) " from the record of job " (sheet.job) ". "
            "Chances are those of the knowledge in use, a workshop’s judgement."
        }
        @for (picture, number) in sheet.recordings.iter().zip(1..) { (recording(picture, number)) }
    }
}

/// A field of the form: its name small above what stands in it.
fn field(name: &str, text: &str) -> Markup {
    html! { div { dt { (name) } dd { @if text.is_empty() { "–" } @else { (text) } } } }
}

fn head(sheet: &Sheet) -> Markup {
    let vehicle = sheet.vehicle.as_deref().unwrap_or("no sheet of limits");
    html! {
        header {
            h1 { "Job sheet" }
            p.stage { (sheet.verdict.stage.word()) }
            dl.fields {
                (field("Order", sheet.order.as_deref().unwrap_or_default()))
                (field("Vehicle", vehicle))
                (field("Opened", &sheet.clock.shown(sheet.opened)))
                (field("Last entry", &sheet.clock.shown(sheet.last)))
                div.wide {
                    dt { "The customer says" }
                    dd {
                        @if sheet.complaint.is_empty() { "–" }
                        @for words in &sheet.complaint { q { (words) } " " }
                    }
                }
                div.wide {
                    dt { "Complaint" }
                    dd {
                        @if sheet.symptoms.is_empty() { "–" } @else { (sheet.symptoms.join("; ")) }
                        @if !sheet.absent.is_empty() { " (not: " (sheet.absent.join("; ")) ")" }
                    }
                }
            }
        }
    }
}

fn verdict(sheet: &Sheet) -> Markup {
    let verdict = &sheet.verdict;
    html! {
        section aria-labelledby="verdict" {
            h2 #verdict { "Verdict" }
            p.headline { (verdict.headline) }
            @for words in &verdict.grounds { p { (words) } }
            @if let Some(next) = &verdict.next { p { strong { "Next: " } (next) } }
            @if !sheet.on_the_way.is_empty() {
                h3 { "Found on the way" }
                ul {
                    @for found in &sheet.on_the_way {
                        li {
                            (found.title) ": " (minutes(found.minutes)) ", parts " (money(found.parts)) " (" (found.words) ")"
                        }
                    }
                }
            }
        }
    }
}

fn repairs(sheet: &Sheet) -> Markup {
    html! {
        @if !sheet.repairs.is_empty() {
            section aria-labelledby="repairs" {
                h2 #repairs { "Repair and proof" }
                @for repair in &sheet.repairs { (repair_done(sheet, repair)) }
            }
        }
    }
}

fn repair_done(sheet: &Sheet, repair: &RepairDone) -> Markup {
    let cured = match repair.cured {
        Some(true) => "It cured the complaint.",
        Some(false) => "It did not cure the complaint.",
        None => "Whether it cured the complaint is not said yet.",
    };
    html! {
        h3 { (repair.titles.join("; and ")) }
        p {
            (sheet.clock.shown(repair.time)) ". Done for: " (repair.causes.join("; and "))
            " (" (percent(repair.probability)) "). Parts by the knowledge: " (money(repair.parts)) ". Expected "
            (minutes(repair.expected_minutes)) ", took " (minutes(repair.clock_minutes)) ". "
            strong { (cured) }
        }
        @if !repair.proofs.is_empty() {
            div.scroll tabindex="0" role="region" aria-label="Proof" {
                table {
                    thead {
                        tr {
                            th scope="col" { "Proved with" } th scope="col" { "Before" } th scope="col" { "After" }
                            th scope="col" { "As a mended vehicle" }
                        }
                    }
                    tbody {
                        @for proof in &repair.proofs {
                            tr {
                                th scope="row" { (proof.title) }
                                td { (proof.before.as_deref().unwrap_or("–")) }
                                td {
                                    (proof.after)
                                    @if proof.typed != proof.after { " (typed: " (proof.typed) ")" }
                                }
                                td { @if proof.as_expected { "yes" } @else { strong { "NO" } } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn readings(sheet: &Sheet) -> Markup {
    html! {
        section aria-labelledby="readings" {
            h2 #readings { "Readings" }
            @if sheet.readings.is_empty() { p { "None." } }
            @else {
                ol.readings { @for reading in &sheet.readings { (one_reading(sheet, reading)) } }
            }
            @if sheet.taken_back > 0 {
                p.small { "Answers taken back: " (sheet.taken_back) ". They stay in the record." }
            }
        }
    }
}

/// A reading as it stands on a sheet, an item of a list.
pub fn one_reading(sheet: &Sheet, reading: &Reading) -> Markup {
    let sure = percent(reading.certainty);
    let (expected, took) = (
        minutes(reading.expected_minutes),
        minutes(reading.clock_minutes),
    );
    html! {
        li {
            div {
                h3 { span.number { (reading.number) } " " (reading.title) }
                p.read {
                    span.sign { @if reading.normal { "○" } @else { "●" } }
                    " " strong { (reading.outcome) }
                    @if !reading.normal { ", not normal" }
                    @if reading.certainty < 0.995 { " (" (sure) " sure)" }
                }
                @if !reading.counts {
                    p { strong { "Does not count: " } (reading.why_not.as_deref().unwrap_or("kept only")) }
                }
                @if let Some(number) = reading.replaced_by { p { strong { "Taken again: reading " (number) "." } } }
                p.small { (sheet.clock.shown(reading.time)) "; expected " (expected) ", took " (took) }
            }
            div {
                @if let Some(mark) = &reading.mark {
                    (PreEscaped(drawing::band(mark, &format!("band-{}", reading.number))))
                }
                dl.run-in {
                    (field("Typed", &reading.typed))
                    @if let Some(value) = reading.value.as_ref().filter(|value| **value != reading.typed) {
                        (field("Value", value))
                    }
                    @for part in &reading.parts { (field(&part.name.replace('-', " "), &part.typed)) }
                    @if let Some(codes) = &reading.codes {
                        (field("Codes", &if codes.is_empty() { "none".to_owned() } else { codes.join(", ") }))
                    }
                    @if let Some(instrument) = &reading.instrument { (field("Read with", instrument)) }
                    @for limit in &reading.limits {
                        @let words = limit.words.as_deref().unwrap_or("not on the sheet: look it up");
                        @let source = limit.source.as_ref().map_or_else(String::new, |source| format!(" ({source})"));
                        (field(&format!("Limit, {}", limit.name.replace('-', " ")), &format!("{words}{source}")))
                    }
                    @for met in &reading.conditions {
                        (field(&met.question, &format!("{}{}", met.answer, if met.holds { "" } else { ", outside what it must be" })))
                    }
                }
            }
        }
    }
}

fn course(sheet: &Sheet) -> Markup {
    let course = &sheet.course;
    html! {
        @if !course.steps.is_empty() {
            section aria-labelledby="course" {
                h2 #course { "How the chances went" }
                (PreEscaped(drawing::course(course, "chart")))
                div.scroll tabindex="0" role="region" aria-label="Chances" {
                    table {
                        thead {
                            tr {
                                th scope="col" { "Step" } th scope="col" { "After" }
                                @for (title, place) in course.followed.iter().zip(0..) {
                                    th scope="col" { (drawing::letter(place)) ": " (title) }
                                }
                                th scope="col" { "N: nothing listed" }
                            }
                        }
                        tbody {
                            @for (step, number) in course.steps.iter().zip(0..) {
                                tr {
                                    td { (number) }
                                    th scope="row" { (step.after) }
                                    @for chance in &step.chances { td.figure { (percent(*chance)) } }
                                    td.figure { (percent(step.unlisted)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn fault_tree(tree: &Tree, number: usize) -> Markup {
    let id = format!("tree-{number}");
    html! {
        section.tree aria-labelledby=(id) {
            h2 id=(id) { "Fault tree: " (tree.symptom) }
            p.small { "Struck through: now unlikely by the readings." }
            (branches(&tree.below))
        }
    }
}

fn branches(below: &[Branch]) -> Markup {
    html! {
        ul {
            @for branch in below {
                li {
                    @match branch.now {
                        Likely::Unlikely => { s { (branch.title) } span.hush { " (unlikely)" } }
                        Likely::Repaired => { s { (branch.title) } " (repaired: that did not cure it)" }
                        Likely::Found => { strong { (branch.title) } " (found)" }
                        Likely::Above => { (branch.title) " (as above)" }
                        Likely::InQuestion => { (branch.title) }
                    }
                    @if branch.now == Likely::InQuestion && let Some(chance) = branch.probability { " " (percent(chance)) }
                    @if branch.now != Likely::Above && let Some(takes) = &branch.takes { span.small { ", " (takes) ":" } }
                    @if !branch.below.is_empty() { (branches(&branch.below)) }
                }
            }
        }
    }
}

fn time(sheet: &Sheet) -> Markup {
    html! {
        section aria-labelledby="time" {
            h2 #time { "Time" }
            p {
                "By the knowledge the readings, set-ups and repairs take " strong { (minutes(sheet.time.expected)) }
                "; from the first entry to the last it took " strong { (minutes(sheet.time.clock)) } " by the clock"
                @if sheet.time.pauses > 0.0 { ", without " (minutes(sheet.time.pauses)) " in pauses of more than four hours" }
                "."
            }
        }
    }
}

fn aside(sheet: &Sheet) -> Markup {
    html! {
        @if !sheet.set_aside.is_empty() {
            section aria-labelledby="aside" {
                h2 #aside { "Set aside" }
                ul {
                    @for aside in &sheet.set_aside {
                        li {
                            (aside.title) ": " (aside.how)
                            @if let Some(why) = &aside.why { " (" (why) ")" }
                        }
                    }
                }
            }
        }
        @if !sheet.notes.is_empty() {
            section aria-labelledby="notes" {
                h2 #notes { "Remarks" }
                ul { @for note in &sheet.notes { li { (sheet.clock.shown(note.time)) ": " (note.words) } } }
            }
        }
    }
}

/// A recording: its traces, what happened in it, and its readings. `number` tells it from others in a document.
pub fn recording(picture: &Picture, number: usize) -> Markup {
    let id = format!("recording-{number}");
    let region = format!("Traces of recording {number}");
    html! {
        section.recording aria-labelledby=(id) {
            h2 id=(id) { "Recording " (picture.file) }
            div.scroll tabindex="0" role="region" aria-label=(region) {
                (PreEscaped(drawing::traces_in_page(picture, &format!("traces-{number}"))))
            }
            @if !picture.events.is_empty() {
                h3 { "What happened, by the numbers above" }
                ol { @for event in &picture.events { li { (short(event.from)) " s: " (event.words) } } }
            }
            @if !picture.windows.is_empty() {
                h3 { "Readings, by the letters above" }
                ol.lettered { @for window in &picture.windows { li { (window.words) } } }
            }
        }
    }
}

fn sign_off() -> Markup {
    html! {
        section.signed aria-labelledby="signed" {
            h2 #signed { "Signed" }
            dl.fields {
                @for who in ["Technician", "Foreman", "Customer"] {
                    div { dt { (who) ", date" } dd.line {} }
                }
            }
        }
    }
}
