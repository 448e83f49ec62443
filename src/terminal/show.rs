//! One thing of the knowledge in full.

use std::io;

use super::pages::warnings;
use crate::fault_tree::{FaultTree, Gate, Node, NodeId};
use crate::knowledge::{
    CauseId, Family, Knowledge, LimitBand, Measurement, Reading, RepairId, Rest, SetUpId, Symptom,
    Vehicle, Verify,
};
use crate::text::figures::{minutes, money, percent, plain};
use crate::text::{Page, Tone, table};

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
            page.entry(&format!("{name}: "), title)?;
        }
    }
    Ok(())
}

/// Shows what an id names, or once named; `false` where it names nothing.
pub fn show(
    page: &mut Page<'_>,
    knowledge: &Knowledge,
    family: &Family,
    name: &str,
) -> io::Result<bool> {
    if let Some(id) = family.symptom_known_as(name) {
        symptom(page, family, family.symptom(id))?;
    } else if let Some(id) = family.measurement_known_as(name) {
        measurement(page, family, family.measurement(id))?;
    } else if let Some(id) = family.cause_known_as(name) {
        cause(page, family, id)?;
    } else if let Some(id) = family.repair_known_as(name) {
        repair(page, family, id)?;
    } else if let Some(id) = family.set_up_known_as(name) {
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

/// An entry that lists names; nothing where there are none.
fn names(page: &mut Page<'_>, mark: &str, names: &[String]) -> io::Result<()> {
    match names {
        [] => Ok(()),
        names => page.entry(mark, &names.join(", ")),
    }
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
fn symptom(page: &mut Page<'_>, family: &Family, symptom: &Symptom) -> io::Result<()> {
    title(page, &symptom.title, &symptom.name)?;
    let tree = &symptom.tree;
    let single = tree.cut_sets(1).len();
    let pairs = tree.cut_sets(2).len() - single;
    let noun = if pairs == 1 { "pair" } else { "pairs" };
    let causes = tree.causes().len();
    let text =
        format!("{causes} causes; {single} can bring it about alone, {pairs} {noun} together.");
    say(page, &text)?;
    page.gap()?;
    branch(page, family, tree, tree.top(), 0, None)?;
    page.gap()?;
    let key = "ANY: one is enough. ALL: every one is needed. A figure after a cause is how often it brings this \
               about where it is present; no figure means always.";
    page.text(Tone::Faint, 0, key)
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
fn measurement(page: &mut Page<'_>, family: &Family, measurement: &Measurement) -> io::Result<()> {
    title(page, &measurement.title, &measurement.name)?;
    let time = minutes(measurement.minutes.get());
    let needs = match measurement.set_ups.as_slice() {
        [] => "nothing".to_owned(),
        some => family.names_of(some).join(", "),
    };
    say(page, &format!("{time}; in place: {needs}."))?;
    if let Some(symptoms) = &measurement.offered_for {
        let symptoms = family.names_of(symptoms).join(", ");
        say(page, &format!("Offered for: {symptoms}."))?;
    }
    warnings(page, &family.caution_texts(&measurement.cautions))?;
    for (number, step) in (1..).zip(&measurement.steps) {
        page.entry(&format!("{number}. "), step)?;
    }
    if let Some(note) = &measurement.note {
        page.entry("Note: ", note)?;
    }
    page.stress(&measurement.ask)?;
    for condition in &measurement.conditions {
        page.entry("It counts only if: ", &family.condition(*condition).ask)?;
    }
    if let Reading::Number(number) = &measurement.reading {
        if let Some(instrument) = number.instrument {
            page.entry("Read with: ", &family.instrument(instrument).title)?;
        }
        if let Some(formula) = &number.formula {
            page.entry("Computed as: ", formula.text())?;
        }
    }
    let outcomes = measurement.outcomes.iter().zip(&measurement.chance.0);
    let outcomes: Vec<Vec<String>> = outcomes
        .map(|(outcome, chance)| {
            let bands: Vec<String> = outcome.bands.iter().map(band_words).collect();
            let means = match bands.as_slice() {
                [] => outcome.gloss.clone().unwrap_or_default(),
                bands => bands.join(" or "),
            };
            vec![outcome.name.clone(), means, percent(chance.get())]
        })
        .collect();
    let header = ["outcome", "means", "by chance"];
    rows(page, "Outcomes", header, &outcomes)?;
    let header = ["outcome", "cause", "how often"];
    let likelihoods = likelihoods(family, measurement);
    rows(page, "What each cause gives", header, &likelihoods)?;
    for (outcome, causes) in &measurement.finds {
        let outcome = &measurement.outcomes[outcome.index()].name;
        let mark = format!("Found by {outcome}: ");
        names(page, &mark, &family.names_of(causes))?;
    }
    if measurement.rest == Rest::Chance {
        let text = "What a cause leaves over is spread as chance: something unrelated often turns up here.";
        say(page, text)?;
    }
    page.text(Tone::Faint, 0, &format!("Source: {}.", measurement.source))
}

/// How often each cause gives each outcome: by outcome, the most frequent first.
fn likelihoods(family: &Family, measurement: &Measurement) -> Vec<Vec<String>> {
    let mut found: Vec<(&str, f64, &str)> = Vec::new();
    for (cause, row) in &measurement.shows {
        for (outcome, p) in &row.0 {
            let outcome = &measurement.outcomes[outcome.index()].name;
            found.push((outcome, p.get(), &family.cause(*cause).name));
        }
    }
    found.sort_by(|a, b| {
        let by_figure = || b.1.total_cmp(&a.1).then_with(|| a.2.cmp(b.2));
        a.0.cmp(b.0).then_with(by_figure)
    });
    let row = |(outcome, p, cause): (&str, f64, &str)| {
        vec![outcome.to_owned(), cause.to_owned(), percent(p)]
    };
    found.into_iter().map(row).collect()
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
    let (part, rate, source) = (&cause.part, plain(cause.rate.get()), &cause.source);
    let jobs = &family.jobs;
    let text = format!("Part: {part}. Present in {rate} of 1,000 {jobs} ({source}).");
    title(page, &cause.title, &cause.name)?;
    say(page, &text)?;
    let repair = family.repair(cause.repair);
    let text = format!("Repair: {} [{}].", repair.title, repair.name);
    say(page, &text)?;
    let explained = |symptom: &&Symptom| symptom.tree.causes().contains(&id);
    for symptom in family.symptoms.iter().filter(explained) {
        let text = match symptom.tree.probability(|other| other == id) {
            Ok(p) if p.get() > 0.0 => {
                format!("alone brings it about in {} of cases", percent(p.get()))
            }
            Ok(_) => "only together with another cause".to_owned(),
            Err(why) => why.to_string(),
        };
        page.entry(&format!("{}: ", symptom.name), &text)?;
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
    let (time, parts) = (
        minutes(family.repair_minutes(id).get()),
        money(repair.parts.get()),
    );
    let cost = money(family.repair_cost(id).get());
    title(page, &repair.title, &repair.name)?;
    say(page, &format!("{time}, parts {parts}: {cost} in all."))?;
    warnings(page, &family.caution_texts(&repair.cautions))?;
    let care = repair.care.iter();
    for care in care.filter_map(|place| family.care.get(*place)) {
        page.item(Tone::Caution, 2, "Care  ", &care.text)?;
    }
    page.entry("Verify afterwards: ", &repair.verify)?;
    let verify_with: Vec<String> = (repair.verify_with.iter())
        .map(|verify| match verify {
            Verify::Read(id) => family.name_of(*id),
            Verify::Confirm(words) => words.clone(),
        })
        .collect();
    names(page, "Read again: ", &verify_with)?;
    let reveals = family.names_of(&repair.reveals);
    names(page, "Answers on the way: ", &reveals)?;
    page.heading("Cures")?;
    for cause in family.causes.iter().filter(|cause| cause.repair == id) {
        page.entry(&format!("{}: ", cause.name), &cause.title)?;
    }
    Ok(())
}

/// A set-up: its time, its needs, what it leaves.
fn set_up(page: &mut Page<'_>, family: &Family, id: SetUpId) -> io::Result<()> {
    let set_up = family.set_up(id);
    let time = minutes(set_up.minutes.get());
    title(page, &set_up.title, &set_up.name)?;
    say(page, &format!("{time} to enter."))?;
    warnings(page, &family.caution_texts(&set_up.cautions))?;
    let needs = family.names_of(&set_up.needs);
    names(page, "In place while it is entered: ", &needs)?;
    let leaves = |other: &SetUpId| {
        let group = &family.set_up(*other).group;
        set_up.ends.contains(other) || (group.is_some() && *group == set_up.group)
    };
    let others = (0..family.set_ups.len()).map(SetUpId::at);
    let left: Vec<SetUpId> = others.filter(|o| *o != id && leaves(o)).collect();
    names(page, "Entering it leaves: ", &family.names_of(&left))
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
