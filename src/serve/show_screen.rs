//! A measurement, a cause or a repair in full.

use maud::{Markup, html};

use super::reply::Reply;
use super::screen::{nothing, screen, warning};
use super::site::Site;
use crate::knowledge::{CauseId, Family, Measurement, RepairId};
use crate::text::figures::{minutes, money, percent, plain};

/// What an id names.
pub(super) fn show(site: &Site, family: &str, name: &str) -> Reply {
    let Some(family) = site.knowledge.own().family(family) else {
        return nothing();
    };
    let (title, main) = if let Some(id) = family.measurement_known_as(name) {
        let known = family.measurement(id);
        (&known.title, measurement(family, known))
    } else if let Some(id) = family.cause_known_as(name) {
        (&family.cause(id).title, cause(family, id))
    } else if let Some(id) = family.repair_known_as(name) {
        (&family.repair(id).title, repair(family, id))
    } else {
        return nothing();
    };
    let main = html! { h1 { (title) } (main) };
    Reply::html(200, screen(title, None, &main))
}

/// A link to a thing of the family.
fn to(family: &Family, name: &str, title: &str) -> Markup {
    html! { a href={ "/show/" (family.name) "/" (name) } { (title) } }
}

fn measurement(family: &Family, of: &Measurement) -> Markup {
    let set_ups: Vec<&str> = of
        .set_ups
        .iter()
        .map(|id| family.set_up(*id).title.as_str())
        .collect();
    let mut shown: Vec<(usize, f64, CauseId)> = Vec::new();
    for (cause, row) in &of.shows {
        shown.extend(
            row.0
                .iter()
                .map(|(outcome, p)| (outcome.index(), p.get(), *cause)),
        );
    }
    shown.sort_by(|a, b| {
        a.0.cmp(&b.0)
            .then_with(|| b.1.total_cmp(&a.1))
            .then_with(|| a.2.cmp(&b.2))
    });
    html! {
        p { (minutes(of.minutes.get())) @if !set_ups.is_empty() { "; in place: " (set_ups.join("; ")) } }
        @for caution in family.caution_texts(&of.cautions) { (warning(&caution)) }
        ol { @for step in &of.steps { li { (step) } } }
        @if let Some(note) = &of.note { p { strong { "Note. " } (note) } }
        p.question { (of.ask) }
        @for condition in &of.conditions { p { "It counts only if: " (family.condition(*condition).ask) } }
        h2 { "Outcomes" }
        table {
            thead { tr { th scope="col" { "Outcome" } th scope="col" { "By chance" } } }
            tbody {
                @for (outcome, chance) in of.outcomes.iter().zip(&of.chance.0) {
                    tr { th scope="row" { (outcome.words()) } td.figure { (percent(chance.get())) } }
                }
            }
        }
        h2 { "What each cause gives" }
        table {
            thead { tr { th scope="col" { "Outcome" } th scope="col" { "Cause" } th scope="col" { "How often" } } }
            tbody {
                @for (outcome, p, id) in shown {
                    @let cause = family.cause(id);
                    tr {
                        td { (of.outcomes[outcome].words()) }
                        th scope="row" { (to(family, &cause.name, &cause.title)) }
                        td.figure { (percent(p)) }
                    }
                }
            }
        }
        p.small { "Source: " (of.source) "." }
    }
}

fn cause(family: &Family, id: CauseId) -> Markup {
    let cause = family.cause(id);
    let mended = family.repair(cause.repair);
    html! {
        p { "Part: " (cause.part) ". Present in " (plain(cause.rate.get())) " of 1,000 " (family.jobs) " (" (cause.source) ")." }
        p { "Repair: " (to(family, &mended.name, &mended.title)) }
        h2 { "Brings about" }
        ul {
            @for symptom in family.symptoms.iter().filter(|symptom| symptom.tree.causes().contains(&id)) {
                li {
                    (symptom.title) ": "
                    @match symptom.tree.probability(|other| other == id) {
                        Ok(p) if p.get() > 0.0 => { "alone in " (percent(p.get())) " of cases" }
                        Ok(_) => { "only together with another cause" }
                        Err(why) => { (why) }
                    }
                }
            }
        }
        h2 { "Shown by" }
        table {
            thead { tr { th scope="col" { "Measurement" } th scope="col" { "Outcome" } th scope="col" { "How often" } } }
            tbody {
                @for of in &family.measurements {
                    @for (outcome, p) in of.shows.get(&id).iter().flat_map(|row| &row.0) {
                        tr {
                            th scope="row" { (to(family, &of.name, &of.title)) }
                            td { (of.outcomes[outcome.index()].words()) }
                            td.figure { (percent(p.get())) }
                        }
                    }
                }
            }
        }
    }
}

fn repair(family: &Family, id: RepairId) -> Markup {
    let of = family.repair(id);
    html! {
        p { (minutes(of.minutes.get())) ", parts " (money(of.parts.get())) ": " (money(family.repair_cost(id).get())) " in all." }
        @for caution in family.caution_texts(&of.cautions) { (warning(&caution)) }
        @for care in of.care.iter().filter_map(|place| family.care.get(*place)) { p { strong { "Care. " } (care.text) } }
        p { strong { "Proved with. " } (of.verify) }
        h2 { "Cures" }
        ul { @for cause in family.causes.iter().filter(|cause| cause.repair == id) { li { (to(family, &cause.name, &cause.title)) } } }
    }
}
