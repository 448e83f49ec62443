//! `cases/*.yaml`.

use crate::load::describe::{Id, Named, Text};
use crate::load::value::{Entries, Items, Name, Placed, Scalar, records};

records! {
    /// A worked case: `<family>/cases/<name>.yaml`.
    CaseFile {
        /// What it is about.
        case: Name as Text,
        /// The symptoms present.
        symptoms: Items<Name> as Items<Id>,
        /// The symptoms confirmed absent.
        absent: Items<Name> as Items<Id> = Items::default(),
        /// The vehicle; it is needed where a reading is judged by a limit of the sheet.
        vehicle: Option<Name> as Option<Id>,
        /// The customer's words.
        complaint: Option<Name> as Option<Text>,
        /// The readings, in the order they were taken.
        readings: Items<CaseReading>,
        /// The answer.
        expect: Placed<Expect>,
        /// The first measurement proposed.
        first: Option<Name> as Option<Id>,
        /// What was found, in words.
        found: Option<Name> as Option<Text>,
    }

    /// A reading of a case.
    CaseReading {
        /// The id of the measurement.
        measurement: Name as Id,
        /// What was typed: the id of an outcome, or a number with its unit.
        value: Option<Placed<Scalar>>,
        /// For a computed number, in place of `value`: what was typed for each raw reading, by its name.
        values: Option<Entries<Placed<Scalar>>> as Option<Named<Text, Scalar>>,
    }

    /// The answer of a case: exactly one of these.
    Expect [serde_json::json!({ "minProperties": 1, "maxProperties": 1 })] {
        /// One repair.
        repair: Option<Name> as Option<Id>,
        /// Several repairs, all of them.
        repairs: Option<Items<Name>> as Option<Items<Id>>,
        /// Causes between which nothing left can tell.
        ambiguity: Option<Items<Name>> as Option<Items<Id>>,
        /// No listed cause fits.
        unlisted: Option<bool>,
    }
}
