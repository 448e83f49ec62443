//! `exercises/*.yaml`.

use crate::knowledge::{Help, Level};
use crate::load::describe::{CauseRef, SymptomRef, VehicleRef};
use crate::load::value::{Items, Name, Placed, records, words};

records! {
    /// An exercise, a vehicle whose fault the trainee does not know: `<family>/exercises/<name>.yaml`.
    ExerciseFile {
        /// Whether it is still to be filled in: it is left out until then, with what refers to it.
        unfinished: bool = false,
        /// What the customer complains of, in a few words.
        exercise: Placed<String>,
        /// `easy`, `medium` or `hard`; `medium` where nothing is said.
        level: Option<Level>,
        /// The id of the complaint.
        symptom: Name as SymptomRef,
        /// The vehicle; without one the limits must be looked up.
        vehicle: Option<Name> as Option<VehicleRef>,
        /// The causes at work: one, or those that explain the complaint only together.
        fault: Items<Name> as Items<CauseRef> = Items::default(),
        /// Whether what is wrong is none of the listed causes, in place of `fault`.
        unlisted: bool = false,
        /// Whether it comes and goes; where nothing is said, as the figures of the knowledge have it.
        intermittent: Option<bool>,
        /// The customer's words.
        customer: String,
        /// The order number.
        order: String,
        /// What is to be learnt from it: said at the end.
        learn: String,
        /// What help may be asked for: `all`, `hints` or `none`; `all` where nothing is said.
        help: Option<Help>,
        /// A whole number from 0: another one gives another vehicle with the same fault.
        seed: Placed<f64>,
    }
}

words! {
    Level {
        "easy" = Level::Easy,
        "medium" = Level::Medium,
        "hard" = Level::Hard,
    }
    Help {
        "all" = Help::All,
        "hints" = Help::Hints,
        "none" = Help::None,
    }
}
