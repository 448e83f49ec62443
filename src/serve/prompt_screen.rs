//! One prompt a screen: what the last answer gave, the question, and at the bottom what else can be done.

use maud::{Markup, html};

use super::desk::{Job, same_question};
use super::form::Form;
use super::question::Question;
use super::reply::Reply;
use super::screen::{Hidden, likely, screen, status_line, warning};
use super::site::Site;
use crate::session::{Ask, Change, Outlook, Session};
use crate::sheet::ticked;
use crate::text::figures::{minutes, money, percent};
use crate::units::timing::whole_seconds;

/// How many measurements can be taken instead at a tap.
const OFFERED: usize = 20;

/// What a screen shows.
struct Screen<'s> {
    job: &'s Job,
    question: Question<'s>,
}

/// The screen of what is asked. `stale` is what was sent to an older state of the job.
pub(super) fn prompt(site: &Site, id: &str, job: &Job, token: &str, stale: Option<&Form>) -> Reply {
    let address = format!("/job/{id}");
    let shown = Screen {
        job,
        question: Question {
            prompt: &job.prompt,
            family: job.family().ok(),
            hidden: Hidden {
                action: &address,
                token,
                at: &job.at,
            },
            address: &address,
            vehicle: job.vehicle(),
            sent: stale.filter(|form| same_question(form.field("at"), &job.at)),
        },
    };
    let cooling = match &job.prompt.ask {
        Ask::Cooling { seconds } => Some(*seconds),
        _ => None,
    };
    let title = match &job.history.state().opened.ticket {
        Some(order) => format!("{} – {order}", shown.question.title()),
        None => shown.question.title(),
    };
    let now = site.clock.now();
    let left = job.history.state().cool_down_left(now);
    let left = left.map(|left| whole_seconds(left.unsigned_abs()));
    let main = html! {
        @if let Some(form) = stale { (not_recorded(form)) }
        @if let Some(status) = &job.prompt.status { (status_line(status)) }
        @if let Some(caution) = &job.caution { (warning(caution)) }
        @if let Some(left) = left {
            p.cooling data-left=(left) role="timer" {
                "Cooling down, engine idling in P or N, not switched off: " b.seconds { (left) } " s left."
            }
        }
        (shown.said())
        (shown.question.shown())
        (shown.beside())
        (shown.aside(site))
    };
    let again = cooling.map(|seconds| seconds.min(15));
    Reply::html(
        if stale.is_some() { 409 } else { 200 },
        screen(&title, again, &main),
    )
}

/// What was sent to an older state is shown, so that it can be given again.
fn not_recorded(form: &Form) -> Markup {
    let sent = [form.say(), form.field("note"), form.field("why")];
    let sent: Vec<&str> = sent.into_iter().filter(|text| !text.is_empty()).collect();
    html! {
        p.notice role="alert" {
            strong { "Not recorded." }
            " This job has gone on since that page was shown: somebody else answered, or the program was started again. "
            "This is how it stands now."
            @if !sent.is_empty() { " You sent: " q { (sent.join("; ")) } }
        }
    }
}

impl Screen<'_> {
    /// What was said to the last answer, and what it changed.
    fn said(&self) -> Markup {
        let change = self.job.prompt.change.as_ref().and_then(changed);
        html! {
            @if !self.job.said.is_empty() || change.is_some() {
                div.said role="status" {
                    @for words in &self.job.said { p { (ticked(words)) } }
                    @if let Some(words) = change { p { (words) } }
                }
            }
        }
    }

    /// What else can be done at any question.
    fn beside(&self) -> Markup {
        let hidden = &self.question.hidden;
        let measuring = self.job.prompt.measure.is_some();
        let closed = matches!(self.job.prompt.ask, Ask::Closed { .. });
        let field = |name: &str, label: &str, button: &str, word: &str| {
            hidden.form(
                "aside",
                &html! {
                    label { (label) input name=(name); }
                    button name="do" value=(word) { (button) }
                },
            )
        };
        html! {
            @if !closed {
                section.beside aria-label="What else can be done" {
                    (hidden.form("plain", &html! {
                        button name="do" value="back" { "Back" }
                        @if measuring { button name="do" value="skip" { "Skip" } }
                    }))
                    @if measuring { details { summary { "Cannot" } (field("why", "Why it cannot be done here", "It cannot be done", "cannot")) } }
                    @if self.job.prompt.outlook.is_some() { a.button href={ (self.question.address) "/recording" } { "Recording" } }
                    details { summary { "Note" } (field("note", "A remark for the record", "Keep it", "note")) }
                    (self.others())
                }
            }
        }
    }

    /// Another measurement, a repair now, a further complaint, an instrument.
    fn others(&self) -> Markup {
        let hidden = &self.question.hidden;
        let outlook = self.job.prompt.outlook.as_deref();
        let choose = |name: &str, label: &str, button: &str, of: &[(String, String)]| {
            hidden.form("aside", &html! {
                label {
                    (label)
                    select name=(name) { @for (value, title) in of { option value=(value) { (title) } } }
                }
                button name="do" value=(name) { (button) }
            })
        };
        let reads = self
            .job
            .prompt
            .measure
            .as_ref()
            .is_some_and(|_| matches!(self.job.prompt.ask, Ask::Reading(_)));
        html! {
            @if let Some(outlook) = outlook {
                details {
                    summary { "Another measurement" }
                    (hidden.form("aside", &html! {
                        ul.offers {
                            @for offer in outlook.offers.iter().take(OFFERED) {
                                li {
                                    button name="do" value={ "take " (offer.id) } { (offer.title) }
                                    span.small { (minutes(offer.minutes)) ", saves " (money(offer.saves)) }
                                }
                            }
                        }
                    }))
                    (hidden.form("aside", &html! {
                        label { "Words of its title" input name="take"; }
                        button name="do" value="take" { "Take it" }
                    }))
                    @if !matches!(self.job.prompt.ask, Ask::Repair(_) | Ask::HandOn { .. }) {
                        (hidden.form("aside", &html! { button name="do" value="repair" { "Stop measuring and repair now" } }))
                    }
                }
            }
            @if let Some(family) = self.question.family {
                details {
                    summary { "More" }
                    @let symptoms: Vec<_> = family.symptoms.iter().map(|of| (of.name.clone(), of.title.clone())).collect();
                    (choose("also", "A further complaint", "The vehicle has it too", &symptoms))
                    (choose("absent", "A complaint the vehicle does not have", "It does not have it", &symptoms))
                    @let set_ups: Vec<_> = family.set_ups.iter().map(|of| (of.name.clone(), of.title.clone())).collect();
                    (choose("in-place", "What is in place already", "It is in place", &set_ups))
                    @let vehicles = self.job.knowledge.vehicles.iter().filter(|on| on.family == family.name);
                    @let vehicles: Vec<_> = vehicles.map(|on| (on.name.clone(), on.title.clone())).chain([("none".to_owned(), "another, without a sheet".to_owned())]).collect();
                    (choose("vehicle", "The vehicle, where another was chosen", "It is this one", &vehicles))
                    @if outlook.is_some() {
                        @let repairs: Vec<_> = family.repairs.iter().map(|of| (of.name.clone(), of.title.clone())).collect();
                        (choose("repaired", "A repair that was done, advised or not", "It was done", &repairs))
                    }
                    @if reads {
                        @let instruments: Vec<_> = family.instruments.iter().map(|of| (of.name.clone(), of.title.clone())).collect();
                        (choose("with", "The instrument really used", "Read with it", &instruments))
                    }
                }
            }
        }
    }

    /// What is likely, and what was read so far.
    fn aside(&self, site: &Site) -> Markup {
        let history = &self.job.history;
        let session = Session::new(
            &self.job.knowledge,
            history.state(),
            None,
            site.profile.units,
        );
        let so_far = session.ok().map(|session| session.so_far(history));
        let readings = so_far.map_or_else(Vec::new, |so_far| so_far.readings);
        let open =
            history.state().under_verification().is_none() && history.state().closed.is_none();
        html! {
            aside {
                @if let Some(outlook) = &self.job.prompt.outlook { (likely(outlook)) (on_the_way(outlook)) }
                @if !readings.is_empty() {
                    details open {
                        summary { "Readings so far: " (readings.len()) }
                        (self.question.hidden.form("aside", &html! {
                            ol.so-far {
                                @for read in &readings {
                                    li {
                                        (read.title.trim_end_matches('?')) ": " strong { (read.words) }
                                        @if !read.counts { " (does not count)" }
                                        @if open { button.small name="do" value={ "correct " (read.number) } { "Take reading " (read.number) " again" } }
                                    }
                                }
                            }
                        }))
                    }
                }
                p { a href={ (self.question.address) "/sheet" } { "Sheet" } " · " a href={ (self.question.address) "/desk" } { "Watch" } " · " a href={ (self.question.address) "/recording" } { "Recording" } }
            }
        }
    }
}

fn on_the_way(outlook: &Outlook) -> Markup {
    html! {
        @for found in &outlook.on_the_way {
            p { strong { "Found on the way: " } (found.title) ", " (minutes(found.minutes)) " (" (found.words) ")" }
        }
    }
}

/// What the last answer changed, in a line.
fn changed(change: &Change) -> Option<String> {
    let moved = change.moved.iter().filter_map(|shift| {
        let (before, after) = (percent(shift.before), percent(shift.after));
        (before != after).then(|| format!("{} {before} → {after}", shift.title))
    });
    let mut told: Vec<String> = moved.take(2).collect();
    for (number, what) in [
        (change.ruled_out.len(), "now unlikely"),
        (change.back.len(), "in question again"),
    ] {
        if number > 0 {
            told.push(format!("{number} {what}"));
        }
    }
    (!told.is_empty()).then(|| format!("{}.", told.join("; ")))
}
