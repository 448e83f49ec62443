//! One thing of the knowledge in full.

use std::io;

use super::measure::{cautions, steps};
use crate::fault_tree::{FaultTree, Gate, Node, NodeId};
use crate::knowledge::{
    CauseId, Family, Knowledge, LimitBand, Measurement, MeasurementId, Reading, RepairId, Rest,
    SetUpId, SymptomId, Vehicle,
};
use crate::text::figures::{minutes, money, percent, plain};
use crate::text::table;
use crate::text::{Page, Tone};

/// Everything that can be shown: for each kind the ids and titles.
pub fn things<'k>(
    knowledge: &'k Knowledge,
    family: &'k Family,
) -> [(&'static str, Vec<(&'k str, &'k str)>); 6] {
    macro_rules! things {
        ($of:expr) => {{
            let things = $of.iter();
            things
                .map(|x| (x.name.as_str(), x.title.as_str()))
                .collect()
        }};
    }
    [
        ("Symptoms", things!(family.symptoms)),
        ("Vehicles", things!(knowledge.vehicles)),
        ("Measurements", things!(family.measurements)),
        ("Causes", things!(family.causes)),
        ("Repairs", things!(family.repairs)),
        ("Set-ups", things!(family.set_ups)),
    ]
}

/// What there is, by kind.
pub fn show_all(page: &mut Page<'_>, knowledge: &Knowledge, family: &Family) -> io::Result<()> {
    title(page, &family.title, &family.name)?;
    say(page, &family.worth)?;
    for (kind, things) in things(knowledge, family) {
        page.heading(kind)?;
        for (name, title) in things {
            entry(page, &format!("{name}: "), title)?;
        }
    }
    Ok(())
}

/// Shows what an id names; `false` where it names nothing.
pub fn show(
    page: &mut Page<'_>,
    knowledge: &Knowledge,
    family: &Family,
    name: &str,
) -> io::Result<bool> {
    if let Some(id) = family.symptom_named(name) {
        symptom(page, family, id)?;
    } else if let Some(id) = family.measurement_named(name) {
        measurement(page, family, id)?;
    } else if let Some(id) = family.cause_named(name) {
        cause(page, family, id)?;
    } else if let Some(id) = family.repair_named(name) {
        repair(page, family, id)?;
    } else if let Some(id) = family.set_up_named(name) {
        set_up(page, family, id)?;
    } else if let Some(known) = knowledge.vehicle(name) {
        vehicle(page, known)?;
    } else {
        return Ok(false);
    }
    Ok(true)
}

fn title(page: &mut Page<'_>, title: &str, name: &str) -> io::Result<()> {
    page.text(Tone::Strong, 0, &format!("{title} [{name}]"))
}

fn say(page: &mut Page<'_>, text: &str) -> io::Result<()> {
    page.text(Tone::Plain, 0, text)
}

fn entry(page: &mut Page<'_>, mark: &str, text: &str) -> io::Result<()> {
    page.item(Tone::Plain, 2, mark, text)
}

/// An entry that lists names; nothing where there are none.
fn names<'n>(
    page: &mut Page<'_>,
    mark: &str,
    names: impl Iterator<Item = &'n String>,
) -> io::Result<()> {
    let names: Vec<&str> = names.map(String::as_str).collect();
    if names.is_empty() {
        return Ok(());
    }
    entry(page, mark, &names.join(", "))
}

fn rows(
    page: &mut Page<'_>,
    heading: &str,
    header: [&str; 3],
    rows: &[Vec<String>],
) -> io::Result<()> {
    page.heading(heading)?;
    page.lines(0, &table(&header, rows, &[2], page.width()))
}

/// A symptom: its tree as indented text.
fn symptom(page: &mut Page<'_>, family: &Family, id: SymptomId) -> io::Result<()> {
    let symptom = family.symptom(id);
    title(page, &symptom.title, &symptom.name)?;
    let single = symptom.tree.cut_sets(1).len();
    let pairs = symptom.tree.cut_sets(2).len() - single;
    let noun = if pairs == 1 { "pair" } else { "pairs" };
    let causes = symptom.tree.causes().len();
    say(
        page,
        &format!("{causes} causes; {single} can bring it about alone, {pairs} {noun} together."),
    )?;
    page.gap()?;
    branch(page, family, &symptom.tree, symptom.tree.top(), 0, None)?;
    page.gap()?;
    page.text(
        Tone::Faint,
        0,
        "ANY: one is enough. ALL: every one is needed. A figure after a cause is how often it brings this \
         about where it is present; no figure means always.",
    )
}

/// A branch of a tree, deeper branches further in; `sometimes` is the strength of the reference to it.
fn branch(
    page: &mut Page<'_>,
    family: &Family,
    tree: &FaultTree<CauseId>,
    place: NodeId,
    depth: usize,
    sometimes: Option<f64>,
) -> io::Result<()> {
    // Beyond this depth the text would be all margin.
    let indent = (2 * depth).min(page.width() / 2);
    let often = |strength: f64| match strength {
        always if always >= 1.0 => String::new(),
        sometimes => format!(" {}", plain(sometimes)),
    };
    match tree.node(place) {
        Node::Leaf { cause, strength } => {
            let known = family.cause(*cause);
            let often = often(strength.get());
            let text = format!("{}{often}: {}", known.name, known.title);
            page.item(Tone::Plain, indent, "- ", &text)
        }
        Node::Sometimes { strength } => {
            for input in tree.inputs(place) {
                branch(page, family, tree, input, depth, Some(strength.get()))?;
            }
            Ok(())
        }
        Node::Gate {
            gate,
            event,
            shared,
        } => {
            let inputs = tree.inputs(place);
            let gate = match gate {
                Gate::Any => "ANY ".to_owned(),
                Gate::All => "ALL ".to_owned(),
                Gate::AtLeast(k) => format!("AT LEAST {k} of {} ", inputs.len()),
            };
            let shared = shared.as_ref().map(|name| format!(" [shared part {name}]"));
            let text = [
                event.clone(),
                shared.unwrap_or_default(),
                sometimes.map(often).unwrap_or_default(),
            ];
            page.item(Tone::Strong, indent, &gate, &text.concat())?;
            for input in inputs {
                branch(page, family, tree, input, depth + 1, None)?;
            }
            Ok(())
        }
    }
}

/// A measurement: how it is taken and what each outcome says.
fn measurement(page: &mut Page<'_>, family: &Family, id: MeasurementId) -> io::Result<()> {
    let measurement = family.measurement(id);
    title(page, &measurement.title, &measurement.name)?;
    let set_ups = measurement.set_ups.iter();
    let set_ups: Vec<&str> = set_ups.map(|id| family.set_up(*id).name.as_str()).collect();
    let needs = match set_ups.as_slice() {
        [] => "nothing".to_owned(),
        some => some.join(", "),
    };
    let time = minutes(measurement.minutes.get());
    say(page, &format!("{time}; in place: {needs}."))?;
    if let Some(symptoms) = &measurement.offered_for {
        let names = symptoms.iter().map(|id| family.symptom(*id).name.as_str());
        let names: Vec<&str> = names.collect();
        say(page, &format!("Offered for: {}.", names.join(", ")))?;
    }
    let texts = measurement.caution_texts(family);
    cautions(page, texts.map(|caution| caution.text.as_str()))?;
    steps(page, &[], &measurement.steps, measurement.note.as_deref())?;
    page.text(Tone::Strong, 2, &measurement.ask)?;
    for condition in &measurement.conditions {
        entry(
            page,
            "It counts only if: ",
            &family.condition(*condition).ask,
        )?;
    }
    if let Reading::Number(number) = &measurement.reading {
        if let Some(instrument) = number.instrument {
            entry(page, "Read with: ", &family.instrument(instrument).title)?;
        }
        if let Some(formula) = &number.formula {
            entry(page, "Computed as: ", formula.text())?;
        }
    }
    outcomes(page, measurement)?;
    likelihoods(page, family, measurement)?;
    if measurement.rest == Rest::Chance {
        say(
            page,
            "What a cause leaves over is spread as chance: something unrelated often turns up here.",
        )?;
    }
    page.text(Tone::Faint, 0, &format!("Source: {}.", measurement.source))
}

/// The outcomes of a measurement, and how often each comes by chance.
fn outcomes(page: &mut Page<'_>, measurement: &Measurement) -> io::Result<()> {
    let outcomes = measurement.outcomes.iter().zip(&measurement.chance.0);
    let outcomes: Vec<Vec<String>> = outcomes
        .map(|(outcome, chance)| {
            let bands: Vec<String> = outcome.bands.iter().map(band_words).collect();
            let means = if bands.is_empty() {
                outcome.gloss.clone().unwrap_or_default()
            } else {
                bands.join(" or ")
            };
            vec![outcome.name.clone(), means, percent(chance.get())]
        })
        .collect();
    let header = ["outcome", "means", "by chance"];
    rows(page, "Outcomes", header, &outcomes)
}

/// How often each cause gives each outcome: by outcome, the most frequent first.
fn likelihoods(page: &mut Page<'_>, family: &Family, measurement: &Measurement) -> io::Result<()> {
    let mut found: Vec<(&str, f64, &str)> = Vec::new();
    for (cause, row) in &measurement.shows {
        for (outcome, p) in &row.0 {
            let outcome = &measurement.outcomes[outcome.index()].name;
            found.push((outcome, p.get(), &family.cause(*cause).name));
        }
    }
    found.sort_by(|a, b| {
        a.0.cmp(b.0)
            .then_with(|| b.1.total_cmp(&a.1))
            .then_with(|| a.2.cmp(b.2))
    });
    let found: Vec<Vec<String>> = found
        .into_iter()
        .map(|(outcome, p, cause)| vec![outcome.to_owned(), cause.to_owned(), percent(p)])
        .collect();
    let header = ["outcome", "cause", "how often"];
    rows(page, "What each cause gives", header, &found)
}

/// A band in words, by the names of its limits.
fn band_words(band: &LimitBand) -> String {
    match (&band.lower, &band.upper) {
        (Some(lower), Some(upper)) => format!("{} to {}", lower.limit, upper.limit),
        (Some(lower), None) if lower.inside => format!("at least {}", lower.limit),
        (Some(lower), None) => format!("above {}", lower.limit),
        (None, Some(upper)) if upper.inside => format!("at most {}", upper.limit),
        (None, Some(upper)) => format!("below {}", upper.limit),
        (None, None) => "any value".to_owned(),
    }
}

/// A cause: its rate, its repair, its trees and the measurements that show it.
fn cause(page: &mut Page<'_>, family: &Family, id: CauseId) -> io::Result<()> {
    let cause = family.cause(id);
    title(page, &cause.title, &cause.name)?;
    let rate = plain(cause.rate.get());
    say(
        page,
        &format!(
            "Part: {}. Present in {rate} of 1,000 driveline jobs ({}).",
            cause.part, cause.source
        ),
    )?;
    let repair = family.repair(cause.repair);
    say(
        page,
        &format!("Repair: {} [{}].", repair.title, repair.name),
    )?;
    for symptom in &family.symptoms {
        if !symptom.tree.causes().contains(&id) {
            continue;
        }
        let text = match symptom.tree.probability(|other| other == id) {
            Ok(p) if p.get() > 0.0 => {
                format!("alone brings it about in {} of cases", percent(p.get()))
            }
            Ok(_) => "only together with another cause".to_owned(),
            Err(why) => why.to_string(),
        };
        entry(page, &format!("{}: ", symptom.name), &text)?;
    }
    let mut shown = Vec::new();
    for measurement in &family.measurements {
        for (outcome, p) in measurement.shows.get(&id).iter().flat_map(|row| &row.0) {
            let outcome = measurement.outcomes[outcome.index()].name.clone();
            shown.push(vec![measurement.name.clone(), outcome, percent(p.get())]);
        }
    }
    let header = ["measurement", "outcome", "how often"];
    rows(page, "Shown by", header, &shown)
}

/// A repair: its work, its care, its verification and what it cures.
fn repair(page: &mut Page<'_>, family: &Family, id: RepairId) -> io::Result<()> {
    let repair = family.repair(id);
    title(page, &repair.title, &repair.name)?;
    say(
        page,
        &format!(
            "{}, parts {}: {} in all.",
            minutes(repair.minutes.get()),
            money(repair.parts.get()),
            money(family.repair_cost(id).get())
        ),
    )?;
    for place in &repair.care {
        if let Some(care) = family.care.get(*place) {
            page.item(Tone::Caution, 2, "! ", &care.text)?;
        }
    }
    entry(page, "Verify afterwards: ", &repair.verify)?;
    let name = |id: &MeasurementId| &family.measurement(*id).name;
    names(page, "Read again: ", repair.verify_with.iter().map(name))?;
    names(
        page,
        "Answers on the way: ",
        repair.reveals.iter().map(name),
    )?;
    page.heading("Cures")?;
    for cause in family.causes.iter().filter(|cause| cause.repair == id) {
        entry(page, &format!("{}: ", cause.name), &cause.title)?;
    }
    Ok(())
}

/// A set-up: its time, its needs, what it leaves.
fn set_up(page: &mut Page<'_>, family: &Family, id: SetUpId) -> io::Result<()> {
    let set_up = family.set_up(id);
    title(page, &set_up.title, &set_up.name)?;
    say(
        page,
        &format!("{} to enter.", minutes(set_up.minutes.get())),
    )?;
    let needs = set_up.needs.iter().map(|id| &family.set_up(*id).name);
    names(page, "In place while it is entered: ", needs)?;
    let others = (0..family.set_ups.len()).map(SetUpId::at);
    let left = others.filter(|other| *other != id).filter(|other| {
        let group = &family.set_up(*other).group;
        set_up.ends.contains(other) || (group.is_some() && *group == set_up.group)
    });
    let left = left.map(|id| &family.set_up(id).name);
    names(page, "Entering it leaves: ", left)
}

/// A vehicle's spec sheet.
fn vehicle(page: &mut Page<'_>, vehicle: &Vehicle) -> io::Result<()> {
    title(page, &vehicle.title, &vehicle.name)?;
    if vehicle.invented {
        let text = "This sheet is invented for the demonstration: use it on no vehicle.";
        page.text(Tone::Caution, 0, text)?;
    }
    page.gap()?;
    let mut limits = Vec::new();
    for (name, limit) in &vehicle.limits {
        let numbers = limit.numbers.iter();
        let numbers: Vec<String> = numbers
            .map(|(key, number)| format!("{key} {}", plain(*number)))
            .collect();
        let unit = limit.unit.map_or("", |unit| unit.symbol());
        let number = || format!("{} {unit}", numbers.join(", "));
        let words = limit.words.clone().unwrap_or_else(number);
        limits.push(vec![name.clone(), words, limit.source.clone()]);
    }
    let header = ["limit", "value", "source"];
    page.lines(0, &table(&header, &limits, &[], page.width()))
}
