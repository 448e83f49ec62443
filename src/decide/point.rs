//! Where a job is, and the steps that lead on from there.

use super::set_up::{InPlace, Way};

/// Where a job is: all that the policy depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// One weight a candidate, the kinds of unlisted cause last; they need not add up to 1.
    pub weights: Vec<f64>,
    /// The set-ups in place.
    pub in_place: InPlace,
    /// The measurements read, by index, in order.
    pub taken: Vec<usize>,
    /// The measurements that may not be taken any more though they are not read, by index.
    pub closed: Vec<usize>,
    /// The set-ups that may not be entered any more, beside those the problem closes.
    pub closed_set_ups: InPlace,
    /// What a recording at hand answers, by index: read without time.
    pub recorded: Vec<usize>,
    /// The repairs done in vain, as bits in the problem's numbering of the repairs in use.
    pub(super) done: u128,
}

impl Point {
    /// A point where no repair of the problem has been done.
    pub fn new(weights: Vec<f64>, in_place: InPlace) -> Self {
        Self {
            weights,
            in_place,
            taken: Vec::new(),
            closed: Vec::new(),
            closed_set_ups: InPlace::NOTHING,
            recorded: Vec::new(),
            done: 0,
        }
    }

    /// Whether a measurement is neither read nor closed.
    pub fn is_open(&self, measurement: usize) -> bool {
        !self.taken.contains(&measurement) && !self.closed.contains(&measurement)
    }

    /// The sum of the weights.
    pub fn weight(&self) -> f64 {
        self.weights.iter().sum()
    }
}

/// One step of a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Take this measurement.
    Measure(usize),
    /// Record a drive that answers several measurements, and read this one of them first.
    Record {
        /// The drive, by its place in the problem.
        drive: usize,
        /// The measurement read first.
        first: usize,
    },
    /// Do what is left of the repairs of this group; decide again if they do not cure it.
    Repair(usize),
    /// Hand the job on.
    Escalate,
}

impl Step {
    /// The measurement that it takes, or takes first.
    pub const fn measures(self) -> Option<usize> {
        match self {
            Self::Measure(measurement)
            | Self::Record {
                first: measurement, ..
            } => Some(measurement),
            Self::Repair(_) | Self::Escalate => None,
        }
    }
}

/// Way, minutes and cost of a measurement from a point.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Taking {
    /// The set-ups entered before it.
    pub way: Way,
    /// Minutes of set-ups and measurement.
    pub minutes: f64,
    /// What it costs.
    pub cost: f64,
    /// Whether a repair just done or the measurement before has shown it, so that it is read without time.
    pub shown: bool,
    /// What the same recording answers, this measurement among it; empty where it is taken by hand.
    pub recorded: Vec<usize>,
}
