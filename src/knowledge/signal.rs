//! What a recording of a scan tool holds: the signals of a family, and how a measurement is read from them.

use serde::Serialize;

use super::ids::{InstrumentId, OutcomeId, SignalId};
use super::limit::LimitBand;
use super::pattern::Pattern;
use super::stated::is_default;
use crate::units::formula::Formula;
use crate::units::{Interval, Unit};

/// Writes an enum of words with the list of them.
macro_rules! words {
    ($(#[doc = $doc:literal])+ $kind:ident { $($(#[doc = $about:literal])+ $name:ident = $id:literal, $title:literal;)+ }) => {
        $(#[doc = $doc])+
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum $kind {
            $($(#[doc = $about])+ $name,)+
        }

        impl $kind {
            /// Every one.
            pub const ALL: [Self; [$($id),+].len()] = [$(Self::$name),+];

            /// Its word in the knowledge files.
            pub const fn id(self) -> &'static str {
                match self {
                    $(Self::$name => $id,)+
                }
            }

            /// It in words.
            pub const fn title(self) -> &'static str {
                match self {
                    $(Self::$name => $title,)+
                }
            }

            /// The one of a word in the knowledge files.
            pub fn named(id: &str) -> Option<Self> {
                Self::ALL.into_iter().find(|kind| kind.id() == id)
            }
        }

        impl Serialize for $kind {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_str(self.id())
            }
        }
    };
}

words! {
    /// What the program takes a signal for where it computes traces and looks for events.
    Role {
        /// Engine speed.
        Engine = "engine", "engine speed";
        /// Turbine speed of the converter.
        Turbine = "turbine", "turbine speed";
        /// Speed of the primary pulley.
        Primary = "primary", "primary pulley speed";
        /// Speed of the secondary pulley.
        Secondary = "secondary", "secondary pulley speed";
        /// The pulley ratio that the control asks for.
        RatioCommand = "ratio-command", "desired pulley ratio";
        /// Mean speed of the front wheels.
        FrontAxle = "front-axle", "front axle speed";
        /// Mean speed of the rear wheels.
        RearAxle = "rear-axle", "rear axle speed";
        /// The clamp pressure.
        Pressure = "pressure", "clamp pressure";
        /// The clamp pressure that the control asks for.
        PressureCommand = "pressure-command", "desired clamp pressure";
        /// Duty of the converter clutch's solenoid.
        LockUp = "lock-up", "converter clutch command";
        /// Accelerator or throttle.
        Throttle = "throttle", "throttle";
        /// Selector position, in the states P, R, N and D.
        Selector = "selector", "selector";
        /// Fluid temperature.
        Fluid = "fluid", "fluid temperature";
    }
}

words! {
    /// What can happen in a recording. docs/method.md, section 14.
    EventKind {
        /// Engine speed runs away from a driveline that is commanded closed.
        Flare = "flare", "flare";
        /// A speed swings at one frequency.
        Judder = "judder", "judder";
        /// The pulley ratio changes faster than any ratio control moves it.
        RatioJump = "ratio-jump", "jump of the ratio";
        /// The pulley ratio drifts above the desired one.
        RatioDrift = "ratio-drift", "drift of the ratio";
        /// Full throttle against the brakes.
        Stall = "stall", "stall test";
        /// From the selector's change to D until the turbine takes load.
        EngagementForward = "engagement-forward", "engagement of D";
        /// From the selector's change to R until the turbine takes load.
        EngagementReverse = "engagement-reverse", "engagement of R";
        /// The ratio stays where it is while the road speed changes: a substitute programme.
        LimpMode = "limp-mode", "limp mode";
        /// The fluid is hotter than its limit.
        Overheating = "overheating", "overheating";
    }
}

words! {
    /// Which value of its windows a recorded reading is.
    Statistic {
        /// The mean over all of them.
        Mean = "mean", "mean";
        /// The largest mean of a stretch as long as the window must be.
        Largest = "largest", "largest";
        /// The smallest.
        Smallest = "smallest", "smallest";
        /// The one furthest from zero.
        Furthest = "furthest", "furthest from zero";
    }
}

/// Something that a column of a recording can be.
#[derive(Clone, Debug, Serialize)]
pub struct Signal {
    /// Its id in the files.
    pub name: String,
    /// What it is.
    pub title: String,
    /// What the program takes it for.
    pub role: Option<Role>,
    /// Its unit; `None` for a state in words.
    pub unit: Option<Unit>,
    /// What a column's numbers can be, in `unit`; others are taken for missing.
    pub range: Option<Interval>,
    /// What reads it, and so how well.
    pub instrument: Option<InstrumentId>,
    /// The states, each with the words that a column has for it; empty for a number.
    #[serde(skip_serializing_if = "is_default")]
    pub states: Vec<(String, Vec<String>)>,
    /// Patterns of a column's name; those that fit best first.
    pub columns: Vec<Pattern>,
    /// The signals that it exceeds at most so many times.
    #[serde(skip_serializing_if = "is_default")]
    pub at_most: Vec<(SignalId, f64)>,
}

/// How a measurement is read from a recording.
#[derive(Clone, Debug, Serialize)]
pub struct Recording {
    /// The signal of each raw reading, by its name in the formula; of `value` for a number that is read itself.
    pub reads: Vec<(String, SignalId)>,
    /// What must hold all through the window.
    #[serde(skip)]
    pub during: Vec<(SignalId, During)>,
    /// The most that a signal changes a second in the window, in its unit.
    #[serde(skip_serializing_if = "is_default")]
    pub steady: Vec<(SignalId, f64)>,
    /// The shortest window, in seconds.
    pub seconds: f64,
    /// The longest that signals may be so on end, in seconds: nothing is read where they were so for longer.
    #[serde(rename = "at most", skip_serializing_if = "Option::is_none")]
    pub at_most: Option<f64>,
    /// How long all windows are together at least, in seconds.
    #[serde(rename = "in all", skip_serializing_if = "is_default")]
    pub in_all: f64,
    /// Which value of the windows.
    pub takes: Statistic,
    /// The event whose length is the reading.
    pub event: Option<EventKind>,
    /// For words: the outcomes that events stand for, the first found counting; normal where none of them is found.
    pub outcomes: Vec<(OutcomeId, EventKind)>,
    /// For words: the outcomes that recorded numbers stand for, the first that holds counting; normal where none does.
    #[serde(skip)]
    pub judged: Vec<Judged>,
}

/// When recorded numbers stand for an outcome.
#[derive(Clone, Debug)]
pub struct Judged {
    /// The outcome.
    pub outcome: OutcomeId,
    /// What is computed from the signals, by the names that `reads` gives them.
    pub formula: Formula,
    /// The unit of what is computed: that of the signals.
    pub unit: Unit,
    /// Where it must lie for the outcome.
    pub band: LimitBand,
}

/// What a signal must be.
#[derive(Clone, Debug)]
pub enum During {
    /// In a band of numbers.
    Band(LimitBand),
    /// In one of these states: places in the signal's list.
    States(Vec<usize>),
}
