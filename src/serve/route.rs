//! What a request asks for.

use super::asset::{SHEET, asset};
use super::desk::{Job, Taken};
use super::guard::Refused;
use super::reply::{Asked, Reply};
use super::screen::{asks_for_key, not_heard, nothing, says, troubled};
use super::site::{Site, id_of};
use super::{
    jobs_screen, plan_screen, practice_screen, prompt_screen, recording_screen, show_screen,
    watch_screen,
};
use crate::knowledge::Workshop;
use crate::record::{ENDING, Opened, Record};
use crate::sheet::{Sheet, Style, html};

/// The longest order and the longest complaint, in characters.
const LONGEST_ORDER: usize = 200;
const LONGEST_WORDS: usize = 4_000;

/// The reply to a request that names a host of ours and, if it sends something, comes from here.
pub(super) fn heard(site: &Site, asked: &Asked) -> Reply {
    let path: Vec<&str> = asked.path.iter().map(String::as_str).collect();
    if let Some(reply) = asset(asked).filter(|_| !asked.posts) {
        return reply;
    }
    match (asked.posts, path.as_slice()) {
        (false, ["key"]) => return key(site, asked.query.get("key").map_or("", String::as_str)),
        (true, ["key"]) => return key(site, asked.form.field("key")),
        _ => {}
    }
    let session = asked.session.as_deref();
    let back = match path.as_slice() {
        [of @ ("job" | "practice"), id, ..] => format!("/{of}/{id}"),
        _ => "/".to_owned(),
    };
    let guard = site.guard();
    let sent = || guard.form(session, asked.form.field("token"));
    let known = guard.session(session);
    if let Err(why) = known.and_then(|()| if asked.posts { sent() } else { Ok(()) }) {
        return not_heard(why, &back);
    }
    let token = guard.token(session);
    match (asked.posts, path.as_slice()) {
        (false, []) => jobs_screen::list(site, &asked.query),
        (false, ["new"]) => jobs_screen::start(site, &token, None),
        (true, ["new"]) => begin(site, asked, &token),
        (false, ["plan"]) => plan_screen::choose(site),
        (false, ["plan", family, symptom]) => {
            plan_screen::plan(site, family, symptom, &asked.query)
        }
        (false, ["plan", family, symptom, drawing]) => {
            plan_screen::drawing(site, family, symptom, drawing, &asked.query)
        }
        (false, ["show", family, name]) => show_screen::show(site, family, name),
        (_, ["practice", rest @ ..]) => practice_screen::practice(site, asked, rest, &token),
        (false, ["job", id, rest @ ..]) => job(site, id, rest, &token),
        (true, ["job", id]) => answer(site, id, asked, &token),
        (true, ["job", id, "recording"]) => match site.file(id, ENDING) {
            Some(file) => recording_screen::sent(site, (id, &file), asked, &token),
            None => nothing(),
        },
        _ => nothing(),
    }
}

/// Whether a form at a path may have a file in it.
pub(super) fn takes_file(path: &[String]) -> bool {
    matches!(path, [job, _, what] if job == "job" && what == "recording")
}

/// The reply to a request that is not heard.
pub(super) fn refused(why: Refused) -> Reply {
    not_heard(why, "/")
}

/// A session for the key; the key then leaves the address.
fn key(site: &Site, key: &str) -> Reply {
    match site.guard().begin(key) {
        Ok(Some(session)) => {
            let mut reply = Reply::see("/".to_owned());
            reply.begins = Some(session);
            reply
        }
        Ok(None) => asks_for_key(!key.is_empty()),
        Err(error) => says(500, "Not opened", &error.to_string(), ("Jobs", "/")),
    }
}

/// Begins a job.
fn begin(site: &Site, asked: &Asked, token: &str) -> Reply {
    let again = |missing| jobs_screen::start(site, token, Some((missing, &asked.form)));
    let (order, words) = (asked.form.field("order"), asked.form.field("words"));
    if words.is_empty() {
        return again("Write what the customer says first.");
    }
    if order.chars().count() > LONGEST_ORDER || words.chars().count() > LONGEST_WORDS {
        return again("That is too long: an order has at most 200 characters, a complaint 4,000.");
    }
    let knowledge = site.knowledge.own();
    let (family, vehicle) = match asked.form.field("vehicle").split_once(' ') {
        Some(("vehicle", name)) => match knowledge.vehicle(name) {
            Some(vehicle) => (vehicle.family.clone(), Some(vehicle.name.clone())),
            None => return again("Choose the vehicle first."),
        },
        Some(("family", name)) => (name.to_owned(), None),
        _ => return again("Choose the vehicle first."),
    };
    if knowledge.finished_family(&family).is_none() {
        return again("Choose the vehicle first.");
    }
    let mut opened = Opened::new(family, knowledge.fingerprints());
    opened.vehicle = vehicle;
    opened.ticket = Some(order.to_owned()).filter(|order| !order.is_empty());
    opened.shop = Some(site.profile.workshop.clone()).filter(|shop| *shop != Workshop::default());
    match Job::begin(site, &opened, words) {
        Ok(file) => Reply::see(format!("/job/{}", id_of(&file))),
        Err(error) => troubled(&error.into(), "/new"),
    }
}

/// A job: its question, its sheet, or a look at it.
fn job(site: &Site, id: &str, rest: &[&str], token: &str) -> Reply {
    let Some(file) = site.file(id, ENDING) else {
        return nothing();
    };
    let back = format!("/job/{id}");
    if let ["sheet" | "sheet.html"] = rest {
        return sheet(site, &file, &back, rest == ["sheet.html"]);
    }
    let job = match Job::read(site, id, &file) {
        Ok(job) => job,
        Err(trouble) => return troubled(&trouble, "/"),
    };
    match rest {
        [] => prompt_screen::prompt(site, id, &job, token, None),
        ["recording"] => recording_screen::shown(site, id, &job, token, None),
        ["at"] => Reply::text(200, "text/plain; charset=utf-8", job.at),
        ["desk"] => match Record::read(&file) {
            Ok(view) => watch_screen::watch(site, id, &job, &view),
            Err(error) => troubled(&error.into(), "/"),
        },
        _ => nothing(),
    }
}

fn sheet(site: &Site, file: &std::path::Path, back: &str, keep: bool) -> Reply {
    let view = match Record::read(file) {
        Ok(view) => view,
        Err(error) => return troubled(&error.into(), "/"),
    };
    let knowledge = site.knowledge.of(&view.history.state().opened);
    let sheet = match Sheet::of(&knowledge, &view, &site.clock) {
        Ok(sheet) => sheet,
        Err(error) => return troubled(&error.into(), "/"),
    };
    let address = SHEET.address();
    let address = [address.as_str()];
    let (style, back) = if keep {
        (Style::Own, None)
    } else {
        (Style::At(&address), Some(back))
    };
    let mut reply = Reply::text(200, "text/html; charset=utf-8", html(&sheet, style, back));
    reply.file = keep.then_some("sheet.html");
    reply
}

/// Takes an answer. One that was given to an older state of the job is not recorded, and the state now is shown.
fn answer(site: &Site, id: &str, asked: &Asked, token: &str) -> Reply {
    let Some(file) = site.file(id, ENDING) else {
        return nothing();
    };
    let back = format!("/job/{id}");
    let form = &asked.form;
    let taken = Job::take(site, (id, &file), form.field("at"), |prompt| {
        form.answer(prompt)
    });
    match taken {
        Ok(Taken::Done) => Reply::see(back),
        Ok(Taken::Stale) => match Job::read(site, id, &file) {
            Ok(job) => prompt_screen::prompt(site, id, &job, token, Some(&asked.form)),
            Err(trouble) => troubled(&trouble, "/"),
        },
        Err(trouble) => troubled(&trouble, &back),
    }
}
