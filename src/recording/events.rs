//! What happened in a recording: docs/method.md, section 14, says how each is found and where its figures come from.

use super::drive::Drive;
use super::engagement::engagements;
use super::event::{Event, STANDS};
use super::moves::{slow_part, stretches};
use super::series::{float, median};
use super::spectrum::{detrended, swing};
use super::trace::{CLUTCH_SLIP, CONVERTER_SLIP, Derived, Point, RATIO};
use crate::knowledge::{EventKind, Role, Vehicle};
use crate::text::figures::short;
use crate::units::Unit;

/// A flare is a slip that rises by at least so much above its slow part, in 1/min. Judged.
const FLARE: f64 = 75.0;
/// It lasts as long as the slip is above half of that, and at least so long, in seconds. Judged.
const SHORTEST_FLARE: f64 = 0.2;
/// After the selector or the converter clutch has changed, so many seconds of slip are no flare. Judged.
const SETTLING: f64 = 3.0;
/// Of the time between the samples of two channels so much is left open, as a share of the interval. Judged.
const SKEW_LEFT: f64 = 0.15;
/// That time shows where the driven side changes by more than this, in 1/min a second.
const LEAST_RATE: f64 = 50.0;
/// The converter clutch is commanded closed from this duty on, in percent. Judged.
const CLOSED: f64 = 50.0;
/// Judder is looked for in pieces of so many seconds, each half over the one before,
const PIECE: f64 = 4.0;
/// between this frequency, in hertz, below which a driver's foot moves the speeds,
const SLOWEST_JUDDER: f64 = 2.0;
/// and this one, above which nobody calls it judder. Judged, as what follows.
const FASTEST_JUDDER: f64 = 25.0;
/// It swings by at least so much to either side, in 1/min,
const LEAST_JUDDER: f64 = 12.0;
/// explains so much of what moves,
const LEAST_SHARE: f64 = 0.5;
/// and comes of noise with no more than this probability.
const MOST_CHANCE: f64 = 1e-5;
/// Frequencies of neighbouring pieces that are no further apart, in hertz, are of one judder.
const SAME_FREQUENCY: f64 = 0.75;
/// The fastest that a ratio control moves the ratio: its logarithm a second, about from one end to the other in two
/// seconds. Judged.
const FASTEST_RATIO: f64 = 1.0;
/// A jump is so much more, as a logarithm.
const LEAST_JUMP: f64 = 0.04;
/// A jump stands out by this factor from the steps before and after it.
const STANDS_OUT: f64 = 3.0;
/// The shortest step that a jump is looked for in, in seconds: a chain that slips takes about so long.
const STEP: f64 = 0.1;
/// A ratio drifts where it is so much above the desired one, as a share of that,
const DRIFT: f64 = 0.10;
/// for so many seconds. Judged.
const SHORTEST_DRIFT: f64 = 1.0;
/// From this throttle on, in percent, against the brakes it is a stall test.
const FULL: f64 = 85.0;
/// The longest stall, in seconds: common practice, as in the steps of a stall test.
const LONGEST_STALL: f64 = 5.0;
/// A ratio holds where it stays within this share,
const HOLDS: f64 = 0.02;
/// while the secondary speed changes by this factor
const ROAD_SPEED: f64 = 1.3;
/// within so many seconds: a control that still works would shift. Judged.
const LIMP: f64 = 15.0;
/// At either end of the ratio range a ratio holds by itself: within these. Common practice: 0.4 to 2.5.
const BETWEEN_ENDS: [f64; 2] = [0.47, 2.2];
/// The fluid is too hot from this, in °C, where no sheet says it. Judged.
const HOT: f64 = 120.0;
/// For so many seconds.
const SHORTEST_HOT: f64 = 5.0;

/// All that happened in a drive, in order.
pub fn events(drive: &Drive, vehicle: Option<&Vehicle>) -> Vec<Event> {
    let ratio = RATIO.of(drive);
    let mut events = flares(drive);
    events.extend(judder(drive));
    events.extend(jumps(drive, &ratio));
    events.extend(drifts(drive, &ratio));
    events.extend(stalls(drive));
    events.extend(engagements(drive));
    events.extend(limp(drive, &ratio));
    events.extend(overheating(drive, vehicle));
    events.sort_by(|a, b| a.from.total_cmp(&b.from).then(a.kind.cmp(&b.kind)));
    events
}

/// The usual time between the points of a trace.
fn interval(points: &[Point]) -> f64 {
    let mut steps: Vec<f64> = points
        .windows(2)
        .map(|pair| pair[1].time - pair[0].time)
        .collect();
    median(&mut steps).unwrap_or(0.0)
}

/// Whether the converter clutch has been commanded closed for some seconds.
fn is_locked(drive: &Drive, time: f64) -> bool {
    let closed = |series: &super::series::Series| {
        let (_, values) = series.within(time - SETTLING, time);
        !values.is_empty() && values.iter().all(|duty| *duty >= CLOSED)
    };
    drive.role(Role::LockUp).is_some_and(closed)
}

/// Whether D has been selected for some seconds; without a selector, whether the primary pulley turns.
fn is_in_drive(drive: &Drive, time: f64) -> bool {
    match drive.role(Role::Selector) {
        Some(_) => {
            [time - SETTLING, time].map(|at| drive.state(Role::Selector, at)) == [Some("D"); 2]
        }
        None => drive
            .role(Role::Primary)
            .and_then(|speed| speed.at(time))
            .is_some_and(|speed| speed > 300.0),
    }
}

/// Flares: a slip in the path of the load that rises above its slow part while the path is commanded closed. What the
/// driven side's own acceleration feigns by the time between the samples of both is taken off.
fn flares(drive: &Drive) -> Vec<Event> {
    let turbine = drive.role(Role::Turbine).is_some();
    let whole = Derived::between("Slip of the engine", [Role::Engine, Role::Primary]);
    let forward = |time: f64| is_in_drive(drive, time);
    let locked = |time: f64| is_locked(drive, time);
    let both = |time: f64| forward(time) && locked(time);
    let mut found = if turbine {
        let mut found = flares_in(
            drive,
            &CLUTCH_SLIP,
            Role::Primary,
            "the forward clutch",
            &forward,
        );
        found.extend(flares_in(
            drive,
            &CONVERTER_SLIP,
            Role::Turbine,
            "the converter clutch",
            &locked,
        ));
        found
    } else {
        flares_in(
            drive,
            &whole,
            Role::Primary,
            "the forward or the converter clutch",
            &both,
        )
    };
    found.sort_by(|a, b| a.from.total_cmp(&b.from));
    found
}

fn flares_in(
    drive: &Drive,
    slip: &Derived,
    driven: Role,
    member: &str,
    closed: &dyn Fn(f64) -> bool,
) -> Vec<Event> {
    let mut points = slip.of(drive);
    points.retain(|point| closed(point.time));
    let slow = slow_part(&points);
    let Some(driven) = drive.role(driven) else {
        return Vec::new();
    };
    let step = interval(&points);
    let rates: Vec<f64> = points.iter().map(|point| driven.rate(point.time)).collect();
    let fast: Vec<f64> = points
        .iter()
        .zip(&slow)
        .map(|(point, slow)| point.value - slow)
        .collect();
    let skew = skew(&fast, &rates).clamp(-step, step);
    let rise = |place: usize| {
        let rate = rates[place];
        fast[place] - skew * rate - SKEW_LEFT * step * rate.abs()
    };
    let times: Vec<f64> = points.iter().map(|point| point.time).collect();
    let stretches = stretches(&times, driven.gap, |place| rise(place) > FLARE / 2.0);
    let flares = stretches.into_iter().filter_map(|(first, last)| {
        let peak = (first..=last).max_by(|a, b| rise(*a).total_cmp(&rise(*b)))?;
        let lasts = times[last] - times[first] + step;
        // One sample alone may be a wrong one.
        let counts = last > first && lasts >= SHORTEST_FLARE && rise(peak) >= FLARE;
        let value = fast[peak] - skew * rates[peak];
        counts.then(|| Event {
            kind: EventKind::Flare,
            from: times[first],
            to: times[last],
            value,
            unit: Unit::PerMinute,
            u: points[peak].u,
            words: format!(
                "{} rpm more slip of {member}, which is commanded closed",
                short(value)
            ),
        })
    });
    flares.collect()
}

/// The time between the samples of two channels that are asked one after the other, in seconds: the δ that leaves the
/// least of Σ|dᵢ − δ·ẋᵢ|, which is the middle of dᵢ/ẋᵢ weighted by |ẋᵢ| (least absolute deviations: Koenker and Bassett
/// 1978). Flares are too short to move it.
fn skew(differences: &[f64], rates: &[f64]) -> f64 {
    let mut ratios: Vec<(f64, f64)> = differences
        .iter()
        .zip(rates)
        .filter(|(_, rate)| rate.abs() > LEAST_RATE)
        .map(|(difference, rate)| (difference / rate, rate.abs()))
        .collect();
    ratios.sort_by(|a, b| a.0.total_cmp(&b.0));
    let half = ratios.iter().map(|(_, weight)| weight).sum::<f64>() / 2.0;
    let mut sum = 0.0;
    let middle = ratios.iter().find(|(_, weight)| {
        sum += weight;
        sum >= half
    });
    middle.map_or(0.0, |(ratio, _)| *ratio)
}

/// Judder: a swing of one frequency in the finest of the speeds.
fn judder(drive: &Drive) -> Vec<Event> {
    let speeds = [Role::Engine, Role::Turbine, Role::Primary, Role::Secondary];
    let finest = speeds
        .into_iter()
        .filter_map(|role| Some((role, drive.role(role)?)))
        .min_by(|a, b| a.1.interval.total_cmp(&b.1.interval));
    let Some((role, speed)) = finest else {
        return Vec::new();
    };
    let (Some(first), Some(last)) = (speed.times.first(), speed.times.last()) else {
        return Vec::new();
    };
    let fastest = (0.5 / speed.interval).min(FASTEST_JUDDER);
    let mut found: Vec<(Event, f64)> = Vec::new();
    let mut from = *first;
    while from + PIECE <= last + speed.interval {
        let to = from + PIECE;
        let (times, values) = speed.within(from, to);
        let moving = detrended(times, values);
        let swing = swing(times, &moving, SLOWEST_JUDDER, fastest);
        let counts = swing.filter(|swing| {
            swing.chance <= MOST_CHANCE
                && swing.share >= LEAST_SHARE
                && swing.amplitude >= LEAST_JUDDER
        });
        if let Some(swing) = counts {
            let same = found.last_mut().filter(|(before, _)| {
                before.to >= from && (before.value - swing.frequency).abs() <= SAME_FREQUENCY
            });
            if let Some((before, amplitude)) = same {
                before.to = to;
                // The frequency of the piece that swings most.
                if swing.amplitude > *amplitude {
                    *amplitude = swing.amplitude;
                    (before.value, before.u) = (swing.frequency, swing.u);
                }
            } else {
                let event = Event {
                    kind: EventKind::Judder,
                    from,
                    to,
                    value: swing.frequency,
                    unit: Unit::PerSecond,
                    u: swing.u,
                    words: String::new(),
                };
                found.push((event, swing.amplitude));
            }
        }
        from += PIECE / 2.0;
    }
    let told = found.into_iter().map(|(event, amplitude)| Event {
        words: judder_words(drive, role, &event, amplitude),
        ..event
    });
    told.collect()
}

/// A judder in words: its frequency, its order to each shaft, and what else the same samples could be.
fn judder_words(drive: &Drive, of: Role, event: &Event, amplitude: f64) -> String {
    let frequency = event.value;
    let shafts = [Role::Engine, Role::Turbine, Role::Primary, Role::Secondary];
    let orders = shafts.into_iter().filter_map(|role| {
        let (_, speeds) = drive.role(role)?.within(event.from, event.to);
        let mean = speeds.iter().sum::<f64>() / float(speeds.len()).max(1.0);
        (mean > STANDS).then(|| format!("{} of {}", short(60.0 * frequency / mean), role.title()))
    });
    let orders: Vec<String> = orders.collect();
    let mut words = format!(
        "{} swings by ±{} rpm at {} Hz",
        of.title(),
        short(amplitude),
        short(frequency)
    );
    if !orders.is_empty() {
        words = format!("{words}; order {}", orders.join(", "));
    }
    let rate = drive.role(of).map_or(0.0, |speed| 1.0 / speed.interval);
    if rate < 2.0 * FASTEST_JUDDER {
        words = format!(
            "{words}; sampled {} times a second, it may as well be {} Hz",
            short(rate),
            short(rate - frequency)
        );
    }
    words
}

/// Jumps of the ratio: a step of its logarithm that is faster than a control and stands out from its neighbours.
fn jumps(drive: &Drive, ratio: &[Point]) -> Vec<Event> {
    let step = interval(ratio).max(STEP);
    let gap = drive.role(Role::Primary).map_or(step, |speed| speed.gap);
    let points: Vec<Point> = ratio
        .iter()
        .filter(|point| point.value > 0.0)
        .copied()
        .collect();
    let times: Vec<f64> = points.iter().map(|point| point.time).collect();
    // The point a step later; none in a gap.
    let after = |place: usize, steps: f64| {
        let time = times[place] + steps * step;
        let next = times.partition_point(|at| *at < time - step / 4.0);
        (next < times.len() && times[next] - time <= gap - step).then_some(next)
    };
    let change = |from: usize, to: usize| (points[to].value / points[from].value).ln();
    // What the resolution of both speeds leaves open, as a share of the ratio.
    let finest = |time: f64| {
        let speeds = [Role::Primary, Role::Secondary]
            .into_iter()
            .filter_map(|role| drive.role(role));
        let shares = speeds.filter_map(|speed| Some(speed.resolution / speed.at(time)?.max(1.0)));
        shares.fold(0.0, f64::hypot) / 12.0_f64.sqrt()
    };
    let mut found: Vec<Event> = Vec::new();
    for place in 0..points.len() {
        let (Some(to), Some(end), Some(last)) =
            (after(place, 1.0), after(place, 2.0), after(place, 3.0))
        else {
            continue;
        };
        let before = times.partition_point(|at| *at < times[place] - 2.25 * step);
        let between = times.partition_point(|at| *at < times[place] - 1.25 * step);
        if times[place] - times[before] > 3.0 * step + gap {
            continue;
        }
        let size = change(place, to);
        let u = finest(points[place].time).hypot(finest(points[to].time));
        let least = LEAST_JUMP + FASTEST_RATIO * (times[to] - times[place]) + 4.0 * u;
        let beside = change(before, between).abs().max(change(end, last).abs());
        if size.abs() < least || size.abs() < STANDS_OUT * beside {
            continue;
        }
        let value = 100.0 * size.exp_m1();
        let event = Event {
            kind: EventKind::RatioJump,
            from: times[place],
            to: times[to],
            value,
            unit: Unit::Percent,
            u: 100.0 * u,
            words: format!(
                "the ratio jumps from {} to {}, faster than any control moves it",
                short(points[place].value),
                short(points[to].value)
            ),
        };
        // Of overlapping steps over one jump the largest tells it.
        match found
            .last_mut()
            .filter(|before| event.from - before.to <= 2.0 * step)
        {
            Some(before) if before.value.abs() >= value.abs() => {
                before.to = before.to.max(event.to);
            }
            Some(before) => *before = event,
            None => found.push(event),
        }
    }
    found
}

/// Drifts: the ratio above the desired one.
fn drifts(drive: &Drive, ratio: &[Point]) -> Vec<Event> {
    let Some(desired) = drive.role(Role::RatioCommand) else {
        return Vec::new();
    };
    let above = ratio.iter().filter_map(|point| {
        let desired = desired.at(point.time).filter(|desired| *desired > 0.0)?;
        Some((point.time, point.value / desired - 1.0, point.u / desired))
    });
    let above: Vec<(f64, f64, f64)> = above.collect();
    let times: Vec<f64> = above.iter().map(|(time, ..)| *time).collect();
    let found = stretches(&times, desired.gap, |place| above[place].1 > DRIFT);
    let found = found
        .into_iter()
        .filter(|(first, last)| times[*last] - times[*first] >= SHORTEST_DRIFT);
    let events = found.filter_map(|(first, last)| {
        let (_, most, u) = above[first..=last]
            .iter()
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        Some(Event {
            kind: EventKind::RatioDrift,
            from: times[first],
            to: times[last],
            value: 100.0 * most,
            unit: Unit::Percent,
            u: 100.0 * u,
            words: format!(
                "the ratio is up to {} % above the desired one",
                short(100.0 * most)
            ),
        })
    });
    events.collect()
}

/// Stall tests: full throttle in D or R on a vehicle that stands.
fn stalls(drive: &Drive) -> Vec<Event> {
    let (Some(throttle), Some(engine)) = (drive.role(Role::Throttle), drive.role(Role::Engine))
    else {
        return Vec::new();
    };
    let stands = |time: f64| {
        let turning = [Role::Secondary, Role::Primary]
            .into_iter()
            .find_map(|role| drive.role(role)?.at(time));
        turning.is_some_and(|speed| speed.abs() < STANDS)
    };
    let selected = |time: f64| matches!(drive.state(Role::Selector, time), Some("D" | "R"));
    let times = &throttle.times;
    let found = stretches(times, throttle.gap, |place| {
        throttle.values[place] >= FULL && stands(times[place]) && selected(times[place])
    });
    let events = found.into_iter().map(|(first, last)| {
        // It began and ended somewhere between two samples.
        let lasts = times[last] - times[first] + throttle.interval;
        let (_, speeds) = engine.within(times[first], times[last]);
        let highest = speeds.iter().copied().fold(0.0, f64::max);
        let verdict = if lasts > LONGEST_STALL {
            ": longer than 5 s"
        } else {
            ""
        };
        Event {
            kind: EventKind::Stall,
            from: times[first],
            to: times[last],
            value: lasts,
            unit: Unit::Second,
            u: throttle.interval / 6.0_f64.sqrt(),
            words: format!(
                "full throttle against the brakes for {} s{verdict}; engine up to {} rpm",
                short(lasts),
                short(highest)
            ),
        }
    });
    events.filter(|event| event.value >= 0.5).collect()
}

/// Limp mode: between its ends the ratio holds while the road speed changes much, with the converter clutch open.
fn limp(drive: &Drive, ratio: &[Point]) -> Vec<Event> {
    let Some(secondary) = drive.role(Role::Secondary) else {
        return Vec::new();
    };
    let open = |from: f64, to: f64| {
        let (_, duty) = drive.role(Role::LockUp)?.within(from, to);
        Some(!duty.is_empty() && duty.iter().all(|duty| *duty < CLOSED / 10.0))
    };
    let extent = |values: &mut dyn Iterator<Item = f64>| {
        values.fold((f64::INFINITY, 0.0), |(least, most): (f64, f64), value| {
            (least.min(value), most.max(value))
        })
    };
    let mut found: Vec<Event> = Vec::new();
    let mut from = 0.0;
    while from + LIMP <= drive.seconds {
        let to = from + LIMP;
        let first = ratio.partition_point(|point| point.time < from);
        let end = ratio.partition_point(|point| point.time <= to);
        let (least, most) = extent(&mut ratio[first..end].iter().map(|point| point.value));
        let (slowest, fastest) = extent(&mut secondary.within(from, to).1.iter().copied());
        let holds = end > first + 5 && most <= least * (1.0 + 2.0 * HOLDS);
        let between = least > BETWEEN_ENDS[0] && most < BETWEEN_ENDS[1];
        if holds
            && between
            && slowest > 0.0
            && fastest >= ROAD_SPEED * slowest
            && open(from, to) == Some(true)
        {
            match found.last_mut().filter(|before| before.to >= from) {
                Some(before) => before.to = to,
                None => found.push(Event {
                    kind: EventKind::LimpMode,
                    from,
                    to,
                    value: f64::midpoint(least, most),
                    unit: Unit::One,
                    u: (most - least) / 12.0_f64.sqrt(),
                    words: format!(
                        "the ratio stays at {} while the secondary speed goes from {} to {} rpm",
                        short(f64::midpoint(least, most)),
                        short(slowest),
                        short(fastest)
                    ),
                }),
            }
        }
        from += LIMP / 3.0;
    }
    found
}

/// Overheating: the fluid above the limit of the sheet.
fn overheating(drive: &Drive, vehicle: Option<&Vehicle>) -> Vec<Event> {
    let Some(fluid) = drive.role(Role::Fluid) else {
        return Vec::new();
    };
    let sheet =
        vehicle.and_then(|vehicle| vehicle.limit("fluid-temperature", "max", Unit::Celsius));
    let limit = sheet.unwrap_or(HOT);
    let found = stretches(&fluid.times, fluid.gap, |place| fluid.values[place] > limit);
    let events = found.into_iter().map(|(first, last)| {
        let highest = fluid.values[first..=last]
            .iter()
            .copied()
            .fold(f64::MIN, f64::max);
        Event {
            kind: EventKind::Overheating,
            from: fluid.times[first],
            to: fluid.times[last],
            value: highest,
            unit: Unit::Celsius,
            u: fluid.resolution / 12.0_f64.sqrt(),
            words: format!("up to {} °C, above {} °C", short(highest), short(limit)),
        }
    });
    events
        .filter(|event| event.to - event.from >= SHORTEST_HOT)
        .collect()
}
