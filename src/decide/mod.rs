//! What to do next for the least money: set-ups, repair order, ranking, and the policy.
//!
//! The room works on a [`Problem`]: plain figures by index, without names. It imports `quantity` only;
//! whoever fills in the problem knows what the indices stand for.
//!
//! Money and minutes inside the room are bare numbers in the shop's currency and in minutes, since they
//! are summed and weighed millions of times; they enter it checked, as [`crate::units::Money`] and
//! [`crate::units::Minutes`].

mod compare;
mod compared;
mod fixed_order;
mod outlook;
mod policy;
mod problem;
mod ranking;
mod repair_now;
mod set_up;
mod standing;
mod stated;
mod what_if;

pub use compare::{AHEAD, Comparison, Strategy, Vehicles, compare, exactly, known_for_nothing};
pub use compared::{Compared, Effort, WayOfWorking, compared};
pub use fixed_order::{Search, by_use, fixed_order, until};
pub use outlook::{Along, Outlook, PathStep, likeliest_path};
pub use policy::{
    Branch, Limits, Measure, NextStep, PROVEN, Policy, PolicyNode, Progress, RepairOn, Spending,
    Step, Stopped, advise, followed, plan,
};
pub use problem::{Foreseen, Group, Misshapen, Parts, Problem, RepairWork};
pub use ranking::{FEWEST_BITS, OrderBy, Ranked, bits, entropy, ranking};
pub use repair_now::{
    MOST_EXACT, RepairNow, RepairScratch, RepairStep, repair_by_probability, repair_now,
    repair_now_cost,
};
pub use set_up::{InPlace, SetUp, SetUps, Way, WayMemory};
pub use standing::{Advice, Repairing, Standing};
pub use stated::{Circumstances, problem, set_ups};
pub use what_if::{Ask, Figure, Sensitive, Sensitivity, sensitivity, with_rate};
