//! Families made of one tree, written as people sketch it.

use std::collections::BTreeMap;

use halfsplit::drawing;
use halfsplit::fault_tree::{Builder, Gate, NodeId};
use halfsplit::knowledge::{
    Cause, CauseId, Escalation, Family, Figures, Repair, RepairId, Shop, Symptom, SymptomId,
};
use halfsplit::units::{Minutes, Money, Probability, Rate};

/// A tree in the making, and the causes it names.
#[derive(Default)]
pub(super) struct Draft {
    pub(super) builder: Builder<CauseId>,
    causes: Vec<Cause>,
}

impl Draft {
    /// The leaf of a cause; a name met before is the same cause.
    pub(super) fn leaf(&mut self, name: &str, title: &str, rate: f64, strength: f64) -> NodeId {
        let known = self.causes.iter().position(|cause| cause.name == name);
        let place = known.unwrap_or_else(|| {
            self.causes.push(Cause {
                name: name.to_owned(),
                formerly: vec![],
                title: title.to_owned(),
                part: "part".to_owned(),
                rate: Rate::per_thousand(rate).unwrap(),
                repair: RepairId::at(0),
                source: "test".to_owned(),
            });
            self.causes.len() - 1
        });
        self.builder.leaf(CauseId::at(place), p(strength))
    }

    /// The family whose one symptom has this tree.
    pub(super) fn family(self, title: &str, top: NodeId) -> Family {
        let (minutes, parts) = (Minutes::ZERO, Money::new(0.0).unwrap());
        Family {
            accept: Vec::new(),
            jobs: "jobs".to_owned(),
            unfinished: false,
            recorder: None,
            signals: Vec::new(),
            name: "test-family".to_owned(),
            title: "A kind of transmission".to_owned(),
            notice: String::new(),
            worth: "Every figure is a workshop's judgement, not a statistic.".to_owned(),
            figures: Figures {
                max_order: 2,
                unlisted: p(0.02),
                floor: p(0.001),
                mistold: Probability::ZERO,
                misread: Probability::ZERO,
                reacts: p(0.25),
            },
            shop: Shop {
                labour_rate: Money::new(90.0).unwrap(),
                waiting_rate: parts,
                least_saving_share: p(0.05),
                least_saving_minutes: minutes,
                repair_from: Probability::ZERO,
                close_out: Minutes::ZERO,
                escalation: Escalation { minutes, parts },
            },
            in_place: vec![],
            fades: vec![],
            put_back: vec![],
            habit: vec![],
            cautions: vec![],
            dangers: Vec::new(),
            sources: Vec::new(),
            care: vec![],
            set_ups: vec![],
            instruments: vec![],
            conditions: vec![],
            codes: BTreeMap::new(),
            ambiguities: vec![],
            repairs: vec![Repair {
                name: "repair".to_owned(),
                formerly: vec![],
                title: "Repair".to_owned(),
                minutes,
                parts,
                requires: halfsplit::knowledge::Requires::default(),
                set_ups: vec![],
                cautions: vec![],
                verify: String::new(),
                verify_with: vec![],
                care: vec![],
                opens_valve_body: false,
                unit_out: false,
                reveals: vec![],
            }],
            causes: self.causes,
            measurements: vec![],
            symptoms: vec![Symptom {
                name: "symptom".to_owned(),
                formerly: vec![],
                title: title.to_owned(),
                complaints: vec![],
                examples: vec![],
                first_looks: vec![],
                tree: self.builder.finish(top),
            }],
            cases: vec![],
            exercises: vec![],
            not_meant: Vec::new(),
            unproved: None,
        }
    }
}

pub(super) fn p(number: f64) -> Probability {
    Probability::new(number).unwrap()
}

pub(super) fn svg(family: &Family) -> String {
    drawing::svg(family, SymptomId::at(0))
}

pub(super) fn dot(family: &Family) -> String {
    drawing::dot(family, SymptomId::at(0))
}

/// A family from sketches: `ANY: event`, `ALL: event`, `AT LEAST k: event`, `PART name strength`, else
/// `cause strength`; inputs indented by two more. Parts come first, each able to use those before it.
pub(super) fn sketched(parts: &[(&str, &str)], tree: &str) -> Family {
    let mut draft = Draft::default();
    let mut known = BTreeMap::new();
    for (name, sketch) in parts {
        let place = branch(
            &mut draft,
            &known,
            &mut lines(sketch).as_slice(),
            Some(name),
        );
        known.insert((*name).to_owned(), place);
    }
    let lines = lines(tree);
    let title = lines[0].1.split_once(": ").unwrap().1;
    let top = branch(&mut draft, &known, &mut lines.as_slice(), None);
    draft.family(title, top)
}

/// The lines of a sketch, each with how far it is indented.
fn lines(sketch: &str) -> Vec<(usize, &str)> {
    sketch
        .lines()
        .filter(|line| !line.trim().is_empty())
        .map(|line| (line.len() - line.trim_start().len(), line.trim()))
        .collect()
}

/// Takes a branch off the front of the lines and builds it.
fn branch(
    draft: &mut Draft,
    parts: &BTreeMap<String, NodeId>,
    lines: &mut &[(usize, &str)],
    name: Option<&str>,
) -> NodeId {
    let (indent, line) = lines[0];
    *lines = &lines[1..];
    let gate = match line.split_once(": ") {
        Some(("ANY", event)) => Some((Gate::Any, event)),
        Some(("ALL", event)) => Some((Gate::All, event)),
        Some((k, event)) => Some((
            Gate::AtLeast(k.strip_prefix("AT LEAST ").unwrap().parse().unwrap()),
            event,
        )),
        None => None,
    };
    if let Some((gate, event)) = gate {
        let mut inputs = vec![];
        while lines.first().is_some_and(|(inner, _)| *inner > indent) {
            inputs.push(branch(draft, parts, lines, None));
        }
        return draft.builder.gate(gate, event, name, &inputs).unwrap();
    }
    let mut words = line.split(' ');
    let first = words.next().unwrap();
    let part = (first == "PART").then(|| parts[words.next().unwrap()]);
    let strength = words.next().map_or(1.0, |number| number.parse().unwrap());
    match part {
        Some(part) if strength < 1.0 => draft.builder.sometimes(p(strength), part),
        Some(part) => part,
        None => {
            // A rate that differs from cause to cause, and a title as long as they are.
            let title = format!("{} of the unit, out of order", first.replace('-', " "));
            let rate = (first.len() % 14 + 1) as f64;
            draft.leaf(first, &title, rate, strength)
        }
    }
}

/// A made-up tree as large as the largest the trade knowledge gives for one complaint: 38 causes.
pub(super) fn large() -> Family {
    sketched(
        &[
            (
                "supply-low",
                "
ANY: Hydraulic supply low
  ANY: Too little fluid at the strainer
    fluid-low-leak
    fluid-underfilled
    fluid-lost-to-front-differential .8
  ANY: Fluid arrives late or with air in it
    strainer-clogged .9
    suction-air-leak .8
    fluid-overfilled .6
  pump-worn .9
",
            ),
            (
                "control-lost",
                "
ANY: Electrical supply or control lost, solenoids at rest: full clamp and full clutch pressure, converter clutch and transfer clutch released
  tcm-supply-lost .9
  tcm-ground-poor .6
  tcm-fault .7
  case-connector-poor .7
  data-bus-fault .6
",
            ),
            (
                "range-wrong",
                "
ANY: Lever position and control disagree
  selector-cable-misadjusted .7
  range-switch-fault .8
",
            ),
        ],
        "
ANY: No drive in one direction or in both
  PART supply-low .3
  ANY: No torque or no fluid comes in
    pump-drive-sheared
    drive-plate-broken .95
    turbine-shaft-stripped
  ANY: Neither clutch is applied
    clutch-solenoid-stuck-low .5
    clutch-valve-sticking-low .5
    manual-valve-unlinked
    PART range-wrong .5
  ANY: Forward lost
    forward-clutch-worn .35
    forward-clutch-seal-leak .4
  ANY: Reverse lost
    reverse-brake-worn .6
    reverse-brake-seal-leak .6
    planetary-damaged .9
  ANY: Pulleys do not carry
    chain-broken
    secondary-solenoid-stuck-low .2
    secondary-valve-sticking-low .2
  ANY: Torque lost after the pulleys
    output-gear-stripped
    ALL: Both axles lost
      ANY: Front path lost
        front-axle-shaft-broken
        front-differential-broken
      ANY: Rear path lost
        transfer-solenoid-stuck-released
        front-only-mode-left-on
        rear-driveline-broken
  ANY: Vehicle is held
    park-pawl-stuck
    parking-brake-stuck .5
    brake-drag .05
  PART control-lost .2
  ANY: Not the driveline
    engine-power-low .03
",
    )
}

/// Numbers that look random and are the same every time (xorshift, Marsaglia 2003).
pub(super) struct Dice(u64);

impl Dice {
    pub(super) fn new(seed: u64) -> Self {
        Self((seed + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 >> 11
    }

    /// 0 to `count − 1`.
    pub(super) fn below(&mut self, count: usize) -> usize {
        usize::try_from(self.next() % count as u64).unwrap()
    }

    /// 0 to 1.
    pub(super) fn unit(&mut self) -> f64 {
        self.next() as f64 / (1_u64 << 53) as f64
    }
}
