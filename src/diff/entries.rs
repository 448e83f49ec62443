//! What an edition states, entry by entry: each checked entry serialised, ids written as names, numbers with their
//! units, lists sorted where their order says nothing, and the whole laid flat, a value a place.

use std::collections::BTreeMap;
use std::iter;

use serde::Serialize;
use serde_json::{Value, json};

use super::facts::{Facts, number, numbered};
use super::recordings;
use super::thing::{Kind, Thing};
use super::tree;
use crate::knowledge::{
    Case, CaseReading, Expect, Family, Knowledge, Measurement, OutcomeId, Pattern, SetUp, Unless,
    Vehicle,
};
use crate::units::Unit;

/// The entries of an edition.
pub(super) type Entries = BTreeMap<Thing, Facts>;

/// The lists of a family whose items are entries of their own.
const LISTS: [(&str, Kind); 11] = [
    ("cautions", Kind::Caution),
    ("care", Kind::Care),
    ("set_ups", Kind::SetUp),
    ("instruments", Kind::Instrument),
    ("conditions", Kind::Condition),
    ("signals", Kind::Signal),
    ("repairs", Kind::Repair),
    ("causes", Kind::Cause),
    ("measurements", Kind::Measurement),
    ("symptoms", Kind::Symptom),
    ("cases", Kind::Case),
];

/// The list of the family that the ids in a field are places of.
fn refers_to(field: &str) -> Option<&'static str> {
    Some(match field {
        "repair" => "repairs",
        "verify_with" | "reveals" | "habit" | "parted_by" | "first" | "first_looks" | "after"
        | "along" | "spoils" | "requires" => "measurements",
        "set_ups" | "in_place" | "put_back" | "needs" | "ends" | "ended_by" | "sets" => "set_ups",
        "instrument" => "instruments",
        "conditions" => "conditions",
        "caution" | "cautions" => "cautions",
        "care" => "care",
        "for" | "symptoms" | "absent" => "symptoms",
        "causes" => "causes",
        _ => return None,
    })
}

/// Whether the order of a list is an order in which people do or see something.
fn is_ordered(field: &str) -> bool {
    matches!(
        field,
        "habit"
            | "first_looks"
            | "verify_with"
            | "care"
            | "conditions"
            | "cautions"
            | "outcomes"
            | "takes"
            | "limits"
            | "columns"
            | "steps"
    )
}

/// The unit of a number; `own` is the one that its entry states.
fn unit_of<'u>(field: &str, at: &[&str], own: &'u str) -> &'u str {
    match (field, at.last().copied()) {
        ("minutes" | "wait" | "lasts" | "least_saving_minutes" | "close_out", _)
        | ("escalation" | "recorder", Some("minutes")) => "min",
        ("rate", _) => "of 1,000 jobs",
        ("labour_rate" | "waiting_rate", _) => "an hour",
        ("max_order", _) => "causes",
        ("timed", Some("tries")) => "times",
        ("timed", _) => "s",
        ("accuracy", Some("percent")) => "%",
        ("accuracy", Some("class" | "digits")) => "",
        ("accuracy" | "range" | "plausible", _) => own,
        _ => "",
    }
}

/// Every entry of an edition.
pub(super) fn entries(knowledge: &Knowledge) -> Entries {
    let mut entries = Entries::new();
    for family in &knowledge.families {
        of_family(family, &mut entries);
    }
    for vehicle in &knowledge.vehicles {
        let thing = Thing::new(Kind::Vehicle, None, &vehicle.name);
        entries.insert(thing, sheet(vehicle));
    }
    entries
}

/// What a case is called: its file, without folder and ending.
pub(super) fn case_name(case: &Case) -> &str {
    let file = case.file.as_str();
    let file = file.split_once("/cases/").map_or(file, |(_, file)| file);
    file.strip_suffix(".yaml").unwrap_or(file)
}

/// An entry as JSON. Nothing in the knowledge can fail to be written: its keys are texts and numbers.
fn written(entry: &impl Serialize) -> Value {
    serde_json::to_value(entry).unwrap_or_default()
}

fn of_family(family: &Family, entries: &mut Entries) {
    let mut whole = written(family);
    let lists = LISTS.map(|(list, _)| (list, whole[list].take()));
    let (codes, ambiguities) = (whole["codes"].take(), whole["ambiguities"].take());
    let flat = Flat {
        lists: BTreeMap::from(lists),
    };
    let mut add = |kind, name: &str, facts| {
        entries.insert(Thing::new(kind, Some(&family.name), name), facts);
    };
    for (list, kind) in LISTS {
        for (place, item) in items(&flat.lists[list]).iter().enumerate() {
            let mut name = text(&item["name"]);
            let mut facts = flat.entry(item);
            match kind {
                Kind::Measurement => {
                    for (outcome, alone) in
                        outcomes(family, &family.measurements[place], &mut facts)
                    {
                        add(Kind::Outcome, &outcome, alone);
                    }
                }
                Kind::Signal => recordings::signal(family, &family.signals[place], &mut facts),
                Kind::SetUp => set_up(family, &family.set_ups[place], &mut facts),
                Kind::Symptom => {
                    tree::state(family, &family.symptoms[place], &mut facts);
                    for (part, facts) in tree::shared_parts(family, &family.symptoms[place]) {
                        add(Kind::SharedPart, part, facts);
                    }
                }
                Kind::Case => {
                    case(family, &family.cases[place], &mut facts);
                    name = case_name(&family.cases[place]);
                }
                _ => {}
            }
            add(kind, name, facts);
        }
    }
    for (code, meaning) in codes.as_object().into_iter().flatten() {
        add(Kind::Code, code, flat.entry(meaning));
    }
    // Nothing but their causes names ambiguities: of several of the same causes, each has its number.
    let mut named: Vec<(String, Facts)> = Vec::new();
    for item in items(&ambiguities) {
        let mut facts = flat.entry(item);
        let causes = facts.0.remove(&("causes".to_owned(), Vec::new()));
        let causes = causes.as_ref().map_or(&[][..], items).iter().map(text);
        named.push((causes.collect::<Vec<_>>().join(" or "), facts));
    }
    named.sort_by_cached_key(|(name, facts)| (name.clone(), format!("{facts:?}")));
    for (place, (name, facts)) in named.iter().enumerate() {
        let earlier = named[..place].iter().filter(|(other, _)| other == name);
        let name = numbered(name, earlier.count());
        add(Kind::Ambiguity, &name, facts.clone());
    }
    let facts = of_whole(family, &mut whole, &flat);
    entries.insert(Thing::new(Kind::Family, None, &family.name), facts);
}

/// Adds what a measurement's outcomes state, and gives what each states alone: a measurement is told with its outcomes,
/// which are entries of their own only so that one under a new id is recognised.
fn outcomes(family: &Family, measurement: &Measurement, facts: &mut Facts) -> Vec<(String, Facts)> {
    if measurement.offered_for.is_none() {
        facts.set("for", &[], "every symptom");
    }
    unless(family, &measurement.unless, facts);
    if let Some(recording) = &measurement.recording {
        recordings::recording(family, measurement, recording, facts);
    }
    for (outcome, set_ups) in &measurement.sets {
        facts.set(
            "sets",
            &[named(measurement, *outcome)],
            sorted(family.names_of(set_ups)),
        );
    }
    for (outcome, causes) in &measurement.finds {
        facts.set(
            "finds",
            &[named(measurement, *outcome)],
            sorted(family.names_of(causes)),
        );
    }
    facts.set("normal", &[], named(measurement, measurement.normal));
    for (cause, _) in measurement.shows.iter().filter(|(_, row)| row.0.is_empty()) {
        // A row that states nothing still says that the cause is looked for.
        facts.set("shows", &["nothing", &family.cause(*cause).name], "named");
    }
    let mut alone = Vec::new();
    for (place, outcome) in measurement.outcomes.iter().enumerate() {
        let mut own = Facts::default();
        if let Some(gloss) = &outcome.gloss {
            own.set("gloss", &[], gloss.as_str());
        }
        if !outcome.heard.is_empty() {
            let heard: Vec<&str> = outcome.heard.iter().map(Pattern::as_str).collect();
            own.set("heard", &[], heard.join(", "));
        }
        if !outcome.words.is_empty() {
            own.set("words", &[], sorted(outcome.words.clone()));
        }
        if let Some(number) = measurement.number() {
            let mut bands: Vec<String> = outcome.bands.iter().map(ToString::to_string).collect();
            bands.sort_unstable();
            let band = format!("{} {}", bands.join(", or "), number.unit.symbol());
            own.set("band", &[], band.trim_end());
        }
        for (cause, row) in &measurement.shows {
            if let Some(p) = row.0.get(&OutcomeId::at(place)) {
                let cause = &family.cause(*cause).name;
                own.set("shows", &[cause], number(p.get(), ""));
            }
        }
        // The normal outcome has what the others leave.
        if place != measurement.normal.index() {
            let chance = measurement.chance.0[place].get();
            own.set("chance", &[], number(chance, ""));
        }
        for ((field, at), value) in &own.0 {
            let at = iter::once(&outcome.name).chain(at).map(String::as_str);
            facts.set(field, &at.collect::<Vec<_>>(), value.clone());
        }
        let is_normal = yes_no(place == measurement.normal.index());
        own.set("of", &[], format!("{} {is_normal}", measurement.name));
        alone.push((format!("{}/{}", measurement.name, outcome.name), own));
    }
    alone
}

/// What entering a set-up takes by the one that is left, and when it is not entered.
fn set_up(family: &Family, set_up: &SetUp, facts: &mut Facts) {
    unless(family, &set_up.unless, facts);
    for (left, entering) in &set_up.from {
        let left = &family.set_up(*left).name;
        let minutes = number(entering.minutes.get(), "min");
        facts.set("from", &[left, "minutes"], minutes);
        if entering.wait.get() > 0.0 {
            facts.set("from", &[left, "wait"], number(entering.wait.get(), "min"));
        }
        if !entering.needs.is_empty() {
            let needs = sorted(family.names_of(&entering.needs));
            facts.set("from", &[left, "needs"], needs);
        }
    }
}

/// When something is not offered.
fn unless(family: &Family, rule: &Unless, facts: &mut Facts) {
    for (id, outcomes) in &rule.outcomes {
        let measurement = family.measurement(*id);
        let outcomes = outcomes.iter().map(|id| named(measurement, *id).to_owned());
        facts.set("unless", &[&measurement.name], sorted(outcomes.collect()));
    }
    if !rule.symptoms.is_empty() {
        let symptoms = sorted(family.names_of(&rule.symptoms));
        facts.set("unless", &["complaint"], symptoms);
    }
}

/// What a measurement's outcome is called.
fn named(measurement: &Measurement, outcome: OutcomeId) -> &str {
    &measurement.outcomes[outcome.index()].name
}

/// Names in alphabetical order.
fn sorted(mut names: Vec<String>) -> String {
    names.sort_unstable();
    names.join(", ")
}

/// The readings of a case and the answer it expects, in words.
fn case(family: &Family, case: &Case, facts: &mut Facts) {
    let reading = |reading: &CaseReading| {
        let measurement = &family.measurement(reading.measurement).name;
        let part = |(part, value): (&String, &String)| format!("{part} {value}");
        let parts: Vec<String> = reading.parts.iter().map(part).collect();
        let value = format!("{} {}", reading.value, parts.join(", "));
        format!("{measurement} = {}", value.trim())
    };
    let readings: Vec<String> = case.readings.iter().map(reading).collect();
    facts.set("readings", &[], readings);
    for (repair, before) in &case.not_before {
        let before = sorted(family.names_of(before));
        facts.set("not_before", &[&family.repair(*repair).name], before);
    }
    let expect = match &case.expect {
        Expect::Repairs(ids) => sorted(family.names_of(ids)).replace(", ", " + "),
        Expect::Ambiguity(ids) => {
            format!("not to be told apart: {}", sorted(family.names_of(ids)))
        }
        Expect::Unlisted => "nothing listed fits".to_owned(),
        Expect::Causes(claims) => {
            let claims = claims.iter();
            let claims = claims.map(|(claim, id)| format!("{}: {claim}", family.cause(*id).name));
            claims.collect::<Vec<_>>().join(", ")
        }
    };
    facts.set("expect", &[], expect);
}

/// A spec sheet: a limit with its unit and source.
fn sheet(vehicle: &Vehicle) -> Facts {
    let mut facts = Flat::default().entry(&written(vehicle));
    for (name, limit) in &vehicle.limits {
        for (key, figure) in &limit.numbers {
            let mut value = number(*figure, limit.unit.map_or("", Unit::symbol));
            value["source"] = limit.source.as_str().into();
            facts.set("limit", &[name, key], value);
        }
        if let Some(words) = &limit.words {
            facts.set("limit", &[name, "words"], words.as_str());
        }
        facts.set("source", &[name], limit.source.as_str());
    }
    facts
}

/// A family itself; what it lists are entries of their own.
fn of_whole(family: &Family, whole: &mut Value, flat: &Flat) -> Facts {
    let (sources, dangers) = (whole["sources"].take(), whole["dangers"].take());
    let mut facts = flat.entry(whole);
    for source in items(&sources) {
        facts.set("sources", &[text(&source["name"])], text(&source["text"]));
    }
    for (id, factors) in &family.fades {
        let measurement = family.measurement(*id);
        for (outcome, left) in factors {
            let at = [measurement.name.as_str(), named(measurement, *outcome)];
            facts.set("fades", &at, number(left.get(), ""));
        }
    }
    let mut patterns: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for danger in items(&dangers) {
        let caution = flat.text("caution", &danger["caution"]);
        patterns
            .entry(caution)
            .or_default()
            .extend(items(&danger["patterns"]).iter().map(text));
    }
    for (caution, patterns) in patterns {
        facts.set("dangers", &[&caution], patterns.join(", "));
    }
    if let Some(recorder) = &family.recorder {
        let set_ups = sorted(family.names_of(&recorder.set_ups));
        facts.set("recorder", &["set-ups"], set_ups);
    }
    // Of ways that cost the same, the one in the order of the file is taken.
    let mut set_ups: Vec<&SetUp> = family.set_ups.iter().collect();
    set_ups.sort_by_key(|set_up| set_up.place);
    let order: Vec<&str> = set_ups.iter().map(|set_up| set_up.name.as_str()).collect();
    facts.set("set_up_order", &[], order);
    let counts = [
        Kind::Cause.counted(family.causes.len()),
        Kind::Measurement.counted(family.measurements.len()),
        Kind::Symptom.counted(family.symptoms.len()),
    ];
    facts.set("entries", &[], counts.join(", "));
    facts
}

fn items(list: &Value) -> &[Value] {
    list.as_array().map_or(&[], Vec::as_slice)
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

fn yes_no(holds: bool) -> &'static str {
    if holds { "yes" } else { "no" }
}

/// Lays entries of a family flat.
#[derive(Default)]
struct Flat {
    lists: BTreeMap<&'static str, Value>,
}

impl Flat {
    fn entry(&self, entry: &Value) -> Facts {
        let mut facts = Facts::default();
        self.fields(entry, &[], &mut facts);
        facts
    }

    /// The fields of an entry, or of an outcome or raw reading of it: what names it apart.
    fn fields(&self, entry: &Value, at: &[&str], facts: &mut Facts) {
        let unit = text(&entry["unit"]);
        for (field, value) in entry.as_object().into_iter().flatten() {
            if field != "name" {
                self.value(field, at, value, unit, facts);
            }
        }
    }

    fn value(&self, field: &str, at: &[&str], value: &Value, unit: &str, facts: &mut Facts) {
        match value {
            Value::Null => {}
            Value::Object(parts) => {
                for (key, part) in parts {
                    self.value(field, &[at, &[key]].concat(), part, unit, facts);
                }
            }
            Value::Array(parts) if matches!(field, "outcomes" | "takes" | "checks") => {
                let names: Vec<&str> = parts.iter().map(|part| text(&part["name"])).collect();
                for (part, name) in parts.iter().zip(&names) {
                    self.fields(part, &[name], facts);
                }
                if is_ordered(field) {
                    facts.set(field, at, names);
                }
            }
            Value::Array(parts) => {
                let texts = parts.iter().map(|part| self.text(field, part));
                let mut texts: Vec<String> = texts.collect();
                if !is_ordered(field) {
                    texts.sort_unstable();
                }
                match at {
                    [] => facts.set(field, at, texts),
                    // A list inside a field is one value.
                    _ if texts.is_empty() => {}
                    _ => facts.set(field, at, texts.join(", ")),
                }
            }
            Value::Number(figure) if refers_to(field).is_none() => {
                let unit = unit_of(field, at, unit);
                // A count stays a whole number.
                let value = match figure.as_f64().filter(|_| figure.is_f64()) {
                    Some(figure) => number(figure, unit),
                    None => json!({"number": figure, "unit": unit}),
                };
                facts.set(field, at, value);
            }
            value => facts.set(field, at, self.text(field, value)),
        }
    }

    /// A value in words; an id as the name that it refers to.
    fn text(&self, field: &str, value: &Value) -> String {
        match (value, refers_to(field)) {
            (Value::Bool(holds), _) => yes_no(*holds),
            (Value::Number(id), Some(list)) => {
                let place = id.as_u64().and_then(|id| usize::try_from(id).ok());
                text(&self.lists[list][place.unwrap_or(usize::MAX)]["name"])
            }
            (value, _) => text(value),
        }
        .to_owned()
    }
}
