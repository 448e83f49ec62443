//! Single values: numbers within their ranges, texts with something in them, units that fit.
//!
//! Each gives a value also where it reports a finding, so that the check goes on; the knowledge is not
//! used then.

use crate::load::code::Code;
use crate::load::log::{Log, Report, Spot};
use crate::load::placed::{Items, Name, Placed};
use crate::load::raw::Span;
use crate::units::{Dimension, Interval, Minutes, Money, Probability, Rate, Unit};

pub(super) fn probability(number: Placed<f64>, what: &str, log: &Log<'_>) -> Probability {
    Probability::new(number.value).unwrap_or_else(|_| {
        log.add(
            Report::new(
                Code::BadProbability,
                number.spot,
                format!("{what} is {}, which is no probability", number.value),
            )
            .advice("it must lie between 0 and 1"),
        );
        Probability::ZERO
    })
}

/// A strength: a probability above 0, for an event that never happens is no event.
pub(super) fn strength(number: Placed<f64>, log: &Log<'_>) -> Probability {
    match Probability::new(number.value) {
        Ok(strength) if strength > Probability::ZERO => strength,
        _ => {
            log.add(
                Report::new(
                    Code::BadProbability,
                    number.spot,
                    format!("a strength of {} is not possible", number.value),
                )
                .advice("it must lie above 0 and be at most 1"),
            );
            Probability::ONE
        }
    }
}

pub(super) fn rate(number: Placed<f64>, log: &Log<'_>) -> Option<Rate> {
    Rate::per_thousand(number.value)
        .map_err(|_| {
            log.add(
                Report::new(
                    Code::BadRate,
                    number.spot,
                    format!("a rate of {} is not possible", number.value),
                )
                .advice("it counts jobs in 1,000 and must lie above 0 and below 1,000"),
            );
        })
        .ok()
}

pub(super) fn minutes(number: Placed<f64>, log: &Log<'_>) -> Minutes {
    Minutes::new(number.value).unwrap_or_else(|| {
        log.add(
            Report::new(
                Code::BadNumber,
                number.spot,
                format!("{} minutes are not possible", number.value),
            )
            .advice("a time is 0 or more"),
        );
        Minutes::ZERO
    })
}

pub(super) fn money(number: Placed<f64>, log: &Log<'_>) -> Money {
    Money::new(number.value).unwrap_or_else(|| {
        log.add(
            Report::new(
                Code::BadNumber,
                number.spot,
                format!("a price of {} is not possible", number.value),
            )
            .advice("a price is 0 or more"),
        );
        Money::ZERO
    })
}

/// A finite number.
pub(super) fn finite(number: Placed<f64>, log: &Log<'_>) -> Option<f64> {
    if number.value.is_finite() {
        return Some(number.value + 0.0);
    }
    log.say(
        Code::BadNumber,
        number.spot,
        format!("{} is no number that can be used", number.value),
    );
    None
}

/// A span whose ends stand the right way round.
pub(super) fn interval(span: Option<Span>, log: &Log<'_>) -> Option<Interval> {
    let Span { from, to } = span?;
    let interval = Interval::new(from.value, to.value);
    if interval.is_none() {
        log.add(
            Report::new(
                Code::BadNumber,
                from.spot,
                format!("from {} to {} is no span", from.value, to.value),
            )
            .advice("both are finite numbers, and the first is not above the second"),
        );
    }
    interval
}

/// A text with something in it, without blanks around it.
pub(super) fn text(text: &Name, log: &Log<'_>) -> String {
    let trimmed = text.value.trim();
    if trimmed.is_empty() {
        log.add(
            Report::new(Code::EmptyText, text.spot, "this text is empty")
                .advice("write it, or leave the field out where it may be left out"),
        );
    }
    trimmed.to_owned()
}

pub(super) fn optional_text(given: Option<&Name>, log: &Log<'_>) -> Option<String> {
    given.map(|given| text(given, log))
}

pub(super) fn texts(list: &Items<Name>, log: &Log<'_>) -> Vec<String> {
    list.iter().map(|item| text(item, log)).collect()
}

/// A quantity by its name.
pub(super) fn quantity(name: &Name, log: &Log<'_>) -> Option<Dimension> {
    let known = Dimension::named(&name.value);
    if known.is_none() {
        let names = Dimension::ALL.map(Dimension::id);
        log.add(
            Report::new(
                Code::UnknownQuantity,
                name.spot,
                format!("`{}` is no quantity the program knows", name.value),
            )
            .nearest(log.nearest(&name.value, names))
            .advice(format!("it knows {}", names.join(", "))),
        );
    }
    known
}

/// A unit of a quantity.
pub(super) fn unit(name: &Name, dimension: Dimension, log: &Log<'_>) -> Option<Unit> {
    let known = Unit::named(&name.value, dimension);
    if known.is_none() {
        unfit_unit(&name.value, name.spot, dimension, log);
    }
    known
}

/// The units that a text can mean, of any quantity.
pub(super) fn any_unit(name: &Name, log: &Log<'_>) -> Vec<Unit> {
    let units = Unit::read(&name.value, None);
    if units.is_empty() {
        unknown_unit(&name.value, name.spot, Unit::ALL.iter().copied(), log);
    }
    units
}

/// Why a text is no unit of a quantity.
pub(super) fn unfit_unit(text: &str, spot: Spot, dimension: Dimension, log: &Log<'_>) {
    match Unit::read(text, Some(dimension)).first() {
        Some(other) if other.dimension() != dimension => {
            log.add(
                Report::new(
                    Code::WrongDimension,
                    spot,
                    format!(
                        "`{text}` measures {}, but {} is read here",
                        other.dimension().with_article(),
                        dimension.with_article()
                    ),
                )
                .advice(units_of(dimension)),
            );
        }
        Some(_) => log.add(
            Report::new(
                Code::UnknownUnit,
                spot,
                format!("`{text}` can mean more than one unit"),
            )
            .advice(units_of(dimension)),
        ),
        None => unknown_unit(text, spot, Unit::of(dimension), log),
    }
}

fn unknown_unit(text: &str, spot: Spot, units: impl Iterator<Item = Unit>, log: &Log<'_>) {
    let units: Vec<Unit> = units.collect();
    let names: Vec<&str> = units.iter().flat_map(|unit| unit.spelt()).collect();
    let mut symbols: Vec<&str> = units.iter().map(|unit| unit.symbol()).collect();
    symbols.dedup();
    log.add(
        Report::new(
            Code::UnknownUnit,
            spot,
            format!("`{text}` is no unit the program knows here"),
        )
        .nearest(log.nearest(text, names))
        .advice(format!("units are {}", symbols.join(", "))),
    );
}

fn units_of(dimension: Dimension) -> String {
    let symbols: Vec<&str> = Unit::of(dimension).map(Unit::symbol).collect();
    format!(
        "units of {} are {}",
        dimension.with_article(),
        symbols.join(", ")
    )
}
