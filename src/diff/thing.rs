//! What can differ: the things of a knowledge folder.

/// A kind of thing, in the order in which differences are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// A family itself: its figures, its shop, its habit.
    Family,
    /// A cause.
    Cause,
    /// A complaint and its tree.
    Symptom,
    /// A part that several trees share.
    SharedPart,
    /// A measurement.
    Measurement,
    /// An outcome of a measurement, named `measurement/outcome`.
    Outcome,
    /// A spec sheet.
    Vehicle,
    /// What reads a number.
    Instrument,
    /// What must hold for a reading to count.
    Condition,
    /// What puts a cause right.
    Repair,
    /// What must be in place before a measurement.
    SetUp,
    /// Causes that look alike.
    Ambiguity,
    /// A caution text.
    Caution,
    /// The care that repairs ask for.
    Care,
    /// A trouble code.
    Code,
    /// A worked case.
    Case,
}

impl Kind {
    /// What it is called.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Family => "family",
            Self::Cause => "cause",
            Self::Symptom => "symptom",
            Self::SharedPart => "shared part",
            Self::Measurement => "measurement",
            Self::Outcome => "outcome",
            Self::Vehicle => "vehicle",
            Self::Instrument => "instrument",
            Self::Condition => "condition",
            Self::Repair => "repair",
            Self::SetUp => "set-up",
            Self::Ambiguity => "ambiguity",
            Self::Caution => "caution",
            Self::Care => "care text",
            Self::Code => "trouble code",
            Self::Case => "worked case",
        }
    }

    /// Several of them.
    #[must_use]
    pub const fn plural(self) -> &'static str {
        match self {
            Self::Family => "families",
            Self::Cause => "causes",
            Self::Symptom => "symptoms",
            Self::SharedPart => "shared parts",
            Self::Measurement => "measurements",
            Self::Outcome => "outcomes",
            Self::Vehicle => "vehicles",
            Self::Instrument => "instruments",
            Self::Condition => "conditions",
            Self::Repair => "repairs",
            Self::SetUp => "set-ups",
            Self::Ambiguity => "ambiguities",
            Self::Caution => "cautions",
            Self::Care => "care texts",
            Self::Code => "trouble codes",
            Self::Case => "worked cases",
        }
    }
}

/// A thing, by its name in the files.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Thing {
    /// What kind of thing.
    pub kind: Kind,
    /// Its family; `None` for a vehicle and for a family itself.
    pub family: Option<String>,
    /// Its id; the newer one where it was renamed.
    pub name: String,
}
