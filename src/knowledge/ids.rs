//! Indices into one family. Each kind is a type of its own, so that none passes for another.
//!
//! Serialised, an id says which list it is a place of: `{"causes": 3}`.

use serde::Serialize;

macro_rules! index {
    ($(#[doc = $doc:literal] $name:ident in $list:literal;)+) => {$(
        #[doc = $doc]
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
        pub struct $name {
            #[serde(rename = $list)]
            place: u32,
        }

        impl $name {
            /// The index as a place in the family's list.
            pub const fn index(self) -> usize {
                self.place as usize
            }

            /// The id of a place in the family's list; lists are far shorter than `u32` reaches.
            pub const fn at(place: usize) -> Self {
                #[allow(clippy::cast_possible_truncation, reason = "a family's lists are bounded by the size of its files")]
                Self { place: place as u32 }
            }
        }
    )+};
}

index! {
    #[doc = "A cause of the family."]
    CauseId in "causes";
    #[doc = "A repair of the family."]
    RepairId in "repairs";
    #[doc = "A measurement of the family."]
    MeasurementId in "measurements";
    #[doc = "An outcome of one measurement."]
    OutcomeId in "outcomes";
    #[doc = "A symptom of the family."]
    SymptomId in "symptoms";
    #[doc = "A set-up of the family."]
    SetUpId in "set_ups";
    #[doc = "An instrument of the family."]
    InstrumentId in "instruments";
    #[doc = "A condition of the family."]
    ConditionId in "conditions";
    #[doc = "A signal of the family."]
    SignalId in "signals";
}
