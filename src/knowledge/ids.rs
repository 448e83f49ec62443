//! Indices into one family. Each kind is a type of its own, so that none passes for another.

use serde::Serialize;

macro_rules! index {
    ($(#[doc = $doc:literal] $name:ident;)+) => {$(
        #[doc = $doc]
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
        pub struct $name(u32);

        impl $name {
            /// The index as a place in the family's list.
            pub const fn index(self) -> usize {
                self.0 as usize
            }

            /// The id of a place in the family's list; lists are far shorter than `u32` reaches.
            pub const fn at(place: usize) -> Self {
                #[allow(clippy::cast_possible_truncation, reason = "a family's lists are bounded by the size of its files")]
                Self(place as u32)
            }
        }
    )+};
}

index! {
    #[doc = "A cause of the family."]
    CauseId;
    #[doc = "A repair of the family."]
    RepairId;
    #[doc = "A measurement of the family."]
    MeasurementId;
    #[doc = "An outcome of one measurement."]
    OutcomeId;
    #[doc = "A symptom of the family."]
    SymptomId;
    #[doc = "A set-up of the family."]
    SetUpId;
    #[doc = "An instrument of the family."]
    InstrumentId;
    #[doc = "A condition of the family."]
    ConditionId;
    #[doc = "A signal of the family."]
    SignalId;
}
