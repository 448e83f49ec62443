//! What an edition states, entry by entry: each checked entry serialised, ids written as names, numbers with their
//! units, and lists sorted where their order says nothing.

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::{Value, json};

use super::field::{is_ordered, places_in, unit};
use super::thing::{Kind, Thing};
use super::tree;
use super::value::{fields, items, number, numbered, text};
use crate::knowledge::{
    Case, CaseReading, During, Expect, Family, Knowledge, Measurement, Pattern, Recording, SetUp,
    Vehicle,
};
use crate::units::Unit;

/// The entries of an edition, each a tree of what it states.
///
/// Its leaves are texts, lists of texts, and objects of `number`, `unit` and, for a limit, `source`. What the outcomes
/// and raw readings of a measurement state stands under [`EACH`], by name.
pub(super) type Entries = BTreeMap<Thing, Value>;

/// Where an entry holds what its named parts state.
pub(super) const EACH: &str = "each";

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

fn of_family(family: &Family, entries: &mut Entries) {
    let names = Names(&written(family));
    let mut add = |kind, name: &str, entry| {
        entries.insert(Thing::new(kind, Some(&family.name), name), entry);
    };
    for (list, kind) in Kind::LISTED {
        for (place, item) in items(&names.0[*list]).iter().enumerate() {
            let mut entry = names.entry(item);
            match kind {
                Kind::Measurement => measurement(family, &family.measurements[place], &mut entry),
                Kind::Symptom => tree::state(family, &family.symptoms[place], &mut entry),
                _ => {}
            }
            add(*kind, text(&item["name"]), entry);
        }
    }
    for symptom in &family.symptoms {
        for (part, entry) in tree::shared_parts(family, symptom) {
            add(Kind::SharedPart, part, entry);
        }
    }
    for (code, meaning) in fields(&names.0["codes"]) {
        add(Kind::Code, code, names.entry(meaning));
    }
    for (item, of) in items(&names.0["cases"]).iter().zip(&family.cases) {
        let entry = case(family, of, names.entry(item));
        add(Kind::Case, case_name(of), entry);
    }
    // Nothing but their causes names ambiguities: of several of the same causes, each has its number.
    let mut ambiguities: BTreeMap<String, Vec<Value>> = BTreeMap::new();
    for item in items(&names.0["ambiguities"]) {
        let mut entry = names.entry(item);
        let causes = entry["causes"].take();
        let causes: Vec<&str> = items(&causes).iter().map(text).collect();
        ambiguities
            .entry(causes.join(" or "))
            .or_default()
            .push(entry);
    }
    for (name, mut of_name) in ambiguities {
        of_name.sort_by_cached_key(Value::to_string);
        for (earlier, entry) in of_name.into_iter().enumerate() {
            add(Kind::Ambiguity, &numbered(&name, earlier), entry);
        }
    }
    let thing = Thing::new(Kind::Family, None, &family.name);
    entries.insert(thing, whole(family, &names));
}

/// A family itself; what it lists are entries of their own.
fn whole(family: &Family, names: &Names<'_>) -> Value {
    let listed = Kind::LISTED.iter().map(|(list, _)| *list);
    let listed: Vec<&str> = listed.chain(["codes", "cases", "ambiguities"]).collect();
    let own = fields(names.0).filter(|(field, _)| !listed.contains(&field.as_str()));
    let own = own.map(|(field, value)| (field.clone(), value.clone()));
    let mut entry = names.entry(&Value::Object(own.collect()));
    for source in &family.sources {
        entry["sources"][&source.name] = source.text.as_str().into();
    }
    for danger in &family.dangers {
        let caution = &family.cautions[danger.caution].name;
        let patterns: Vec<&str> = danger.patterns.iter().map(Pattern::as_str).collect();
        entry["dangers"][caution] = patterns.join(", ").into();
    }
    // Of ways that cost the same, the one in the order of the file is taken.
    let mut set_ups: Vec<&SetUp> = family.set_ups.iter().collect();
    set_ups.sort_by_key(|set_up| set_up.place);
    entry["set_up_order"] = set_ups.iter().map(|set_up| set_up.name.as_str()).collect();
    let counts = [
        Kind::Cause.counted(family.causes.len()),
        Kind::Measurement.counted(family.measurements.len()),
        Kind::Symptom.counted(family.symptoms.len()),
    ];
    entry["entries"] = counts.join(", ").into();
    entry
}

/// Adds to a measurement what its outcomes show and how it is read from a recording.
fn measurement(family: &Family, measurement: &Measurement, entry: &mut Value) {
    if measurement.offered_for.is_none() {
        entry["for"] = "every symptom".into();
    }
    for (cause, row) in &measurement.shows {
        let cause = &family.cause(*cause).name;
        for (outcome, p) in &row.0 {
            let outcome = &measurement.outcomes[outcome.index()].name;
            entry[EACH][outcome]["shows"][cause] = number(p.get(), "");
        }
        if row.0.is_empty() {
            // A row that states nothing still says that the cause is looked for.
            entry["shows"]["nothing"][cause] = "named".into();
        }
    }
    for (place, outcome) in measurement.outcomes.iter().enumerate() {
        let each = &mut entry[EACH][&outcome.name];
        if let Some(number) = measurement.number() {
            let mut bands: Vec<String> = outcome.bands.iter().map(ToString::to_string).collect();
            bands.sort_unstable();
            each["band"] = with_unit(&bands.join(", or "), Some(number.unit)).into();
        }
        // The normal outcome has what the others leave.
        if place != measurement.normal.index() {
            each["chance"] = number(measurement.chance.0[place].get(), "");
        }
    }
    if let Some(recording) = &measurement.recording {
        windows(family, measurement, recording, &mut entry["recording"]);
    }
}

/// Adds when a recording is read, and how its numbers are judged.
fn windows(family: &Family, measurement: &Measurement, recording: &Recording, entry: &mut Value) {
    for (id, during) in &recording.during {
        let signal = family.signal(*id);
        let words = match during {
            During::Band(band) => with_unit(&band.to_string(), signal.unit),
            During::States(states) => {
                let names = states.iter().map(|state| signal.states[*state].0.as_str());
                names.collect::<Vec<_>>().join(" or ")
            }
        };
        entry["while"][&signal.name] = words.into();
    }
    for (id, most) in &recording.steady {
        let signal = family.signal(*id);
        entry["steady"][&signal.name] = number(*most, signal.unit.map_or("", Unit::symbol));
    }
    for judged in &recording.judged {
        let outcome = &measurement.outcomes[judged.outcome.index()].name;
        let words = format!("{} {}", judged.formula.text(), judged.band);
        entry["judged"][outcome] = with_unit(&words, Some(judged.unit)).into();
    }
}

/// A case, its readings and the answer it expects in words.
fn case(family: &Family, case: &Case, mut entry: Value) -> Value {
    let reading = |reading: &CaseReading| {
        let measurement = &family.measurement(reading.measurement).name;
        let part = |(part, value): (&String, &String)| format!("{part} {value}");
        let parts: Vec<String> = reading.parts.iter().map(part).collect();
        let value = format!("{} {}", reading.value, parts.join(", "));
        format!("{measurement} = {}", value.trim())
    };
    entry["readings"] = case.readings.iter().map(reading).collect();
    let sorted = |mut names: Vec<String>, between| {
        names.sort_unstable();
        names.join(between)
    };
    let expect = match &case.expect {
        Expect::Repairs(ids) => sorted(family.names_of(ids), " + "),
        Expect::Ambiguity(ids) => {
            format!(
                "not to be told apart: {}",
                sorted(family.names_of(ids), ", ")
            )
        }
        Expect::Unlisted => "nothing listed fits".to_owned(),
        Expect::Causes(claims) => {
            let claims = claims.iter();
            let claims = claims.map(|(claim, id)| format!("{}: {claim}", family.cause(*id).name));
            claims.collect::<Vec<_>>().join(", ")
        }
    };
    entry["expect"] = expect.into();
    entry
}

/// A spec sheet: a limit with its unit and source.
fn sheet(vehicle: &Vehicle) -> Value {
    let mut entry = Names(&Value::Null).entry(&written(vehicle));
    for (name, limit) in &vehicle.limits {
        for (key, figure) in &limit.numbers {
            let mut value = number(*figure, limit.unit.map_or("", Unit::symbol));
            value["source"] = limit.source.as_str().into();
            entry["limit"][name][key] = value;
        }
        if let Some(words) = &limit.words {
            entry["limit"][name]["words"] = words.as_str().into();
        }
        entry["source"][name] = limit.source.as_str().into();
    }
    entry
}

/// An entry as JSON. Nothing in the knowledge can fail to be written: its keys are texts and numbers.
fn written(entry: &impl Serialize) -> Value {
    serde_json::to_value(entry).unwrap_or_default()
}

fn with_unit(figure: &str, unit: Option<Unit>) -> String {
    format!("{figure} {}", unit.map_or("", Unit::symbol))
        .trim_end()
        .to_owned()
}

/// A serialised family: the lists that ids are places in.
struct Names<'f>(&'f Value);

impl Names<'_> {
    /// What an entry states; its name goes without saying.
    fn entry(&self, entry: &Value) -> Value {
        let mut stated = json!({});
        for (field, value) in fields(entry).filter(|(field, _)| *field != "name") {
            if !matches!(field.as_str(), "outcomes" | "takes" | "checks") {
                stated[field] = self.value(&[field], value, entry);
                continue;
            }
            let names: Vec<&str> = items(value)
                .iter()
                .map(|part| text(&part["name"]))
                .collect();
            for (part, name) in items(value).iter().zip(&names) {
                for (inner, value) in fields(part).filter(|(inner, _)| *inner != "name") {
                    stated[EACH][*name][inner] = self.value(&[inner, name], value, part);
                }
            }
            if is_ordered(field) {
                stated[field] = names.into();
            }
        }
        if let Some(unless) = stated.get_mut("unless") {
            let mut rule = unless.take();
            *unless = rule["outcomes"].take();
            unless["complaint"] = rule["symptoms"].take();
        }
        stated
    }

    /// The value at a place of an entry: a field, and what leads on from there.
    fn value(&self, at: &[&str], value: &Value, entry: &Value) -> Value {
        let (field, last) = (at[0], at[at.len() - 1]);
        let below = |key: &str, value: &Value, entry: &Value| {
            let at = [at, &[key]].concat();
            (key.to_owned(), self.value(&at, value, entry))
        };
        match (self.text(field, value, entry), value) {
            (Some(text), _) => text.into(),
            (None, Value::Number(figure)) => {
                let unit = unit(field, last, text(&entry["unit"]));
                match figure.as_f64().filter(|_| figure.is_f64()) {
                    Some(figure) => number(figure, unit),
                    // A count stays a whole number.
                    None => json!({"number": figure, "unit": unit}),
                }
            }
            (None, Value::Object(parts)) => {
                let parts = parts.iter().map(|(key, part)| below(key, part, entry));
                parts.collect()
            }
            (None, Value::Array(pairs)) if are_pairs(pairs) => {
                let pairs = pairs.iter().map(|pair| {
                    let key = self.text(field, &pair[0], entry).unwrap_or_default();
                    let measurement = place(&pair[0]["measurements"]);
                    let measurement = measurement.map(|place| &self.0["measurements"][place]);
                    below(key, &pair[1], measurement.unwrap_or(entry))
                });
                pairs.collect()
            }
            (None, Value::Array(items)) => {
                let texts = items
                    .iter()
                    .filter_map(|item| self.text(field, item, entry));
                let mut texts: Vec<&str> = texts.collect();
                if !is_ordered(field) {
                    texts.sort_unstable();
                }
                match at {
                    [_] => texts.into(),
                    // A list inside a field is one value.
                    _ if texts.is_empty() => Value::Null,
                    _ => texts.join(", ").into(),
                }
            }
            (None, _) => Value::Null,
        }
    }

    /// A value that is a text or stands for one; an id stands for a name. Outcomes are those of the entry.
    fn text<'v>(&'v self, field: &str, value: &'v Value, entry: &'v Value) -> Option<&'v str> {
        let (list, place) = match value {
            Value::String(text) => return Some(text),
            Value::Bool(holds) => return Some(if *holds { "yes" } else { "no" }),
            Value::Number(_) => (places_in(field)?, place(value)?),
            Value::Object(id) if id.len() == 1 => {
                let (list, value) = id.iter().next()?;
                (list.as_str(), place(value)?)
            }
            _ => return None,
        };
        let of = if list == "outcomes" { entry } else { self.0 };
        of[list][place]["name"].as_str()
    }
}

/// A place in a list.
fn place(value: &Value) -> Option<usize> {
    usize::try_from(value.as_u64()?).ok()
}

/// Whether a list is one of keys with what stands under each.
fn are_pairs(list: &[Value]) -> bool {
    let is_pair = |item: &Value| items(item).len() == 2;
    !list.is_empty() && list.iter().all(is_pair)
}
