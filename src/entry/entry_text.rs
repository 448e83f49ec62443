//! The parts of a typed reading: numbers, the texts of their units, what stands between them.

use super::number;
use super::number::{Doubt, Number};
use crate::text::quoted;
use crate::units::Unit;

/// A number and the text of its unit, which may be empty.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Typed {
    pub(super) number: Number,
    pub(super) unit: String,
}

/// How the numbers of a text belong together.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Shape {
    Point(Typed),
    Swing(Typed, Typed),
    Above(Typed),
    Below(Typed),
}

/// What stands after a number: `± 20` or `~20`.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Spread {
    pub(super) typed: Typed,
    /// A standard uncertainty (`~`), not a half-width (`±`).
    pub(super) standard: bool,
}

/// The parts of one typed reading.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Parts {
    pub(super) shape: Shape,
    pub(super) spread: Option<Spread>,
}

impl Parts {
    /// Numbers with nothing after them.
    const fn of(shape: Shape) -> Self {
        Self {
            shape,
            spread: None,
        }
    }

    /// The greatest doubt about any of its numbers.
    pub(super) fn doubt(&self) -> Doubt {
        let numbers = match &self.shape {
            Shape::Point(typed) | Shape::Above(typed) | Shape::Below(typed) => [Some(typed), None],
            Shape::Swing(from, to) => [Some(from), Some(to)],
        };
        let spread = self.spread.as_ref().map(|spread| &spread.typed);
        numbers
            .into_iter()
            .chain([spread])
            .flatten()
            .map(|typed| typed.number.doubt)
            .max()
            .unwrap_or(Doubt::None)
    }
}

/// Why a text falls into no parts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Unreadable {
    /// No number where one was due.
    NoNumber,
    /// A number whose marks fit no way of writing.
    BadNumber(String),
    /// `about 520`: how near is not said.
    Vague,
    /// A fraction.
    Fraction,
    /// Things that do not go together.
    Mixed,
    /// A spread below nothing.
    NegativeSpread,
}

const ABOVE: [&str; 7] = [
    ">=",
    ">",
    "≥",
    "over ",
    "above ",
    "more than ",
    "greater than ",
];
const BELOW: [&str; 6] = ["<=", "<", "≤", "under ", "below ", "less than "];
const VAGUE: [&str; 9] = [
    "~",
    "≈",
    "about ",
    "approx. ",
    "approx ",
    "approximately ",
    "ca. ",
    "ca ",
    "circa ",
];
const PLUS_MINUS: [&str; 5] = ["±", "+/-", "+-", "+\u{2212}", "-+"];
const SWING: [&str; 4] = ["...", "..", "…", "to "];

/// What may stand between a number and the next.
#[derive(Clone, Copy, PartialEq)]
enum Between {
    Swing,
    PlusMinus,
    Standard,
}

/// Takes a typed reading apart.
pub(super) fn split(text: &str) -> Result<Parts, Unreadable> {
    let lower = text.to_lowercase();
    if let Some((from, to)) = lower
        .strip_prefix("between ")
        .and_then(|rest| rest.split_once(" and "))
    {
        return split(&format!("{from} to {to}"));
    }
    let after = |words: &[&str]| {
        let found = words.iter().find(|word| lower.starts_with(**word))?;
        // Small letters can take more or fewer bytes, so the text is cut by characters.
        Some(text.chars().skip(found.chars().count()).collect::<String>())
    };
    let above: fn(Typed) -> Shape = Shape::Above;
    for (words, shape) in [(&ABOVE[..], above), (&BELOW[..], Shape::Below)] {
        if let Some(rest) = after(words) {
            return end_stop(&rest).map(|typed| Parts::of(shape(typed)));
        }
    }
    if let Some(rest) = after(&VAGUE) {
        let number = number::begins(&trimmed(&rest));
        return Err(if number {
            Unreadable::Vague
        } else {
            Unreadable::NoNumber
        });
    }
    let characters = trimmed(text);
    let (first, next) = typed(&characters)?;
    let Some((between, rest)) = next else {
        return Ok(Parts::of(Shape::Point(first)));
    };
    let (second, after) = typed(rest)?;
    if after.is_some() {
        return Err(Unreadable::Mixed);
    }
    if between == Between::Swing {
        return Ok(Parts::of(Shape::Swing(first, second)));
    }
    let half = second.number.decimal.or(second.number.thousands);
    if half.is_some_and(|half| half < 0.0) {
        return Err(Unreadable::NegativeSpread);
    }
    let spread = Spread {
        typed: second,
        standard: between == Between::Standard,
    };
    Ok(Parts {
        shape: Shape::Point(first),
        spread: Some(spread),
    })
}

fn end_stop(rest: &str) -> Result<Typed, Unreadable> {
    let characters = trimmed(rest);
    match typed(&characters)? {
        (typed, None) => Ok(typed),
        (_, Some(_)) => Err(Unreadable::Mixed),
    }
}

fn trimmed(text: &str) -> Vec<char> {
    text.trim().chars().collect()
}

type Next<'a> = Option<(Between, &'a [char])>;

/// A number, the text of its unit, and what comes after.
fn typed(text: &[char]) -> Result<(Typed, Next<'_>), Unreadable> {
    let blanks = text.iter().take_while(|c| c.is_whitespace()).count();
    let text = &text[blanks..];
    if !number::begins(text) {
        return Err(Unreadable::NoNumber);
    }
    let Some((number, length)) = number::read(text) else {
        let marked = |c: &&char| c.is_ascii_digit() || matches!(c, '.' | ',' | ' ' | '-' | '+');
        let shown: String = text.iter().take_while(marked).collect();
        return Err(Unreadable::BadNumber(quoted(shown.trim())));
    };
    let rest = &text[length..];
    if let ['/', c, ..] = rest
        && c.is_ascii_digit()
    {
        return Err(Unreadable::Fraction);
    }
    let whole: String = rest.iter().collect();
    // `0-1` and `0..1` are swings, though hyphens and points do not matter in a unit.
    let apart = |c: char| number::is_minus(c) || matches!(c, '.' | '…' | '±' | '+' | '~');
    let is_unit = !whole.trim_start().starts_with(apart) && !Unit::read(&whole, None).is_empty();
    let (unit, next) = if is_unit {
        // `min-1`, `lb-ft`: the hyphen belongs to the unit.
        (whole, None)
    } else {
        (0..rest.len())
            .find_map(|at| {
                let (between, length) = between(rest, at)?;
                let unit: String = rest[..at].iter().collect();
                Some((unit, Some((between, &rest[at + length..]))))
            })
            .unwrap_or((whole, None))
    };
    Ok((
        Typed {
            number,
            unit: unit.trim().to_owned(),
        },
        next,
    ))
}

/// What stands at this place between one number and the next, and its length.
fn between(rest: &[char], at: usize) -> Option<(Between, usize)> {
    let here = &rest[at..];
    let is = |word: &str| {
        let letters = here.iter().map(char::to_ascii_lowercase);
        let length = word.chars().count();
        (letters.take(length).eq(word.chars())).then_some(length)
    };
    let number_after = |length: usize| {
        let after = &here[length..];
        let blanks = after.iter().take_while(|c| c.is_whitespace()).count();
        number::begins(&after[blanks..])
    };
    if let Some(length) = PLUS_MINUS.into_iter().find_map(is) {
        return Some((Between::PlusMinus, length));
    }
    if here.first() == Some(&'~') {
        return Some((Between::Standard, 1));
    }
    let apart = at == 0 || rest.get(at - 1).is_some_and(|c| !c.is_alphabetic());
    let word = SWING
        .into_iter()
        .filter(|word| apart || !word.ends_with(' '))
        .find_map(is);
    let hyphen = here.first().copied().is_some_and(number::is_minus) && !ends_per_minute(rest, at);
    let length = word
        .or_else(|| hyphen.then_some(1))
        .filter(|&length| number_after(length))?;
    Some((Between::Swing, length))
}

/// Whether the hyphen at this place is the one of `min-1`.
fn ends_per_minute(rest: &[char], at: usize) -> bool {
    let before: String = rest[..at].iter().filter(|c| !c.is_whitespace()).collect();
    let after = &rest[at + 1..];
    matches!(before.as_str(), "min" | "s")
        && after.first() == Some(&'1')
        && !after
            .get(1)
            .is_some_and(|c| c.is_ascii_digit() || matches!(c, '.' | ','))
}
