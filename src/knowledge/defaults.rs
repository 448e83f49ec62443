//! The figures that hold where a family states none of its own. Each stands here and nowhere else.

/// The most causes a candidate may hold before more symptoms force more. docs/method.md, section 3.
pub const MAX_ORDER: usize = 2;
/// The share of belief that no listed cause explains the complaint. docs/method.md, section 4.
pub const UNLISTED: f64 = 0.05;
/// The least probability of any outcome under any candidate. docs/method.md, section 5.
pub const FLOOR: f64 = 0.001;
/// How much is uniform of the row of an unlisted cause that may touch anything; the rest is chance. docs/method.md, section 5.
pub const REACTS: f64 = 0.25;
/// Readings fit the leading candidate badly where they are more surprising than expected by more standard deviations than
/// this. docs/method.md, section 9.
pub const POOR_FIT: f64 = 2.3;
/// And by at least so many bits, one chance in 32: a single reading of probability 0.1 is three standard deviations off and
/// still comes one time in ten.
pub const LEAST_EXCESS: f64 = 5.0;
/// How probable it is that what a customer says has nothing to do with what is wrong. docs/method.md, section 5.
pub const MISTOLD: f64 = 0.15;
/// How probable it is that a reading was taken wrongly: unless a family says so, none is taken a second time before a repair.
/// docs/method.md, section 9.
pub const MISREAD: f64 = 0.0;
/// How often an abnormal outcome turns up with none of the named causes. docs/method.md, section 5.
pub const CHANCE: f64 = 0.02;
/// The most candidates for one job. More are no diagnosis: the complaints are better taken one by one.
pub const MOST_CANDIDATES: usize = 30_000;
/// The most figures that a job may foresee: one for each candidate and each outcome of each measurement.
pub const MOST_FORESEEN: usize = 4_000_000;
/// The most sets of causes that are formed or held against others, kept or not, in looking for the candidates.
pub const MOST_SETS_TRIED: usize = 1_000_000;
/// The most steps in weighing them: a place of a tree, or a comparison with another set.
pub const MOST_STEPS: usize = 100_000_000;
/// A measurement is worth taking where it saves this share of the expected cost. docs/method.md, section 10.
pub const LEAST_SAVING_SHARE: f64 = 0.05;
/// And the money of so many minutes.
pub const LEAST_SAVING_MINUTES: f64 = 10.0;
/// A measurement of fewer bits is not offered. docs/method.md, section 7.
pub const LEAST_BITS: f64 = 0.001;
/// A candidate is live while its posterior is at least this share of the largest. docs/method.md, section 7.
pub const LIVE: f64 = 0.01;
