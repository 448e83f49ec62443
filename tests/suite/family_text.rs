use std::collections::BTreeMap;
use std::fmt::Write as _;

use halfsplit::knowledge::Knowledge;
use halfsplit::load::{Source, load};

/// A family as a textbook would state it, written as YAML and loaded like any other: floor 0, unlisted
/// share 0, chance 0, set-ups free, a repair for each cause, and a minute that costs 1.
pub(crate) struct Textbook {
    pub(crate) max_order: usize,
    pub(crate) unlisted: f64,
    pub(crate) floor: f64,
    pub(crate) reacts: f64,
    /// Price of escalation.
    pub(crate) escalation: f64,
    /// How likely a repair must be before it is advised.
    pub(crate) repair_from: f64,
    causes: Vec<(String, f64, String)>,
    repairs: Vec<(String, f64)>,
    symptoms: Vec<(String, String)>,
    shared: Vec<(String, String)>,
    tests: Vec<Test>,
    /// Further fields of the family.
    pub(crate) more: String,
    instruments: Vec<(String, String)>,
}

impl Textbook {
    pub(crate) fn new() -> Self {
        Self {
            max_order: 2,
            unlisted: 0.0,
            floor: 0.0,
            reacts: 0.25,
            escalation: 1e6,
            repair_from: 0.0,
            causes: Vec::new(),
            repairs: Vec::new(),
            symptoms: Vec::new(),
            shared: Vec::new(),
            tests: Vec::new(),
            more: String::new(),
            instruments: Vec::new(),
        }
    }

    /// Single hypotheses with these priors, which sum to 1 or less: each is one candidate.
    ///
    /// The prior weight of one cause is r/(1 − r), so a prior p needs the rate p/(1 + p).
    pub(crate) fn hypotheses(priors: &[(&str, f64)]) -> Self {
        let mut book = Self::new();
        book.max_order = 1;
        for (name, prior) in priors {
            book = book.cause(name, 1000.0 * prior / (1.0 + prior));
        }
        let names: Vec<&str> = priors.iter().map(|(name, _)| *name).collect();
        book.symptom("complaint", &format!("any: [{}]", names.join(", ")))
    }

    /// A cause of its own repair, which costs 100.
    pub(crate) fn cause(self, name: &str, rate: f64) -> Self {
        self.cause_put_right(name, rate, &format!("repair-{name}"), 100.0)
    }

    /// A cause, and the repair that puts it right: stated once where causes share it.
    pub(crate) fn cause_put_right(
        mut self,
        name: &str,
        rate: f64,
        repair: &str,
        cost: f64,
    ) -> Self {
        self.causes.push((name.to_owned(), rate, repair.to_owned()));
        if !self.repairs.iter().any(|(known, _)| known == repair) {
            self.repairs.push((repair.to_owned(), cost));
        }
        self
    }

    /// A symptom and its top gate, such as `any: [a, {cause: b, strength: 0.5}]`.
    pub(crate) fn symptom(mut self, name: &str, gate: &str) -> Self {
        self.symptoms.push((name.to_owned(), gate.to_owned()));
        self
    }

    /// A shared part and its gate.
    pub(crate) fn shared(mut self, name: &str, gate: &str) -> Self {
        self.shared.push((name.to_owned(), gate.to_owned()));
        self
    }

    pub(crate) fn test(mut self, test: Test) -> Self {
        self.tests.push(test);
        self
    }

    /// An instrument: its unit, range and accuracy.
    pub(crate) fn instrument(mut self, name: &str, fields: &str) -> Self {
        self.instruments.push((name.to_owned(), fields.to_owned()));
        self
    }

    /// The files of the family.
    pub(crate) fn files(&self) -> Vec<(String, String)> {
        let mut family = format!(
            "family: textbook\ntitle: Textbook\nnotice: none\nworth: exact\nmax_order: {}\nunlisted: {}\nfloor: {}\n\
             reacts: {}\nshop: {{labour_rate: 60, least_saving: {{share: 0, minutes: 0}}, escalation: {{minutes: 0, parts: {}}}, \
             repair_from: {}}}\n",
            self.max_order,
            self.unlisted,
            self.floor,
            self.reacts,
            self.escalation,
            self.repair_from
        );
        family += &self.more;
        if !self.instruments.is_empty() {
            family += "instruments:\n";
            for (name, fields) in &self.instruments {
                writeln!(family, "  {name}: {{title: {name}, {fields}}}").unwrap();
            }
        }
        let mut causes = "repairs:\n".to_owned();
        for (name, cost) in &self.repairs {
            writeln!(
                causes,
                "  {name}: {{title: {name}, minutes: 0, parts: {cost}, verify: look}}"
            )
            .unwrap();
        }
        causes += "causes:\n";
        for (name, rate, repair) in &self.causes {
            writeln!(
                causes,
                "  {name}: {{title: {name}, part: all, rate: {rate}, repair: {repair}, source: textbook}}"
            )
            .unwrap();
        }
        let mut files = vec![
            ("textbook/family.yaml".to_owned(), family),
            ("textbook/causes.yaml".to_owned(), causes),
            (
                "vehicles/page.yaml".to_owned(),
                "vehicle: page\ntitle: Page\nfamily: textbook\ninvented: true\nlimits: {}\n"
                    .to_owned(),
            ),
        ];
        for (name, gate) in &self.symptoms {
            files.push((
                format!("textbook/trees/{name}.yaml"),
                format!("symptom: {name}\ntitle: {name}\ncomplaints: [{name}]\ntop: {{{gate}}}\n"),
            ));
        }
        if !self.shared.is_empty() {
            let mut text = "shared:\n".to_owned();
            for (name, gate) in &self.shared {
                writeln!(text, "  {name}: {{event: {name}, {gate}}}").unwrap();
            }
            files.push(("textbook/trees/shared.yaml".to_owned(), text));
        }
        let mut tests = "measurements:\n".to_owned();
        for test in &self.tests {
            test.write(&mut tests);
        }
        if self.tests.is_empty() {
            // A family has something to measure, even where it says nothing.
            Test::new("nothing", &["no", "yes"]).write(&mut tests);
        }
        files.push(("textbook/measurements/tests.yaml".to_owned(), tests));
        files
    }

    /// The knowledge, through the same door as every other.
    pub(crate) fn load(&self) -> Knowledge {
        let files = self.files();
        match load(&Source::texts(files.clone())) {
            Ok(loaded) => loaded.knowledge,
            Err(findings) => panic!("{findings}\n{files:#?}"),
        }
    }
}

/// A measurement of a textbook: its first outcome is the normal one.
#[derive(Clone)]
pub(crate) struct Test {
    name: String,
    outcomes: Vec<String>,
    shows: BTreeMap<String, Vec<(String, f64)>>,
    chance: BTreeMap<String, f64>,
    minutes: f64,
    more: String,
    number: Option<(String, Vec<String>)>,
}

impl Test {
    pub(crate) fn new(name: &str, outcomes: &[&str]) -> Self {
        Self {
            name: name.to_owned(),
            outcomes: outcomes
                .iter()
                .map(|outcome| (*outcome).to_owned())
                .collect(),
            shows: BTreeMap::new(),
            chance: outcomes[1..]
                .iter()
                .map(|outcome| ((*outcome).to_owned(), 0.0))
                .collect(),
            minutes: 1.0,
            more: String::new(),
            number: None,
        }
    }

    /// The row of a cause, in the order of the outcomes; the first figure is what the others leave.
    pub(crate) fn row(mut self, cause: &str, row: &[f64]) -> Self {
        assert_eq!(row.len(), self.outcomes.len(), "{}: {cause}", self.name);
        assert!(
            (row.iter().sum::<f64>() - 1.0).abs() < 1e-9,
            "{}: {cause}",
            self.name
        );
        for (outcome, p) in self.outcomes[1..].iter().zip(&row[1..]) {
            self.shows
                .entry(outcome.clone())
                .or_default()
                .push((cause.to_owned(), *p));
        }
        self
    }

    /// How often a cause gives an outcome.
    pub(crate) fn shows(mut self, outcome: &str, cause: &str, p: f64) -> Self {
        self.shows
            .entry(outcome.to_owned())
            .or_default()
            .push((cause.to_owned(), p));
        self
    }

    /// A test of one outcome for certain under each cause.
    pub(crate) fn certain(mut self, causes: &[&str], outcome: impl Fn(usize) -> usize) -> Self {
        for (place, cause) in causes.iter().enumerate() {
            let row: Vec<f64> = (0..self.outcomes.len())
                .map(|at| f64::from(u8::from(at == outcome(place))))
                .collect();
            self = self.row(cause, &row);
        }
        self
    }

    pub(crate) fn chance(mut self, outcome: &str, p: f64) -> Self {
        self.chance.insert(outcome.to_owned(), p);
        self
    }

    /// Leaves the chance of every outcome unsaid.
    pub(crate) fn default_chance(mut self) -> Self {
        self.chance.clear();
        self
    }

    pub(crate) fn minutes(mut self, minutes: f64) -> Self {
        self.minutes = minutes;
        self
    }

    /// Any other field, such as `repeat: true`.
    pub(crate) fn with(mut self, field: &str) -> Self {
        writeln!(self.more, "    {field}").unwrap();
        self
    }

    /// A number: the fields of its reading, and the bands of the outcomes in their order.
    pub(crate) fn number(mut self, reading: &str, bands: &[&str]) -> Self {
        let bands = bands.iter().map(|band| (*band).to_owned()).collect();
        self.number = Some((reading.to_owned(), bands));
        self
    }

    fn write(&self, text: &mut String) {
        let name = &self.name;
        writeln!(text, "  {name}:\n    title: {name}\n    ask: {name}?").unwrap();
        match &self.number {
            None => {
                writeln!(
                    text,
                    "    reading: {{choices: [{}], normal: {}}}",
                    self.outcomes.join(", "),
                    self.outcomes[0]
                )
                .unwrap();
            }
            Some((reading, bands)) => {
                writeln!(text, "    reading: {{{reading}}}\n    outcomes:").unwrap();
                for (outcome, band) in self.outcomes.iter().zip(bands) {
                    writeln!(text, "      {outcome}: {{{band}}}").unwrap();
                }
            }
        }
        writeln!(
            text,
            "    minutes: {}\n    source: textbook\n{}    shows:{}",
            self.minutes,
            self.more,
            if self.shows.is_empty() { " {}" } else { "" }
        )
        .unwrap();
        for (outcome, row) in &self.shows {
            let row: Vec<String> = row
                .iter()
                .map(|(cause, p)| format!("{cause}: {p}"))
                .collect();
            writeln!(text, "      {outcome}: {{{}}}", row.join(", ")).unwrap();
        }
        if !self.chance.is_empty() {
            let row: Vec<String> = self
                .chance
                .iter()
                .map(|(outcome, p)| format!("{outcome}: {p}"))
                .collect();
            writeln!(text, "    chance: {{{}}}", row.join(", ")).unwrap();
        }
    }
}
