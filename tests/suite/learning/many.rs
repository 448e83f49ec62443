//! Jobs drawn from known rates and rows give those back.

#![allow(
    clippy::cast_precision_loss,
    reason = "draws have 53 bits, and the jobs are two thousand"
)]

use halfsplit::learn::{Moved, Prior, learn};

use super::{Records, ending, family, reading, shown};

/// `splitmix64` (Steele, Lea and Flood 2014): the same numbers from the same seed, everywhere.
struct Draws(u64);

impl Draws {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn one_of<'n>(&mut self, shares: &[(&'n str, f64)]) -> &'n str {
        let mut left = self.next();
        for (name, share) in shares {
            left -= share;
            if left < 0.0 {
                return name;
            }
        }
        shares.last().unwrap().0
    }
}

const CAUSES: [(&str, f64); 4] = [
    ("pump-worn", 0.1),
    ("strainer-clogged", 0.3),
    ("seal-leak", 0.45),
    ("seal-torn", 0.15),
];
const PUMPS: [(&str, f64); 3] = [("low", 0.65), ("normal", 0.25), ("high", 0.1)];
const STRAINERS: [(&str, f64); 3] = [("low", 0.4), ("normal", 0.4), ("high", 0.2)];
const SEALS: [(&str, f64); 3] = [("low", 0.1), ("normal", 0.8), ("high", 0.1)];
const RESIDUES: [(&str, f64); 3] = [("dark", 0.7), ("clean", 0.2), ("metal", 0.1)];

/// Writes a job drawn from the figures above.
fn draw(draws: &mut Draws, records: &mut Records) {
    let cause = draws.one_of(&CAUSES);
    let row = match cause {
        "pump-worn" => PUMPS,
        "strainer-clogged" => STRAINERS,
        _ => SEALS,
    };
    let pressure = draws.one_of(&row);
    let mut events = vec![reading("pressure", pressure)];
    // The second measurement is chosen by what the first gave, as the program would.
    if pressure != "normal" {
        let residue = match cause {
            "strainer-clogged" => draws.one_of(&RESIDUES),
            _ => "clean",
        };
        events.push(reading("residue", residue));
    }
    let with_pump = draws.next() < 0.1 && cause != "pump-worn";
    let found = if with_pump {
        vec![cause, "pump-worn"]
    } else {
        vec![cause]
    };
    records.job([events, ending(&found)].concat());
}

#[test]
fn two_thousand_jobs_give_back_the_figures_they_were_drawn_from() {
    let family = family();
    let mut draws = Draws(7);
    let mut records = Records::new();
    for _ in 0..2000 {
        draw(&mut draws, &mut records);
    }
    let tally = records.tally(&family);
    assert_eq!((tally.jobs, tally.refused.len()), (2000, 0));
    let learned = learn(&family, &tally, Prior::new(1.0, 1.0).unwrap());

    // The pump is found in 0.1, and beside a tenth of the other 0.9.
    let rates = [190.0, 300.0, 450.0, 150.0];
    let rates = CAUSES.iter().zip(rates);
    let mut truth: Vec<(f64, &Moved)> = rates
        .map(|((cause, _), rate)| (rate, &learned.rates.0[*cause]))
        .collect();
    for ([measurement, outcome, cause], moved) in shown(&learned) {
        let row = match (measurement, cause) {
            ("pressure", "pump-worn") => PUMPS,
            ("pressure", "strainer-clogged") => STRAINERS,
            ("residue", "strainer-clogged") => RESIDUES,
            other => panic!("{other:?}"),
        };
        let (_, p) = row.iter().find(|(name, _)| *name == outcome).unwrap();
        truth.push((*p, moved));
    }
    assert_eq!(truth.len(), 4 + 2 + 2 + 2);
    let holds = |(p, figure): &&(f64, &Moved)| {
        let [low, high] = figure.interval;
        low <= *p && *p <= high
    };
    // Of ten 95 % intervals, fewer than eight hold the truth in 1.2 % of all draws.
    assert!(truth.iter().filter(holds).count() >= 8, "{truth:#?}");
    // And none is far off: within four standard deviations of a share, √(p(1 − p)/n).
    for (p, figure) in &truth {
        let scale = if *p > 1.0 { 1000.0 } else { 1.0 };
        let (p, now, n) = (p / scale, figure.now / scale, figure.jobs as f64);
        let far = 4.0 * (p * (1.0 - p) / n).sqrt() + 1.0 / n;
        assert!((now - p).abs() < far, "{p} {figure:?}");
    }
}
