//! `vehicles/*.yaml`.

use crate::load::describe::{FamilyRef, UnitName};
use crate::load::value::{Entries, Name, Placed, records};
use crate::units::System;

records! {
    /// The spec sheet of one model: `vehicles/<name>.yaml`.
    VehicleFile {
        /// Whether it is still to be filled in: it is left out until then, with what refers to it.
        unfinished: bool = false,
        /// The id of the vehicle, in kebab case.
        vehicle: Name,
        /// The model, in words.
        title: String,
        /// The id of its family.
        family: Name as FamilyRef,
        /// Whether the sheet is invented for a demonstration.
        invented: bool = false,
        /// How readings are shown: `metric` or `us`.
        units: Option<System>,
        /// Limits, by name.
        limits: Entries<SheetLimit>,
    }

    /// A limit of the sheet: numbers with their unit, or words.
    SheetLimit {
        /// The least good value.
        min: Option<Placed<f64>>,
        /// The greatest good value.
        max: Option<Placed<f64>>,
        /// The value from which on it is far off.
        far: Option<Placed<f64>>,
        /// The unit of the numbers.
        unit: Option<Name> as Option<UnitName>,
        /// The limit in words, where it has no number.
        words: Option<String>,
        /// Where it comes from.
        source: String,
    }
}
