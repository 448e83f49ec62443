//! What is stated in a spec sheet.

use crate::diff::fact::Effect::{Limit, Words};
use crate::diff::fact::{Facts, Value};
use crate::knowledge::{SheetLimit, Vehicle};
use crate::units::{System, Unit};

/// What is stated in a spec sheet; `family` is what its family is called.
pub(in crate::diff) fn vehicle(vehicle: &Vehicle, family: &str) -> Facts {
    let Vehicle {
        name: _,
        title,
        family: _,
        invented,
        units,
        limits,
    } = vehicle;
    let units = match units {
        System::Metric => "metric",
        System::Us => "us",
    };
    let mut facts = Facts::default();
    facts
        .text("title", &[], title)
        .word(Limit, "family", &[], family)
        .flag(Words, "invented", *invented)
        .word(Words, "units", &[], units);
    for (sheet, limit) in limits {
        let SheetLimit {
            numbers,
            unit,
            words,
            source,
        } = limit;
        for (key, number) in numbers {
            let value = Value::Number {
                number: number + 0.0,
                unit: unit.map_or("", Unit::symbol).to_owned(),
                source: Some(source.clone()),
            };
            facts.state(Limit, "limit", &[sheet, key], value);
        }
        if let Some(words) = words {
            facts.state(
                Limit,
                "limit",
                &[sheet, "words"],
                Value::Text(words.clone()),
            );
        }
        facts.text("source", &[sheet], source);
    }
    facts
}
