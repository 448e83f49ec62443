//! What happened in a recording: docs/method.md, section 14, says how each is found and where its figures come from.

use rayon::prelude::*;

use super::drive::Drive;
use super::engagement::engagements;
use super::event::{Event, STANDS};
use super::moves::{Slow, Stretch, WithOthers, stretches};
use super::series::{Cursor, Series, Steps, Walk, float, spread};
use super::spectrum::{Swing, detrended, swing, variance};
use super::trace::{CLUTCH_SLIP, CONVERTER_SLIP, Derived, Point, RATIO, Trace};
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
    let kinds: [&(dyn Fn() -> Vec<Event> + Sync); 8] = [
        &|| judder(drive),
        &|| flares(drive),
        &|| jumps(drive),
        &|| drifts(drive),
        &|| stalls(drive),
        &|| engagements(drive),
        &|| limp(drive),
        &|| overheating(drive, vehicle),
    ];
    let mut events: Vec<Event> = kinds.par_iter().flat_map_iter(|of| of()).collect();
    events.sort_by(|a, b| a.from.total_cmp(&b.from).then(a.kind.cmp(&b.kind)));
    events
}

/// A clutch in the path of the load, or two that no signal tells apart.
struct Member {
    slip: Derived,
    /// What it drives.
    driven: Role,
    title: &'static str,
    /// Whether it is closed in D, once that has been selected for some seconds.
    by_selector: bool,
    /// Whether it is closed where the converter clutch has been commanded closed for some seconds.
    by_lock_up: bool,
}

const FORWARD_CLUTCH: Member = Member {
    slip: CLUTCH_SLIP,
    driven: Role::Primary,
    title: "the forward clutch",
    by_selector: true,
    by_lock_up: false,
};
const CONVERTER_CLUTCH: Member = Member {
    slip: CONVERTER_SLIP,
    driven: Role::Turbine,
    title: "the converter clutch",
    by_selector: false,
    by_lock_up: true,
};
/// What is left without a turbine speed.
const EITHER_CLUTCH: Member = Member {
    slip: Derived::between("Slip of the engine", [Role::Engine, Role::Primary]),
    driven: Role::Primary,
    title: "the forward or the converter clutch",
    by_selector: true,
    by_lock_up: true,
};

impl Member {
    /// Whether it is commanded closed, for times that go up.
    fn closed<'d>(&self, drive: &'d Drive) -> impl FnMut(f64) -> bool + use<'d> {
        let mut in_drive = self.by_selector.then(|| in_drive(drive));
        let mut locked = self.by_lock_up.then(|| locked(drive));
        move |time| {
            in_drive.as_mut().is_none_or(|holds| holds(time))
                && locked.as_mut().is_none_or(|holds| holds(time))
        }
    }
}

/// Whether the converter clutch has been commanded closed for some seconds, for times that go up.
fn locked(drive: &Drive) -> impl FnMut(f64) -> bool + use<'_> {
    let mut commands = drive
        .role(Role::LockUp)
        .map(|duty| duty.samples().peekable());
    let (mut last, mut open) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
    move |time| {
        let passed = |(at, _): &(f64, f64)| *at <= time;
        while let Some((at, duty)) = commands.as_mut().and_then(|of| of.next_if(passed)) {
            last = at;
            if duty < CLOSED {
                open = at;
            }
        }
        last >= time - SETTLING && open < time - SETTLING
    }
}

/// Whether D has been selected for some seconds, for times that go up; without a selector, whether the primary pulley
/// turns.
fn in_drive(drive: &Drive) -> impl FnMut(f64) -> bool + use<'_> {
    let told = drive.role(Role::Selector).is_some();
    let [mut before, mut now] = [(); 2].map(|()| drive.in_state(Role::Selector, "D"));
    let mut primary = drive.role(Role::Primary).map(Cursor::new);
    move |time| {
        if told {
            return before(time - SETTLING) && now(time);
        }
        let speed = primary.as_mut().and_then(|speed| speed.at(time));
        speed.is_some_and(|speed| speed > 300.0)
    }
}

/// Flares: a slip in the path of the load that rises above its slow part while the path is commanded closed. What the
/// driven side's own acceleration feigns by the time between the samples of both is taken off.
fn flares(drive: &Drive) -> Vec<Event> {
    let members: &[Member] = match drive.role(Role::Turbine) {
        Some(_) => &[FORWARD_CLUTCH, CONVERTER_CLUTCH],
        None => &[EITHER_CLUTCH],
    };
    let found = members.par_iter().filter_map(|member| {
        let trace = member.slip.of(drive)?;
        Some(flares_of(drive, member, &trace, drive.role(member.driven)?))
    });
    let mut found = found.collect::<Vec<_>>().concat();
    found.sort_by(|a, b| a.from.total_cmp(&b.from));
    found
}

/// A slip at a time while its path is commanded closed.
#[derive(Clone, Copy)]
struct Slip {
    time: f64,
    /// How far it is above its slow part.
    fast: f64,
    /// How fast the driven side changes, a second.
    rate: f64,
}

fn flares_of(drive: &Drive, member: &Member, trace: &Trace<'_>, driven: &Series) -> Vec<Event> {
    let points = || {
        let mut closed = member.closed(drive);
        trace.clone().filter(move |point| closed(point.time))
    };
    let mut steps = Steps::of_about(trace.most());
    let slow = Slow::of(points().inspect(|point| steps.take(point.time)));
    let step = steps.usual().unwrap_or(0.0);
    let slips = |every: usize| {
        let (mut slow, mut driven) = (slow.clone(), Walk::new(driven));
        let points = points().step_by(every);
        points.map(move |Point { time, value }| Slip {
            time,
            fast: value - slow.at(time),
            rate: driven.rate(time),
        })
    };
    let skew = skew(slips(spread(trace.most()))).clamp(-step, step);
    let rise = |slip: &Slip| slip.fast - skew * slip.rate - SKEW_LEFT * step * slip.rate.abs();
    let risen = slips(1).enumerate();
    let risen: Vec<(usize, Slip)> = risen.filter(|(_, slip)| rise(slip) > FLARE / 2.0).collect();
    let flares = risen
        .chunk_by(|(before, a), (place, b)| before + 1 == *place && b.time - a.time <= driven.gap);
    let events = flares.filter_map(|slips| {
        let (_, peak) = slips
            .iter()
            .max_by(|(_, a), (_, b)| rise(a).total_cmp(&rise(b)))?;
        let (from, to) = (slips.first()?.1.time, slips.last()?.1.time);
        // One sample alone may be a wrong one.
        let counts = slips.len() > 1 && to - from + step >= SHORTEST_FLARE && rise(peak) >= FLARE;
        let value = peak.fast - skew * peak.rate;
        counts.then(|| Event {
            kind: EventKind::Flare,
            from,
            to,
            value,
            unit: Unit::PerMinute,
            u: trace.uncertainty(peak.time),
            words: format!(
                "{} rpm more slip of {}, which is commanded closed",
                short(value),
                member.title
            ),
        })
    });
    events.collect()
}

/// The time between the samples of two channels that are asked one after the other, in seconds: the δ that leaves the
/// least of Σ|dᵢ − δ·ẋᵢ|, which is the middle of dᵢ/ẋᵢ weighted by |ẋᵢ| (least absolute deviations: Koenker and Bassett
/// 1978). Flares are too short to move it.
fn skew(slips: impl Iterator<Item = Slip>) -> f64 {
    let moving = slips.filter(|slip| slip.rate.abs() > LEAST_RATE);
    let mut ratios: Vec<(f64, f64)> = moving
        .map(|slip| (slip.fast / slip.rate, slip.rate.abs()))
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
    let Some(last) = speed.len().checked_sub(1) else {
        return Vec::new();
    };
    let (first, last) = (speed.time(0), speed.time(last));
    let end = last + speed.interval;
    // A single sample has no interval.
    if !end.is_finite() {
        return Vec::new();
    }
    let fastest = (0.5 / speed.interval).min(FASTEST_JUDDER);
    let mut pieces = Vec::new();
    let mut from = first;
    while from + PIECE <= end {
        pieces.push(from);
        from += PIECE / 2.0;
    }
    let swings = pieces.into_par_iter().filter_map(|from| {
        let (times, values) = speed.within(from, from + PIECE);
        Some((
            from,
            juddering(&times, &detrended(&times, &values), fastest)?,
        ))
    });
    let swings: Vec<(f64, Swing)> = swings.collect();
    let mut found: Vec<(Event, f64)> = Vec::new();
    for (from, swing) in swings {
        let to = from + PIECE;
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
    let told = found.into_iter().map(|(event, amplitude)| Event {
        words: judder_words(drive, role, &event, amplitude),
        ..event
    });
    told.collect()
}

/// The swing of a piece that counts as judder.
fn juddering(times: &[f64], moving: &[f64], fastest: f64) -> Option<Swing> {
    // Not even a swing that explains all of it would be large enough.
    if 2.0 * variance(moving) < LEAST_JUDDER * LEAST_JUDDER {
        return None;
    }
    swing(times, moving, SLOWEST_JUDDER, fastest).filter(|swing| {
        swing.chance <= MOST_CHANCE && swing.share >= LEAST_SHARE && swing.amplitude >= LEAST_JUDDER
    })
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
fn jumps(drive: &Drive) -> Vec<Event> {
    let Some(ratio) = RATIO.of(drive) else {
        return Vec::new();
    };
    let mut steps = Steps::of_about(ratio.most());
    ratio.clone().for_each(|point| steps.take(point.time));
    let step = steps.usual().unwrap_or(0.0).max(STEP);
    let gap = drive.role(Role::Primary).map_or(step, |speed| speed.gap);
    // What the resolution of both speeds leaves open, as a share of the ratio.
    let finest = |time: f64| {
        let speeds = [Role::Primary, Role::Secondary]
            .into_iter()
            .filter_map(|role| drive.role(role));
        let shares = speeds.filter_map(|speed| Some(speed.resolution / speed.at(time)?.max(1.0)));
        shares.fold(0.0, f64::hypot) / 12.0_f64.sqrt()
    };
    let after = |time: f64, steps: f64| time + steps * step;
    // From two steps before to one before, and one, two and three after.
    let around = |time: f64| {
        let [to, end, last] = [1.0, 2.0, 3.0].map(|steps| after(time, steps) - step / 4.0);
        [time - 2.25 * step, time - 1.25 * step, to, end, last]
    };
    let change = |from: Point, to: Point| (to.value / from.value).ln();
    let mut found: Vec<Event> = Vec::new();
    for (now, points) in WithOthers::new(ratio.filter(|point| point.value > 0.0), around) {
        let [Some(before), Some(between), Some(to), Some(end), Some(last)] = points else {
            continue;
        };
        let late = |point: Point, steps: f64| point.time - after(now.time, steps) > gap - step;
        if late(to, 1.0)
            || late(end, 2.0)
            || late(last, 3.0)
            || now.time - before.time > 3.0 * step + gap
        {
            continue;
        }
        let size = change(now, to);
        let least = LEAST_JUMP + FASTEST_RATIO * (to.time - now.time);
        if size.abs() < least {
            continue;
        }
        let u = finest(now.time).hypot(finest(to.time));
        let beside = change(before, between).abs().max(change(end, last).abs());
        if size.abs() < least + 4.0 * u || size.abs() < STANDS_OUT * beside {
            continue;
        }
        let value = 100.0 * size.exp_m1();
        let event = Event {
            kind: EventKind::RatioJump,
            from: now.time,
            to: to.time,
            value,
            unit: Unit::Percent,
            u: 100.0 * u,
            words: format!(
                "the ratio jumps from {} to {}, faster than any control moves it",
                short(now.value),
                short(to.value)
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
fn drifts(drive: &Drive) -> Vec<Event> {
    let (Some(desired), Some(ratio)) = (drive.role(Role::RatioCommand), RATIO.of(drive)) else {
        return Vec::new();
    };
    let drifting = above(ratio.clone(), desired).map(|(time, share)| (time, share > DRIFT));
    let found = stretches(drifting, desired.gap).into_iter();
    let found = found.filter(|stretch| stretch.to - stretch.from >= SHORTEST_DRIFT);
    let events = found.filter_map(|Stretch { from, to }| {
        let points = above(ratio.between(from, to), desired);
        let (time, most) = points.max_by(|a, b| a.1.total_cmp(&b.1))?;
        Some(Event {
            kind: EventKind::RatioDrift,
            from,
            to,
            value: 100.0 * most,
            unit: Unit::Percent,
            u: 100.0 * ratio.uncertainty(time) / desired.at(time)?,
            words: format!(
                "the ratio is up to {} % above the desired one",
                short(100.0 * most)
            ),
        })
    });
    events.collect()
}

/// By which share of a desired value the points of a trace are above it.
fn above(
    points: impl Iterator<Item = Point>,
    desired: &Series,
) -> impl Iterator<Item = (f64, f64)> {
    let mut desired = Cursor::new(desired);
    points.filter_map(move |point| {
        let desired = desired.at(point.time).filter(|desired| *desired > 0.0)?;
        Some((point.time, point.value / desired - 1.0))
    })
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
    let tests = throttle
        .samples()
        .map(|(time, throttle)| (time, throttle >= FULL && stands(time) && selected(time)));
    let found = stretches(tests, throttle.gap).into_iter();
    let events = found.map(|Stretch { from, to }| {
        // It began and ended somewhere between two samples.
        let lasts = to - from + throttle.interval;
        let speeds = engine.between(from, to).map(|(_, speed)| speed);
        let highest = speeds.fold(0.0, f64::max);
        let verdict = if lasts > LONGEST_STALL {
            ": longer than 5 s"
        } else {
            ""
        };
        Event {
            kind: EventKind::Stall,
            from,
            to,
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
fn limp(drive: &Drive) -> Vec<Event> {
    let (Some(secondary), Some(lock_up), Some(ratio)) = (
        drive.role(Role::Secondary),
        drive.role(Role::LockUp),
        RATIO.of(drive),
    ) else {
        return Vec::new();
    };
    let limps_from = |from: f64| {
        let to = from + LIMP;
        let (commands, _, duty) = extent(lock_up.between(from, to).map(|(_, duty)| duty));
        let (_, slowest, fastest) = extent(secondary.between(from, to).map(|(_, speed)| speed));
        let open = commands > 0 && duty < CLOSED / 10.0;
        if !open || slowest <= 0.0 || fastest < ROAD_SPEED * slowest {
            return None;
        }
        let (points, least, most) = extent(ratio.between(from, to).map(|point| point.value));
        let holds = points > 5 && most <= least * (1.0 + 2.0 * HOLDS);
        let between = least > BETWEEN_ENDS[0] && most < BETWEEN_ENDS[1];
        (holds && between).then(|| Event {
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
        })
    };
    let mut found: Vec<Event> = Vec::new();
    let mut from = 0.0;
    while from + LIMP <= drive.seconds {
        if let Some(event) = limps_from(from) {
            match found.last_mut().filter(|before| before.to >= from) {
                Some(before) => before.to = event.to,
                None => found.push(event),
            }
        }
        from += LIMP / 3.0;
    }
    found
}

/// How many numbers there are, the smallest, and the largest but at least 0.
fn extent(numbers: impl Iterator<Item = f64>) -> (usize, f64, f64) {
    numbers.fold((0, f64::INFINITY, 0.0), |(count, least, most), number| {
        (count + 1, least.min(number), most.max(number))
    })
}

/// Overheating: the fluid above the limit of the sheet.
fn overheating(drive: &Drive, vehicle: Option<&Vehicle>) -> Vec<Event> {
    let Some(fluid) = drive.role(Role::Fluid) else {
        return Vec::new();
    };
    let sheet =
        vehicle.and_then(|vehicle| vehicle.limit("fluid-temperature", "max", Unit::Celsius));
    let limit = sheet.unwrap_or(HOT);
    let hot = fluid
        .samples()
        .map(|(time, degrees)| (time, degrees > limit));
    let found = stretches(hot, fluid.gap).into_iter();
    let found = found.filter(|stretch| stretch.to - stretch.from >= SHORTEST_HOT);
    let events = found.map(|Stretch { from, to }| {
        let degrees = fluid.between(from, to).map(|(_, degrees)| degrees);
        let highest = degrees.fold(f64::MIN, f64::max);
        Event {
            kind: EventKind::Overheating,
            from,
            to,
            value: highest,
            unit: Unit::Celsius,
            u: fluid.resolution / 12.0_f64.sqrt(),
            words: format!("up to {} °C, above {} °C", short(highest), short(limit)),
        }
    });
    events.collect()
}
