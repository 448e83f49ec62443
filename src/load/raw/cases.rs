//! `cases/*.yaml`.

use crate::load::describe::{
    CauseRef, MeasurementRef, Named, RepairRef, SymptomRef, Text, VehicleRef,
};
use crate::load::value::{Entries, Items, Name, Placed, Scalar, records};

records! {
    /// A worked case: `<family>/cases/<name>.yaml`.
    CaseFile {
        /// Whether it is still to be filled in: it is left out until then, with what refers to it.
        unfinished: bool = false,
        /// What it is about.
        case: Placed<String>,
        /// The symptoms present.
        symptoms: Items<Name> as Items<SymptomRef>,
        /// The symptoms confirmed absent.
        absent: Items<Name> as Items<SymptomRef> = Items::default(),
        /// The vehicle; it is needed where a reading is judged by a limit of the sheet.
        vehicle: Option<Name> as Option<VehicleRef>,
        /// The customer's words.
        complaint: Option<String>,
        /// The readings, in the order they were taken.
        readings: Items<CaseReading>,
        /// The answer.
        expect: Placed<Expect>,
        /// The measurements that must have been read before a repair, by id, is advised.
        not_before: Entries<Items<Name>> as Named<RepairRef, Items<MeasurementRef>> = Entries::default(),
        /// The first measurement proposed.
        first: Option<Name> as Option<MeasurementRef>,
        /// What was found, in words.
        found: Option<String>,
    }

    /// A reading of a case.
    CaseReading {
        /// The id of the measurement.
        measurement: Name as MeasurementRef,
        /// What was typed: the id of an outcome, or a number with its unit.
        value: Option<Placed<Scalar>>,
        /// For a computed number, in place of `value`: what was typed for each raw reading, by its name.
        values: Option<Entries<Placed<Scalar>>> as Option<Named<Text, Scalar>>,
    }

    /// The answer of a case: exactly one of the first four, or what is stated of single causes.
    Expect [serde_json::json!({
        "minProperties": 1,
        "if": { "anyOf": [
            { "required": ["repair"] },
            { "required": ["repairs"] },
            { "required": ["ambiguity"] },
            { "required": ["unlisted"] },
        ] },
        "then": { "maxProperties": 1 },
    })] {
        /// One repair.
        repair: Option<Name> as Option<RepairRef>,
        /// Several repairs, all of them.
        repairs: Option<Items<Name>> as Option<Items<RepairRef>>,
        /// Causes between which nothing left can tell.
        ambiguity: Option<Items<Name>> as Option<Items<CauseRef>>,
        /// No listed cause fits.
        unlisted: Option<bool>,
        /// The most probable candidate is one of these causes alone.
        leads: Option<Items<Name>> as Option<Items<CauseRef>>,
        /// Causes that are still live.
        live: Option<Items<Name>> as Option<Items<CauseRef>>,
        /// Causes that are no longer live.
        ruled_out: Option<Items<Name>> as Option<Items<CauseRef>>,
        /// Causes more probable than before any reading.
        raised: Option<Items<Name>> as Option<Items<CauseRef>>,
        /// Causes less probable than before any reading.
        lowered: Option<Items<Name>> as Option<Items<CauseRef>>,
    }
}
