//! What can differ: the entries of a knowledge folder.

use serde::{Serialize, Serializer};

use crate::text::counted;

/// A kind of entry, in the order of the report.
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
    /// Causes that are hard to tell apart.
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

    /// So many of them: `1 cause`, `2 families`.
    pub(super) fn counted(self, count: usize) -> String {
        let word = self.word();
        let more = match word.strip_suffix('y') {
            Some(stem) => format!("{stem}ies"),
            None => format!("{word}s"),
        };
        counted(count, word, &more)
    }
}

impl Serialize for Kind {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.word().replace(' ', "-"))
    }
}

/// An entry, by its name in the files.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Thing {
    /// What kind of entry.
    pub kind: Kind,
    /// Its family; `None` for a vehicle and for a family itself.
    pub family: Option<String>,
    /// Its id; the newer one where it was renamed.
    #[serde(rename = "id")]
    pub name: String,
}

impl Thing {
    pub(super) fn new(kind: Kind, family: Option<&str>, name: &str) -> Self {
        Self {
            kind,
            family: family.map(str::to_owned),
            name: name.to_owned(),
        }
    }
}
