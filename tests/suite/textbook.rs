//! A textbook family, small enough to see through and with every kind of entry, and edits to it.

use halfsplit::load::{Code, Finding, Findings, Loaded, Source, load};

const FAMILY: &str = "\
family: bench
title: Lamp on a test bench
notice: The teacher is right.
worth: Every figure is a textbook's.
max_order: 2
unlisted: 0.02
floor: 0
reacts: 0.25
shop: {labour_rate: 60, escalation: {minutes: 100, parts: 20}}
in_place: [cover-on]
habit: [supply, lamp-look]
cautions:
  shock: Switch the supply off before the cover comes off.
care:
  clean: Clean hands.
  close-out: Switch it on and look.
set_ups:
  cover-on: {title: Cover fitted, minutes: 2, group: cover}
  cover-off: {title: Cover removed, minutes: 3, group: cover}
  probe-fitted: {title: Probe fitted, minutes: 1, needs: [cover-off], ends: [cover-on], equipment: probe}
instruments:
  voltmeter: {title: Voltmeter, unit: V, range: {from: 0, to: 30}, accuracy: {standard: 0.05}}
  gauge: {title: Pressure gauge, unit: kPa, range: {from: 0, to: 1000}, accuracy: {class: 1.6}}
conditions:
  switched-on: {ask: \"Is it switched on?\", source: textbook}
  supply-steady:
    ask: Supply voltage
    reading: {quantity: voltage, unit: V, instrument: voltmeter}
    holds: {from: supply-window.min, to: supply-window.max}
    lasts: 20
    ended_by: [cover-off]
    source: textbook
signals:
  supply-voltage: {title: Supply voltage, quantity: voltage, unit: V, range: {from: 0, to: 30}, columns: ['volt']}
  switch: {title: Switch, states: {closed: [on], open: [off]}, columns: ['switch']}
ambiguities:
  - {causes: [lamp-broken, wire-broken], parted_by: [lamp-look], why: Both leave it dark.}
";

const CAUSES: &str = "\
repairs:
  renew-lamp:
    title: Renew the lamp
    minutes: 5
    parts: 3
    verify: it lights
    verify_with: [lamp-look]
    care: [clean]
  mend-wire: {title: Mend the wire, minutes: 20, parts: 1, verify: it lights, reveals: [wire-look]}
causes:
  lamp-broken: {title: Lamp broken, part: lamp, rate: 20, repair: renew-lamp, source: textbook}
  wire-broken: {title: Wire broken, part: wiring, rate: 5, repair: mend-wire, source: textbook}
  supply-low: {title: Supply low, part: supply, rate: 2, repair: mend-wire, source: textbook}
";

const CODES: &str = "\
codes:
  P0841: {means: Lamp circuit open, kind: open, source: from memory}
";

const MEASUREMENTS: &str = "\
measurements:
  supply:
    title: Supply voltage
    ask: Voltage at the terminals
    reading: {quantity: voltage, unit: V, instrument: voltmeter, plausible: {from: 0, to: 30}}
    outcomes:
      low: {below: supply-window.min}
      normal: {from: supply-window.min, to: supply-window.max}
      high: {above: supply-window.max}
    recording: {reads: {value: supply-voltage}, while: {switch: [closed]}, takes: smallest}
    set_ups: [cover-off]
    conditions: [switched-on]
    minutes: 2
    cautions: [shock]
    for: [no-light]
    note: Normal here clears the supply alone.
    steps: [Cover off., Probe on.]
    shows:
      low: {supply-low: 0.9, wire-broken: 0.1}
      high: {wire-broken: 0.05}
    chance: {low: 0.02, high: 0.01}
    rest: chance
    repeat: true
    timed: {stall: {limit: 5, cool_down: 60}}
    source: textbook
  supply-drop:
    title: Drop along the wire
    ask: Drop along the wire
    reading:
      quantity: voltage
      unit: mV
      value: 1000 * (before - after)
      takes:
        before: {ask: Voltage before, quantity: voltage, unit: V, instrument: voltmeter}
        after: {ask: Voltage after, quantity: voltage, unit: V, instrument: voltmeter}
    outcomes:
      normal: {to: 200}
      large: {above: 200}
    minutes: 3
    shows:
      large: {wire-broken: 0.8}
    source: textbook
  lamp-look:
    title: Lamp by eye
    ask: How the lamp looks
    reading: {choices: {black: Black inside, whole: Clear}, normal: whole}
    minutes: 1
    limits: [lamp-colour]
    shows:
      black: {lamp-broken: 0.7}
    source: textbook
  wire-look:
    title: Wire by eye
    ask: How the wire looks
    reading: {choices: [frayed, normal]}
    minutes: 1
    shows:
      frayed: {wire-broken: 0.6}
    source: textbook
  code:
    title: Codes
    ask: Codes read
    reading: {codes: true, choices: [open, normal]}
    minutes: 1
    timed: lag
    shows:
      open: {wire-broken: 0.9, lamp-broken: 0.5}
    source: textbook
";

const TREE: &str = "\
symptom: no-light
title: The lamp stays dark
complaints: ['dark', 'no light']
examples: [It stays dark.]
top:
  any:
    - lamp-broken
    - {shared: no-current, strength: 0.9}
    - event: Weak and long
      all: [supply-low, {cause: wire-broken, strength: 0.5}]
";

const SHARED: &str = "\
shared:
  no-current:
    event: No current
    any:
      - wire-broken
      - event: Two of three
        at_least: 2
        of: [supply-low, wire-broken, lamp-broken]
";

const CASE: &str = "\
case: dark lamp
symptoms: [no-light]
vehicle: trainer
complaint: it stays dark
readings:
  - {measurement: supply, value: 12.1 V}
  - {measurement: supply-drop, values: {before: 12.1, after: 12 V}}
  - {measurement: lamp-look, value: black}
expect: {repair: renew-lamp}
found: the lamp
";

const VEHICLE: &str = "\
vehicle: trainer
title: Trainer, invented
family: bench
invented: true
units: metric
limits:
  supply-window: {min: 11.5, max: 14.5, unit: V, source: invented}
  lamp-colour: {words: clear, source: invented}
";

const SECOND_VEHICLE: &str = "\
vehicle: second-trainer
title: Second trainer, invented
family: bench
invented: true
units: us
limits:
  supply-window: {min: 11000, max: 14000, unit: mV, source: invented}
  lamp-colour: {words: clear, source: invented}
";

/// The files of the family, by path.
pub(super) const FILES: [(&str, &str); 9] = [
    ("bench/family.yaml", FAMILY),
    ("bench/causes.yaml", CAUSES),
    ("bench/codes.yaml", CODES),
    ("bench/measurements/all.yaml", MEASUREMENTS),
    ("bench/trees/no-light.yaml", TREE),
    ("bench/trees/shared.yaml", SHARED),
    ("bench/cases/dark-lamp.yaml", CASE),
    ("vehicles/trainer.yaml", VEHICLE),
    ("vehicles/second-trainer.yaml", SECOND_VEHICLE),
];

/// The family with edits.
#[derive(Clone, Debug)]
pub(super) struct Book {
    pub(super) files: Vec<(String, Vec<u8>)>,
}

impl Book {
    pub(super) fn new() -> Self {
        let files = FILES
            .iter()
            .map(|(path, text)| ((*path).to_owned(), text.as_bytes().to_vec()))
            .collect();
        Self { files }
    }

    pub(super) fn text(&self, path: &str) -> String {
        let (_, bytes) = self
            .files
            .iter()
            .find(|(file, _)| file == path)
            .expect("no such file");
        String::from_utf8_lossy(bytes).into_owned()
    }

    /// A file with other content, or one more file.
    pub(super) fn with(mut self, path: &str, content: impl Into<Vec<u8>>) -> Self {
        self.files.retain(|(file, _)| file != path);
        self.files.push((path.to_owned(), content.into()));
        self
    }

    pub(super) fn without(mut self, path: &str) -> Self {
        self.files.retain(|(file, _)| file != path);
        self
    }

    /// One text of a file replaced by another: it must stand there once.
    pub(super) fn edit(self, path: &str, from: &str, to: &str) -> Self {
        let text = self.text(path);
        assert_eq!(text.matches(from).count(), 1, "{from:?} in {path}");
        let text = text.replacen(from, to, 1);
        self.with(path, text)
    }

    pub(super) fn load(&self) -> Result<Loaded, Findings> {
        load(&Source::texts(self.files.clone()))
    }

    /// Everything that is found.
    pub(super) fn findings(&self) -> Vec<Finding> {
        match self.load() {
            Ok(loaded) => loaded.warnings.0,
            Err(findings) => findings.0,
        }
    }

    /// The codes that are found, in order.
    pub(super) fn codes(&self) -> Vec<Code> {
        self.findings().iter().map(|finding| finding.code).collect()
    }

    /// The line and column of a text in a file, both from 1.
    pub(super) fn place(&self, path: &str, text: &str) -> (u32, u32) {
        let content = self.text(path);
        let before = &content[..content
            .find(text)
            .unwrap_or_else(|| panic!("{text:?} in {path}"))];
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap().chars().count() + 1;
        (u32::try_from(line).unwrap(), u32::try_from(column).unwrap())
    }
}
