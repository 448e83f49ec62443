//! What a person types for a number, and what it is understood to be.
//!
//! Nothing is guessed in silence: where a text can mean two things the answer is a question with
//! both, and where it can mean nothing here, words of what was understood and what would fit.

use super::answer::Answer;
use super::entry_text;
use super::entry_text::{Parts, Shape, Spread, Typed, Unreadable};
use super::number::{Doubt, Style};
use super::unit_text;
use super::unit_text::Meaning;
use crate::text::figures::rounded;
use crate::text::{either, plain, quoted};
use crate::units::conformity::{Band, End, Known};
use crate::units::uncertainty::uniform;
use crate::units::{Dimension, Interval, Unit};
use std::fmt;

/// The longest text that is read at all, in characters.
pub const LONGEST: usize = 200;

/// The numbers of a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Span {
    /// One value.
    Point(f64),
    /// The needle swings from the one to the other, the lower first.
    Swing(f64, f64),
    /// The needle is against its upper stop: more than this.
    Above(f64),
    /// The needle is against its lower stop: less than this.
    Below(f64),
}

impl Span {
    fn map(self, with: impl Fn(f64) -> f64) -> Self {
        match self {
            Self::Point(x) => Self::Point(with(x)),
            Self::Swing(from, to) => Self::Swing(with(from), with(to)),
            Self::Above(stop) => Self::Above(with(stop)),
            Self::Below(stop) => Self::Below(with(stop)),
        }
    }
}

/// A typed reading, understood.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// The text as it was typed, untouched.
    pub raw: String,
    /// Its numbers, in `unit`.
    pub span: Span,
    /// The unit they count in.
    pub unit: Unit,
    /// Whether no unit was typed, and `unit` is the measurement's.
    pub assumed: bool,
    /// The standard uncertainty that the person stated, in `unit` (a difference: no offset).
    /// `520 ± 20` says that the value lies within 20 of 520, anywhere alike: `20/√3` (JCGM 100, 4.3.7;
    /// its 7.2.2 warns that ± is read as an interval). `520~20` states the standard uncertainty itself.
    pub own_uncertainty: Option<f64>,
}

/// What the measurement expects.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expected {
    /// Its unit: that of a bare number, and of the spans below.
    pub unit: Unit,
    /// What can sensibly be read here; outside it the person is asked.
    pub plausible: Option<Interval>,
    /// What the instrument can show; outside it there is no reading.
    pub range: Option<Interval>,
    /// Where it lies on a vehicle without a fault. A bare number outside it is questioned where it would fit in another
    /// unit; none where the number is taken as it stands.
    pub limits: Option<Band>,
}

impl Expected {
    /// The same with bare numbers in `unit`; as it is where that measures something else.
    pub fn in_unit(self, unit: Unit) -> Self {
        let interval = |interval: Interval| self.unit.convert_interval(interval, unit);
        if self.unit.dimension() != unit.dimension() {
            return self;
        }
        Self {
            unit,
            plausible: self.plausible.and_then(interval),
            range: self.range.and_then(interval),
            limits: self
                .limits
                .and_then(|limits| limits.converted(self.unit, unit)),
        }
    }
}

impl Entry {
    /// A number that nobody typed.
    pub fn point(number: f64, unit: Unit) -> Self {
        Self {
            raw: String::new(),
            span: Span::Point(number),
            unit,
            assumed: true,
            own_uncertainty: None,
        }
    }

    /// The same reading in another unit; `None` where that measures something else. The stated
    /// uncertainty converts without the offset.
    pub fn in_unit(&self, unit: Unit) -> Option<Self> {
        self.unit.convert(0.0, unit)?;
        let value = |number: f64| self.unit.convert(number, unit).unwrap_or(number);
        let span = self.span.map(value);
        let own = self
            .own_uncertainty
            .and_then(|u| self.unit.convert_difference(u, unit));
        Some(Self {
            span,
            unit,
            own_uncertainty: own,
            ..self.clone()
        })
    }

    /// The same reading in another unit, its numbers rounded to what an instrument with the standard uncertainty `u` in
    /// that unit can tell apart; `None` where that measures something else.
    pub fn as_read_in(&self, unit: Unit, u: f64) -> Option<Self> {
        let entry = self.in_unit(unit)?;
        let span = entry.span.map(|number| as_read(number, u));
        Some(Self { span, ..entry })
    }

    /// What the reading says of the true value, in `unit`, for bands that count in `unit`.
    /// `instrument` is the instrument's standard uncertainty there; what the person stated stands in
    /// its place. `None` where the unit measures something else.
    pub fn known(&self, unit: Unit, instrument: f64) -> Option<Known> {
        let here = self.in_unit(unit)?;
        let u = here.own_uncertainty.unwrap_or(instrument);
        Some(match here.span {
            Span::Point(value) => Known::Normal { value, u },
            Span::Swing(from, to) => Known::Swing { from, to, u },
            Span::Above(stop) => Known::Above(stop),
            Span::Below(stop) => Known::Below(stop),
        })
    }

    /// The one number that stands for it: the value, the middle of a swing, the stop.
    pub fn middle(&self) -> f64 {
        match self.span {
            Span::Point(value) | Span::Above(value) | Span::Below(value) => value,
            Span::Swing(from, to) => f64::midpoint(from, to),
        }
    }

    fn numbers(&self) -> [f64; 2] {
        match self.span {
            Span::Point(value) | Span::Above(value) | Span::Below(value) => [value, value],
            Span::Swing(from, to) => [from, to],
        }
    }
}

impl fmt::Display for Entry {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.span {
            Span::Point(value) => f.write_str(&plain(value))?,
            Span::Swing(from, to) => write!(f, "{} to {}", plain(from), plain(to))?,
            Span::Above(stop) => write!(f, "above {}", plain(stop))?,
            Span::Below(stop) => write!(f, "below {}", plain(stop))?,
        }
        if self.unit != Unit::One {
            write!(f, " {}", self.unit)?;
        }
        if let Some(u) = self.own_uncertainty {
            write!(f, " (standard uncertainty {})", rounded(u))?;
        }
        Ok(())
    }
}

/// A number rounded to what an instrument with the standard uncertainty `u` can tell apart: to the greatest power of
/// ten that is no more than half of `u`.
fn as_read(number: f64, u: f64) -> f64 {
    let step = 10f64.powf((u / 2.0).log10().floor());
    let read = (number / step).round() * step;
    if step.is_normal() && read.is_finite() {
        read
    } else {
        number
    }
}

/// What a typed text means where `expected` is to be read.
///
/// Read are: a number with a decimal point or comma, a unit behind it or none; a swing
/// (`480-560 kPa`, `480 to 560`); an end stop (`>6 MPa`, `<0.1`), and `OL` of a multimeter, which is
/// above the instrument's range; an own uncertainty (`520 ± 20 kPa`, `520 +- 20`, `520~20`).
/// Every text gives one of the three answers; none of their words holds a control character.
pub fn understand(text: &str, expected: &Expected) -> Answer<Entry> {
    consider(text, expected).unwrap_or_else(Answer::Refused)
}

/// What several tries of one reading mean: `1.2, 1.4, 1.3 s` is their mean. `None` where the text is no such list.
pub fn understand_tries(text: &str, expected: &Expected) -> Option<Answer<Entry>> {
    let parted = text.replace(';', ", ").replace(" and ", ", ");
    let listed = parted.split(", ").map(str::trim);
    let mut tries: Vec<&str> = listed.filter(|piece| !piece.is_empty()).collect();
    let decimal = |piece: &str| piece.contains(['.', ',']);
    if tries.len() == 1 && text.split_whitespace().all(decimal) {
        tries = text.split_whitespace().collect();
    }
    if tries.len() < 2 {
        return None;
    }
    let unit_of = |piece: &str| match entry_text::split(piece).ok()?.shape {
        Shape::Point(typed) => Some(typed.unit),
        _ => None,
    };
    // The unit behind the last stands for all of them.
    let last = unit_of(tries.last()?)?;
    let mut entries = Vec::new();
    for piece in &tries {
        let unit = if unit_of(piece)?.is_empty() {
            &last
        } else {
            ""
        };
        match understand(&format!("{piece} {unit}"), expected) {
            Answer::Taken(entry) => entries.push(*entry),
            Answer::Question { words, .. } | Answer::Refused(words) => {
                return Some(Answer::Refused(words));
            }
        }
    }
    let assumed = entries.iter().all(|entry| entry.assumed);
    let numbers = entries.iter().map(|entry| entry.in_unit(expected.unit));
    let sum: f64 = numbers
        .map(|entry| Some(entry?.middle()))
        .sum::<Option<f64>>()?;
    let mean = sum / f64::from(u32::try_from(tries.len()).ok()?);
    Some(Answer::Taken(Box::new(Entry {
        raw: text.to_owned(),
        assumed,
        ..Entry::point(mean, expected.unit)
    })))
}

fn consider(text: &str, expected: &Expected) -> Result<Answer<Entry>, String> {
    if text.chars().nth(LONGEST).is_some() {
        return Err(format!(
            "That is longer than {LONGEST} characters, and no reading. {}",
            fitting(expected)
        ));
    }
    if text.trim().is_empty() {
        return Err(format!("Nothing was typed. {}", fitting(expected)));
    }
    if matches!(
        text.trim().to_lowercase().as_str(),
        "ol" | "o.l" | "o.l." | "0l" | "overload"
    ) {
        return over_limit(text, expected);
    }
    let parts = entry_text::split(text.trim()).map_err(|why| unreadable(text, &why, expected))?;
    let doubt = parts.doubt();
    let (mut entries, asked) = meanings(text, &parts, expected)?;
    let asked = asked || doubt == Doubt::Ask;
    let meant = entries.len();
    let bare = entries.first().filter(|entry| entry.assumed).cloned();
    let mut refusals = Vec::new();
    entries.retain(|entry| match check(entry, expected) {
        Ok(()) => true,
        Err(words) => {
            refusals.push(words);
            false
        }
    });
    let Some(first) = entries.first().cloned() else {
        let fits = bare.and_then(|bare| cannot_be(&bare, expected));
        let refusal = refusals.into_iter().next();
        return fits.ok_or_else(|| refusal.unwrap_or_else(|| fitting(expected)));
    };
    // Where only one of several meanings can be, it is meant.
    if asked && (entries.len() > 1 || meant == 1) {
        return Ok(which(text, entries));
    }
    let (sound, odd): (Vec<Entry>, Vec<Entry>) = entries
        .into_iter()
        .partition(|entry| oddity(entry, expected).is_none());
    if let Some(question) = far_from_limits(&first, expected).filter(|_| first.assumed) {
        return Ok(question);
    }
    // `1.200` is a decimal number first; its other meaning counts where the first would be odd.
    match (oddity(&first, expected), sound.is_empty()) {
        (None, _) => Ok(Answer::Taken(Box::new(first))),
        (Some(_), false) if doubt == Doubt::Point => {
            let alternatives: Vec<Entry> = sound.into_iter().chain(odd).collect();
            Ok(which(text, alternatives))
        }
        (Some(why), _) => Ok(question_of(&first, &why, expected)),
    }
}

/// Asks which of the things that a text can mean is meant.
fn which(text: &str, alternatives: Vec<Entry>) -> Answer<Entry> {
    let ways: Vec<String> = alternatives.iter().map(ToString::to_string).collect();
    let ask = if ways.len() > 1 {
        "Which is it?"
    } else {
        "Is that meant?"
    };
    let words = format!("{} can mean {}. {ask}", quoted(text.trim()), either(&ways));
    Answer::Question {
        alternatives,
        words,
    }
}

/// Asks back about an odd reading; for a bare number, also whether another unit was meant.
fn question_of(entry: &Entry, why: &str, expected: &Expected) -> Answer<Entry> {
    let mut alternatives = vec![entry.clone()];
    if entry.assumed {
        alternatives.extend(elsewhere(entry, expected).into_iter().take(3));
    }
    let mut words = format!("{why} Is it meant so?");
    if let [_, others @ ..] = alternatives.as_slice()
        && !others.is_empty()
    {
        let ways: Vec<String> = others.iter().map(ToString::to_string).collect();
        words = format!("{why} Is it meant so, or {}?", either(&ways));
    }
    Answer::Question {
        alternatives,
        words,
    }
}

/// A bare number in the other units of its dimension in which it is plausible here, everyday units first.
fn elsewhere(bare: &Entry, expected: &Expected) -> Vec<Entry> {
    let units = Unit::of(expected.unit.dimension()).filter(|unit| *unit != expected.unit);
    let others = units.map(|unit| Entry {
        unit,
        assumed: false,
        ..bare.clone()
    });
    let mut others: Vec<Entry> = others
        .filter(|other| check(other, expected).is_ok() && oddity(other, expected).is_none())
        .collect();
    others.sort_by_key(|other| !other.unit.is_everyday());
    others
}

/// Asks whether a bare number that the limits do not hold was meant in another unit, where it would fit them there.
fn far_from_limits(bare: &Entry, expected: &Expected) -> Option<Answer<Entry>> {
    let limits = expected.limits?;
    let (lowest, highest) = (limits.lowest(), limits.highest());
    let number = bare.middle();
    // Beside a single limit, or limits on both sides of 0, what lies within a third of the limit is normal in size.
    let (least, most) = if lowest > 0.0 {
        let most = if highest.is_finite() {
            highest
        } else {
            3.0 * lowest
        };
        (lowest, most)
    } else {
        let limit = if number < 0.0 { -lowest } else { highest };
        (limit / 3.0, limit)
    };
    // So little is hardly ever read: another unit may also make it a reading outside the limits.
    let tiny = number != 0.0 && number.abs() < least / 20.0;
    if least <= 0.0 || !most.is_finite() || (limits.holds(number) && !tiny) {
        return None;
    }
    let why = format!("{bare} is far from {}", limit_words(limits, expected.unit));
    let fits = |size: f64| {
        if tiny {
            (least / 5.0..=10.0 * most).contains(&size)
        } else {
            (least..=most).contains(&size)
        }
    };
    other_unit(bare, true, &why, fits, expected)
}

/// Asks whether a bare number that cannot be was meant in another unit, where it is plausible.
fn cannot_be(bare: &Entry, expected: &Expected) -> Option<Answer<Entry>> {
    let range = expected.plausible.or(expected.range)?;
    let (from, to) = (rounded(range.from()), rounded(range.to()));
    let why = format!("{bare} cannot be: {from} to {to} is measured here");
    other_unit(bare, false, &why, |_| true, expected)
}

/// Asks whether a bare number was meant in another everyday unit, in which it would have a fitting size here and be
/// plausible; none where there is no such unit.
fn other_unit(
    bare: &Entry,
    can_be: bool,
    why: &str,
    fits: impl Fn(f64) -> bool,
    expected: &Expected,
) -> Option<Answer<Entry>> {
    let here = |entry: &Entry| {
        let here = entry.in_unit(expected.unit);
        here.map_or(f64::NAN, |here| here.middle())
    };
    let mut alternatives = elsewhere(bare, expected);
    alternatives.retain(|other| other.unit.is_everyday() && fits(here(other).abs()));
    let would_be = |other: &Entry| {
        format!(
            "{other} would be {} {}",
            rounded(here(other)),
            expected.unit
        )
    };
    let told: Vec<String> = alternatives.iter().map(would_be).collect();
    let ask = match alternatives.as_slice() {
        [] => return None,
        [only] => format!("Is it {}?", only.unit),
        _ => "Which is it?".to_owned(),
    };
    if can_be && alternatives.len() > 1 {
        alternatives.insert(0, bare.clone());
    }
    let words = format!("{why}; {}. {ask}", told.join(", "));
    Some(Answer::Question {
        alternatives,
        words,
    })
}

/// Limits in words: `700 to 815 psi`, `at most 250 kPa`.
fn limit_words(limits: Band, unit: Unit) -> String {
    let end = |end: Option<End>| end.map(|end| rounded(end.at));
    match (end(limits.from), end(limits.to)) {
        (Some(from), Some(to)) => format!("{from} to {to} {unit}"),
        (Some(from), None) => format!("at least {from} {unit}"),
        (None, Some(to)) => format!("at most {to} {unit}"),
        (None, None) => format!("any {unit}"),
    }
}

/// `OL` on a multimeter: more than the instrument can show.
fn over_limit(text: &str, expected: &Expected) -> Result<Answer<Entry>, String> {
    let Some(range) = expected.range else {
        return Err(format!(
            "{} says more than the instrument can show, and its range is not known here. Write > and the end of its range, in {}.",
            quoted(text.trim()),
            expected.unit
        ));
    };
    Ok(Answer::Taken(Box::new(Entry {
        raw: text.to_owned(),
        span: Span::Above(range.to()),
        ..Entry::point(range.to(), expected.unit)
    })))
}

/// The readings that the parts can mean, and whether the units alone make it a question.
fn meanings(text: &str, parts: &Parts, expected: &Expected) -> Result<(Vec<Entry>, bool), String> {
    let unit_of = |text: &str| unit_text::meanings(text, expected.unit);
    let (first, second) = match &parts.shape {
        Shape::Point(typed) | Shape::Above(typed) | Shape::Below(typed) => (typed, None),
        Shape::Swing(from, to) => (from, Some(to)),
    };
    // A unit that stands once stands for both numbers.
    let spread_unit = parts
        .spread
        .as_ref()
        .map(|spread| spread.typed.unit.as_str());
    let later = second
        .map(|to| to.unit.as_str())
        .or(spread_unit.filter(|unit| *unit != "%"));
    let mut first_unit = first.unit.as_str();
    if first_unit.is_empty() {
        first_unit = later.unwrap_or_default();
    }
    let assumed = first_unit.is_empty();
    let (ways, mut asked) = unit_of(first_unit)?;
    let styles: &[Style] = match parts.doubt() {
        Doubt::None => &[Style::Decimal],
        Doubt::Point | Doubt::Ask => &[Style::Decimal, Style::Thousands],
    };
    let mut entries: Vec<Entry> = Vec::new();
    for &style in styles {
        for &way in &ways {
            let number = |typed: &Typed| typed.number.in_style(style).map(|x| x * way.times);
            let Some(value) = number(first) else { continue };
            let span = match (&parts.shape, second) {
                (Shape::Above(_), _) => Span::Above(value),
                (Shape::Below(_), _) => Span::Below(value),
                (Shape::Swing(..), Some(to)) if to.unit.is_empty() || first.unit.is_empty() => {
                    match number(to) {
                        Some(end) => swing(value, end),
                        None => continue,
                    }
                }
                (Shape::Swing(..), Some(to)) => {
                    let (other_ways, ask) = unit_of(&to.unit)?;
                    asked |= ask;
                    let end = other_ways.first().and_then(|other| {
                        let end = to.number.in_style(style)? * other.times;
                        other.unit.convert(end, way.unit)
                    });
                    match end {
                        Some(end) => swing(value, end),
                        None => continue,
                    }
                }
                _ => Span::Point(value),
            };
            let own = match &parts.spread {
                Some(spread) => match own_uncertainty(spread, style, value, way)? {
                    Some(u) => Some(u),
                    None => continue,
                },
                None => None,
            };
            let entry = Entry {
                raw: text.to_owned(),
                span,
                unit: way.unit,
                assumed,
                own_uncertainty: own,
            };
            if !entries.contains(&entry) {
                entries.push(entry);
            }
        }
    }
    Ok((entries, asked))
}

fn swing(a: f64, b: f64) -> Span {
    if a.total_cmp(&b).is_eq() {
        Span::Point(a)
    } else {
        Span::Swing(a.min(b), a.max(b))
    }
}

/// The standard uncertainty that `± 20` or `~20` states, in the unit of the value.
fn own_uncertainty(
    spread: &Spread,
    style: Style,
    value: f64,
    way: Meaning,
) -> Result<Option<f64>, String> {
    let Some(number) = spread.typed.number.in_style(style) else {
        return Ok(None);
    };
    let half = match spread.typed.unit.as_str() {
        "" => number * way.times,
        "%" if way.unit.dimension() != Dimension::Percent => number / 100.0 * value.abs(),
        unit => {
            let differences = way.unit.of_differences();
            let (ways, _) = unit_text::meanings(unit, differences)?;
            let converted = ways.first().and_then(|other| {
                other
                    .unit
                    .convert_difference(number * other.times, differences)
            });
            match (converted, way.unit) {
                (Some(half), _) => half,
                (None, _) => return Ok(None),
            }
        }
    };
    Ok(Some(if spread.standard { half } else { uniform(half) }))
}

/// Whether the reading can be at all, and on this instrument.
fn check(entry: &Entry, expected: &Expected) -> Result<(), String> {
    let dimension = entry.unit.dimension();
    let what = dimension.with_article();
    if !entry
        .numbers()
        .into_iter()
        .chain(entry.own_uncertainty)
        .all(f64::is_finite)
    {
        return Err(format!(
            "{} is too large a number for {what}. {}",
            quoted(entry.raw.trim()),
            fitting(expected)
        ));
    }
    let possible = dimension.possible();
    // Where values below the least possible one are plausible, a difference is measured: it has a sign.
    let signed = expected
        .plausible
        .is_some_and(|plausible| expected.unit.to_base(plausible.from()) < possible.from());
    for number in entry.numbers() {
        let base = entry.unit.to_base(number);
        let floor = if signed {
            -possible.to()
        } else {
            possible.from()
        };
        if base < floor {
            let limit = match dimension {
                Dimension::Temperature => "below absolute zero, \u{2212}273.15 °C",
                Dimension::Pressure => "below the vacuum, \u{2212}101.325 kPa on a gauge",
                _ if possible.from() == 0.0 => "below 0",
                _ => "far below anything that is measured here",
            };
            return Err(format!(
                "{entry} was understood, {what} {limit}: that cannot be. {}",
                fitting(expected)
            ));
        }
        if base > possible.to() {
            return Err(format!(
                "{entry} was understood, {what} far above anything that is measured here. {}",
                fitting(expected)
            ));
        }
    }
    if let (Some(range), Some(here)) = (expected.range, entry.in_unit(expected.unit))
        && !here.numbers().into_iter().all(|number| range.holds(number))
    {
        return Err(format!(
            "{entry} was understood. The instrument shows {} to {} {}; outside that it gives no reading. If the needle is against its stop, write >{} or <{}.",
            rounded(range.from()),
            rounded(range.to()),
            expected.unit,
            rounded(range.to()),
            rounded(range.from()),
        ));
    }
    Ok(())
}

/// What is odd about a reading that can be.
fn oddity(entry: &Entry, expected: &Expected) -> Option<String> {
    let here = entry.in_unit(expected.unit)?;
    match expected.plausible {
        Some(plausible) => {
            let odd = !here
                .numbers()
                .into_iter()
                .all(|number| plausible.holds(number));
            odd.then(|| {
                format!(
                    "{entry} was understood; between {} and {} {} would be plausible here.",
                    rounded(plausible.from()),
                    rounded(plausible.to()),
                    expected.unit
                )
            })
        }
        None => (entry.unit.dimension() == Dimension::Speed && here.numbers()[0] < 0.0)
            .then(|| format!("{entry} was understood: turning backwards.")),
    }
}

fn unreadable(text: &str, why: &Unreadable, expected: &Expected) -> String {
    let typed = quoted(text.trim());
    let fits = fitting(expected);
    match why {
        Unreadable::NoNumber => format!("{typed} is no reading: a number was due. {fits}"),
        Unreadable::BadNumber(number) => {
            format!("{number} fits no way of writing a number. {fits}")
        }
        Unreadable::Vague => format!(
            "{typed} does not say how near it is. Write it with the most it may be out, as 520 ± 20."
        ),
        Unreadable::Fraction => {
            format!("{typed} holds a fraction. Write it as a decimal, as 0.375.")
        }
        Unreadable::Mixed => format!(
            "{typed} mixes what does not go together: write one value, one value ± one number, or one swing. {fits}"
        ),
        Unreadable::NegativeSpread => {
            format!("{typed} has an uncertainty below 0. Write it as 520 ± 20.")
        }
    }
}

/// What would fit here.
fn fitting(expected: &Expected) -> String {
    let others: Vec<String> = Unit::of(expected.unit.dimension())
        .filter(|unit| *unit != expected.unit && unit.is_everyday())
        .map(|unit| unit.to_string())
        .collect();
    let also = if others.is_empty() {
        String::new()
    } else {
        format!(" (also {})", either(&others))
    };
    let unit = if expected.unit == Unit::One {
        String::new()
    } else {
        format!(" in {}", expected.unit)
    };
    format!(
        "Wanted is {}{unit}{also}: a value as 5.2, a swing as 4.8-5.6, a needle against its stop as >6.",
        expected.unit.dimension().with_article(),
    )
}
