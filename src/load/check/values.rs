//! Single values: numbers within their ranges, texts with something in them, units that fit.
//!
//! Each gives a value also where it reports a finding, so that the check goes on; the knowledge is not
//! used then.

use std::ops::RangeInclusive;

use crate::load::log::{Log, Spot, say};
use crate::load::raw::Span;
use crate::load::value::{Name, Placed};
use crate::units::{Dimension, Interval, Probability, Rate, Unit};

pub(super) fn probability(number: Placed<f64>, what: &str, log: &Log<'_>) -> Probability {
    Probability::new(number.value).unwrap_or_else(|_| {
        say!(log, number.spot; BadProbability,
            "{what} is {}, which is no probability", number.value =>
            "it must lie between 0 and 1"; as_percent(number.value));
        Probability::ZERO
    })
}

/// The probability that a number above 1 states in percent; a little above 1 it is more likely a typing error.
fn as_percent(number: f64) -> Option<String> {
    (2.0..=100.0)
        .contains(&number)
        .then(|| crate::text::plain(number / 100.0))
}

/// A strength: a probability above 0, for an event that never happens is no event.
pub(super) fn strength(number: Placed<f64>, log: &Log<'_>) -> Probability {
    match Probability::new(number.value) {
        Ok(strength) if strength > Probability::ZERO => strength,
        _ => {
            say!(log, number.spot; BadProbability,
                "a strength of {} is not possible", number.value =>
                "it must lie above 0 and be at most 1"; as_percent(number.value));
            Probability::ONE
        }
    }
}

pub(super) fn rate(number: Placed<f64>, log: &Log<'_>) -> Option<Rate> {
    Rate::per_thousand(number.value)
        .map_err(|_| {
            say!(log, number.spot; BadRate, "a rate of {} is not possible", number.value =>
                "it counts jobs in 1,000 and must lie above 0 and below 1,000");
        })
        .ok()
}

/// A finite number.
pub(super) fn finite(number: Placed<f64>, log: &Log<'_>) -> Option<f64> {
    if number.value.is_finite() {
        return Some(number.value + 0.0);
    }
    say!(log, number.spot; BadNumber, "{} is no number that can be used", number.value);
    None
}

/// A whole number of a range.
pub(super) fn whole(number: f64, range: RangeInclusive<u64>) -> Option<u64> {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "of what is no whole number from 0 nothing is kept"
    )]
    let whole = (number >= 0.0 && number.fract() == 0.0).then_some(number as u64);
    whole.filter(|whole| range.contains(whole))
}

/// A span whose ends stand the right way round.
pub(super) fn interval(span: Option<&Span>, log: &Log<'_>) -> Option<Interval> {
    let Span { from, to } = span?;
    let interval = Interval::new(from.value, to.value);
    if interval.is_none() {
        say!(log, from.spot; BadNumber, "from {} to {} is no span", from.value, to.value =>
            "both are finite numbers, and the first is not above the second");
    }
    interval
}

/// A quantity by its name.
pub(super) fn quantity(name: &Name, log: &Log<'_>) -> Option<Dimension> {
    let known = Dimension::named(&name.value);
    if known.is_none() {
        let names = Dimension::ALL.map(Dimension::id);
        say!(log, name.spot; UnknownQuantity, "`{}` is no quantity the program knows", name.value =>
            "it knows {}", names.join(", "); log.nearest(&name.value, names));
    }
    known
}

/// A unit of a quantity, which is read here or, for `by`, elsewhere.
pub(super) fn unit(
    name: &Name,
    dimension: Dimension,
    by: Option<&str>,
    log: &Log<'_>,
) -> Option<Unit> {
    let Name { value: text, spot } = name;
    let known = Unit::named(text, dimension);
    if known.is_some() {
        return known;
    }
    let wanted = dimension.with_article();
    let symbols: Vec<&str> = Unit::of(dimension).map(Unit::symbol).collect();
    let symbols = symbols.join(", ");
    match Unit::read(text, Some(dimension)).first() {
        Some(other) if other.dimension() != dimension => {
            let found = other.dimension().with_article();
            let needed = by.map_or_else(
                || format!("{wanted} is read here"),
                |by| format!("`{by}` reads {wanted}"),
            );
            say!(log, *spot; WrongDimension, "`{text}` measures {found}, but {needed}" =>
                "use one of {symbols}");
        }
        Some(_) => say!(log, *spot; UnknownUnit, "`{text}` can mean more than one unit" =>
            "units of {wanted} are {symbols}"),
        None => unknown_unit(text, *spot, Unit::of(dimension), log),
    }
    None
}

/// The units that a text can mean, of any quantity.
pub(super) fn any_unit(name: &Name, log: &Log<'_>) -> Vec<Unit> {
    let units = Unit::read(&name.value, None);
    if units.is_empty() {
        unknown_unit(&name.value, name.spot, Unit::ALL.iter().copied(), log);
    }
    units
}

fn unknown_unit(text: &str, spot: Spot, units: impl Iterator<Item = Unit>, log: &Log<'_>) {
    let units: Vec<Unit> = units.collect();
    let names: Vec<&str> = units.iter().flat_map(|unit| unit.spelt()).collect();
    let mut symbols: Vec<&str> = units.iter().map(|unit| unit.symbol()).collect();
    symbols.dedup();
    say!(log, spot; UnknownUnit, "`{text}` is no unit the program knows here" =>
        "units are {}", symbols.join(", "); log.nearest(text, names));
}

/// A finding where a list has too few items.
pub(super) fn at_least(least: usize, count: usize, what: &str, spot: Spot, log: &Log<'_>) {
    if count < least {
        let there_is = if count == 0 { "none" } else { "one" };
        say!(log, spot; MissingField, "{least} or more {what} are needed here, there is {there_is}");
    }
}
