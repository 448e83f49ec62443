//! family.yaml, and all that hangs from it.

use super::bands::Use;
use super::coverage::Claim;
use super::instruments::Instruments;
use super::known::{Known, in_order};
use super::names::Names;
use super::outcomes::by_outcome;
use super::{causes, measurements, names, order, reading, set_ups, signals, trees, values};
use crate::knowledge::{
    Accepted, Ambiguity, Condition, ConditionKind, Entering, Escalation, Family, Figures,
    Measurement, NamedText, Recorder, SetUp, Shop, defaults,
};
use crate::load::code::{Code, Severity};
use crate::load::folder::RawFamily;
use crate::load::log::{Log, say};
use crate::load::raw::family as raw;
use crate::load::value::{Entries, Items, Name, Placed};
use crate::units::{Minutes, Probability};

/// A family without its cases, and where it uses limits of a sheet.
pub(super) fn family<'r>(
    folder: &str,
    raw: &'r RawFamily,
    known: &Known<'_>,
) -> (Family, Vec<Use<'r>>) {
    let file = &raw.file;
    if file.family.whole {
        let Name { value: name, spot } = &*file.family;
        names::id(name, *spot, known.log);
        if name != folder {
            say!(known.log, *spot; UnknownFamily, "the family is called `{name}`, its folder `{folder}`";
                Some(folder.to_owned()));
        }
    }
    let mut instruments = Instruments::new(&file.instruments, &known.instruments, known.log);
    let mut uses = Vec::new();
    let conditions = conditions(file, known, &mut instruments, &mut uses);
    let signals = signals::signals(file, known, &mut instruments);
    let mut measurements =
        measurements::measurements(raw, &signals, known, &mut instruments, &mut uses);
    order::measurements(&mut measurements, raw, known);
    let (symptoms, in_trees) = trees::symptoms(raw, known);
    let sources = file.sources.0.iter().filter_map(|entry| {
        let (name, text) = (entry.name.clone(), entry.value.clone()?);
        Some(NamedText { name, text })
    });
    let patterns = |_: &_, items: &_| Some(trees::patterns(items, known));
    let least = file.shop.least_saving.as_ref();
    let what_is_left = "what is left of a figure";
    let left = |left: &_| Some(values::probability(*left, what_is_left, known.log));
    let fades = known.measurements.keyed(&file.fades, |entry, factors| {
        let measurement = measurements.iter().find(|of| of.name == entry.name)?;
        Some(by_outcome(factors, &measurement.outcomes, known.log, left))
    });
    let family = Family {
        name: folder.to_owned(),
        unfinished: *file.unfinished,
        title: file.title.clone(),
        jobs: file.jobs.clone().unwrap_or_else(|| "jobs".to_owned()),
        notice: file.notice.clone(),
        worth: file.worth.clone(),
        figures: figures(file, known.log),
        fades,
        shop: Shop {
            labour_rate: file.shop.labour_rate,
            waiting_rate: file.shop.waiting_rate.unwrap_or_default(),
            least_saving_share: least.map_or(
                Probability::nearest(defaults::LEAST_SAVING_SHARE),
                |least| values::probability(least.share, "the share that must be saved", known.log),
            ),
            least_saving_minutes: least.map_or_else(
                || Minutes::new(defaults::LEAST_SAVING_MINUTES).unwrap_or_default(),
                |least| least.minutes,
            ),
            repair_from: (file.shop.repair_from).map_or(Probability::ZERO, |given| {
                values::probability(given, "what a repair is advised from", known.log)
            }),
            close_out: file.shop.close_out_minutes.unwrap_or_default(),
            escalation: Escalation {
                minutes: file.shop.escalation.minutes,
                parts: file.shop.escalation.parts,
            },
        },
        in_place: known.set_ups.ids(&file.in_place),
        put_back: known.set_ups.ids(&file.put_back),
        not_meant: trees::patterns(&file.not_meant, known),
        unproved: file.unproved.clone(),
        habit: known.measurements.ids(&file.habit),
        cautions: texts(&file.cautions, &known.cautions),
        dangers: known.cautions.keyed(&file.dangers, patterns),
        sources: sources.collect(),
        care: texts(&file.care, &known.care),
        set_ups: set_up_list(file, known, &measurements),
        instruments: instruments.finish(),
        conditions,
        recorder: file.recorder.as_ref().map(|recorder| Recorder {
            minutes: recorder.minutes,
            set_ups: known.set_ups.ids(&recorder.set_ups),
        }),
        signals,
        codes: reading::codes(raw, &measurements, known.log),
        ambiguities: ambiguities(file, known),
        repairs: causes::repairs(raw, known),
        causes: causes::causes(raw, known, in_trees.as_ref()),
        measurements,
        symptoms,
        accept: accept(file, known.log),
        cases: Vec::new(),
        exercises: Vec::new(),
    };
    set_ups::check(&family, raw, known);
    if *file.unfinished {
        say!(known.log, file.family.spot; Unfinished, "the family `{folder}` is unfinished: no job is opened on it" =>
            "fill it in and delete `unfinished: true`");
    }
    (family, uses)
}

fn figures(file: &raw::FamilyFile, log: &Log<'_>) -> Figures {
    let share = |field: &Option<Placed<f64>>, default: f64, most: f64, what: &str| {
        let Some(given) = *field else {
            return Probability::nearest(default);
        };
        let share = values::probability(given, what, log);
        if Probability::new(given.value).is_ok() && share.get() >= most {
            say!(log, given.spot; BadNumber, "{} is too much here", given.value =>
                "it must be below {most}");
        }
        share
    };
    let max_order = file.max_order.map_or(Some(defaults::MAX_ORDER), |order| {
        let whole = values::whole(order.value, 1..=4).and_then(|order| order.try_into().ok());
        if whole.is_none() {
            say!(log, order.spot; BadNumber,
                "candidates of up to {} causes are not possible", order.value =>
                "it is a whole number from 1 to 4");
        }
        whole
    });
    let (unlisted, floor) = ("the share of the unlisted cause", "the floor");
    let uniform = "the uniform part of the unlisted cause";
    let mistold = "the share of what is mistold";
    let misread = "the share of what is misread";
    Figures {
        max_order: max_order.unwrap_or(defaults::MAX_ORDER),
        unlisted: share(&file.unlisted, defaults::UNLISTED, 1.0, unlisted),
        floor: share(&file.floor, defaults::FLOOR, 0.1, floor),
        reacts: share(&file.reacts, defaults::REACTS, f64::INFINITY, uniform),
        mistold: share(&file.mistold, defaults::MISTOLD, 1.0, mistold),
        misread: share(&file.misread, defaults::MISREAD, 0.5, misread),
    }
}

fn texts(entries: &Entries<String>, names: &Names<'_, usize>) -> Vec<NamedText> {
    in_order(names, &entries.0, |entry, text| {
        Some(NamedText {
            name: entry.name.clone(),
            text: text.clone(),
        })
    })
}

fn set_up_list(
    file: &raw::FamilyFile,
    known: &Known<'_>,
    measurements: &[Measurement],
) -> Vec<SetUp> {
    let ids = |names: &Items<Name>| known.set_ups.ids(names);
    in_order(&known.set_ups, &file.set_ups.0, |entry, set_up| {
        let needs = ids(&set_up.needs);
        let from = known.set_ups.keyed(&set_up.from, |_, of| {
            Some(Entering {
                minutes: of.minutes.unwrap_or(set_up.minutes),
                wait: of.wait.unwrap_or_default(),
                needs: of.needs.as_ref().map_or_else(|| needs.clone(), ids),
            })
        });
        let places = file.set_ups.0.iter();
        Some(SetUp {
            name: entry.name.clone(),
            formerly: known.set_ups.former(&set_up.formerly),
            title: set_up.title.clone(),
            minutes: set_up.minutes,
            group: set_up.group.clone(),
            needs,
            ends: ids(&set_up.ends),
            sets: ids(&set_up.sets),
            wait: set_up.wait.unwrap_or_default(),
            parts: set_up.parts.unwrap_or_default(),
            from,
            spoils: known.measurements.ids(&set_up.spoils),
            unless: order::unless(&set_up.unless, measurements, known),
            conditions: known.conditions.ids(&set_up.conditions),
            cautions: known.cautions.ids(&set_up.cautions),
            place: places.take_while(|other| other.name != entry.name).count(),
            equipment: set_up.equipment.clone(),
        })
    })
}

fn conditions<'r>(
    file: &'r raw::FamilyFile,
    known: &Known<'_>,
    instruments: &mut Instruments,
    uses: &mut Vec<Use<'r>>,
) -> Vec<Condition> {
    in_order(&known.conditions, &file.conditions.0, |entry, condition| {
        let kind = match (&condition.reading, &condition.holds) {
            (None, None) => ConditionKind::YesNo,
            (Some(reading), Some(Placed { value: holds, spot })) => {
                let (unit, instrument) = instruments.reads(
                    &reading.quantity,
                    &reading.unit,
                    reading.instrument.as_ref(),
                    known,
                )?;
                let band = reading::band(holds, *spot, known.log)?;
                let claim = Claim {
                    outcome: &entry.name,
                    spot: *spot,
                    band: band.clone(),
                    raw: holds,
                };
                uses.push(Use::new(&entry.name, Some(unit), vec![claim], false));
                ConditionKind::Number {
                    unit,
                    instrument,
                    holds: band,
                }
            }
            (reading, _) => {
                let (lacks, has) = reading
                    .as_ref()
                    .map_or(("reading", "holds"), |_| ("holds", "reading"));
                say!(known.log, entry.spot; MissingField, "`{lacks}` is missing beside `{has}`");
                return None;
            }
        };
        Some(Condition {
            name: entry.name.clone(),
            formerly: known.conditions.former(&condition.formerly),
            ask: condition.ask.clone(),
            kind,
            lasts: condition.lasts,
            ended_by: known.set_ups.ids(&condition.ended_by),
            source: condition.source.clone(),
        })
    })
}

/// Only what is a warning can be accepted, and with a reason.
fn accept(file: &raw::FamilyFile, log: &Log<'_>) -> Vec<Accepted> {
    let accepted = file.accept.iter().map(|item| {
        let Name { value: name, spot } = &item.finding;
        let names = Code::ALL.iter().map(|code| code.name());
        match Code::ALL.iter().find(|code| code.name() == name) {
            None => say!(log, *spot; UnknownWord, "`{name}` is no code of a finding" =>
                "it is what stands in brackets behind `warning`"; log.nearest(name, names)),
            Some(code) if code.severity() == Severity::Error => {
                say!(log, *spot; UnknownWord, "`{name}` is an error" =>
                    "an error must be put right: only a warning can be accepted");
            }
            Some(_) => {}
        }
        Accepted {
            code: name.clone(),
            at: item.at.clone(),
            because: item.because.clone(),
        }
    });
    accepted.collect()
}

fn ambiguities(file: &raw::FamilyFile, known: &Known<'_>) -> Vec<Ambiguity> {
    let ambiguities = file.ambiguities.iter().map(|item| {
        values::at_least(2, item.causes.0.len(), "causes", item.why.spot, known.log);
        Ambiguity {
            causes: known.causes.ids(&item.causes),
            parted_by: known.measurements.ids(&item.parted_by),
            why: item.why.value.clone(),
        }
    });
    ambiguities.collect()
}
