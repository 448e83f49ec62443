//! A driveline that is driven and recorded: the truth that recordings are tested against.
//!
//! Engine, hydrodynamic converter, forward clutch, pulleys, vehicle. The converter by its characteristic over the speed
//! ratio ν = turbine / engine: capacity `T = (n/K)²` and torque ratio falling in a line from 2 at stall to 1 at the
//! coupling point ν = 0.85 (Naunheimer, Bertsche, Ryborz and Novak, *Automotive Transmissions*, 2nd ed. 2011, chapter 10;
//! Gillespie, *Fundamentals of Vehicle Dynamics*, 1992, chapter 2). Every figure of the vehicle is invented.

use std::f64::consts::{PI, TAU};

/// Numbers that look like chance: splitmix64 (Steele, Lea and Flood 2014).
pub(crate) struct Chance(u64);

impl Chance {
    pub(crate) const fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Between 0 and 1.
    pub(crate) fn share(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn between(&mut self, from: f64, to: f64) -> f64 {
        from + self.share() * (to - from)
    }

    pub(crate) fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.next() % end as u64).unwrap()
    }

    /// Normal, of mean 0 and standard deviation 1 (Box and Muller 1958).
    pub(crate) fn normal(&mut self) -> f64 {
        (-2.0 * (1.0 - self.share()).ln()).sqrt() * (TAU * self.share()).cos()
    }
}

/// The nearest whole number, from 0 on.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a count of steps"
)]
fn whole(number: f64) -> usize {
    number.max(0.0).round() as usize
}

/// What is wrong with the vehicle, and when it shows.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Faults {
    /// The forward clutch lets go: when, by how much at most (1/min), for how long (s).
    pub(crate) flare: Option<[f64; 3]>,
    /// The converter's lining judders: from, to (s), frequency (Hz), amplitude (1/min).
    pub(crate) judder: Option<[f64; 4]>,
    /// The chain slips: when, and by which share the ratio is higher from then on.
    pub(crate) jump: Option<[f64; 2]>,
    /// The forward clutch slips by this all the time it is closed (1/min).
    pub(crate) clutch_slip: f64,
    /// The converter clutch slips by this while it is commanded closed (1/min).
    pub(crate) converter_slip: f64,
    /// The clamp pressure is off by this (kPa).
    pub(crate) pressure: f64,
    /// Engagements take this much longer (s).
    pub(crate) late: f64,
    /// The ratio is this share above the desired one.
    pub(crate) ratio: f64,
    /// The fluid gets this much hotter (K).
    pub(crate) heat: f64,
    /// The control substitutes: ratio fixed, converter clutch open.
    pub(crate) limp: bool,
    /// A stall test of so many seconds.
    pub(crate) stall: f64,
}

/// How long a sound engagement takes, in seconds.
pub(crate) const ENGAGES: f64 = 0.7;

/// What every channel truly is at a moment.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Moment {
    pub(crate) time: f64,
    pub(crate) engine: f64,
    pub(crate) turbine: f64,
    pub(crate) primary: f64,
    pub(crate) secondary: f64,
    pub(crate) ratio_desired: f64,
    pub(crate) front: f64,
    pub(crate) rear: f64,
    pub(crate) pressure: f64,
    pub(crate) pressure_desired: f64,
    pub(crate) lock_up: f64,
    pub(crate) throttle: f64,
    pub(crate) selector: char,
    pub(crate) fluid: f64,
    pub(crate) coolant: f64,
}

/// A leg of the drive: seconds, throttle (%), brake (0 to 1), selector.
pub(crate) type Leg = (f64, f64, f64, char);

/// A road test: idle, engagements on the brakes, pulling away, a cruise, a step of throttle, a cruise, a stop.
pub(crate) fn road_test() -> Vec<Leg> {
    let mut legs = vec![
        (8.0, 0.0, 1.0, 'P'),
        (6.0, 22.0, 1.0, 'P'),
        (3.0, 0.0, 1.0, 'P'),
        (8.0, 0.0, 1.0, 'N'),
    ];
    for _ in 0..3 {
        legs.extend([(6.0, 0.0, 1.0, 'D'), (6.0, 0.0, 1.0, 'N')]);
    }
    legs.extend([
        (6.0, 0.0, 1.0, 'R'),
        (6.0, 0.0, 1.0, 'N'),
        (5.0, 0.0, 1.0, 'D'),
    ]);
    legs.extend([
        (9.0, 35.0, 0.0, 'D'),
        (32.0, 16.0, 0.0, 'D'),
        (3.0, 60.0, 0.0, 'D'),
    ]);
    legs.extend([
        (30.0, 18.0, 0.0, 'D'),
        (4.0, 0.0, 0.3, 'D'),
        (20.0, 12.0, 0.0, 'D'),
        (14.0, 0.0, 0.6, 'D'),
    ]);
    legs
}

/// The converter: engine torque taken in N·m, and the torque ratio, at an engine speed in 1/min and a speed ratio.
pub(crate) fn converter(engine: f64, speed_ratio: f64) -> (f64, f64) {
    let nu = speed_ratio.clamp(0.0, 1.0);
    let torque_ratio = if nu < 0.85 { 2.0 - nu / 0.85 } else { 1.0 };
    // K in 1/min per √(N·m): nearly constant, then without end as the turbine catches up.
    let fade = if nu < 0.85 {
        1.0
    } else {
        ((1.0 - nu) / 0.15).max(0.0)
    };
    ((engine / 170.0).powi(2) * fade, torque_ratio)
}

/// Drives the legs.
pub(crate) fn drive(legs: &[Leg], faults: &Faults) -> Vec<Moment> {
    const STEP: f64 = 0.005;
    const IDLE: f64 = 720.0;
    let (mut engine, mut speed, mut ratio, mut lock, mut fluid) =
        (IDLE, 0.0_f64, 2.4, 0.0_f64, 82.0);
    let (mut since, mut last, mut pedal) = (0.0, 'P', 0.0_f64);
    let mut moments = Vec::new();
    let mut time = 0.0;
    let mut stalled = legs.to_vec();
    if faults.stall > 0.0 {
        stalled.splice(
            13..13,
            [(faults.stall, 100.0, 1.0, 'D'), (4.0, 0.0, 1.0, 'D')],
        );
    }
    for (lasts, throttle, brake, selector) in stalled {
        let steps = whole(lasts / STEP);
        for _ in 0..steps {
            if selector != last {
                (since, last) = (time, selector);
            }
            let in_gear = matches!(selector, 'D' | 'R');
            // The clutch takes up its load within a tenth of a second around the end of the delay.
            let delay = ENGAGES + faults.late;
            let engaged = if in_gear {
                ((time - since - delay) / 0.1 + 0.5).clamp(0.0, 1.0)
            } else {
                0.0
            };
            pedal += (throttle - pedal) * STEP / 0.12;
            // Pulleys: 9.2 m of road speed a minute at 1 1/s of the secondary, wheel radius and final drive together.
            let secondary = speed / 0.32 * 60.0 / TAU * 5.2;
            let wanted = if faults.limp {
                1.0
            } else {
                let floor = (900.0 + 28.0 * pedal).max(1100.0);
                (floor / secondary.max(1.0)).clamp(0.42, 2.4)
            };
            let rate = (wanted / ratio).ln().clamp(-0.25, 0.25);
            ratio *= (rate * STEP / 0.35).exp();
            let slips = match faults.jump {
                Some([at, share]) if time >= at => 1.0 + share,
                _ => 1.0,
            };
            let primary = secondary * ratio * slips * (1.0 + faults.ratio);
            let locks = selector == 'D'
                && secondary > 900.0
                && !faults.limp
                && (5.0..75.0).contains(&throttle);
            lock = (lock + if locks { STEP } else { -4.0 * STEP }).clamp(0.0, 1.0);
            let closed = lock > 0.99;
            let slip = if engaged > 0.9 && primary > 200.0 {
                faults.clutch_slip
            } else {
                0.0
            };
            let turbine_driven = primary + slip;
            let free = engine * 0.97;
            let turbine = engaged * turbine_driven + (1.0 - engaged) * free;
            let torque = (1.9 * pedal + 8.0) * (1.0 - (engine / 6500.0).powi(4)).max(-0.3) - 14.0;
            let (taken, torque_ratio) = converter(engine, turbine / engine.max(1.0));
            let governed = if pedal < 4.0 && engine < 850.0 {
                (IDLE - engine) * 1.5 + taken
            } else {
                0.0
            };
            let gain = 1.0 / 0.16 * 60.0 / TAU;
            let push = if closed && engaged > 0.99 {
                engine += (turbine + faults.converter_slip - engine) * (STEP / 0.05).min(1.0);
                torque * ratio
            } else {
                engine += (torque.max(-20.0) + governed - taken) * gain * STEP;
                taken * torque_ratio * engaged * ratio
            };
            engine = engine.max(500.0);
            let forward = if selector == 'R' { -1.0 } else { 1.0 };
            let force = forward * push * 5.2 / 0.32
                - 0.42 * speed * speed.abs()
                - brake * 9000.0 * (speed / 0.05).clamp(-1.0, 1.0)
                - 160.0 * (speed / 0.1).clamp(-1.0, 1.0);
            if brake > 0.9 && speed.abs() < 0.05 {
                speed = 0.0;
            } else {
                speed = (speed + force / 1650.0 * STEP).max(0.0);
            }
            fluid += (86.0 + faults.heat - fluid) * STEP / 60.0;
            let up = match faults.flare {
                Some([at, most, lasts]) if (at..at + lasts).contains(&time) => {
                    most * (PI * (time - at) / lasts).sin()
                }
                _ => 0.0,
            };
            let shakes = match faults.judder {
                Some([from, to, frequency, amplitude]) if (from..to).contains(&time) => {
                    amplitude * (TAU * frequency * time).sin()
                }
                _ => 0.0,
            };
            let desired = 1100.0 + 34.0 * pedal;
            moments.push(Moment {
                time,
                engine: engine + up + shakes,
                turbine: turbine + up + 0.8 * shakes,
                primary: primary + 0.6 * shakes,
                secondary,
                ratio_desired: ratio,
                front: speed * 3.6,
                rear: speed * 3.6,
                pressure: desired + faults.pressure,
                pressure_desired: desired,
                lock_up: if locks && !faults.limp { 95.0 } else { 0.0 },
                throttle: pedal,
                selector,
                fluid,
                coolant: 88.0,
            });
            time += STEP;
        }
    }
    moments
}

/// How it is recorded.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Recorder {
    /// Rows a second.
    pub(crate) rate: f64,
    /// The share of rows that are lost.
    pub(crate) lost: f64,
    /// The noise of a speed, in 1/min; other channels have as much of their instrument.
    pub(crate) noise: f64,
    /// Whether each channel is off by an error of its instrument, the same all through.
    pub(crate) off: bool,
    /// The chance of all of it.
    pub(crate) seed: u64,
}

impl Recorder {
    pub(crate) const fn at(rate: f64, seed: u64) -> Self {
        Self {
            rate,
            lost: 0.01,
            noise: 3.0,
            off: true,
            seed,
        }
    }

    /// The table that a scan tool would export: one channel is asked after the other within a row.
    pub(crate) fn table(&self, moments: &[Moment]) -> String {
        let mut chance = Chance::new(self.seed);
        let mut text = String::from(
            "Time (s),Engine speed (rpm),Turbine speed (rpm),Primary pulley speed (rpm),Secondary pulley speed (rpm),\
             Desired pulley ratio,Front axle speed (km/h),Rear axle speed (km/h),Secondary pressure actual (kPa),\
             Secondary pressure desired (kPa),Lock-up duty (%),Throttle (%),Selector,Fluid temperature (°C),\
             Coolant temperature (°C)\n",
        );
        // Per channel: the instrument's error, the noise, the step.
        let n = self.noise / 3.0;
        let channels = [
            (10.0, 3.0 * n, 1.0),
            (10.0, 3.0 * n, 1.0),
            (10.0, 3.0 * n, 1.0),
            (10.0, 3.0 * n, 1.0),
            (0.002, 0.0, 0.01),
            (0.1, 0.02 * n, 0.1),
            (0.1, 0.02 * n, 0.1),
            (30.0, 6.0 * n, 10.0),
            (2.0, 0.0, 10.0),
            (0.0, 0.0, 1.0),
            (0.3, 0.1 * n, 0.5),
            (0.0, 0.0, 1.0),
            (1.0, 0.05 * n, 1.0),
            (1.0, 0.05 * n, 1.0),
        ];
        // When each is asked, as a share of the row's interval.
        let turns = channels.map(|_| chance.share());
        let errors = channels.map(|(u, ..)| if self.off { u * chance.normal() } else { 0.0 });
        let end = moments.last().map_or(0.0, |last| last.time);
        let step = 1.0 / self.rate;
        let mut time = 0.0;
        while time + step < end {
            if chance.share() >= self.lost {
                text += &format!("{time:.3}");
                for (place, (_, noise, step_of)) in channels.iter().enumerate() {
                    let asked = time + step * turns[place];
                    let now = moments[whole(asked / 0.005 - 0.5).min(moments.len() - 1)];
                    let truth = match place {
                        0 => now.engine,
                        1 => now.turbine,
                        2 => now.primary,
                        3 => now.secondary,
                        4 => now.ratio_desired,
                        5 => now.front,
                        6 => now.rear,
                        7 => now.pressure,
                        8 => now.pressure_desired,
                        9 => now.lock_up,
                        10 => now.throttle,
                        11 => {
                            text.push(',');
                            text.push(now.selector);
                            continue;
                        }
                        12 => now.fluid,
                        _ => now.coolant,
                    };
                    // A counter that counts nothing shows nothing.
                    let still = place < 4 && truth == 0.0;
                    let shown = if still {
                        0.0
                    } else {
                        truth + errors[place] + noise * chance.normal()
                    };
                    let shown = (shown / step_of).round() * step_of;
                    let shown = if place < 7 || (9..=10).contains(&place) {
                        // Of two zeros `max` may take either: none with a sign is left.
                        shown.max(0.0) + 0.0
                    } else {
                        shown
                    };
                    let digits = if *step_of < 0.1 {
                        2
                    } else {
                        usize::from(*step_of < 1.0)
                    };
                    text += &format!(",{shown:.digits$}");
                }
                text.push('\n');
            }
            time += step;
        }
        text
    }
}
