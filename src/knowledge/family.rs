//! A kind of transmission that shares causes, measurements and trees.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use serde::Serialize;

use super::case::Case;
use super::cause::{Cause, Repair};
use super::condition::Condition;
use super::exercise::Exercise;
use super::ids::{
    CauseId, ConditionId, InstrumentId, MeasurementId, OutcomeId, RepairId, SetUpId, SignalId,
    SymptomId,
};
use super::measurement::{CodeMeaning, Measurement};
use super::order::Unless;
use super::pattern::Pattern;
use super::signal::{Role, Signal};
use super::stated::is_default;
use super::symptom::Symptom;
use crate::entry::Expected;
use crate::text::unknown;
use crate::units::uncertainty::Accuracy;
use crate::units::{Interval, Minutes, Money, Probability, Unit};

/// A kind of transmission and all that is known of it.
#[derive(Clone, Debug, Serialize)]
pub struct Family {
    /// Its id in the files.
    pub name: String,
    /// Whether it is still to be filled in: no job is opened on it.
    #[serde(skip)]
    pub unfinished: bool,
    /// The kind, in words.
    pub title: String,
    /// What its jobs are called, in several.
    #[serde(skip)]
    pub jobs: String,
    /// What stands on every screen that starts a test.
    pub notice: String,
    /// What its figures are worth.
    pub worth: String,
    /// The figures of the reasoning.
    #[serde(flatten)]
    pub figures: Figures,
    /// What is left of the figures of measurements that show a fault only while it acts, by measurement and outcome.
    #[serde(skip_serializing_if = "is_default")]
    pub fades: Vec<(MeasurementId, Vec<(OutcomeId, Probability)>)>,
    /// What work costs.
    #[serde(flatten)]
    pub shop: Shop,
    /// The set-ups that stand when a vehicle comes in.
    pub in_place: Vec<SetUpId>,
    /// The set-ups that stand once a repair is done and everything is put back; empty where a repair changes nothing.
    pub put_back: Vec<SetUpId>,
    /// Words of a complaint that are about something else: what they match is left out before complaints are read.
    pub not_meant: Vec<Pattern>,
    /// What happens where a part is condemned before what must be read first.
    pub unproved: Option<String>,
    /// The trade's habitual order of measurements.
    pub habit: Vec<MeasurementId>,
    /// Caution texts.
    pub cautions: Vec<NamedText>,
    /// The words in steps that ask for a caution, without regard to case: a place in the list of caution texts, and
    /// patterns of words that mention its danger.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub dangers: Vec<(usize, Vec<Pattern>)>,
    /// What each word of a source stands for; empty where the family does not say.
    pub sources: Vec<NamedText>,
    /// Texts on the care a repair asks for.
    pub care: Vec<NamedText>,
    /// Set-ups.
    pub set_ups: Vec<SetUp>,
    /// Instruments.
    pub instruments: Vec<Instrument>,
    /// Conditions of valid readings.
    pub conditions: Vec<Condition>,
    /// What recording a drive takes; `None` where none is proposed.
    pub recorder: Option<Recorder>,
    /// What a recording of the scan tool can hold.
    pub signals: Vec<Signal>,
    /// Trouble codes that are known, by code.
    pub codes: BTreeMap<String, CodeMeaning>,
    /// Causes that only the named measurements part.
    pub ambiguities: Vec<Ambiguity>,
    /// Findings of `check` that are known and meant.
    #[serde(skip)]
    pub accept: Vec<Accepted>,
    /// Repairs.
    pub repairs: Vec<Repair>,
    /// Causes.
    pub causes: Vec<Cause>,
    /// Measurements.
    pub measurements: Vec<Measurement>,
    /// Complaints and their trees.
    pub symptoms: Vec<Symptom>,
    /// Worked cases.
    pub cases: Vec<Case>,
    /// Exercises, in the order of their files.
    pub exercises: Vec<Exercise>,
}

/// The figures of the reasoning: docs/method.md, sections 3 to 5.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Figures {
    /// The most causes in a candidate, before symptoms force more.
    pub max_order: usize,
    /// The share of belief that no listed cause explains the complaint.
    pub unlisted: Probability,
    /// The least probability of any outcome under any candidate.
    pub floor: Probability,
    /// How much of the unlisted cause's row is uniform.
    pub reacts: Probability,
    /// How probable it is that what a customer says has nothing to do with what is wrong.
    pub mistold: Probability,
    /// How probable it is that a reading was taken wrongly; 0 where none is ever taken a second time before a repair.
    pub misread: Probability,
}

/// What work costs in the shop.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Shop {
    /// Money per hour of labour.
    pub labour_rate: Money,
    /// Money per hour of waiting, with nobody at work.
    pub waiting_rate: Money,
    /// A measurement is worth taking where it saves this share of the expected cost
    pub least_saving_share: Probability,
    /// and the money of this much labour.
    pub least_saving_minutes: Minutes,
    /// How likely a repair must be to cure before it is advised, as long as measuring on hardly costs more.
    pub repair_from: Probability,
    /// What every repair takes beside its own work until it is proved: codes cleared, road test, codes read again.
    pub close_out: Minutes,
    /// What an unlisted cause costs to end.
    pub escalation: Escalation,
}

/// What recording a drive takes, beside what its measurements need.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Recorder {
    /// Minutes to start a recording, save it and read it in.
    pub minutes: Minutes,
    /// The set-ups it needs: what records is connected.
    #[serde(rename = "set-ups")]
    pub set_ups: Vec<SetUpId>,
}

impl Recorder {
    /// The name by which a workshop says that it has none.
    pub const NAME: &str = "recorder";
}

/// Handing the job on: the price of ending it whatever is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Escalation {
    /// Working time.
    pub minutes: Minutes,
    /// Parts and outside work.
    pub parts: Money,
}

/// A text with a name: a caution, the care that a repair asks for, or what a word of a source means.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct NamedText {
    /// Its id in the files.
    pub name: String,
    /// The text.
    pub text: String,
}

/// What must be in place before a measurement.
#[derive(Clone, Debug, Serialize)]
pub struct SetUp {
    /// Its id in the files.
    pub name: String,
    /// Ids it had before, by which older records may name it.
    pub formerly: Vec<String>,
    /// What it is.
    pub title: String,
    /// The time to enter it.
    pub minutes: Minutes,
    /// Entering it leaves the others of its group.
    pub group: Option<String>,
    /// What must be in place while it is entered.
    pub needs: Vec<SetUpId>,
    /// What else ends when it is entered.
    pub ends: Vec<SetUpId>,
    /// What entering it puts in place too, within its minutes.
    pub sets: Vec<SetUpId>,
    /// Time that passes with nobody at work.
    pub wait: Minutes,
    /// The price of what it uses up.
    pub parts: Money,
    /// What entering takes where one of these is left.
    #[serde(skip_serializing_if = "is_default")]
    pub from: Vec<(SetUpId, Entering)>,
    /// What can no longer be read once it has been entered.
    pub spoils: Vec<MeasurementId>,
    /// When it is not entered, nor what needs it.
    pub unless: Unless,
    /// What is asked while it is entered.
    pub conditions: Vec<ConditionId>,
    /// The cautions before it: places in the family's list of caution texts.
    pub cautions: Vec<usize>,
    /// Its place in the file: of ways that cost alike, the one in the order of the file is gone.
    #[serde(skip)]
    pub place: usize,
    /// The equipment it ties up.
    pub equipment: Option<String>,
}

/// What entering a set-up takes where another is left, in place of its general figures.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Entering {
    /// The time to enter it.
    pub minutes: Minutes,
    /// Time that passes with nobody at work.
    #[serde(skip_serializing_if = "is_default")]
    pub wait: Minutes,
    /// What must be in place while it is entered.
    pub needs: Vec<SetUpId>,
}

/// What reads a number.
#[derive(Clone, Debug, Serialize)]
pub struct Instrument {
    /// Its id in the files.
    pub name: String,
    /// What it is.
    pub title: String,
    /// The unit of its range and accuracy.
    pub unit: Unit,
    /// What it can read.
    pub range: Option<Interval>,
    /// How well it reads.
    pub accuracy: Accuracy,
}

/// A finding at one place that is known and meant.
#[derive(Clone, Debug)]
pub struct Accepted {
    /// The code of the finding.
    pub code: String,
    /// The names that lead to the place.
    pub at: String,
    /// Why it is meant.
    pub because: String,
}

/// Causes with different repairs that only a few measurements part.
#[derive(Clone, Debug, Serialize)]
pub struct Ambiguity {
    /// The causes.
    pub causes: Vec<CauseId>,
    /// What parts them; may be empty.
    pub parted_by: Vec<MeasurementId>,
    /// Why they look alike.
    pub why: String,
}

/// An id that one of a family's lists gave out.
pub trait Id: Copy {
    /// What a thing of that list is called.
    const KIND: &'static str;
    /// What the files call the thing.
    fn name_in(self, family: &Family) -> &str;
    /// The id that the files call `name`, or once called so.
    fn known_as(family: &Family, name: &str) -> Option<Self>;
    /// What the files call the things of the list.
    fn names(family: &Family) -> impl Iterator<Item = &str> + Clone;
}

macro_rules! named {
    ($($id:ident, $kind:literal, $list:ident, $get:ident, $known_as:ident;)+) => {$(
        impl Id for $id {
            const KIND: &'static str = $kind;

            fn name_in(self, family: &Family) -> &str {
                &family.$get(self).name
            }

            fn known_as(family: &Family, name: &str) -> Option<Self> {
                family.$known_as(name)
            }

            fn names(family: &Family) -> impl Iterator<Item = &str> + Clone {
                family.$list.iter().map(|item| item.name.as_str())
            }
        }
    )+};
}

named! {
    CauseId, "cause", causes, cause, cause_known_as;
    RepairId, "repair", repairs, repair, repair_known_as;
    MeasurementId, "measurement", measurements, measurement, measurement_known_as;
    SymptomId, "symptom", symptoms, symptom, symptom_known_as;
    SetUpId, "set-up", set_ups, set_up, set_up_known_as;
    InstrumentId, "instrument", instruments, instrument, instrument_named;
    SignalId, "signal", signals, signal, signal_named;
}

macro_rules! list {
    ($($list:ident: $item:ty, $id:ident, $get:ident, $named:ident;)+) => {$(
        #[doc = concat!("One of the family's ", stringify!($list), "; an id is made by this family, so it stands.")]
            pub fn $get(&self, id: $id) -> &$item {
            &self.$list[id.index()]
        }

        #[doc = concat!("The id among the family's ", stringify!($list), " that the files call `name`.")]
            pub fn $named(&self, name: &str) -> Option<$id> {
            self.$list.iter().position(|item| item.name == name).map($id::at)
        }
    )+};
}

macro_rules! known_as {
    ($($list:ident: $id:ident, $named:ident, $known_as:ident;)+) => {$(
        #[doc = concat!("The id among the family's ", stringify!($list), " that the files call `name`, or once called so.")]
        pub fn $known_as(&self, name: &str) -> Option<$id> {
            self.$named(name).or_else(|| {
                let once = |former: &String| former == name;
                self.$list.iter().position(|item| item.formerly.iter().any(once)).map($id::at)
            })
        }
    )+};
}

impl Family {
    known_as! {
        causes: CauseId, cause_named, cause_known_as;
        repairs: RepairId, repair_named, repair_known_as;
        measurements: MeasurementId, measurement_named, measurement_known_as;
        symptoms: SymptomId, symptom_named, symptom_known_as;
        set_ups: SetUpId, set_up_named, set_up_known_as;
        conditions: ConditionId, condition_named, condition_known_as;
    }

    list! {
        causes: Cause, CauseId, cause, cause_named;
        repairs: Repair, RepairId, repair, repair_named;
        measurements: Measurement, MeasurementId, measurement, measurement_named;
        symptoms: Symptom, SymptomId, symptom, symptom_named;
        set_ups: SetUp, SetUpId, set_up, set_up_named;
        instruments: Instrument, InstrumentId, instrument, instrument_named;
        conditions: Condition, ConditionId, condition, condition_named;
        signals: Signal, SignalId, signal, signal_named;
    }

    /// The signal that the program takes for this.
    pub fn signal_for(&self, role: Role) -> Option<SignalId> {
        let mut signals = self.signals.iter();
        signals
            .position(|signal| signal.role == Some(role))
            .map(SignalId::at)
    }

    /// The looks that bear on any complaint: the first looks of several symptoms that are for no symptom in particular.
    /// Those of most symptoms come first, then those that come earlier there.
    pub fn general_looks(&self) -> Vec<MeasurementId> {
        let mut places: BTreeMap<MeasurementId, Vec<usize>> = BTreeMap::new();
        for symptom in &self.symptoms {
            for (place, look) in symptom.first_looks.iter().enumerate() {
                places.entry(*look).or_default().push(place);
            }
        }
        places.retain(|look, places| {
            places.len() > 1 && self.measurement(*look).offered_for.is_none()
        });
        let mut looks: Vec<_> = places.into_iter().collect();
        looks.sort_by_key(|(look, places)| {
            (Reverse(places.len()), places.iter().sum::<usize>(), *look)
        });
        looks.into_iter().map(|(look, _)| look).collect()
    }

    /// What a repair takes until it is proved: its own work, and what closes out every repair.
    pub fn repair_minutes(&self, id: RepairId) -> Minutes {
        self.repair(id).minutes + self.shop.close_out
    }

    /// What a repair costs until it is proved: `minutes · labour rate / 60 + parts`. docs/method.md, section 9.
    pub fn repair_cost(&self, id: RepairId) -> Money {
        self.repair_minutes(id).at(self.shop.labour_rate) + self.repair(id).parts
    }

    /// What a number is expected to be: `unit` and `plausible` as the knowledge states them, and the range of the
    /// instrument that reads it.
    pub fn expected(
        &self,
        unit: Unit,
        plausible: Option<Interval>,
        instrument: Option<InstrumentId>,
    ) -> Expected {
        let range = instrument.and_then(|id| {
            let instrument = self.instrument(id);
            instrument.unit.convert_interval(instrument.range?, unit)
        });
        Expected {
            unit,
            plausible,
            range,
            limits: None,
        }
    }

    /// The id that the files call `name`, or once called so. The error says that there is none, and what may be meant:
    /// it begins with "there is".
    pub fn find<I: Id>(&self, name: &str) -> Result<I, String> {
        I::known_as(self, name).ok_or_else(|| unknown(I::KIND, name, I::names(self)))
    }

    /// What the files call a thing.
    pub fn name_of(&self, id: impl Id) -> String {
        id.name_in(self).to_owned()
    }

    /// What the files call some things, in the same order.
    pub fn names_of<'i, I: Id + 'i>(&self, ids: impl IntoIterator<Item = &'i I>) -> Vec<String> {
        ids.into_iter().map(|id| self.name_of(*id)).collect()
    }

    /// The names of repairs, joined by ` + `.
    pub fn repair_names(&self, repairs: &[RepairId]) -> String {
        self.names_of(repairs).join(" + ")
    }

    /// What is done in repairs, joined.
    pub fn repair_titles(&self, repairs: &[RepairId]) -> String {
        let titles = repairs.iter().map(|id| self.repair(*id).title.as_str());
        titles.collect::<Vec<_>>().join("; and ")
    }

    /// The texts of cautions, each once.
    pub fn caution_texts<'i>(&self, cautions: impl IntoIterator<Item = &'i usize>) -> Vec<String> {
        let mut texts = Vec::new();
        for caution in cautions
            .into_iter()
            .filter_map(|place| self.cautions.get(*place))
        {
            if !texts.contains(&caution.text) {
                texts.push(caution.text.clone());
            }
        }
        texts
    }

    /// What escalation costs.
    pub fn escalation_cost(&self) -> Money {
        self.shop.escalation.minutes.at(self.shop.labour_rate) + self.shop.escalation.parts
    }
}
