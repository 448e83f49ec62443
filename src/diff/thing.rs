//! What can differ: the entries of a knowledge folder, and what a difference bears on.

use serde::{Serialize, Serializer};

use crate::knowledge::Family;
use crate::text::counted;

/// What a difference bears on, in the order of the report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Effect {
    /// What is believed: rates, trees, what causes show, false alarms.
    Belief,
    /// What a reading counts as: limits, bands, units, instruments, conditions.
    Limit,
    /// What it takes: minutes, parts, set-ups, repairs.
    Cost,
    /// What people read, and what the knowledge is checked with.
    Words,
}

/// Writes the kinds and what is said of each from one table: what it is called; what an entry bears on that comes or
/// goes whole; of such an entry what is told, its title or what it says, then figures; and the family's list of them,
/// where its items have a name.
macro_rules! kinds {
    ($($(#[$doc:meta])* $kind:ident $word:literal $effect:ident $title:literal $figures:expr $(, $list:ident)?;)+) => {
        /// A kind of entry, in the order of the report.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Kind {
            $($(#[$doc])* $kind,)+
        }

        impl Kind {
            /// The kinds whose entries are the named items of one of the family's lists.
            pub(super) const LISTED: &'static [(&'static str, Self)] = &[$($((stringify!($list), Self::$kind),)?)+];

            /// What it is called.
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$kind => $word,)+
                }
            }

            pub(super) const fn effect(self) -> Effect {
                match self {
                    $(Self::$kind => Effect::$effect,)+
                }
            }

            /// The fields that tell what an entry is: a text, and figures.
            pub(super) const fn summary(self) -> (&'static str, &'static [&'static str]) {
                match self {
                    $(Self::$kind => ($title, &$figures),)+
                }
            }

            /// The names of the family's entries of a listed kind.
            pub(super) fn names(self, family: &mut Family) -> Vec<&mut String> {
                match self {
                    $($(Self::$kind => family.$list.iter_mut().map(|item| &mut item.name).collect(),)?)+
                    _ => Vec::new(),
                }
            }
        }
    };
}

#[rustfmt::skip] // a table reads as a table
kinds! {
    /// A family itself: its figures, its shop, its habit.
    Family "family" Belief "title" [];
    /// A cause.
    Cause "cause" Belief "title" ["rate", "repair"], causes;
    /// A complaint and its tree.
    Symptom "symptom" Belief "title" [], symptoms;
    /// A part that several trees share.
    SharedPart "shared part" Belief "event_words" [];
    /// A measurement.
    Measurement "measurement" Belief "title" ["minutes"], measurements;
    /// An outcome of a measurement, named `measurement/outcome`: told only where it was renamed.
    Outcome "outcome" Belief "title" [];
    /// A spec sheet.
    Vehicle "vehicle" Limit "title" [];
    /// What reads a number.
    Instrument "instrument" Limit "title" [], instruments;
    /// What must hold for a reading to count.
    Condition "condition" Limit "ask" [], conditions;
    /// What a column of a recording can be.
    Signal "signal" Limit "title" [], signals;
    /// What puts a cause right.
    Repair "repair" Cost "title" ["minutes", "parts"], repairs;
    /// What must be in place before a measurement.
    SetUp "set-up" Cost "title" ["minutes"], set_ups;
    /// Causes that are hard to tell apart.
    Ambiguity "ambiguity" Words "why" [];
    /// A caution text.
    Caution "caution" Words "text" [], cautions;
    /// The care that repairs ask for.
    Care "care text" Words "text" [], care;
    /// A trouble code.
    Code "trouble code" Words "means" [];
    /// A worked case.
    Case "worked case" Words "title" ["expect"];
    /// A vehicle to practise on.
    Exercise "exercise" Words "title" ["level"], exercises;
}

impl Kind {
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
