//! What an edition states, entry by entry: each checked entry serialised, ids written as names, numbers with their
//! units, and lists sorted where their order says nothing.

use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::Value as Json;

use super::entry::{Entry, Figure, IN_WORDS, Value, list, numbered, state, with_unit};
use super::field::{is_ordered, places_in, unit};
use super::kind::{Kind, Thing};
use super::tree;
use crate::cases::Expected;
use crate::knowledge::{
    Case, CaseReading, During, Family, Knowledge, Measurement, OutcomeId, SetUp,
};
use crate::units::Unit;

/// The entries of an edition.
pub(super) type Entries = BTreeMap<Thing, Entry>;

/// Every entry of an edition.
pub(super) fn entries(knowledge: &Knowledge) -> Entries {
    let mut entries = Entries::new();
    for family in &knowledge.families {
        of_family(family, &mut entries);
    }
    for vehicle in &knowledge.vehicles {
        let thing = Thing::new(Kind::Vehicle, None, &vehicle.name);
        entries.insert(thing, Names(&Json::Null).entry(&written(vehicle)));
    }
    entries
}

fn of_family(family: &Family, entries: &mut Entries) {
    let written = written(family);
    let names = Names(&written);
    let thing = |kind, name: &str| Thing::new(kind, Some(&family.name), name);
    for (list, kind) in Kind::LISTED {
        for (place, item) in items(&written[*list]).iter().enumerate() {
            let mut entry = names.entry(item);
            match kind {
                Kind::Measurement => measurement(family, &family.measurements[place], &mut entry),
                Kind::WorkedCase => case(family, &family.cases[place], &mut entry),
                _ => {}
            }
            entries.insert(thing(*kind, text(&item["name"])), entry);
        }
    }
    for symptom in &family.symptoms {
        for (part, states) in tree::parts(family, symptom) {
            let part = part.map(|name| thing(Kind::SharedPart, name));
            let of = part.unwrap_or_else(|| thing(Kind::Symptom, &symptom.name));
            entries.entry(of).or_default().extend(states);
        }
    }
    for (code, meaning) in fields(&written["codes"]) {
        entries.insert(thing(Kind::TroubleCode, code), names.entry(meaning));
    }
    for item in items(&written["ambiguities"]) {
        // Nothing but their causes names them.
        let entry = names.entry(item);
        let is_taken = |name: &str| entries.contains_key(&thing(Kind::Ambiguity, name));
        let name = numbered(&list(&entry, "causes").join(" or "), is_taken);
        entries.insert(thing(Kind::Ambiguity, &name), entry);
    }
    let thing = Thing::new(Kind::Family, None, &family.name);
    entries.insert(thing, whole(family, &names));
}

/// A family itself; what it lists are entries of their own.
fn whole(family: &Family, names: &Names<'_>) -> Entry {
    let mut entry = Entry::new();
    let listed = Kind::LISTED.iter().map(|(list, _)| *list);
    let listed: Vec<&str> = listed.chain(["codes", "ambiguities"]).collect();
    for (field, value) in fields(names.0).filter(|(field, _)| !listed.contains(&field.as_str())) {
        names.state(&mut entry, field, &[], value, names.0);
    }
    // Of ways that cost the same, the one in the order of the file is taken.
    let mut set_ups: Vec<&SetUp> = family.set_ups.iter().collect();
    set_ups.sort_by_key(|set_up| set_up.place);
    let set_ups = set_ups.iter().map(|set_up| set_up.name.clone()).collect();
    state(&mut entry, "set_up_order", &[], Value::List(set_ups));
    let counts = [
        Kind::Cause.counted(family.causes.len()),
        Kind::Measurement.counted(family.measurements.len()),
        Kind::Symptom.counted(family.symptoms.len()),
    ];
    state(&mut entry, IN_WORDS, &[], counts.join(", "));
    entry
}

/// Adds to a measurement what its outcomes show, and when it is read from a recording.
fn measurement(family: &Family, measurement: &Measurement, entry: &mut Entry) {
    let outcome = |id: OutcomeId| measurement.outcomes[id.index()].name.as_str();
    for (of, p) in measurement.outcomes.iter().zip(&measurement.chance.0) {
        let mut bands: Vec<String> = of.bands.iter().map(ToString::to_string).collect();
        bands.sort_unstable();
        if let Some(number) = measurement.number() {
            let words = with_unit(&bands.join(", or "), number.unit.symbol());
            state(entry, "band", &[&of.name], words);
        }
        // The normal outcome has what the others leave.
        if of.name != outcome(measurement.normal) {
            state(entry, "chance", &[&of.name], Value::figure(p.get(), ""));
        }
    }
    let Some(recording) = &measurement.recording else {
        return;
    };
    for (id, during) in &recording.during {
        let signal = family.signal(*id);
        let words = match during {
            During::Band(band) => with_unit(&band.to_string(), unit_of(signal.unit)),
            During::States(states) => {
                let names = states.iter().map(|state| signal.states[*state].0.as_str());
                names.collect::<Vec<_>>().join(" or ")
            }
        };
        state(entry, "recording", &["while", &signal.name], words);
    }
    for judged in &recording.judged {
        let words = format!("{} {}", judged.formula.text(), judged.band);
        let words = with_unit(&words, judged.unit.symbol());
        state(
            entry,
            "recording",
            &["judged", outcome(judged.outcome)],
            words,
        );
    }
}

/// Adds to a case its readings and the answer that it expects, in words.
fn case(family: &Family, case: &Case, entry: &mut Entry) {
    let reading = |reading: &CaseReading| {
        let measurement = &family.measurement(reading.measurement).name;
        let part = |(part, value): (&String, &String)| format!("{part} {value}");
        let parts: Vec<String> = reading.parts.iter().map(part).collect();
        let value = format!("{} {}", reading.value, parts.join(", "));
        format!("{measurement} = {}", value.trim())
    };
    let readings = case.readings.iter().map(reading).collect();
    state(entry, "readings", &[], Value::List(readings));
    let mut expected = Expected::of(family, &case.expect);
    if let Expected::Repairs(names) | Expected::Ambiguity(names) = &mut expected {
        names.sort_unstable();
    }
    state(entry, "expect", &[], expected.to_string());
}

/// An entry as JSON. Nothing in the knowledge can fail to be written: its keys are texts and numbers.
fn written(entry: &impl Serialize) -> Json {
    serde_json::to_value(entry).unwrap_or_default()
}

fn unit_of(unit: Option<Unit>) -> &'static str {
    unit.map_or("", Unit::symbol)
}

/// What stands under each key, the name apart: that goes without saying.
fn fields(object: &Json) -> impl Iterator<Item = (&String, &Json)> {
    let fields = object.as_object().into_iter().flatten();
    fields.filter(|(field, _)| *field != "name")
}

fn items(list: &Json) -> &[Json] {
    list.as_array().map_or(&[], Vec::as_slice)
}

fn text(value: &Json) -> &str {
    value.as_str().unwrap_or_default()
}

/// A serialised family: the lists that ids are places in.
struct Names<'f>(&'f Json);

impl<'f> Names<'f> {
    fn entry(&self, item: &'f Json) -> Entry {
        let mut entry = Entry::new();
        for (field, value) in fields(item) {
            self.state(&mut entry, field, &[], value, item);
        }
        entry
    }

    /// States what stands at a place; `of` has the unit and the outcomes that are meant there.
    fn state(&self, entry: &mut Entry, field: &str, at: &[&str], value: &'f Json, of: &'f Json) {
        if let Some(text) = self.text(field, value, of) {
            return state(entry, field, at, text);
        }
        match value {
            Json::Number(number) => {
                let last = at.last().copied().unwrap_or_default();
                let source = if field == "limit" {
                    text(&of["source"])
                } else {
                    ""
                };
                let figure = Figure {
                    number: number.as_f64().unwrap_or_default(),
                    unit: unit(field, last, text(&of["unit"])).to_owned(),
                    source: source.to_owned(),
                };
                state(entry, field, at, Value::Figure(figure));
            }
            Json::Object(parts) => {
                for (key, part) in parts {
                    let below = [at, &[key]].concat();
                    match (field, at, key.as_str()) {
                        // A sheet's numbers are shown with both.
                        ("limit", [_], "unit") => {}
                        ("limit", [_], "source") => self.state(entry, key, at, part, of),
                        ("limit", ..) => self.state(entry, field, &below, part, value),
                        // Named by the measurements alone.
                        ("unless", _, "outcomes") => self.state(entry, field, at, part, of),
                        _ => self.state(entry, field, &below, part, of),
                    }
                }
            }
            Json::Array(pairs) if pairs.first().is_some_and(Json::is_array) => {
                for pair in pairs {
                    let key = self.text(field, &pair[0], of).unwrap_or_default();
                    let (at, of) = match field {
                        // Told outcome by outcome.
                        "shows" => ([&[key], at].concat(), of),
                        _ => {
                            let of = self.item(field, &pair[0], of).unwrap_or(of);
                            ([at, &[key]].concat(), of)
                        }
                    };
                    self.state(entry, field, &at, &pair[1], of);
                }
            }
            Json::Array(list) => {
                let parts = list.iter().filter(|part| part["name"].is_string());
                for part in parts {
                    for (inner, value) in fields(part) {
                        // A named text is what the field says of the name.
                        let inner = if inner == "text" { field } else { inner };
                        self.state(entry, inner, &[text(&part["name"])], value, part);
                    }
                }
                let names = list.iter().filter_map(|item| self.text(field, item, of));
                let mut names: Vec<String> = names.map(str::to_owned).collect();
                if !is_ordered(field) {
                    names.sort_unstable();
                }
                match at {
                    [] if matches!(field, "checks" | "sources") => {}
                    [] => state(entry, field, at, Value::List(names)),
                    // A row that states nothing still says that the cause is looked for.
                    [cause] if field == "shows" => {
                        state(entry, field, &["nothing", cause], "named");
                    }
                    // A list inside a field is one value.
                    _ if names.is_empty() => {}
                    _ => state(entry, field, at, names.join(", ")),
                }
            }
            _ => {}
        }
    }

    /// A value that is a text or stands for one; an id stands for a name.
    fn text(&self, field: &str, value: &'f Json, of: &'f Json) -> Option<&'f str> {
        match value {
            Json::String(text) => Some(text),
            Json::Bool(holds) => Some(if *holds { "yes" } else { "no" }),
            Json::Null if field == "for" => Some("every symptom"),
            value => self.item(field, value, of)?["name"].as_str(),
        }
    }

    /// What an id stands for; a named part stands for itself. Outcomes are those of the entry.
    fn item(&self, field: &str, id: &'f Json, of: &'f Json) -> Option<&'f Json> {
        let (list, place) = match id {
            Json::Object(id) if id.len() == 1 => id.iter().next()?,
            Json::Number(_) => (&places_in(field)?.to_owned(), id),
            id => return Some(id).filter(|id| id["name"].is_string()),
        };
        let of = if list == "outcomes" { of } else { self.0 };
        of[list].get(usize::try_from(place.as_u64()?).ok()?)
    }
}
