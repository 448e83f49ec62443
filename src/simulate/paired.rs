//! Two versions of the knowledge on the same drawn vehicles.

use rayon::prelude::*;

use super::mechanic::{Course, Mechanic, Unworkable};
use super::summary::moments;
use super::world::{Drawn, World};

/// A figure under two versions, and how sure their difference is.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Difference {
    /// The figure under the earlier version.
    pub old: f64,
    /// The figure under the later version.
    pub new: f64,
    /// 95 % of such studies put `new − old` within this of the truth.
    pub within: f64,
}

impl Difference {
    /// How much higher the later version's figure is.
    #[must_use]
    pub fn change(self) -> f64 {
        self.new - self.old
    }

    /// Whether the difference is more than chance would make it.
    #[must_use]
    pub fn is_clear(self) -> bool {
        self.change().abs() > self.within
    }
}

/// Both versions on the vehicles of one of them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Paired {
    /// How many vehicles both diagnosed.
    pub vehicles: usize,
    /// Share whose first repair is the right one.
    pub first: Difference,
    /// Share cured by the second repair at the latest.
    pub within_two: Difference,
    /// Minutes of everything.
    pub minutes: Difference,
    /// Cost of everything.
    pub cost: Difference,
}

/// Lets both diagnose `vehicles` vehicles of each fault of the world. `tick` is told of each.
///
/// # Errors
///
/// [`Unworkable`]
pub fn paired(
    world: &World<'_>,
    old: &Mechanic<'_>,
    new: &Mechanic<'_>,
    vehicles: u32,
    tick: &(dyn Fn() + Sync),
) -> Result<Paired, Unworkable> {
    let drawn: Vec<Drawn> = (0..world.hypotheses())
        .flat_map(|hypothesis| (0..vehicles).map(move |number| Drawn { hypothesis, number }))
        .collect();
    let courses = drawn
        .par_iter()
        .map(|drawn| {
            let both = (old.diagnose(world, *drawn)?, new.diagnose(world, *drawn)?);
            tick();
            Ok(both)
        })
        .collect::<Result<Vec<(Course, Course)>, Unworkable>>()?;
    let difference = |of: &dyn Fn(&Course) -> f64| {
        let mut sum = Difference::default();
        let mut variance = 0.0;
        for (hypothesis, pairs) in courses.chunks_exact(vehicles.max(1) as usize).enumerate() {
            let probability = world.probability(hypothesis);
            sum.old += probability * moments(pairs.iter().map(|pair| of(&pair.0))).0;
            sum.new += probability * moments(pairs.iter().map(|pair| of(&pair.1))).0;
            let (_, of_mean) = moments(pairs.iter().map(|pair| of(&pair.1) - of(&pair.0)));
            variance += probability * probability * of_mean;
        }
        // The normal quantile for 95 % on two sides.
        sum.within = 1.96 * variance.sqrt();
        sum
    };
    let cured_by = |most: usize| {
        move |course: &Course| f64::from(u8::from(course.cured_by().is_some_and(|n| n <= most)))
    };
    Ok(Paired {
        vehicles: courses.len(),
        first: difference(&cured_by(1)),
        within_two: difference(&cured_by(2)),
        minutes: difference(&|course| course.minutes),
        cost: difference(&|course| course.cost),
    })
}
