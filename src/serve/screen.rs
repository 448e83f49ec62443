//! What every screen of the page has.

use maud::{Markup, html};

use super::asset::{ICON, SCRIPT, SHEET, STYLE};
use super::desk::Trouble;
use super::guard::Refused;
use super::reply::Reply;
use crate::session::{Outlook, Status};
use crate::sheet::{Style, framed};
use crate::text::figures::{minutes, percent};
use crate::text::{clean, signal};

/// How many of the repairs that may cure are shown.
const LIKELY: usize = 5;

/// A screen. It is asked for again after `again` seconds by a browser that runs no script.
pub(super) fn screen(title: &str, again: Option<u64>, main: &Markup) -> Markup {
    let head = html! {
        link rel="icon" type="image/svg+xml" href=(ICON.address());
        script src=(SCRIPT.address()) defer {}
        @if let Some(seconds) = again { noscript { meta http-equiv="refresh" content=(seconds.max(1)); } }
    };
    let body = html! {
        body {
            nav.top aria-label="Page" {
                a href="/" { "Jobs" } a href="/new" { "New job" } a href="/plan" { "Plans" } a href="/practice" { "Practice" }
            }
            main { (main) }
        }
    };
    let styles = [SHEET.address(), STYLE.address()];
    let styles = styles.each_ref().map(String::as_str);
    framed(title, Style::At(&styles), &head, &body)
}

/// A screen that only says something, and where to go on.
pub(super) fn says(status: u16, title: &str, words: &str, on: (&str, &str)) -> Reply {
    let main = html! {
        h1 { (title) }
        p { (words) }
        p { a.button href=(on.1) { (on.0) } }
    };
    Reply::html(status, screen(title, None, &main))
}

/// There is nothing at an address.
pub(super) fn nothing() -> Reply {
    says(404, "Nothing here", "There is no such page.", ("Jobs", "/"))
}

/// Asks for the key.
pub(super) fn asks_for_key(wrong: bool) -> Reply {
    let main = html! {
        h1 { "Key" }
        @if wrong { p.notice role="alert" { "That is not the key." } }
        p { "The key stands where the program was started. Scan the square there, or type the key." }
        form method="post" action="/key" {
            label for="key" { "Key" }
            input #key name="key" autocomplete="off" autocapitalize="characters" spellcheck="false" required;
            button.main { "Open the page" }
        }
    };
    let mut reply = Reply::html(403, screen("Key", None, &main));
    reply.late = wrong;
    reply
}

/// What is said to a request that is not heard.
pub(super) fn not_heard(why: Refused, back: &str) -> Reply {
    match why {
        Refused::Session => asks_for_key(false),
        Refused::Host => {
            let words = "This page does not go by that name. The program names the ones it goes by when it starts.\n";
            Reply::text(421, "text/plain; charset=utf-8", words.to_owned())
        }
        Refused::Origin | Refused::Token => says(
            403,
            "Not recorded",
            "That form is not from this page, or from before the program was started again. Nothing was recorded.",
            ("Go on", back),
        ),
    }
}

/// Why a record cannot be worked on.
pub(super) fn troubled(trouble: &Trouble, back: &str) -> Reply {
    let words = clean(&trouble.to_string());
    says(
        409,
        "Not recorded",
        &format!("{words}. What was recorded before is on disk."),
        ("Go on", back),
    )
}

/// A warning: boxed, its signal word in front.
pub(super) fn warning(text: &str) -> Markup {
    let (word, rest) = signal(text);
    html! { p.warning { strong { "⚠ " (word) } " " (rest) } }
}

/// The job in a line.
pub(super) fn status_line(status: &Status) -> Markup {
    let readings = match status.readings {
        1 => "1 reading".to_owned(),
        more => format!("{more} readings"),
    };
    html! {
        p.status {
            @if let Some(order) = &status.order { strong { (order) } " · " }
            @if let Some(vehicle) = &status.vehicle { (vehicle) " · " }
            (readings) " · " (minutes(status.minutes))
            @if !status.in_place.is_empty() { " · " (status.in_place.join("; ")) }
        }
    }
}

/// What is likely, as bars.
pub(super) fn likely(outlook: &Outlook) -> Markup {
    let cures = outlook.repairs.iter().take(LIKELY);
    let cures = cures.map(|cure| (cure.title.as_str(), cure.probability));
    let rest: f64 = outlook
        .repairs
        .iter()
        .skip(LIKELY)
        .map(|cure| cure.probability)
        .sum();
    let more = (rest > 0.0).then_some(("everything else listed", rest));
    let all = cures
        .chain(more)
        .chain([("nothing listed", outlook.unlisted)]);
    html! {
        section.likely aria-labelledby="likely" {
            h2 #likely { "What would cure it" }
            ul {
                @for (title, chance) in all {
                    li { (title) " " strong { (percent(chance)) } (bar(chance)) }
                }
            }
        }
    }
}

/// A share as a bar; the figure beside it says the same.
fn bar(share: f64) -> Markup {
    let width = format!("{:.1}", share.clamp(0.0, 1.0) * 100.0);
    html! {
        svg.bar viewBox="0 0 100 3" preserveAspectRatio="none" aria-hidden="true" {
            rect x="0" y="0" width="100" height="3" fill="currentColor" opacity="0.15" {}
            rect x="0" y="0" width=(width) height="3" fill="currentColor" {}
        }
    }
}

/// What a form of the page carries.
#[derive(Clone, Copy)]
pub(super) struct Hidden<'h> {
    pub(super) action: &'h str,
    pub(super) token: &'h str,
    pub(super) at: &'h str,
}

impl Hidden<'_> {
    /// A form with these fields.
    pub(super) fn form(&self, class: &str, fields: &Markup) -> Markup {
        html! {
            form class=(class) method="post" action=(self.action) autocomplete="off" {
                input type="hidden" name="token" value=(self.token);
                input type="hidden" name="at" value=(self.at);
                (fields)
            }
        }
    }
}
