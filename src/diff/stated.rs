//! What an edition states, entry by entry, as JSON: ids as the newer edition's names, numbers with
//! their units, lists sorted where their order says nothing.
//!
//! A field that knowledge gains must be stated here too: the test that edits every word of a family
//! finds what is left out.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};

use super::names::{Named, Renames, sorted};
use super::thing::{Kind, Thing};
use crate::fault_tree::{FaultTree, Gate, Node, NodeId};
use crate::knowledge::{
    Bound, Case, CaseReading, CauseId, Check, Claim, Condition, ConditionKind, Expect, Instrument,
    Knowledge, LimitBand, Measurement, Outcome, OutcomeId, Reading, Rest, SheetLimit, Symptom,
    Take, Timed, Vehicle,
};
use crate::units::uncertainty::Accuracy;
use crate::units::{Interval, System, Unit};

/// What one entry states, by field.
pub(super) type Facts = Map<String, Value>;

/// Every entry of an edition.
pub(super) fn things(knowledge: &Knowledge, renames: &Renames) -> BTreeMap<Thing, Facts> {
    let mut things = Things(BTreeMap::new());
    for family in &knowledge.families {
        things.family(&Named::new(family, renames));
    }
    for vehicle in &knowledge.vehicles {
        let name = renames.to_new(Kind::Vehicle, None, &vehicle.name);
        let family = renames.to_new(Kind::Family, None, &vehicle.family);
        let thing = Thing::new(Kind::Vehicle, None, &name);
        things
            .0
            .insert(thing, facts(stated_sheet(vehicle, &family)));
    }
    things.0
}

/// What a case is called: its file, without folder and ending.
pub(super) fn case_name(case: &Case) -> &str {
    let file = case
        .file
        .split_once("/cases/")
        .map_or(case.file.as_str(), |(_, file)| file);
    file.strip_suffix(".yaml").unwrap_or(file)
}

fn facts(stated: Value) -> Facts {
    match stated {
        Value::Object(facts) => facts,
        _ => Facts::new(),
    }
}

fn number(number: f64, unit: &str) -> Value {
    // Adding zero turns -0.0 into 0.0: they state the same.
    json!({"number": number + 0.0, "unit": unit})
}

/// A name that is still free: of several entries of one name, each has its number.
fn free<V>(taken: impl Fn(&str) -> Option<V>, name: &str) -> String {
    let mut free = name.to_owned();
    let mut count = 1;
    while taken(&free).is_some() {
        count += 1;
        free = format!("{name} ({count})");
    }
    free
}

struct Things(BTreeMap<Thing, Facts>);

impl Things {
    #[allow(
        clippy::too_many_lines,
        reason = "one entry a kind of thing, in the order of the files"
    )]
    fn family(&mut self, named: &Named<'_>) {
        let family = named.family;
        let thing = Thing::new(Kind::Family, None, &named.name);
        self.0.insert(thing, facts(stated_family(named)));
        let mut add = |kind, name: &str, stated| {
            let name = named.name(kind, name);
            let thing = Thing::new(kind, Some(&named.name), &name);
            self.0.insert(thing, facts(stated));
        };
        for (kind, texts) in [
            (Kind::Caution, &family.cautions),
            (Kind::Care, &family.care),
        ] {
            for text in texts {
                add(kind, &text.name, json!({"text": text.text}));
            }
        }
        for set_up in &family.set_ups {
            let stated = json!({
                "title": set_up.title,
                "formerly": sorted(set_up.formerly.clone()),
                "minutes": number(set_up.minutes.get(), "min"),
                "group": set_up.group,
                "needs": named.set(&set_up.needs),
                "ends": named.set(&set_up.ends),
                "equipment": set_up.equipment,
            });
            add(Kind::SetUp, &set_up.name, stated);
        }
        for item in &family.instruments {
            add(Kind::Instrument, &item.name, stated_instrument(item));
        }
        for item in &family.conditions {
            add(Kind::Condition, &item.name, stated_condition(named, item));
        }
        for (code, meaning) in &family.codes {
            // The kind is an outcome of the measurement that reads codes.
            let kind = family
                .measurements
                .iter()
                .find(|of| {
                    matches!(of.reading, Reading::Codes) && of.outcome(&meaning.kind).is_some()
                })
                .map_or(meaning.kind.clone(), |of| named.outcome(of, &meaning.kind));
            let stated = json!({"means": meaning.means, "kind": kind, "source": meaning.source});
            add(Kind::Code, code, stated);
        }
        for cause in &family.causes {
            let stated = json!({
                "title": cause.title,
                "formerly": sorted(cause.formerly.clone()),
                "part": cause.part,
                "rate": number(cause.rate.get(), "of 1,000 jobs"),
                "repair": named.one(cause.repair),
                "source": cause.source,
            });
            add(Kind::Cause, &cause.name, stated);
        }
        for repair in &family.repairs {
            let stated = json!({
                "title": repair.title,
                "formerly": sorted(repair.formerly.clone()),
                "minutes": number(repair.minutes.get(), "min"),
                "parts": number(repair.parts.get(), ""),
                "verify": repair.verify,
                "verify_with": named.all(&repair.verify_with),
                "care": repair.care.iter().map(|at| named.name(Kind::Care, &family.care[*at].name)).collect::<Vec<_>>(),
                "opens_valve_body": yes_no(repair.opens_valve_body),
                "reveals": named.set(&repair.reveals),
            });
            add(Kind::Repair, &repair.name, stated);
        }
        for measurement in &family.measurements {
            let stated = stated_measurement(named, measurement);
            let of = named.name(Kind::Measurement, &measurement.name);
            // An outcome is reported with its measurement; it is an entry here so that a rename is found.
            for outcome in &measurement.outcomes {
                let name = named.outcome(measurement, &outcome.name);
                let mut alone = stated["outcome"][&name].clone();
                alone["of"] = json!([of, stated["normal"] == name]);
                add(Kind::Outcome, &format!("{of}/{}", outcome.name), alone);
            }
            add(Kind::Measurement, &measurement.name, stated);
        }
        for symptom in &family.symptoms {
            add(Kind::Symptom, &symptom.name, stated_symptom(named, symptom));
            for place in symptom.tree.places() {
                if let Node::Gate {
                    shared: Some(name),
                    event,
                    ..
                } = symptom.tree.node(place)
                {
                    let mut part = gate(named, &symptom.tree, place);
                    part.insert("event_words".to_owned(), json!(event));
                    add(Kind::SharedPart, name, Value::Object(part));
                }
            }
        }
        for case in &family.cases {
            add(Kind::Case, case_name(case), stated_case(named, case));
        }
        // Nothing but their causes names ambiguities.
        let mut ambiguities: Vec<(String, Value)> = family
            .ambiguities
            .iter()
            .map(|item| {
                let stated = json!({"parted_by": named.set(&item.parted_by), "why": item.why});
                (named.set(&item.causes).join(" or "), stated)
            })
            .collect();
        ambiguities.sort_by_cached_key(|(name, stated)| (name.clone(), stated.to_string()));
        for (name, stated) in ambiguities {
            let thing = |name: &str| Thing::new(Kind::Ambiguity, Some(&named.name), name);
            let name = free(|name| self.0.get(&thing(name)), &name);
            self.0.insert(thing(&name), facts(stated));
        }
    }
}

fn yes_no(holds: bool) -> &'static str {
    if holds { "yes" } else { "no" }
}

/// A family itself; what it lists are entries of their own.
fn stated_family(named: &Named<'_>) -> Value {
    let family = named.family;
    let (figures, shop) = (&family.figures, &family.shop);
    let mut dangers: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for danger in &family.dangers {
        let patterns = danger
            .patterns
            .iter()
            .map(crate::knowledge::Pattern::as_str);
        let caution = &family.cautions[danger.caution].name;
        dangers.entry(caution).or_default().extend(patterns);
    }
    json!({
        "title": family.title,
        "notice": family.notice,
        "worth": family.worth,
        "max_order": {"number": figures.max_order, "unit": "causes"},
        "unlisted": number(figures.unlisted.get(), ""),
        "floor": number(figures.floor.get(), ""),
        "reacts": number(figures.reacts.get(), ""),
        "labour_rate": number(shop.labour_rate.get(), "an hour"),
        "escalation": {
            "minutes": number(shop.escalation.minutes.get(), "min"),
            "parts": number(shop.escalation.parts.get(), ""),
        },
        "in_place": named.set(&family.in_place),
        "habit": named.all(&family.habit),
        "dangers": dangers
            .into_iter()
            .map(|(caution, patterns)| (named.name(Kind::Caution, caution), patterns.join(", ")))
            .collect::<BTreeMap<_, _>>(),
        "entries": [
            Kind::Cause.counted(family.causes.len()),
            Kind::Measurement.counted(family.measurements.len()),
            Kind::Symptom.counted(family.symptoms.len()),
        ],
        "sources": family
            .sources
            .iter()
            .map(|source| (&source.name, &source.text))
            .collect::<BTreeMap<_, _>>(),
    })
}

fn stated_instrument(instrument: &Instrument) -> Value {
    let symbol = instrument.unit.symbol();
    json!({
        "title": instrument.title,
        "unit": symbol,
        "range": span(instrument.range, symbol),
        "accuracy": match instrument.accuracy {
            Accuracy::Standard(u) => json!({"standard": number(u, symbol)}),
            // The span is the range's.
            Accuracy::Class { class, span: _ } => json!({"class": number(class, "")}),
            Accuracy::PercentDigits { percent, digits, digit } => json!({
                "percent": number(percent, "%"),
                "digits": number(digits, ""),
                "digit": number(digit, symbol),
            }),
            Accuracy::Resolution(step) => json!({"resolution": number(step, symbol)}),
        },
    })
}

fn span(span: Option<Interval>, unit: &str) -> Option<Value> {
    span.map(|span| json!({"from": number(span.from(), unit), "to": number(span.to(), unit)}))
}

fn stated_condition(named: &Named<'_>, condition: &Condition) -> Value {
    let (answer, unit, holds, instrument) = match &condition.kind {
        ConditionKind::YesNo => ("yes or no", None, None, None),
        ConditionKind::Number {
            unit,
            instrument,
            holds,
        } => (
            "a number",
            Some(unit.symbol()),
            Some(band(holds)),
            *instrument,
        ),
    };
    json!({
        "ask": condition.ask,
        "formerly": sorted(condition.formerly.clone()),
        "source": condition.source,
        "answer": answer,
        "unit": unit,
        "holds": holds,
        "instrument": instrument.map(|id| named.one(id)),
        "lasts": condition.lasts.map(|lasts| number(lasts.get(), "min")),
        "ended_by": named.set(&condition.ended_by),
    })
}

/// A band in words: `from stall.min below 3000`.
fn band(band: &LimitBand) -> String {
    let end = |bound: &Option<Bound>, closed: &str, open: &str| {
        bound.as_ref().map(|Bound { limit, inside }| {
            format!("{} {limit}", if *inside { closed } else { open })
        })
    };
    let ends = [
        end(&band.lower, "from", "above"),
        end(&band.upper, "to", "below"),
    ];
    match ends.into_iter().flatten().collect::<Vec<_>>().join(" ") {
        none if none.is_empty() => "every value".to_owned(),
        ends => ends,
    }
}

fn stated_measurement(named: &Named<'_>, measurement: &Measurement) -> Value {
    let family = named.family;
    let outcome = |place: usize| named.outcome(measurement, &measurement.outcomes[place].name);
    let unit = measurement.number().map(|number| number.unit.symbol());
    let normal = measurement.normal.index();
    let stated_outcome = |(place, stated): (usize, &Outcome)| {
        let words = sorted(stated.bands.iter().map(band).collect()).join(", or ");
        let shows = measurement.shows.iter().filter_map(|(cause, row)| {
            Some((
                named.one(*cause),
                number(row.0.get(&OutcomeId::at(place))?.get(), ""),
            ))
        });
        let told = json!({
            "gloss": stated.gloss,
            "band": unit.map(|unit| format!("{words} {unit}").trim_end().to_owned()),
            "shows": shows.collect::<BTreeMap<_, _>>(),
            // The normal outcome has what the others leave.
            "chance": (place != normal).then(|| number(measurement.chance.0[place].get(), "")),
        });
        (outcome(place), facts(told))
    };
    // A row that states nothing still says that the cause is looked for.
    let nothing = measurement.shows.iter().filter(|(_, row)| row.0.is_empty());
    let cautions = measurement
        .caution_texts(family)
        .map(|text| named.name(Kind::Caution, &text.name));
    let mut stated = json!({
        "title": measurement.title,
        "formerly": sorted(measurement.formerly.clone()),
        "ask": measurement.ask,
        "reading": match measurement.reading {
            Reading::Words => "words",
            Reading::Codes => "words or trouble codes",
            Reading::Number(_) => "a number",
        },
        "unit": unit,
        "outcomes": (0..measurement.outcomes.len()).map(outcome).collect::<Vec<_>>(),
        "outcome": measurement.outcomes.iter().enumerate().map(stated_outcome).collect::<BTreeMap<_, _>>(),
        "normal": outcome(normal),
        "shows": {"nothing": nothing.map(|(cause, _)| (named.one(*cause), "named")).collect::<BTreeMap<_, _>>()},
        "rest": match measurement.rest {
            Rest::Normal => "normal",
            Rest::Chance => "chance",
        },
        "for": match &measurement.offered_for {
            Some(symptoms) => json!(named.set(symptoms)),
            None => json!("every symptom"),
        },
        "repeat": yes_no(measurement.repeat),
        "minutes": number(measurement.minutes.get(), "min"),
        "set_ups": named.set(&measurement.set_ups),
        "conditions": named.all(&measurement.conditions),
        "cautions": cautions.collect::<Vec<_>>(),
        "limits": measurement.limits,
        "note": measurement.note,
        "steps": measurement.steps,
        "timed": match measurement.timed {
            None => Value::Null,
            Some(Timed::Lag) => json!({"way": "lag"}),
            Some(Timed::Stall { limit, cool_down }) => json!({
                "way": "stall",
                "limit": number(limit, "s"),
                "cool_down": number(cool_down, "s"),
            }),
        },
        "source": measurement.source,
    });
    if let Some(read) = measurement.number() {
        stated["instrument"] = json!(read.instrument.map(|id| named.one(id)));
        stated["plausible"] = json!(span(read.plausible, read.unit.symbol()));
        stated["formula"] = json!(read.formula.as_ref().map(|formula| formula.text()));
        let take = |take: &Take| {
            json!({
                "ask": take.ask,
                "unit": take.unit.symbol(),
                "instrument": take.instrument.map(|id| named.one(id)),
                "plausible": span(take.plausible, take.unit.symbol()),
            })
        };
        // A quantity on the way has the unit of whatever its formula makes.
        let check = |check: &Check| {
            json!({
                "formula": check.formula.text(),
                "plausible": span(Some(check.plausible), ""),
            })
        };
        stated["takes"] = json!(read.takes.iter().map(|take| &take.name).collect::<Vec<_>>());
        stated["take"] = read
            .takes
            .iter()
            .map(|item| (item.name.clone(), take(item)))
            .collect();
        stated["check"] = read
            .checks
            .iter()
            .map(|item| (item.name.clone(), check(item)))
            .collect();
    }
    stated
}

fn stated_symptom(named: &Named<'_>, symptom: &Symptom) -> Value {
    let patterns = symptom
        .complaints
        .iter()
        .map(|pattern| pattern.as_str().to_owned());
    let tree = &symptom.tree;
    let mut stated = gate(named, tree, tree.top());
    // A top without words of its own has those of the title.
    if let Node::Gate { event, .. } = tree.node(tree.top())
        && *event != symptom.title
    {
        stated.insert("event_words".to_owned(), json!(event));
    }
    stated.insert("title".to_owned(), json!(symptom.title));
    let formerly = sorted(symptom.formerly.clone());
    stated.insert("formerly".to_owned(), json!(formerly));
    stated.insert("complaints".to_owned(), json!(sorted(patterns.collect())));
    stated.insert(
        "examples".to_owned(),
        json!(sorted(symptom.examples.clone())),
    );
    Value::Object(stated)
}

/// A gate: its rule, and by name what feeds it. A shared part is named, not opened.
fn gate(named: &Named<'_>, tree: &FaultTree<CauseId>, place: NodeId) -> Facts {
    let rule = match tree.node(place) {
        Node::Gate {
            gate: Gate::All, ..
        } => "all".to_owned(),
        Node::Gate {
            gate: Gate::AtLeast(least),
            ..
        } => format!("at least {least}"),
        _ => "any".to_owned(),
    };
    let inputs = match tree.node(place) {
        Node::Gate { .. } => tree.inputs(place),
        _ => vec![place],
    };
    let mut fed: Vec<(&str, String, Value)> = Vec::new();
    for mut input in inputs {
        let mut counts = 1.0;
        while let Node::Sometimes { strength } = tree.node(input)
            && let Some(below) = tree.inputs(input).first()
        {
            counts *= strength.get();
            input = *below;
        }
        fed.push(match tree.node(input) {
            Node::Leaf { cause, strength } => (
                "cause",
                named.one(*cause),
                number(counts * strength.get(), ""),
            ),
            Node::Gate {
                shared: Some(name), ..
            } => (
                "part",
                named.name(Kind::SharedPart, name),
                number(counts, ""),
            ),
            Node::Gate { event, .. } => {
                let mut below = gate(named, tree, input);
                below.insert("event_strength".to_owned(), number(counts, ""));
                ("event", event.clone(), Value::Object(below))
            }
            Node::Sometimes { .. } => continue,
        });
    }
    fed.sort_by_cached_key(|(field, name, stated)| (*field, name.clone(), stated.to_string()));
    let mut stated = Facts::from_iter([("gate".to_owned(), json!(rule))]);
    for (field, name, input) in fed {
        let inputs = stated.entry(field).or_insert_with(|| json!({}));
        let name = free(|name| inputs.get(name), &name);
        inputs[name] = input;
    }
    stated
}

fn stated_case(named: &Named<'_>, case: &Case) -> Value {
    let reading = |reading: &CaseReading| {
        let of = named.family.measurement(reading.measurement);
        let value = if reading.parts.is_empty() {
            named.outcome(of, &reading.value)
        } else {
            let parts = reading
                .parts
                .iter()
                .map(|(part, value)| format!("{part} {value}"));
            let parts = parts.collect::<Vec<_>>().join(", ");
            format!("{} {parts}", reading.value).trim().to_owned()
        };
        format!("{} = {value}", named.one(reading.measurement))
    };
    json!({
        "title": case.title,
        "complaint": case.complaint,
        "symptoms": named.set(&case.symptoms),
        "absent": named.set(&case.absent),
        "vehicle": case.vehicle.as_ref().map(|name| named.vehicle(name)),
        "readings": case.readings.iter().map(reading).collect::<Vec<_>>(),
        "first": case.first.map(|first| named.one(first)),
        "expect": match &case.expect {
            Expect::Repairs(repairs) => named.set(repairs).join(" + "),
            Expect::Ambiguity(causes) => {
                format!("not to be told apart: {}", named.set(causes).join(", "))
            }
            Expect::Unlisted => "nothing listed fits".to_owned(),
            Expect::Causes(claims) => {
                let claim = |(claim, cause): &(Claim, _)| format!("{}: {claim}", named.one(*cause));
                claims.iter().map(claim).collect::<Vec<_>>().join(", ")
            }
        },
        "found": case.found,
    })
}

fn stated_sheet(vehicle: &Vehicle, family: &str) -> Value {
    let limit = |limit: &SheetLimit| {
        let unit = limit.unit.map_or("", Unit::symbol);
        let mut stated = Facts::new();
        for (key, at) in &limit.numbers {
            let mut value = number(*at, unit);
            value["source"] = json!(limit.source);
            stated.insert(key.clone(), value);
        }
        if let Some(words) = &limit.words {
            stated.insert("words".to_owned(), json!(words));
        }
        stated
    };
    let limits = || vehicle.limits.iter();
    json!({
        "title": vehicle.title,
        "family": family,
        "invented": yes_no(vehicle.invented),
        "units": match vehicle.units {
            System::Metric => "metric",
            System::Us => "us",
        },
        "limit": limits().map(|(name, stated)| (name, limit(stated))).collect::<BTreeMap<_, _>>(),
        "source": limits().map(|(name, stated)| (name, &stated.source)).collect::<BTreeMap<_, _>>(),
    })
}
