//! A measurement to be taken: why it, its cautions, set-ups, steps and limits.

use serde::Serialize;

use super::core::Session;
use crate::decide::{Advice, InPlace, RecordedDrive, Standing, Way, WhyAgain, way_out};
use crate::knowledge::{
    ConditionId, Family, Measurement, MeasurementId, SetUpId, SheetLimit, Timed,
};
use crate::text::figures::{percent, plain, rounded};
use crate::units::System;

/// A measurement to be taken.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Measure {
    #[serde(skip)]
    pub(super) at: MeasurementId,
    /// Its id.
    pub measurement: String,
    /// What is measured.
    pub title: String,
    /// Which reading of the job it is, from 1; none where it verifies a repair.
    pub number: Option<usize>,
    /// Its minutes without set-ups.
    pub minutes: f64,
    /// Why it is asked for; none in the middle of it.
    pub reason: Option<Reason>,
    /// What it is worth and what it takes; none where it sets nothing apart.
    pub worth: Option<Worth>,
    /// What each outcome would leave.
    pub prospects: Vec<Prospect>,
    /// What can hurt in its steps: to be read before anything is done.
    pub cautions: Vec<String>,
    /// The set-ups to enter first, in order.
    pub set_ups: Vec<SetUpAsked>,
    /// What is in place once they are entered; empty where none is.
    #[serde(skip)]
    pub(super) arriving: Vec<SetUpId>,
    /// What a recording of the same drive answers as well; none where no recording is advised.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub recorded: Option<RecordedWith>,
    /// What to do, in order.
    pub steps: Vec<String>,
    /// The trap or remark that belongs to it.
    pub note: Option<String>,
    /// The limits that judge it.
    pub limits: Vec<LimitShown>,
    /// The vehicle whose sheet they are from; none without a sheet.
    pub sheet: Option<String>,
    /// Whether that sheet is invented.
    pub invented: bool,
    /// Whether it is a stall test, which must be held shortly and cooled down after.
    pub stall: bool,
}

/// What is read from one recording together with a measurement.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RecordedWith {
    /// The minutes of the drive, set-ups apart.
    pub minutes: f64,
    /// The ids of the other measurements.
    pub measurements: Vec<String>,
    /// What they measure.
    pub titles: Vec<String>,
}

/// Why a measurement is asked for that saves nothing.
pub const NOT_SURE_ENOUGH: &str = "No repair is sure enough yet, and this costs hardly more.";

/// Why a measurement is asked for.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "reason", rename_all = "kebab-case")]
pub enum Reason {
    /// It is the next by the advice.
    Advised {
        /// What repairing now would cost on average, in the shop's currency.
        repair_now: f64,
        /// What measuring first saves of it; below 0 where no repair is sure enough and it costs hardly more.
        saves: f64,
        /// What sets more apart a minute, where that is another measurement.
        fastest: Option<String>,
    },
    /// Nothing listed fits the readings: it is to be taken again.
    Again {
        /// How probable the listed causes are together.
        listed: f64,
        /// How probable they would be without the reading.
        without: f64,
    },
    /// The readings fit nothing well, this one among the worst: it is to be taken again.
    FitsWorst,
    /// A repair hangs on it: it is to be taken a second time.
    Twice {
        /// The titles of the repairs that are due.
        repairs: String,
        /// How probable it is that they cure the vehicle.
        probability: f64,
        /// How probable it is that the reading was taken wrongly.
        misread: f64,
        /// How probable it is that the repairs cure the vehicle where it was.
        cures: f64,
    },
    /// The technician chose it.
    Chosen {
        /// What is advised to be measured; none where the advice is to stop measuring.
        advised: Option<String>,
    },
}

/// What a measurement is worth, and what it takes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Worth {
    /// To how many equally likely candidates the belief amounts.
    pub in_play: f64,
    /// How many of them it is expected to set apart.
    pub separates: f64,
    /// The same in bits.
    pub bits: f64,
    /// Its minutes without set-ups.
    pub minutes: f64,
    /// The minutes of the set-ups to enter.
    pub set_up_minutes: f64,
    /// Whether a repair has it open, so that it takes no time now.
    pub open: bool,
    /// Whether it is read in the same go as the last, where the vehicle stands, so that it takes no time of its own.
    pub along: bool,
}

/// What an outcome would leave.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Prospect {
    /// The outcome.
    pub outcome: String,
    /// What it means.
    pub words: String,
    /// How probable it is.
    pub probability: f64,
    /// To how many equally likely candidates the belief would amount.
    pub in_play: f64,
    /// The repairs that would lead, by what is done, joined; none where there is no candidate.
    pub leads: Option<String>,
    /// How probable it would be that they cure it.
    pub leads_with: f64,
}

/// A set-up to enter.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SetUpAsked {
    /// Its id.
    pub set_up: String,
    /// What is to be done.
    pub title: String,
    /// The minutes it takes, from what is left for it.
    pub minutes: f64,
    /// What can hurt in it.
    pub cautions: Vec<String>,
}

/// A limit that judges a measurement.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LimitShown {
    /// Its name.
    pub name: String,
    /// The limit in words; none where the sheet lacks it, or there is no sheet.
    pub words: Option<String>,
    /// Who says so.
    pub source: Option<String>,
}

impl Measure {
    /// The sheet of a measurement, without reason and worth.
    pub(super) fn of(session: &Session<'_>, id: MeasurementId) -> Self {
        let Session {
            family, vehicle, ..
        } = session;
        let measurement = family.measurement(id);
        Self {
            at: id,
            measurement: measurement.name.clone(),
            title: measurement.title.clone(),
            number: None,
            minutes: measurement.minutes.get(),
            reason: None,
            worth: None,
            prospects: Vec::new(),
            cautions: family.caution_texts(&measurement.cautions),
            set_ups: Vec::new(),
            arriving: Vec::new(),
            recorded: None,
            steps: measurement.steps.clone(),
            note: measurement.note.clone(),
            limits: limits(session, measurement),
            sheet: vehicle.map(|vehicle| vehicle.name.clone()),
            invented: vehicle.is_some_and(|vehicle| vehicle.invented),
            stall: matches!(measurement.timed, Some(Timed::Stall { .. })),
        }
    }

    /// The same with its worth, its prospects and the set-ups to enter.
    pub(super) fn weighed(mut self, standing: &Standing<'_, '_>) -> Self {
        let (family, id) = (standing.model.family, self.at);
        self.worth = standing.rank_of(id).map(|ranked| Worth {
            in_play: ranked.in_play,
            separates: ranked.separates,
            bits: ranked.bits,
            minutes: family.measurement(id).minutes.get(),
            set_up_minutes: ranked.way.minutes,
            open: standing.is_open_to_view(id),
            along: standing.is_in_the_same_go(id),
        });
        self.prospects = prospects(standing, id);
        match way(standing, id) {
            Some(way) => self.reached_by(family, &way),
            None => self,
        }
    }

    /// The same as part of a drive that is recorded: with the set-ups of the drive, and the cautions of all that it answers.
    pub(super) fn recorded_on(mut self, family: &Family, drive: &RecordedDrive) -> Self {
        let others = drive.answers.iter().filter(|id| **id != self.at);
        let others: Vec<&Measurement> = others.map(|id| family.measurement(*id)).collect();
        for other in &others {
            for text in family.caution_texts(&other.cautions) {
                if !self.cautions.contains(&text) {
                    self.cautions.push(text);
                }
            }
        }
        self.recorded = Some(RecordedWith {
            minutes: drive.taking.minutes - drive.taking.way.minutes,
            measurements: others.iter().map(|other| other.name.clone()).collect(),
            titles: others.iter().map(|other| other.title.clone()).collect(),
        });
        self.reached_by(family, &drive.taking.way)
    }

    /// The same with the set-ups to enter.
    pub(super) fn reached_by(mut self, family: &Family, way: &Way) -> Self {
        if way.order.is_empty() {
            return self;
        }
        self.arriving = way.leaves.indices().map(SetUpId::at).collect();
        self.set_ups = SetUpAsked::along(family, way);
        self
    }

    /// The conditions that are asked while its set-ups are entered.
    pub(super) fn entering(&self, family: &Family) -> Vec<ConditionId> {
        let set_ups = self.set_ups.iter();
        let set_ups = set_ups.filter_map(|of| family.set_up_known_as(&of.set_up));
        let conditions = set_ups.flat_map(|id| &family.set_up(id).conditions);
        conditions.copied().collect()
    }
}

impl SetUpAsked {
    /// The set-ups that a way enters, in order.
    pub(super) fn along(family: &Family, way: &Way) -> Vec<Self> {
        let set_ups = way.order.iter().map(|place| &family.set_ups[*place]);
        set_ups
            .zip(&way.minutes_of)
            .map(|(set_up, minutes)| Self {
                set_up: set_up.name.clone(),
                title: set_up.title.clone(),
                minutes: *minutes,
                cautions: family.caution_texts(&set_up.cautions),
            })
            .collect()
    }

    /// What must be put back before the vehicle is handed over, in order.
    pub(super) fn to_put_back(family: &Family, in_place: InPlace) -> Vec<Self> {
        let way = way_out(family, in_place);
        way.map_or_else(Vec::new, |way| Self::along(family, &way))
    }
}

impl Reason {
    /// The reason in words, where it is not plain: the reading is to be taken again, or the technician chose it.
    pub fn words(&self) -> Option<String> {
        Some(match self {
            Self::Advised { .. } => return None,
            Self::Again { listed, without } => format!(
                "Nothing listed fits the readings. Take this one again before anything is dismantled: without it the \
                 listed causes would stand at {} instead of {}.",
                percent(*without),
                percent(*listed)
            ),
            Self::FitsWorst => "The readings fit nothing well, this one among the worst. Take it again before anything is \
                                opened."
                .to_owned(),
            Self::Twice {
                repairs,
                probability,
                cures,
                ..
            } => format!(
                "Due: {repairs}, {} that it cures. Take this reading a second time first: if it was wrong, it is {}.",
                percent(*probability),
                percent(*cures)
            ),
            Self::Chosen {
                advised: Some(advised),
            } => format!("Your choice. Advised: {advised}"),
            Self::Chosen { advised: None } => "Your choice. Advised: stop measuring.".to_owned(),
        })
    }

    /// Why the measurement is asked for, by the advice; `by_figure` where that goes by one figure of the ranking.
    pub fn of(
        standing: &Standing<'_, '_>,
        advice: &Advice,
        id: MeasurementId,
        by_figure: bool,
    ) -> Self {
        let family = standing.model.family;
        match advice {
            Advice::TakeAgain(again) if again.measurement == id => match &again.why {
                WhyAgain::NothingFits { listed, without } => Self::Again {
                    listed: *listed,
                    without: *without,
                },
                WhyAgain::FitsWorst => Self::FitsWorst,
                WhyAgain::HangsOn {
                    repairs,
                    probability,
                    misread,
                    cures,
                } => Self::Twice {
                    repairs: family.repair_titles(repairs),
                    probability: *probability,
                    misread: *misread,
                    cures: *cures,
                },
            },
            Advice::Measure {
                measurement, saves, ..
            } if *measurement == id => {
                let first = standing.ranking.first();
                let first = first.map(|first| standing.ranked(first));
                Self::Advised {
                    repair_now: standing.repair_now.cost,
                    saves: *saves,
                    fastest: first
                        .filter(|first| *first != id && !by_figure)
                        .map(|first| family.measurement(first).title.clone()),
                }
            }
            Advice::Measure { measurement, .. } => Self::Chosen {
                advised: Some(family.measurement(*measurement).title.clone()),
            },
            Advice::Repair { .. } | Advice::Escalate | Advice::TakeAgain(_) => {
                Self::Chosen { advised: None }
            }
        }
    }
}

/// The set-ups to enter for a measurement; none where a repair has it open.
fn way(standing: &Standing<'_, '_>, id: MeasurementId) -> Option<Way> {
    let taking = standing.taking(id).filter(|taking| !taking.shown)?;
    Some(taking.way)
}

/// What each outcome of a measurement would leave.
pub(super) fn prospects(standing: &Standing<'_, '_>, id: MeasurementId) -> Vec<Prospect> {
    let outcomes = &standing.model.family.measurement(id).outcomes;
    let prospects = standing.prospects(id).into_iter();
    prospects
        .map(|prospect| {
            let leads = leading(standing, &prospect.belief.posterior);
            Prospect {
                outcome: outcomes[prospect.outcome].name.clone(),
                words: outcomes[prospect.outcome].words(),
                probability: prospect.probability,
                in_play: prospect.belief.in_play(),
                leads_with: leads.as_ref().map_or(0.0, |(_, p)| *p),
                leads: leads.map(|(name, _)| name),
            }
        })
        .collect()
}

/// The repairs that lead, and how probable it is that they cure the vehicle.
fn leading(standing: &Standing<'_, '_>, posterior: &[f64]) -> Option<(String, f64)> {
    let groups = standing.problem.groups().iter();
    let believed = groups.map(|group| {
        let candidates = group.candidates.iter();
        let p: f64 = candidates.map(|candidate| posterior[*candidate]).sum();
        (group, p)
    });
    // The first of equals.
    let (group, p) = believed.min_by(|one, other| other.1.total_cmp(&one.1))?;
    Some((standing.repair_titles(&group.repairs), p))
}

impl Session<'_> {
    /// The limits that judge a measurement, as its prompt shows them.
    pub fn limits(&self, measurement: MeasurementId) -> Vec<LimitShown> {
        limits(self, self.family.measurement(measurement))
    }

    /// The units that numbers are shown in.
    pub const fn system(&self) -> System {
        self.system
    }
}

/// The limits that judge a measurement.
fn limits(session: &Session<'_>, measurement: &Measurement) -> Vec<LimitShown> {
    let names = measurement.sheet_limits().into_iter();
    names
        .map(|name| {
            let limit = session.vehicle.and_then(|on| on.limits.get(&name));
            LimitShown {
                name,
                words: limit.map(|limit| limit_words(limit, measurement, session.system)),
                source: limit.map(|limit| limit.source.clone()),
            }
        })
        .collect()
}

/// A limit in words: `5200 to 5900 kPa`, `at most 250 kPa, far from 600 kPa`.
fn limit_words(limit: &SheetLimit, measurement: &Measurement, system: System) -> String {
    if let Some(words) = &limit.words {
        return words.clone();
    }
    let Some(unit) = limit.unit else {
        return String::new();
    };
    // A reading shows its limits in the unit it will be typed in, when no system asks for another.
    let unit_shown = measurement
        .number()
        .map_or(unit, |number| number.unit.shown_in(system));
    let shown = if unit.convert(0.0, unit_shown).is_some() {
        unit_shown
    } else {
        unit
    };
    let number = |key: &str| {
        limit
            .numbers
            .get(key)
            .and_then(|number| unit.convert(*number, shown))
            .map(if shown == unit { plain } else { rounded })
    };
    let mut words = match (number("min"), number("max")) {
        (Some(min), Some(max)) => format!("{min} to {max} {}", shown.symbol()),
        (Some(min), None) => format!("at least {min} {}", shown.symbol()),
        (None, Some(max)) => format!("at most {max} {}", shown.symbol()),
        (None, None) => String::new(),
    };
    if let Some(far) = number("far") {
        words = format!("{words}, far from {far} {}", shown.symbol());
    }
    words
}
