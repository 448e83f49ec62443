//! The plan of a complaint with its drawings.

use std::collections::BTreeMap;

use maud::{Markup, html};

use super::reply::Reply;
use super::screen::{nothing, screen};
use super::site::{Made, Planned, Site};
use crate::decide::{Circumstances, OrderBy, PathStep, Plan, Standing, Step, Stop};
use crate::drawing;
use crate::infer::{Complaint, Model};
use crate::knowledge::{Family, SymptomId, Vehicle};
use crate::sheet::finished;
use crate::text::figures::{minutes, money, percent};

/// How deep the drawing of a plan goes.
const DEPTH: usize = 2;

/// The complaints that there are plans for.
pub(super) fn choose(site: &Site) -> Reply {
    let knowledge = site.knowledge.own();
    let main = html! {
        h1 { "Plans" }
        p { "A plan takes a few seconds to work out the first time." }
        @for family in &knowledge.families {
            h2 { (family.title) }
            ul {
                @for symptom in &family.symptoms {
                    li {
                        (symptom.title) ": "
                        @let address = format!("/plan/{}/{}", family.name, symptom.name);
                        a href=(address) { "without a sheet" }
                        @for vehicle in knowledge.vehicles.iter().filter(|on| on.family == family.name) {
                            " · " a href={ (address) "?vehicle=" (vehicle.name) } { (vehicle.title) }
                        }
                    }
                }
            }
        }
    };
    Reply::html(200, screen("Plans", None, &main))
}

/// The plan of a complaint.
pub(super) fn plan(
    site: &Site,
    family: &str,
    symptom: &str,
    query: &BTreeMap<String, String>,
) -> Reply {
    let Some(of) = Of::found(site, family, symptom, query) else {
        return nothing();
    };
    of.made(|made| Reply::text(200, "text/html; charset=utf-8", made.page.clone()))
}

/// A drawing of it.
pub(super) fn drawing(
    site: &Site,
    family: &str,
    symptom: &str,
    which: &str,
    query: &BTreeMap<String, String>,
) -> Reply {
    let Some(of) = Of::found(site, family, symptom, query) else {
        return nothing();
    };
    let kind = "image/svg+xml";
    match which {
        "tree.svg" => Reply::text(200, kind, drawing::svg(of.family, of.symptom)),
        "plan.svg" => of.made(|made| Reply::text(200, kind, made.drawing.clone())),
        _ => nothing(),
    }
}

/// What a plan is of.
struct Of<'k> {
    site: &'k Site,
    family: &'k Family,
    symptom: SymptomId,
    vehicle: Option<&'k Vehicle>,
}

impl<'k> Of<'k> {
    fn found(
        site: &'k Site,
        family: &str,
        symptom: &str,
        query: &BTreeMap<String, String>,
    ) -> Option<Self> {
        let knowledge = site.knowledge.own();
        let family = knowledge.family(family)?;
        let vehicle = match query.get("vehicle") {
            Some(name) => Some(
                knowledge
                    .vehicle(name)
                    .filter(|on| on.family == family.name)?,
            ),
            None => None,
        };
        Some(Self {
            site,
            family,
            symptom: family.symptom_named(symptom)?,
            vehicle,
        })
    }

    /// The plan as a reply.
    fn made(&self, reply: impl FnOnce(&Planned) -> Reply) -> Reply {
        let vehicle = self.vehicle.map_or("", |vehicle| &vehicle.name);
        let symptom = &self.family.symptom(self.symptom).name;
        let name = format!("{} {symptom} {vehicle}", self.family.name);
        match self.site.plan(&name, || self.planned()) {
            Made::Ready(made) => reply(&made),
            Made::Not => nothing(),
            Made::Busy => {
                let main = html! {
                    h1 { "Plan" }
                    p { "Another plan is being worked out. This page asks again." }
                    p { a.button href="" { "Look again" } }
                };
                Reply::html(503, screen("Plan", Some(5), &main))
            }
        }
    }

    /// Works the plan out; none where the complaint cannot be.
    fn planned(&self) -> Option<Planned> {
        let complaint = Complaint {
            present: vec![self.symptom],
            ..Complaint::default()
        };
        let model = Model::new(self.family, self.vehicle, complaint).ok()?;
        let workshop = &self.site.profile.workshop;
        let mut circumstances = Circumstances::on_arrival(self.family);
        circumstances.work_in(workshop, self.family);
        let standing =
            Standing::new(&model, Vec::new(), &circumstances, OrderBy::default()).ok()?;
        let plan = Plan::new(&standing.problem, &standing.point(), DEPTH, Stop::never());
        Some(Planned {
            page: finished(self.page(&standing, &plan)),
            drawing: drawing::plan_svg(&standing, &plan),
        })
    }

    fn page(&self, standing: &Standing<'_, '_>, plan: &Plan) -> Markup {
        let symptom = self.family.symptom(self.symptom);
        let vehicle = self
            .vehicle
            .map_or_else(String::new, |on| format!("?vehicle={}", on.name));
        let address = format!("/plan/{}/{}", self.family.name, symptom.name);
        let outlook = &plan.outlook;
        let main = html! {
            h1 { "Plan: " (symptom.title) }
            @if let Some(vehicle) = self.vehicle {
                p { (vehicle.title) @if vehicle.invented { ": its sheet is invented." } }
            }
            p {
                "Expected cost " strong { (money(outlook.cost)) } ": testing " (money(outlook.testing)) ", repair "
                (money(outlook.repair)) ", handing on " (money(outlook.escalation)) ". Expected time "
                (minutes(outlook.minutes)) ". Repairing at once would cost " (money(plan.repair_now)) "."
            }
            h2 { "The order, where each reads as is likeliest" }
            div.scroll tabindex="0" role="region" aria-label="The order" {
                table {
                    thead { tr { th scope="col" { "No." } th scope="col" { "Step" } th scope="col" { "Result" } th scope="col" { "So far" } } }
                    tbody { @for (at, number) in plan.path.iter().zip(1..) { (self.row(standing, at, number)) } }
                }
            }
            h2 { "The plan as a drawing" }
            (picture(&format!("{address}/plan.svg{vehicle}"), "The plan, its first steps from left to right"))
            h2 { "The fault tree" }
            (picture(&format!("{address}/tree.svg{vehicle}"), "The fault tree; open it for its description in words"))
            p.small { (self.family.worth) }
        };
        screen(&format!("Plan: {}", symptom.title), None, &main)
    }

    fn row(&self, standing: &Standing<'_, '_>, at: &PathStep, number: usize) -> Markup {
        let chance = percent(at.probability);
        html! {
            tr {
                td { (number) }
                @match at.step {
                    Step::Measure(measurement) | Step::Record { first: measurement, .. } => {
                        @let known = self.family.measurement(standing.named(measurement));
                        th scope="row" { a href={ "/show/" (self.family.name) "/" (known.name) } { (known.title) } }
                        td { (known.outcomes[at.outcome].words()) " " (chance) }
                    }
                    Step::Repair(group) => {
                        @let repairs = &standing.problem.groups()[group].repairs;
                        th scope="row" { "Repair: " (standing.repair_titles(repairs)) }
                        td { @if at.outcome == 1 { "cured " } @else { "not cured " } (chance) }
                    }
                    Step::Escalate => { th scope="row" { "Hand on" } td {} }
                }
                td.figure { (minutes(at.minutes_so_far)) }
            }
        }
    }
}

/// A drawing, which is opened by itself at a tap.
fn picture(address: &str, about: &str) -> Markup {
    html! { p { a href=(address) { img.drawing src=(address) alt=(about); } } }
}
