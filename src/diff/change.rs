//! One difference between two editions of the knowledge.

use super::fact::{Aspect, Effect, Facts, Value};
use super::thing::{Kind, Thing};

/// One difference.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// What differs.
    pub thing: Thing,
    /// How.
    pub what: What,
}

/// How a thing differs.
#[derive(Clone, Debug, PartialEq)]
pub enum What {
    /// It is new, and states this.
    Added(Facts),
    /// It is no more, and stated this.
    Removed(Facts),
    /// It has another id.
    Renamed {
        /// The id it had.
        from: String,
    },
    /// It states something else; `None` where it states nothing.
    Stated {
        /// Which statement.
        aspect: Aspect,
        /// What was stated.
        was: Option<Value>,
        /// What is stated now.
        now: Option<Value>,
    },
    /// A list of it differs.
    Listed {
        /// Which list.
        aspect: Aspect,
        /// What differs in it.
        differs: Box<ListDiffers>,
    },
}

/// One item of a list, with its place from 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// Its place.
    pub place: usize,
    /// What it says.
    pub text: String,
}

/// What differs in a list.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ListDiffers {
    /// Items that came, by their new places.
    pub added: Vec<Item>,
    /// Items that went, by their old places.
    pub removed: Vec<Item>,
    /// Lines that say nearly the same: as they were, as they are.
    pub reworded: Vec<(Item, Item)>,
    /// What stands in both, as it was ordered and as it is, where that differs.
    pub reordered: Option<[Vec<String>; 2]>,
}

impl Change {
    /// What the difference bears on.
    #[must_use]
    pub const fn effect(&self) -> Effect {
        match &self.what {
            What::Stated { aspect, .. } | What::Listed { aspect, .. } => aspect.effect,
            What::Renamed { .. } => Effect::Words,
            What::Added(_) | What::Removed(_) => match self.thing.kind {
                Kind::Family
                | Kind::Cause
                | Kind::Symptom
                | Kind::SharedPart
                | Kind::Measurement
                | Kind::Outcome => Effect::Belief,
                Kind::Vehicle | Kind::Instrument | Kind::Condition => Effect::Limit,
                Kind::Repair | Kind::SetUp => Effect::Cost,
                Kind::Ambiguity | Kind::Caution | Kind::Care | Kind::Code | Kind::Case => {
                    Effect::Words
                }
            },
        }
    }
}
