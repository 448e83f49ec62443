//! What to do next for the least money: set-ups, repair order, ranking, and the one policy.
//!
//! A [`Problem`] is plain figures by index, without names; [`Standing`] is where a job stands, in names. The room
//! imports `infer` and what lies below it.
//!
//! Money and minutes inside the room are bare numbers in the shop's currency and in minutes, since they
//! are summed and weighed millions of times; they enter it checked, as [`crate::units::Money`] and
//! [`crate::units::Minutes`].

mod circumstances;
mod drawn;
mod plan;
mod point;
mod policy;
mod prices;
mod problem;
mod ranking;
mod repair_now;
mod rules;
mod set_up;
mod standing;
mod stop;

pub use circumstances::{Circumstances, problem, set_ups, way_out, way_to, way_to_repair};
pub use drawn::{Course, Vehicles, exactly, followed, mean_of_drawn, uniform};
pub use plan::{Branch, Measure, Outlook, PathStep, Plan, PlanNode, RepairOn, habitual, outlook};
pub use point::{Point, Step, Taking};
pub use policy::{Decision, FEW, Policy, SHARE, known_for_nothing};
pub use problem::{
    Drive, Effect, FitSoFar, Foreseen, Group, Misshapen, Parts, Problem, RepairRules, RepairWork,
};
pub use ranking::{OrderBy, Ranked, bits, entropy, ranking};
pub use repair_now::{
    MOST_EXACT, RepairNow, RepairScratch, RepairStep, repair_now, repair_now_cost,
};
pub use set_up::{Entering, InPlace, SetUp, SetUps, Way, WayMemory};
pub use standing::{Advice, Again, RecordedDrive, Repairing, Standing, WhyAgain};
pub use stop::Stop;
