//! One whole job of each complaint, typed as a technician types, from the customer's words to the closed record.
//!
//! The shipped knowledge is held to its end only: the right repair, a closed record, no warning lost. What the screens
//! say is a snapshot on the first edition, which nobody changes.

use std::fmt::Write as _;

use halfsplit::Knowledge;
use halfsplit::infer::{Complaint, Model, bands_on};
use halfsplit::knowledge::{Family, MeasurementId, RepairId, Vehicle};
use halfsplit::session::{Answer, Ask, Prompt};
use halfsplit::terminal::{Room, pages};
use halfsplit::units::Unit;
use halfsplit::units::conformity::extent;
use jiff::SignedDuration;

use crate::by_name::shipped;
use crate::job::Job;
use crate::shop::KNOWLEDGE;
use crate::technician::holding;

/// A customer, and what is wrong with the vehicle.
struct Customer {
    says: &'static str,
    complaint: &'static str,
    cause: &'static str,
}

const fn customer(says: &'static str, complaint: &'static str, cause: &'static str) -> Customer {
    Customer {
        says,
        complaint,
        cause,
    }
}

/// A whole job as it was.
struct Whole {
    /// What the screen showed and what was typed.
    talk: String,
    lines: usize,
    turns: usize,
    readings: usize,
    minutes: f64,
    repairs: Vec<String>,
    closed: bool,
}

/// What the vehicle with this one cause reads most likely.
struct Hidden {
    family: &'static Family,
    vehicle: &'static Vehicle,
    model: Model<'static>,
    candidate: usize,
}

impl Hidden {
    fn new(knowledge: &'static Knowledge, vehicle: &str, customer: &Customer) -> Self {
        let family = knowledge.family("chain-cvt").unwrap();
        let vehicle = knowledge.vehicle(vehicle).unwrap();
        let complaint = Complaint {
            present: vec![family.symptom_named(customer.complaint).unwrap()],
            ..Complaint::default()
        };
        let model = Model::new(family, Some(vehicle), complaint).unwrap();
        let cause = family.cause_named(customer.cause).unwrap();
        let mut candidates = model.candidates.iter();
        let candidate = candidates.position(|of| of.causes == [cause]).unwrap();
        Self {
            family,
            vehicle,
            model,
            candidate,
        }
    }

    fn cure(&self) -> Vec<RepairId> {
        self.model.repairs(self.candidate)
    }

    /// What a technician types for what the vehicle reads; `unit` is the one on the screen.
    fn types(&self, name: &str, unit: Option<&str>, mended: bool) -> String {
        let id: MeasurementId = self.family.measurement_named(name).unwrap();
        let measurement = self.family.measurement(id);
        let row = self.model.table(id).row(self.candidate);
        let most = (0..row.len()).fold(0, |best, at| if row[at] > row[best] { at } else { best });
        let outcome = if mended {
            measurement.normal.index()
        } else {
            most
        };
        let bands = bands_on(measurement, Some(self.vehicle)).unwrap_or_default();
        match (measurement.number(), bands.get(outcome).map(Vec::as_slice)) {
            (Some(number), Some([band, ..])) => {
                let (from, to) = extent(*band, &bands, number.open);
                let (from, to) = number.plausible.map_or((from, to), |plausible| {
                    (from.max(plausible.from()), to.min(plausible.to()))
                });
                let shown = Unit::named(unit.unwrap(), number.unit.dimension()).unwrap();
                let value = number.unit.convert(f64::midpoint(from, to), shown).unwrap();
                let sign = if number.takes.is_empty() { "" } else { "= " };
                format!("{sign}{}", (value * 1000.0).round() / 1000.0)
            }
            _ => {
                let outcome = &measurement.outcomes[outcome];
                let gloss = outcome.gloss.clone();
                gloss.unwrap_or_else(|| outcome.name.replace('-', " "))
            }
        }
    }
}

/// What is asked, without what the screens repeat at each prompt.
fn asked(prompt: &Prompt) -> String {
    let room = Room {
        width: 80,
        height: None,
    };
    match (&prompt.ask, &prompt.measure) {
        (Ask::Repair(sheet), _) => {
            let titles = sheet.repairs.iter().map(|of| of.title.as_str());
            let titles = titles.collect::<Vec<_>>().join("; ");
            format!("Repair: {titles} ({:.0} %)", 100.0 * sheet.probability)
        }
        (Ask::Condition { question, .. }, _) => format!("  Before it: {question}"),
        (Ask::Hold { .. }, _) => "  How long was it held?".to_owned(),
        (Ask::Reading(asked), Some(measure)) => {
            let number = measure
                .number
                .map_or("Prove it:".to_owned(), |of| format!("{of} "));
            let set_ups = measure.set_ups.iter().map(|of| of.title.as_str());
            let set_ups: Vec<&str> = set_ups.collect();
            let first = match set_ups.as_slice() {
                [] => String::new(),
                some => format!("\n  Prepare: {}", some.join("; ")),
            };
            format!("{number} {}{first}\n  {}", measure.title, asked.question)
        }
        _ => {
            let mut bare = prompt.clone();
            bare.status = None;
            let pages = pages(room, "", &bare, None, "1.job.jsonl").unwrap();
            let page = anstream::adapter::strip_str(&pages.concat()).to_string();
            page.trim_end().to_owned()
        }
    }
}

fn worked(knowledge: &'static Knowledge, vehicle: &'static str, customer: &Customer) -> Whole {
    let hidden = Hidden::new(knowledge, vehicle, customer);
    let mut job = Job::on(knowledge, vehicle);
    job.pace = SignedDuration::from_secs(20);
    let mut whole = Whole {
        talk: String::new(),
        lines: 0,
        turns: 0,
        readings: 0,
        minutes: 0.0,
        repairs: Vec::new(),
        closed: false,
    };
    let mut said = String::new();
    let mut open: Option<Prompt> = None;
    let room = Room {
        width: 80,
        height: Some(24),
    };
    for _ in 0..200 {
        let prompt = open.take().unwrap_or_else(|| job.prompt());
        let pages = pages(room, &said, &prompt, None, "1.job.jsonl").unwrap();
        let page = anstream::adapter::strip_str(&pages.concat()).to_string();
        whole.turns += 1;
        whole.lines += page.lines().count();
        if let Some(status) = &prompt.status {
            whole.minutes = status.minutes;
            whole.readings = status.readings;
        }
        writeln!(whole.talk, "{said}{}", asked(&prompt)).unwrap();
        let measure = prompt.measure.as_ref();
        for caution in measure.iter().flat_map(|measure| &measure.cautions) {
            let words: String = caution.split_whitespace().skip(1).collect();
            let page: String = page.split_whitespace().collect();
            let steps =
                measure.is_some_and(|of| page.contains(&of.steps.concat().replace(' ', "")));
            assert!(
                !steps || page.contains(&words),
                "{caution} is not on {page}"
            );
        }
        let typed = match &prompt.ask {
            Ask::Complaint => customer.says.to_owned(),
            Ask::Symptoms { choices, .. } => {
                let place = choices.iter().position(|of| of.name == customer.complaint);
                (place.unwrap() + 1).to_string()
            }
            Ask::Told { .. } => "yes".to_owned(),
            Ask::Condition { condition, .. } => {
                let id = hidden.family.condition_named(condition).unwrap();
                holding(hidden.family.condition(id), hidden.vehicle)
            }
            Ask::Cooling { seconds } => {
                job.now += SignedDuration::from_secs(i64::try_from(*seconds).unwrap());
                continue;
            }
            Ask::Hold { .. } => "4".to_owned(),
            Ask::Reading(asked) => {
                let of = measure.unwrap();
                hidden.types(&of.measurement, asked.unit.as_deref(), of.number.is_none())
            }
            Ask::Repair(sheet) => {
                whole
                    .repairs
                    .extend(sheet.repairs.iter().map(|of| of.repair.clone()));
                "done".to_owned()
            }
            Ask::Confirm { .. } => "done".to_owned(),
            Ask::Fixed { .. } => {
                let cure = hidden.family.names_of(&hidden.cure());
                let cured = cure.iter().all(|name| whole.repairs.contains(name));
                if cured { "yes" } else { "no" }.to_owned()
            }
            Ask::Found { choices } => {
                let place = choices.iter().position(|of| of.name == customer.cause);
                place.map_or(0, |place| place + 1).to_string()
            }
            Ask::Closed { .. } => {
                whole.closed = true;
                break;
            }
            _ => {
                whole.talk += &page;
                break;
            }
        };
        writeln!(whole.talk, "> {typed}").unwrap();
        open = job.says(&prompt, Answer::Typed(typed));
        said.clear();
        for words in &job.said {
            writeln!(said, "  {words}").unwrap();
        }
    }
    whole
}

/// Held to the right repair and a closed record.
fn ends_well(knowledge: &'static Knowledge, vehicle: &'static str, customer: &Customer) -> Whole {
    let whole = worked(knowledge, vehicle, customer);
    let hidden = Hidden::new(knowledge, vehicle, customer);
    let cure = hidden.family.names_of(&hidden.cure());
    println!(
        "{:28} {:26} closed {} after {:?}: {} readings, {:.0} min, {} turns, {:.1} lines a turn",
        customer.complaint,
        customer.cause,
        whole.closed,
        whole.repairs,
        whole.readings,
        whole.minutes,
        whole.turns,
        whole.lines as f64 / whole.turns as f64
    );
    assert!(whole.closed, "{}", whole.talk);
    assert!(
        cure.iter().all(|name| whole.repairs.contains(name)),
        "{:?}: {}",
        whole.repairs,
        whole.talk
    );
    whole
}

#[test]
fn each_complaint_is_worked_to_its_closed_record_on_the_shipped_knowledge() {
    for (vehicle, customer) in [
        (
            "demo-wagon",
            customer("slips when hot, revs go up", "slipping", "strainer-clogged"),
        ),
        (
            "demo-estate",
            customer("won't move in D or R", "no-drive", "pump-drive-sheared"),
        ),
        (
            "demo-estate",
            customer("bangs going into R", "harsh-engagement", "mount-broken"),
        ),
        (
            "demo-wagon",
            customer(
                "hops when parking",
                "tight-turn-binding",
                "tyre-mismatch-axles",
            ),
        ),
        (
            "demo-estate",
            customer(
                "shudders on the motorway",
                "judder-straight-ahead",
                "wheel-out-of-balance",
            ),
        ),
        (
            "demo-wagon",
            customer(
                "humming noise from one corner",
                "driveline-noise",
                "wheel-bearing-worn",
            ),
        ),
        (
            "demo-estate",
            customer(
                "warning lamp and no power",
                "warning-lamp-reduced-drive",
                "case-connector-poor",
            ),
        ),
        (
            "demo-wagon",
            customer(
                "rear wheels do not drive",
                "no-rear-drive",
                "transfer-solenoid-stuck-released",
            ),
        ),
        (
            "demo-estate",
            customer("slips pulling away", "slipping", "forward-clutch-worn"),
        ),
        (
            "demo-wagon",
            customer(
                "jolts into gear, idles fast",
                "harsh-engagement",
                "idle-speed-high",
            ),
        ),
    ] {
        ends_well(shipped(), vehicle, &customer);
    }
}

#[test]
fn a_whole_job_reads_well() {
    for customer in [
        customer("slips when hot, revs go up", "slipping", "strainer-clogged"),
        customer("won't move in D or R", "no-drive", "pump-drive-sheared"),
        customer("bangs going into R", "harsh-engagement", "mount-broken"),
        customer(
            "hops when parking",
            "tight-turn-binding",
            "tyre-mismatch-axles",
        ),
    ] {
        let whole = ends_well(&KNOWLEDGE, "demo-estate", &customer);
        insta::assert_snapshot!(format!("whole_job_{}", customer.complaint), whole.talk);
    }
}
