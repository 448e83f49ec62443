//! Recordings of a job: one is sent, what it says is looked at, its readings are taken; and those that readings came from.

use std::path::Path;

use maud::{Markup, html};

use super::desk::{Job, Taken};
use super::offer::{Offer, column_of};
use super::reply::{Asked, Reply};
use super::screen::{Hidden, screen, status_line, troubled};
use super::site::{Site, held};
use super::upload::MEGABYTES;
use crate::knowledge::{Family, SignalId};
use crate::recording::{Report, Table};
use crate::session::Answer;
use crate::sheet::{recording, recordings};
use crate::text::counted;
use crate::text::figures::short;

/// So many columns are offered for a signal, beside the one it has.
const COLUMNS: usize = 300;

/// The screen; `refused` is a status, and why what was sent was not taken.
pub(super) fn shown(
    site: &Site,
    id: &str,
    job: &Job,
    token: &str,
    refused: Option<(u16, &str)>,
) -> Reply {
    let address = format!("/job/{id}");
    let action = format!("{address}/recording");
    let hidden = Hidden {
        action: &action,
        token,
        at: &job.at,
    };
    let offer = site.offer(id);
    let open = job.prompt.outlook.is_some();
    let main = html! {
        h1 { "Recording" }
        @if let Some(status) = &job.prompt.status { (status_line(status)) }
        p { a.button href=(address) { "Back to the question" } }
        @if let Some((_, words)) = refused { p.notice role="alert" { strong { "Not taken. " } (words) } }
        @if open {
            @if let (Some(offer), Ok(family)) = (&offer, job.family()) { (offered(offer, family, hidden)) }
            (form(&action, token, offer.is_some()))
        } @else {
            p { "A recording is taken while the cause is looked for, once the complaint is known." }
        }
        // The first number is that of the recording that is on offer.
        @for (picture, number) in recordings(&job.history).iter().zip(2..) { (recording(picture, number)) }
    };
    let title = match &job.history.state().opened.ticket {
        Some(order) => format!("Recording – {order}"),
        None => "Recording".to_owned(),
    };
    let status = refused.map_or(200, |(status, _)| status);
    Reply::html(status, screen(&title, None, &main))
}

/// The form that sends a file.
fn form(action: &str, token: &str, again: bool) -> Markup {
    let label =
        format!("What the scan tool recorded, exported as a table (CSV), at most {MEGABYTES} MB");
    html! {
        form.answer method="post" action=(action) enctype="multipart/form-data" {
            input type="hidden" name="token" value=(token);
            label for="file" { (label) }
            input #file type="file" name="file" accept=".csv,.tsv,.txt,text/csv,text/plain" required data-most={ (MEGABYTES) "000000" };
            @if again { button { "Read another recording" } } @else { button.main { "Read the recording" } }
        }
    }
}

/// A recording that was sent: its columns where they are new, what it says, and the button that takes its readings.
fn offered(offer: &Offer, family: &Family, hidden: Hidden<'_>) -> Markup {
    let columns = || columns(offer, family, hidden);
    let count = offer
        .says
        .as_ref()
        .map_or(0, |(_, readings)| readings.readings.len());
    html! {
        @match &offer.says {
            Ok((report, readings)) => {
                p { strong { (report.file) } ": " (report.rows) " rows, " (short(report.seconds / 60.0)) " min." }
                @for remark in &report.remarks { p { (remark) } }
                @if !offer.settled {
                    p.notice { "The columns of this layout are new here. Look at them first: taking the readings settles them." }
                    (columns())
                }
                (recording(&readings.picture, 1))
                (not_read(report))
                @if count == 0 { p { strong { "There is nothing to take." } } }
            }
            Err(why) => {
                p.notice role="alert" { strong { "It cannot be read with these columns. " } (why) "." }
                (columns())
            }
        }
        (hidden.form("answer", &html! {
            input type="hidden" name="number" value=(offer.number);
            @if count > 0 {
                button.main name="do" value="take" {
                    @if !offer.settled { "The columns are right: take " } @else { "Take " }
                    (counted(count, "reading", "readings"))
                }
            }
            button name="do" value="leave" { "Leave it" }
        }))
        @if offer.settled && offer.says.is_ok() { (columns()) }
    }
}

fn not_read(report: &Report) -> Markup {
    let refused = report
        .readings
        .iter()
        .filter_map(|row| Some((&row.title, row.refused.as_ref()?)));
    let refused: Vec<_> = refused.collect();
    html! {
        @if !refused.is_empty() {
            h3 { "Not read" }
            ul { @for (title, why) in refused { li { (title) ": " (why) "." } } }
        }
    }
}

/// Which column is which signal, to be put right.
fn columns(offer: &Offer, family: &Family, hidden: Hidden<'_>) -> Markup {
    let table = &offer.table;
    let signals = family.signals.iter().zip((0..).map(SignalId::at));
    let signals = signals.map(|(signal, id)| (signal, offer.mapping.0.get(&id).copied()));
    html! {
        details open[!offer.settled] {
            summary { "Which column is which signal" }
            (hidden.form("columns", &html! {
                input type="hidden" name="number" value=(offer.number);
                @for (signal, taken) in signals {
                    label {
                        (signal.title)
                        select name=(column_of(&signal.name)) {
                            option value="" selected[taken.is_none()] { "none" }
                            @for at in 0..table.columns.len() {
                                @if at < COLUMNS || taken == Some(at) {
                                    option value=(named(table, at)) selected[taken == Some(at)] { (described(table, at)) }
                                }
                            }
                        }
                    }
                }
                button name="do" value="columns" { "Read it with these columns" }
            }))
        }
    }
}

/// What names a column for certain: its place, where another has its name.
fn named(table: &Table, at: usize) -> String {
    let name = &table.columns[at].name;
    let others = table
        .columns
        .iter()
        .filter(|other| other.name.eq_ignore_ascii_case(name));
    if others.count() == 1 && name.trim() == name && !name.is_empty() {
        name.clone()
    } else {
        (at + 1).to_string()
    }
}

/// A column with its unit and its first value.
fn described(table: &Table, at: usize) -> String {
    let column = &table.columns[at];
    let unit = column
        .unit
        .map_or_else(String::new, |unit| format!(", {unit}"));
    let first = table.sample.first().and_then(|row| row.get(at));
    let first = first.filter(|cell| !cell.is_empty());
    let first = first.map_or_else(String::new, |cell| format!(" (first {cell})"));
    format!("{}{unit}{first}", column.name)
}

/// Takes what was sent: a file, other columns, or a yes to its readings.
pub(super) fn sent(site: &Site, (id, file): (&str, &Path), asked: &Asked, token: &str) -> Reply {
    let address = format!("/job/{id}");
    let job = match Job::read(site, id, file) {
        Ok(job) => job,
        Err(trouble) => return troubled(&trouble, "/"),
    };
    let refused = |status, words: &str| shown(site, id, &job, token, Some((status, words)));
    let (family, vehicle) = match job.family() {
        Ok(family) => (family, job.vehicle()),
        Err(error) => return troubled(&error.into(), "/"),
    };
    let again = |offer: Result<Offer, String>| match offer {
        Ok(offer) => {
            site.set_offer(id, Some(offer));
            Reply::see(format!("{address}/recording"))
        }
        Err(why) => refused(422, &format!("{why}.")),
    };
    if let Some(upload) = &asked.file {
        let mappings = site.mappings().clone();
        return again(Offer::of(upload, mappings.as_deref(), family, vehicle));
    }
    let number = asked.form.field("number");
    let Some(offer) = site.offer(id).filter(|_| !number.is_empty()) else {
        return refused(422, "There is no recording here: choose its file first.");
    };
    if number != offer.number.to_string() {
        return refused(
            409,
            "This is not the recording of that page: it was sent or read again since. Look at it first.",
        );
    }
    match asked.form.field("do") {
        "columns" => again(offer.with_columns(&asked.form, family, vehicle)),
        "leave" => {
            site.set_offer(id, None);
            Reply::see(address)
        }
        "take" => {
            if let Some(other) = offer.on_another(family, vehicle) {
                site.set_offer(id, Some(other));
                return refused(
                    409,
                    "The job is on another vehicle now. This is what the recording says by its sheet.",
                );
            }
            let Ok((_, readings)) = &offer.says else {
                return refused(422, "It cannot be read with these columns.");
            };
            let answer = || Answer::Recording(Box::new(readings.clone()));
            match Job::take(site, (id, file), asked.form.field("at"), |_| Ok(answer())) {
                Ok(Taken::Done) => {}
                Ok(Taken::Stale) => {
                    return refused(
                        409,
                        "This job has gone on since that page was shown: somebody else answered, or the program was started again. Look at it, then take the readings.",
                    );
                }
                Err(trouble) => return troubled(&trouble, &address),
            }
            site.set_offer(id, None);
            if !offer.settled
                && let Err(why) = offer.settle(site.mappings().as_deref(), family)
            {
                let words = format!(
                    "What the columns are could not be kept for the next recording: {why}."
                );
                held(&site.open(id)).said.push(words);
            }
            Reply::see(address)
        }
        _ => refused(422, "This page does not know that."),
    }
}
