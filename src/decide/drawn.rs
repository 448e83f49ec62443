//! A way of working followed to the end of the job: on every branch where they are few, else on vehicles drawn
//! from the belief.

use super::point::{Point, Step};
use super::policy::Policy;
use super::problem::Problem;
use super::set_up::InPlace;
use super::stop::Stop;
use rayon::iter::{IntoParallelIterator, ParallelIterator};

/// 95 % of a normal distribution lie within so many standard deviations.
const NINETY_FIVE: f64 = 1.959_963_984_540_054;

/// One job, or all that go the same way.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Course {
    /// How probable it is.
    pub probability: f64,
    /// Cost of measuring.
    pub testing: f64,
    /// Cost of repairs.
    pub repair: f64,
    /// Cost of escalation.
    pub escalation: f64,
    /// Minutes of measuring, set-ups included.
    pub testing_minutes: f64,
    /// Minutes of everything.
    pub minutes: f64,
    /// Every set-up entered on the way.
    pub entered: InPlace,
    /// The group whose repairs cured it; `None` where it was handed on.
    pub cured_by: Option<usize>,
}

impl Course {
    /// Everything it costs.
    pub fn cost(&self) -> f64 {
        self.testing + self.repair + self.escalation
    }
}

/// Vehicles drawn from a belief.
#[derive(Clone, Debug)]
pub struct Vehicles<'p> {
    problem: &'p Problem,
    /// What is wrong with each: its place among the weights.
    wrong: Vec<usize>,
    seed: u64,
    stop: Stop<'p>,
}

impl<'p> Vehicles<'p> {
    /// So many vehicles, the same for the same seed. What is wrong is drawn evenly along the belief (systematic
    /// sampling), what is read under it by chance.
    #[allow(clippy::cast_precision_loss, reason = "a count of vehicles")]
    pub fn drawn(problem: &'p Problem, weights: &[f64], count: usize, seed: u64) -> Self {
        let total: f64 = weights.iter().sum();
        let start = uniform(&[seed]);
        let (mut candidate, mut passed) = (0, weights.first().copied().unwrap_or(0.0));
        let wrong = (0..count)
            .map(|vehicle| {
                let place = (vehicle as f64 + start) / count as f64 * total;
                while passed < place && candidate + 1 < weights.len() {
                    candidate += 1;
                    passed += weights[candidate];
                }
                candidate
            })
            .collect();
        Self {
            problem,
            wrong,
            seed,
            stop: Stop::never(),
        }
    }

    /// The same vehicles, no longer followed once they are to be given up: some then have no course.
    pub fn until(self, stop: Stop<'p>) -> Self {
        Self { stop, ..self }
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.wrong.len()
    }

    /// What a vehicle reads at a measurement, whenever it is taken.
    fn reads(&self, vehicle: usize, measurement: usize) -> usize {
        let mut left = uniform(&[self.seed, vehicle as u64, measurement as u64]);
        let last = self.problem.outcomes(measurement) - 1;
        let read = (0..last).find(|&outcome| {
            left -= self.problem.column(measurement, outcome)[self.wrong[vehicle]];
            left < 0.0
        });
        read.unwrap_or(last)
    }
}

/// A number from 0 up to 1 that looks random and is always the same for the same words: the mixing function of
/// `SplitMix64` (Steele, Lea and Flood, Fast splittable pseudorandom number generators, 2014).
#[allow(clippy::cast_precision_loss, reason = "53 bits fill a float exactly")]
pub fn uniform(words: &[u64]) -> f64 {
    let mixed = words.iter().fold(0_u64, |state, word| {
        let mut z = (state ^ word).wrapping_add(0x9E37_79B9_7F4A_7C15);
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    });
    (mixed >> 11) as f64 / (1_u64 << 53) as f64
}

/// The mean cost of some courses, and half the width of its 95 % interval.
///
/// Drawn vehicles lie evenly along the belief, so the spread of the mean comes from the differences of neighbours
/// (Wolter, Introduction to Variance Estimation, on systematic samples).
#[allow(clippy::cast_precision_loss, reason = "a count of vehicles")]
pub fn mean_of_drawn(costs: &[f64]) -> (f64, f64) {
    let count = costs.len() as f64;
    let differences = costs.windows(2).map(|two| (two[1] - two[0]).powi(2));
    let spread = differences.sum::<f64>() / 2.0 / (count - 1.0).max(1.0);
    let mean = costs.iter().sum::<f64>() / count;
    (mean, NINETY_FIVE * (spread / count).sqrt())
}

/// Follows a way of working on drawn vehicles: a course each, in their order. `make` gives the decisions, once a
/// thread. Cost: a decision for every point that some vehicle comes to.
pub fn followed<D: FnMut(&Point) -> Step>(
    start: &Point,
    vehicles: &Vehicles<'_>,
    make: impl Fn() -> D + Sync,
) -> Vec<Course> {
    let all: Vec<usize> = (0..vehicles.wrong.len()).collect();
    let mut walk = Walk::new(vehicles.problem, Some(vehicles), make());
    let step = (walk.decide)(start);
    let mut courses = if step.measures().is_some() {
        // The branches of the first measurement, and of each one after it, on all cores.
        let mut parts = walk.branches(start, step, &all, Course::default());
        parts = parts
            .into_par_iter()
            .flat_map_iter(|(at, some, course)| {
                let mut walk = Walk::new(vehicles.problem, Some(vehicles), make());
                let step = (walk.decide)(&at);
                if step.measures().is_some() {
                    walk.branches(&at, step, &some, course)
                } else {
                    vec![(at, some, course)]
                }
            })
            .collect();
        parts
            .into_par_iter()
            .flat_map_iter(|(at, some, course)| {
                let mut walk = Walk::new(vehicles.problem, Some(vehicles), make());
                walk.from(&at, &some, course);
                walk.courses
            })
            .collect()
    } else {
        walk.from(start, &all, Course::default());
        walk.courses
    };
    courses.sort_by_key(|course| course.0);
    courses.into_iter().map(|course| course.1).collect()
}

/// Follows a way of working along every branch: for small problems.
pub fn exactly<D: FnMut(&Point) -> Step>(
    problem: &Problem,
    start: &Point,
    decide: D,
) -> Vec<Course> {
    let mut walk = Walk::new(problem, None, decide);
    walk.from(start, &[], Course::default());
    let total = start.weight();
    let mut courses: Vec<Course> = walk.courses.into_iter().map(|course| course.1).collect();
    for course in &mut courses {
        course.probability /= total;
    }
    courses
}

struct Walk<'p, D> {
    policy: Policy<'p>,
    problem: &'p Problem,
    /// The vehicles followed; `None` follows every branch.
    vehicles: Option<&'p Vehicles<'p>>,
    decide: D,
    /// Each with the number of its vehicle.
    courses: Vec<(usize, Course)>,
}

impl<'p, D: FnMut(&Point) -> Step> Walk<'p, D> {
    fn new(problem: &'p Problem, vehicles: Option<&'p Vehicles<'p>>, decide: D) -> Self {
        Self {
            policy: Policy::new(problem),
            problem,
            vehicles,
            decide,
            courses: Vec::new(),
        }
    }

    fn from(&mut self, at: &Point, some: &[usize], course: Course) {
        if self
            .vehicles
            .is_some_and(|vehicles| vehicles.stop.is_asked())
        {
            return;
        }
        match (self.decide)(at) {
            step @ (Step::Measure(_) | Step::Record { .. }) => {
                for (next, these, course) in self.branches(at, step, some, course) {
                    self.from(&next, &these, course);
                }
            }
            Step::Repair(group) => {
                let (cost, next) = self.policy.in_vain(at, group);
                let course = Course {
                    repair: course.repair + cost,
                    minutes: course.minutes + self.policy.minutes_left(at, group),
                    ..course
                };
                let cured = Course {
                    cured_by: Some(group),
                    ..course
                };
                if let Some(vehicles) = self.vehicles {
                    let (left, done): (Vec<usize>, Vec<usize>) = some
                        .iter()
                        .partition(|&&v| next.weights[vehicles.wrong[v]] > 0.0);
                    self.end(&done, 0.0, cured);
                    if !left.is_empty() {
                        self.from(&next, &left, course);
                    }
                } else {
                    self.end(some, at.weight() - next.weight(), cured);
                    if next.weight() > 0.0 {
                        self.from(&next, some, course);
                    }
                }
            }
            Step::Escalate => {
                let minutes = self.problem.parts().escalation.minutes.get();
                let course = Course {
                    escalation: self.problem.escalation_cost(),
                    minutes: course.minutes + minutes,
                    ..course
                };
                self.end(some, at.weight(), course);
            }
        }
    }

    /// What a measurement leads to: the points that some vehicle comes to.
    fn branches(
        &mut self,
        at: &Point,
        step: Step,
        some: &[usize],
        course: Course,
    ) -> Vec<(Point, Vec<usize>, Course)> {
        let Some((measurement, taking)) = self.policy.begin(at, step) else {
            return Vec::new();
        };
        let course = Course {
            testing: course.testing + taking.cost,
            testing_minutes: course.testing_minutes + taking.minutes,
            minutes: course.minutes + taking.minutes,
            entered: taking
                .way
                .order
                .iter()
                .fold(course.entered, |entered, set_up| entered.with(*set_up)),
            ..course
        };
        (0..self.problem.outcomes(measurement))
            .filter_map(|outcome| {
                let these: Vec<usize> = self.vehicles.map_or_else(Vec::new, |vehicles| {
                    let reads = |v: &usize| vehicles.reads(*v, measurement) == outcome;
                    some.iter().copied().filter(reads).collect()
                });
                if self.vehicles.is_some() && these.is_empty() {
                    return None;
                }
                let next = self.policy.read(at, measurement, &taking, outcome)?;
                Some((next, these, course))
            })
            .collect()
    }

    #[allow(clippy::cast_precision_loss, reason = "a count of vehicles")]
    fn end(&mut self, some: &[usize], weight: f64, course: Course) {
        match self.vehicles {
            Some(vehicles) => {
                let probability = 1.0 / vehicles.wrong.len() as f64;
                let one = Course {
                    probability,
                    ..course
                };
                self.courses.extend(some.iter().map(|&v| (v, one)));
            }
            None if weight > 0.0 => self.courses.push((
                0,
                Course {
                    probability: weight,
                    ..course
                },
            )),
            None => {}
        }
    }
}
