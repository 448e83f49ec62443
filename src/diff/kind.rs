//! What can differ: the entries of a knowledge folder, and what a difference bears on.

use serde::Serialize;

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

/// How an entry of a kind is told.
pub(super) struct Told {
    /// What the kind is called.
    pub(super) word: &'static str,
    /// Whether that is said before the id; what is most talked about goes without.
    pub(super) before_id: bool,
    /// What an entry bears on that comes or goes whole.
    pub(super) effect: Effect,
    /// The field that says what such an entry is,
    pub(super) title: &'static str,
    /// and its figures that are told too.
    pub(super) figures: &'static [&'static str],
}

/// Writes the kinds with what is said of each, and the family's list of them where its items have a name.
macro_rules! kinds {
    ($($(#[$doc:meta])* $kind:ident $word:literal $before_id:literal $effect:ident $title:literal $figures:expr $(, $list:ident)?;)+) => {
        /// A kind of entry, in the order of the report.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
        #[serde(rename_all = "kebab-case")]
        pub enum Kind {
            $($(#[$doc])* $kind,)+
        }

        impl Kind {
            /// The kinds whose entries are the named items of one of the family's lists.
            pub(super) const LISTED: &'static [(&'static str, Self)] = &[$($((stringify!($list), Self::$kind),)?)+];

            pub(super) const fn told(self) -> Told {
                match self {
                    $(Self::$kind => Told { word: $word, before_id: $before_id, effect: Effect::$effect, title: $title, figures: &$figures },)+
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
    Family "family" false Belief "title" [];
    /// A cause.
    Cause "cause" false Belief "title" ["rate", "repair"], causes;
    /// A complaint and its tree.
    Symptom "symptom" false Belief "title" [], symptoms;
    /// A part that several trees share.
    SharedPart "shared part" true Belief "event_words" [];
    /// A measurement.
    Measurement "measurement" false Belief "title" ["minutes"], measurements;
    /// An outcome of a measurement, named `measurement/outcome`: told only where it was renamed.
    Outcome "outcome" true Belief "title" [];
    /// A spec sheet.
    Vehicle "vehicle" false Limit "title" [];
    /// What reads a number.
    Instrument "instrument" true Limit "title" [], instruments;
    /// What must hold for a reading to count.
    Condition "condition" true Limit "ask" [], conditions;
    /// What a column of a recording can be.
    Signal "signal" true Limit "title" [], signals;
    /// What puts a cause right.
    Repair "repair" false Cost "title" ["minutes", "parts"], repairs;
    /// What must be in place before a measurement.
    SetUp "set-up" true Cost "title" ["minutes"], set_ups;
    /// Causes that are hard to tell apart.
    Ambiguity "ambiguity" true Words "why" [];
    /// A caution text.
    Caution "caution" true Words "text" [], cautions;
    /// The care that repairs ask for.
    CareText "care text" true Words "text" [], care;
    /// A trouble code.
    TroubleCode "trouble code" true Words "means" [];
    /// A worked case.
    WorkedCase "worked case" true Words "title" ["expect"], cases;
    /// A vehicle to practise on.
    Exercise "exercise" true Words "title" ["level"], exercises;
}

impl Kind {
    /// What it is called.
    pub const fn word(self) -> &'static str {
        self.told().word
    }

    /// So many of them: `1 cause`, `2 families`.
    pub(super) fn counted(self, count: usize) -> String {
        let word = self.word();
        counted(count, word, &format!("{word}s").replace("ys", "ies"))
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
