//! What is stated of a thing, one figure, word or list at a time.

use std::collections::BTreeMap;

/// What a statement bears on, in the order in which differences are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Effect {
    /// What is believed: rates, trees, what causes show, chance.
    Belief,
    /// What a reading counts as: limits, bands, units, instruments, conditions.
    Limit,
    /// What it takes: minutes, parts, set-ups, repairs.
    Cost,
    /// What people read, and what the knowledge is checked with.
    Words,
}

/// Which statement of a thing it is.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Aspect {
    /// What it bears on.
    pub effect: Effect,
    /// What is stated: a word that stays the same from version to version.
    pub field: &'static str,
    /// Where in the thing: outcome and cause of a `shows` figure, the events that lead to a gate.
    pub at: Vec<String>,
}

/// What is stated.
#[derive(Clone, Debug)]
pub enum Value {
    /// A number in its unit, with who says so where that belongs beside it.
    Number {
        /// The number.
        number: f64,
        /// Its unit; empty where it has none.
        unit: String,
        /// Who says so: shown beside the number, no part of it.
        source: Option<String>,
    },
    /// An id, a limit or a word of the format.
    Word(String),
    /// A text for people.
    Text(String),
    /// Ids, or lines of text.
    List(List),
}

/// Several ids or lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct List {
    /// What it holds; in their order where that counts, else sorted.
    pub items: Vec<String>,
    /// Whether their order counts.
    pub ordered: bool,
    /// Whether they are lines of text, which can be reworded.
    pub lines: bool,
}

impl PartialEq for Value {
    /// Equal where the same is stated, whoever says so.
    fn eq(&self, other: &Self) -> bool {
        match (self, other) {
            (
                Self::Number { number, unit, .. },
                Self::Number {
                    number: n, unit: u, ..
                },
            ) => number.total_cmp(n).is_eq() && unit == u,
            (Self::Word(one), Self::Word(other)) | (Self::Text(one), Self::Text(other)) => {
                one == other
            }
            (Self::List(one), Self::List(other)) => one == other,
            _ => false,
        }
    }
}

/// Everything stated of one thing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Facts(pub BTreeMap<Aspect, Value>);

impl Facts {
    /// States a value.
    pub(super) fn state(
        &mut self,
        effect: Effect,
        field: &'static str,
        at: &[&str],
        value: Value,
    ) -> &mut Self {
        let at = at.iter().map(|part| (*part).to_owned()).collect();
        self.0.insert(Aspect { effect, field, at }, value);
        self
    }

    pub(super) fn number(
        &mut self,
        effect: Effect,
        field: &'static str,
        at: &[&str],
        number: f64,
        unit: &str,
    ) -> &mut Self {
        // Adding zero turns -0.0 into 0.0: they state the same.
        let value = Value::Number {
            number: number + 0.0,
            unit: unit.to_owned(),
            source: None,
        };
        self.state(effect, field, at, value)
    }

    pub(super) fn word(
        &mut self,
        effect: Effect,
        field: &'static str,
        at: &[&str],
        word: &str,
    ) -> &mut Self {
        self.state(effect, field, at, Value::Word(word.to_owned()))
    }

    /// A truth: stated where it holds.
    pub(super) fn flag(&mut self, effect: Effect, field: &'static str, holds: bool) -> &mut Self {
        self.word(effect, field, &[], if holds { "yes" } else { "no" })
    }

    pub(super) fn text(&mut self, field: &'static str, at: &[&str], text: &str) -> &mut Self {
        self.state(Effect::Words, field, at, Value::Text(text.to_owned()))
    }

    /// Ids whose order says nothing.
    pub(super) fn set(
        &mut self,
        effect: Effect,
        field: &'static str,
        mut items: Vec<String>,
    ) -> &mut Self {
        items.sort_unstable();
        let list = List {
            items,
            ordered: false,
            lines: false,
        };
        self.state(effect, field, &[], Value::List(list))
    }

    /// Ids in an order.
    pub(super) fn order(
        &mut self,
        effect: Effect,
        field: &'static str,
        items: Vec<String>,
    ) -> &mut Self {
        let list = List {
            items,
            ordered: true,
            lines: false,
        };
        self.state(effect, field, &[], Value::List(list))
    }

    /// Lines of text, in an order or none.
    pub(super) fn lines(
        &mut self,
        field: &'static str,
        mut items: Vec<String>,
        ordered: bool,
    ) -> &mut Self {
        if !ordered {
            items.sort_unstable();
        }
        let list = List {
            items,
            ordered,
            lines: true,
        };
        self.state(Effect::Words, field, &[], Value::List(list))
    }

    /// What is stated of these fields, written out: equal for things that state the same there.
    pub(super) fn signature(&self, fields: &[&str]) -> String {
        let stated: Vec<(&Aspect, &Value)> = self
            .0
            .iter()
            .filter(|(aspect, _)| fields.is_empty() || fields.contains(&aspect.field))
            .collect();
        format!("{stated:?}")
    }
}
