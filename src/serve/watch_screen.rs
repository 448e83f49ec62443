//! A job at the foreman's desk: read only, and live.

use maud::{Markup, html};

use super::desk::Job;
use super::reply::Reply;
use super::screen::{likely, screen, status_line};
use super::site::Site;
use crate::record::View;
use crate::session::Outlook;
use crate::sheet::{Sheet, Verdict, one_reading, recording};
use crate::text::figures::{minutes, money};

/// How many measurements on offer are shown.
const OFFERED: usize = 6;
/// After how many seconds a browser without script asks again.
const AGAIN: u64 = 15;

/// The job as it stands: the readings as they come, what is likely, what comes next.
pub(super) fn watch(site: &Site, id: &str, job: &Job, view: &View) -> Reply {
    let sheet = Sheet::of(&job.knowledge, view, &site.clock).ok();
    let verdict = Verdict::of(&job.prompt, job.history.state());
    let order = job
        .history
        .state()
        .opened
        .ticket
        .clone()
        .unwrap_or_default();
    let main = html! {
        div.live data-at={ "/job/" (id) "/at" } data-now=(job.at) {
            @if let Some(status) = &job.prompt.status { (status_line(status)) }
            h1 { (verdict.headline) }
            @if let Some(next) = &verdict.next { p { strong { "Next: " } (next) } }
            @for words in &verdict.grounds { p { (words) } }
            @if let Some(outlook) = &job.prompt.outlook { (likely(outlook)) (offers(outlook)) }
            @if let Some(sheet) = &sheet {
                section aria-labelledby="readings" {
                    h2 #readings { "Readings" }
                    @if sheet.readings.is_empty() { p { "None yet." } }
                    ol.readings { @for reading in sheet.readings.iter().rev() { (one_reading(sheet, reading)) } }
                }
                @for (picture, number) in sheet.recordings.iter().zip(1..) { (recording(picture, number)) }
            }
            p { a href={ "/job/" (id) } { "Go on with this job" } " · " a href={ "/job/" (id) "/sheet" } { "Sheet" } }
        }
    };
    Reply::html(
        200,
        screen(&format!("Watching {order}"), Some(AGAIN), &main),
    )
}

fn offers(outlook: &Outlook) -> Markup {
    html! {
        @if !outlook.offers.is_empty() {
            section aria-labelledby="offers" {
                h2 #offers { "By what each saves by itself" }
                ul {
                    @for offer in outlook.offers.iter().take(OFFERED) {
                        li {
                            (offer.title) ": " (minutes(offer.minutes)) ", saves " (money(offer.saves))
                            @if !offer.equipment.is_empty() { ", ties up " (offer.equipment.join(", ")) }
                        }
                    }
                }
            }
        }
    }
}
