//! The list of jobs, and the start of one.

use std::collections::BTreeMap;

use jiff::Timestamp;
use maud::{Markup, html};

use super::form::Form;
use super::reply::Reply;
use super::screen::{Hidden, says, screen};
use super::site::{Site, id_of};
use crate::jobs::{Row, age};
use crate::knowledge::Vehicle;
use crate::sheet::Stage;
use crate::text::figures::percent;

/// How many jobs of a state are listed.
const LISTED: usize = 100;

/// The jobs; `order` narrows them, and `closed` asks for the closed ones too.
pub(super) fn list(site: &Site, query: &BTreeMap<String, String>) -> Reply {
    let folder = match site.folder() {
        Ok(folder) => folder,
        Err(error) => {
            return says(
                500,
                "Jobs",
                &format!("The folder of jobs: {error}"),
                ("New job", "/new"),
            );
        }
    };
    let words = query.get("order").map_or("", |words| words.trim());
    let wanted = words.to_lowercase();
    let with_closed = query.contains_key("closed") || !words.is_empty();
    let has = |text: &Option<String>| {
        text.as_ref()
            .is_some_and(|text| text.to_lowercase().contains(&wanted))
    };
    let mut rows = folder.rows();
    let closed = rows.iter().filter(|row| row.stage == Stage::Closed).count();
    rows.retain(|row| wanted.is_empty() || has(&row.order) || has(&row.vehicle));
    let now = site.clock.now();
    let unreadable = folder.unreadable();
    let main = html! {
        h1 { "Jobs" }
        form.find method="get" action="/" role="search" {
            label for="order" { "Order or vehicle" }
            input #order name="order" value=(words);
            button { "Find" }
        }
        p { a.button.main href="/new" { "New job" } }
        @for (stage, heading) in [
            (Stage::Open, "Open"), (Stage::Waiting, "Repaired, waiting for proof"),
            (Stage::ToHandOn, "To hand on"), (Stage::Closed, "Closed"),
        ] {
            @if stage != Stage::Closed || with_closed { (stage_of(&rows, stage, heading, now)) }
        }
        @if !with_closed && closed > 0 { p { a.button href="/?closed=yes" { "Closed jobs: " (closed) } } }
        @if !unreadable.is_empty() {
            section aria-labelledby="unreadable" {
                h2 #unreadable { "Cannot be read" }
                ul { @for record in &unreadable { li { (record.file) ": " (record.why) } } }
            }
        }
    };
    Reply::html(200, screen("Jobs", Some(60), &main))
}

fn stage_of(rows: &[&Row], stage: Stage, heading: &str, now: Timestamp) -> Markup {
    let rows: Vec<&&Row> = rows.iter().filter(|row| row.stage == stage).collect();
    html! {
        @if !rows.is_empty() {
            section aria-labelledby=(stage.id()) {
                h2 id=(stage.id()) { (heading) ": " (rows.len()) }
                ul.jobs { @for row in rows.iter().take(LISTED) { (job(row, now)) } }
                @if rows.len() > LISTED { p { "The " (LISTED) " touched last are shown; look for an order to find others." } }
            }
        }
    }
}

fn job(row: &Row, now: Timestamp) -> Markup {
    let address = format!("/job/{}", id_of(&row.file));
    html! {
        li {
            a href=(address) {
                strong { @if let Some(order) = &row.order { (order) } @else { "no order" } }
                " · " (row.vehicle.as_deref().unwrap_or("no sheet of limits")) " · " (age(row.opened, now))
            }
            p { (row.complaint.join("; ")) }
            @if let Some(cure) = &row.leading { p { "Likeliest: " (cure.title) " " (percent(cure.probability)) } }
            @if !row.found.is_empty() { p { "Found: " (row.found.join("; and ")) } }
            @if let Some(next) = &row.next { p { "Next: " (next) } }
            p.small { a href={ (address) "/sheet" } { "Sheet" } " " a href={ (address) "/desk" } { "Watch" } }
        }
    }
}

/// The form that begins a job. What was sent is shown again, where something was missing.
pub(super) fn start(site: &Site, token: &str, sent: Option<(&str, &Form)>) -> Reply {
    let knowledge = site.knowledge.own();
    let (missing, form) = sent.unzip();
    let field = |name| form.map_or("", |form| form.field(name));
    let choice = |value: String, title: &str| {
        let chosen = field("vehicle") == value;
        html! {
            label.choice { input type="radio" name="vehicle" value=(value) required checked[chosen]; span { (title) } }
        }
    };
    let families: Vec<_> = knowledge.finished_families().collect();
    let is_finished = |on: &&Vehicle| families.iter().any(|family| family.name == on.family);
    let fields = html! {
        label for="order" { "Order" }
        input #order name="order" maxlength="200" value=(field("order"));
        label for="words" { "What does the customer say? In their own words." }
        textarea #words name="words" rows="3" maxlength="4000" required { (field("words")) }
        fieldset {
            legend { "Vehicle" }
            @for vehicle in knowledge.vehicles.iter().filter(is_finished) { (choice(format!("vehicle {}", vehicle.name), &vehicle.title)) }
            @for family in &families {
                @let title = if families.len() > 1 { format!("Another vehicle: {}", family.title) } else { "Another vehicle, without a sheet of limits".to_owned() };
                (choice(format!("family {}", family.name), &title))
            }
        }
        button.main { "Begin" }
    };
    let hidden = Hidden {
        action: "/new",
        token,
        at: "",
    };
    let main = html! {
        h1 { "New job" }
        @for family in &families { p.notice { (family.notice) } }
        @if let Some(missing) = missing { p.notice role="alert" { strong { (missing) } } }
        (hidden.form("answer", &fields))
    };
    Reply::html(200, screen("New job", None, &main))
}
