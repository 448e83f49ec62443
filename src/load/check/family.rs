//! family.yaml, and all that hangs from it.

use std::collections::BTreeMap;

use super::bands::Use;
use super::names;
use super::names::Names;
use super::{
    Known, at_least, causes, in_order, list, measurements, reading, set_ups, trees, values,
};
use crate::knowledge::{
    Ambiguity, CauseId, Condition, ConditionKind, Danger, Escalation, Family, Figures, Instrument,
    MeasurementId, NamedText, SetUp, SetUpId, Shop, defaults,
};
use crate::load::code::Code;
use crate::load::folder::{FileKind, RawFamily};
use crate::load::log::{Log, Report};
use crate::load::placed::{Caught, Entries, Items, Name, Placed};
use crate::load::raw::family as raw;
use crate::units::uncertainty::Accuracy;
use crate::units::{Dimension, Interval, Minutes, Money, Probability, Unit};

/// A family without its cases, and where it uses limits of a sheet.
pub(super) fn family<'r>(
    folder: &str,
    raw: &'r RawFamily,
    known: &Known,
    log: &Log<'_>,
) -> (Family, Vec<Use<'r>>) {
    let file = raw.file.as_ref();
    let name = file.and_then(|file| file.family.0.as_ref());
    if let Some(name) = name {
        names::id(&name.value, name.spot, log);
        if name.value != folder {
            log.add(
                Report::new(
                    Code::UnknownFamily,
                    name.spot,
                    format!(
                        "the family is called `{}`, its folder `{folder}`",
                        name.value
                    ),
                )
                .nearest(Some(folder.to_owned())),
            );
        }
    }
    let mut instruments = Instruments::new(file, &known.instruments, log);
    let mut uses = Vec::new();
    let conditions = conditions(file, known, &mut instruments, &mut uses, log);
    let measurements = measurements::measurements(raw, known, &mut instruments, &mut uses, log);
    let (symptoms, standing) = trees::symptoms(raw, known, log);
    let text = |field: Option<&Caught<Name>>| {
        field
            .and_then(|field| field.0.as_ref())
            .map_or_else(String::new, |name| values::text(name, log))
    };
    let family = Family {
        name: folder.to_owned(),
        title: text(file.map(|file| &file.title)),
        notice: text(file.map(|file| &file.notice)),
        worth: text(file.map(|file| &file.worth)),
        figures: figures(file, log),
        shop: shop(file, log),
        in_place: set_ups::in_place(file, known, log),
        habit: inner(file.and_then(|file| file.habit.as_ref()))
            .map(|habit| {
                known
                    .measurements
                    .find_all(habit, log)
                    .into_iter()
                    .map(MeasurementId::at)
                    .collect()
            })
            .unwrap_or_default(),
        cautions: texts(
            file.and_then(|file| file.cautions.as_ref()),
            &known.cautions,
            log,
        ),
        dangers: dangers(file, known, log),
        sources: list(file.and_then(|file| file.sources.as_ref()))
            .filter_map(|entry| {
                Some(NamedText {
                    name: entry.name.clone(),
                    text: values::text(entry.value.as_ref()?, log),
                })
            })
            .collect(),
        care: texts(file.and_then(|file| file.care.as_ref()), &known.care, log),
        set_ups: set_up_list(file, known, log),
        instruments: instruments.finish(),
        conditions,
        codes: super::reading::codes(raw, &measurements, log),
        ambiguities: ambiguities(file, known, log),
        repairs: causes::repairs(raw, known, log),
        causes: causes::causes(raw, known, standing.as_ref(), log),
        measurements,
        symptoms,
        cases: Vec::new(),
    };
    set_ups::check(&family, raw, known, log);
    (family, uses)
}

/// The value of a field that may be left out and could be read.
fn inner<T>(field: Option<&Caught<T>>) -> Option<&T> {
    field.and_then(|field| field.0.as_ref())
}

fn figures(file: Option<&raw::FamilyFile>, log: &Log<'_>) -> Figures {
    let number = |field: Option<&Option<Caught<Placed<f64>>>>| {
        field.and_then(Option::as_ref).and_then(|field| field.0)
    };
    let share = |field: Option<&Option<Caught<Placed<f64>>>>, default: f64, what: &str| {
        number(field).map_or(Probability::nearest(default), |share| {
            values::probability(share, what, log)
        })
    };
    let max_order = number(file.map(|file| &file.max_order)).map_or(defaults::MAX_ORDER, |order| {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "the range is checked before"
        )]
        if order.value.fract() == 0.0 && (1.0..=4.0).contains(&order.value) {
            order.value as usize
        } else {
            log.add(
                Report::new(
                    Code::BadNumber,
                    order.spot,
                    format!(
                        "candidates of up to {} causes are not possible",
                        order.value
                    ),
                )
                .advice("it is a whole number from 1 to 4"),
            );
            defaults::MAX_ORDER
        }
    });
    let below =
        |field: Option<&Option<Caught<Placed<f64>>>>, share: Probability, least: f64, most: f64| {
            if let Some(given) = number(field)
                && Probability::new(given.value).is_ok()
                && !(least..most).contains(&share.get())
            {
                log.add(
                    Report::new(
                        Code::BadNumber,
                        given.spot,
                        format!("{} is too much here", given.value),
                    )
                    .advice(format!("it must be below {most}")),
                );
            }
        };
    let unlisted = file.map(|file| &file.unlisted);
    let floor = file.map(|file| &file.floor);
    let figures = Figures {
        max_order,
        unlisted: share(
            unlisted,
            defaults::UNLISTED,
            "the share of the unlisted cause",
        ),
        floor: share(floor, defaults::FLOOR, "the floor"),
        reacts: share(
            file.map(|file| &file.reacts),
            defaults::REACTS,
            "the uniform part of the unlisted cause",
        ),
    };
    below(unlisted, figures.unlisted, 0.0, 1.0);
    below(floor, figures.floor, 0.0, 0.1);
    figures
}

fn shop(file: Option<&raw::FamilyFile>, log: &Log<'_>) -> Shop {
    file.and_then(|file| file.shop.0.as_ref()).map_or(
        Shop {
            labour_rate: Money::ZERO,
            escalation: Escalation {
                minutes: Minutes::ZERO,
                parts: Money::ZERO,
            },
        },
        |shop| Shop {
            labour_rate: values::money(shop.labour_rate, log),
            escalation: Escalation {
                minutes: values::minutes(shop.escalation.minutes, log),
                parts: values::money(shop.escalation.parts, log),
            },
        },
    )
}

fn texts(entries: Option<&Caught<Entries<Name>>>, names: &Names, log: &Log<'_>) -> Vec<NamedText> {
    in_order(names, list(entries), |entry, text| {
        Some(NamedText {
            name: entry.name.clone(),
            text: values::text(text, log),
        })
    })
}

/// The words in steps that ask for a caution.
fn dangers(file: Option<&raw::FamilyFile>, known: &Known, log: &Log<'_>) -> Vec<Danger> {
    list(file.and_then(|file| file.dangers.as_ref()))
        .filter_map(|entry| {
            let caution = known.cautions.find_at(&entry.name, entry.spot, log);
            let patterns = trees::patterns(entry.value.as_ref()?, log)
                .into_iter()
                .map(|pattern| pattern.0)
                .collect();
            Some(Danger {
                caution: caution?,
                patterns,
            })
        })
        .collect()
}

fn set_up_list(file: Option<&raw::FamilyFile>, known: &Known, log: &Log<'_>) -> Vec<SetUp> {
    let ids = |names: &Items<Name>| {
        known
            .set_ups
            .find_all(names, log)
            .into_iter()
            .map(SetUpId::at)
            .collect()
    };
    in_order(
        &known.set_ups,
        list(file.and_then(|file| file.set_ups.as_ref())),
        |entry, set_up| {
            Some(SetUp {
                name: entry.name.clone(),
                formerly: known.set_ups.former(&set_up.formerly, log),
                title: values::text(&set_up.title, log),
                minutes: values::minutes(set_up.minutes, log),
                group: values::optional_text(set_up.group.as_ref(), log),
                needs: ids(&set_up.needs),
                ends: ids(&set_up.ends),
                equipment: values::optional_text(set_up.equipment.as_ref(), log),
            })
        },
    )
}

fn conditions<'r>(
    file: Option<&'r raw::FamilyFile>,
    known: &Known,
    instruments: &mut Instruments,
    uses: &mut Vec<Use<'r>>,
    log: &Log<'_>,
) -> Vec<Condition> {
    in_order(
        &known.conditions,
        list(file.and_then(|file| file.conditions.as_ref())),
        |entry, condition| {
            let kind = match (&condition.reading, &condition.holds) {
                (None, None) => ConditionKind::YesNo,
                (Some(reading), Some(holds)) => {
                    let dimension = values::quantity(&reading.quantity, log)?;
                    let unit = values::unit(&reading.unit, dimension, log)?;
                    let instrument = reading
                        .instrument
                        .as_ref()
                        .and_then(|name| instruments.used(name, dimension, known, log));
                    let band = reading::band(&holds.value, holds.spot, log)?;
                    uses.push(Use::condition(
                        &entry.name,
                        unit,
                        &band,
                        &holds.value,
                        holds.spot,
                    ));
                    ConditionKind::Number {
                        unit,
                        instrument,
                        holds: band,
                    }
                }
                (reading, _) => {
                    let (lacks, has) = if reading.is_some() {
                        ("holds", "reading")
                    } else {
                        ("reading", "holds")
                    };
                    log.say(
                        Code::MissingField,
                        entry.spot,
                        format!("`{lacks}` is missing beside `{has}`"),
                    );
                    return None;
                }
            };
            Some(Condition {
                name: entry.name.clone(),
                formerly: known.conditions.former(&condition.formerly, log),
                ask: values::text(&condition.ask, log),
                kind,
                lasts: condition.lasts.map(|lasts| values::minutes(lasts, log)),
                ended_by: known
                    .set_ups
                    .find_all(&condition.ended_by, log)
                    .into_iter()
                    .map(SetUpId::at)
                    .collect(),
                source: values::text(&condition.source, log),
            })
        },
    )
}

fn ambiguities(file: Option<&raw::FamilyFile>, known: &Known, log: &Log<'_>) -> Vec<Ambiguity> {
    let Some(items) = file.and_then(|file| inner(file.ambiguities.as_ref())) else {
        return Vec::new();
    };
    items
        .iter()
        .map(|item| {
            at_least(2, item.causes.0.len(), "causes", item.why.spot, log);
            Ambiguity {
                causes: known
                    .causes
                    .find_all(&item.causes, log)
                    .into_iter()
                    .map(CauseId::at)
                    .collect(),
                parted_by: known
                    .measurements
                    .find_all(&item.parted_by, log)
                    .into_iter()
                    .map(MeasurementId::at)
                    .collect(),
                why: values::text(&item.why, log),
            }
        })
        .collect()
}

/// The instruments, whose unit may mean several quantities until a measurement uses it: K and °C are
/// units of a temperature and of a difference.
pub(super) struct Instruments {
    list: Vec<(Instrument, Vec<Unit>)>,
    settled: BTreeMap<usize, Dimension>,
}

impl Instruments {
    fn new(file: Option<&raw::FamilyFile>, names: &Names, log: &Log<'_>) -> Self {
        // An instrument that could not be read keeps its place, so that ids stay in step.
        let mut slots: BTreeMap<usize, (Instrument, Vec<Unit>)> = BTreeMap::new();
        for entry in list(file.and_then(|file| file.instruments.as_ref())) {
            if let (Some(place), Some(value)) = (names.place(&entry.name), &entry.value) {
                let units = values::any_unit(&value.unit, log);
                let range = values::interval(value.range, log);
                let accuracy = accuracy(value.accuracy, range, log);
                let instrument = Instrument {
                    name: entry.name.clone(),
                    title: values::text(&value.title, log),
                    unit: units.first().copied().unwrap_or(Unit::One),
                    range,
                    accuracy,
                };
                slots.entry(place).or_insert((instrument, units));
            }
        }
        let blank = || {
            let instrument = Instrument {
                name: String::new(),
                title: String::new(),
                unit: Unit::One,
                range: None,
                accuracy: Accuracy::Standard(0.0),
            };
            (instrument, Vec::new())
        };
        let list = (0..names.len())
            .map(|place| slots.remove(&place).unwrap_or_else(blank))
            .collect();
        Self {
            list,
            settled: BTreeMap::new(),
        }
    }

    /// The instrument of a name, where it reads a quantity.
    pub(super) fn used(
        &mut self,
        name: &Name,
        dimension: Dimension,
        known: &Known,
        log: &Log<'_>,
    ) -> Option<crate::knowledge::InstrumentId> {
        let place = known.instruments.find(name, log)?;
        let (instrument, units) = self.list.get_mut(place)?;
        let unit = units.iter().find(|unit| unit.dimension() == dimension);
        match (self.settled.get(&place), unit) {
            (Some(before), _) if *before == dimension => {}
            (None, Some(unit)) => {
                instrument.unit = *unit;
                self.settled.insert(place, dimension);
            }
            // Its unit is unknown, which was said already.
            (None, None) if units.is_empty() => {}
            (before, _) => {
                let other = before
                    .copied()
                    .or_else(|| units.first().map(|unit| unit.dimension()))
                    .unwrap_or(dimension);
                log.say(
                    Code::WrongDimension,
                    name.spot,
                    format!(
                        "`{}` reads {}, but {} is read here",
                        name.value,
                        other.with_article(),
                        dimension.with_article()
                    ),
                );
            }
        }
        Some(crate::knowledge::InstrumentId::at(place))
    }

    fn finish(self) -> Vec<Instrument> {
        self.list
            .into_iter()
            .map(|(instrument, _)| instrument)
            .collect()
    }
}

fn accuracy(given: Placed<raw::Accuracy>, range: Option<Interval>, log: &Log<'_>) -> Accuracy {
    let raw::Accuracy {
        standard,
        class,
        percent,
        digits,
        digit,
        resolution,
    } = given.value;
    let several = percent.is_some() || digits.is_some() || digit.is_some();
    let refuse = |words: &str| {
        log.add(
            Report::new(Code::BadNumber, given.spot, words.to_owned())
                .advice("give one of: standard; class, with a range; percent with digits and digit; resolution"),
        );
        Accuracy::Standard(0.0)
    };
    let accuracy = match (standard, class, several, resolution) {
        (Some(standard), None, false, None) => Accuracy::Standard(standard),
        (None, Some(class), false, None) => match range {
            Some(range) => Accuracy::Class {
                class,
                span: range.span(),
            },
            None => return refuse("a class is a percentage of the span, and there is no range"),
        },
        (None, None, true, None) => Accuracy::PercentDigits {
            percent: percent.unwrap_or(0.0),
            digits: digits.unwrap_or(0.0),
            digit: digit.unwrap_or(0.0),
        },
        (None, None, false, Some(step)) => Accuracy::Resolution(step),
        _ => return refuse("an accuracy is said in exactly one way"),
    };
    if accuracy.is_sound() {
        accuracy
    } else {
        refuse("these figures are no accuracy")
    }
}

/// Whether all of family.yaml could be read.
pub(super) fn whole(raw: &RawFamily) -> bool {
    raw.whole(FileKind::Family) && raw.file.is_some()
}
