//! What the knowledge covers, as tables for a review in a browser or a spreadsheet.

use std::collections::{BTreeMap, BTreeSet};

use maud::{Markup, html};
use serde::Serialize;

use super::coverage::distance;
use crate::infer::row_under;
use crate::knowledge::{CauseId, Expect, Family, MeasurementId, OutcomeId, SymptomId};
use crate::text::{document, plain};

/// The tables of a family.
#[derive(Clone, Debug)]
pub struct Tables {
    family: String,
    /// The measurements, in the order of the columns.
    measurements: Vec<Measured>,
    causes: Vec<Covered>,
    pairs: Vec<Pair>,
    figures: Vec<Stated>,
}

#[derive(Clone, Debug)]
struct Measured {
    id: String,
    /// How many worked cases read it.
    cases: usize,
}

/// A cause: what shows it, and what the worked cases say of it.
#[derive(Clone, Debug)]
struct Covered {
    id: String,
    repair: String,
    rate: f64,
    complaints: Vec<String>,
    /// How many worked cases expect its repair.
    expecting: usize,
    /// How many worked cases name it.
    naming: usize,
    /// By measurement: how often it reads otherwise than normal; `None` where it says nothing of the cause.
    abnormal: Vec<Option<f64>>,
}

/// Two repairs of a complaint: their causes that are hardest to tell apart, and what tells them apart best.
#[derive(Clone, Debug, Serialize)]
struct Pair {
    complaint: String,
    repair: String,
    other_repair: String,
    cause: String,
    other_cause: String,
    best_divider: String,
    /// Of a hundred vehicles of each kind, in how many more one of them reads so, as a share.
    tells: f64,
}

/// One figure of the knowledge.
#[derive(Clone, Debug, Serialize)]
struct Stated {
    /// `rate`, `shows` or `chance`.
    what: &'static str,
    cause: String,
    measurement: String,
    outcome: String,
    figure: f64,
    source: String,
}

/// A figure to three decimals: a spreadsheet shows every digit.
fn rounded(figure: f64) -> f64 {
    (figure * 1000.0).round() / 1000.0
}

impl Tables {
    /// The tables of a family.
    pub fn of(family: &Family) -> Self {
        let symptoms = (0..family.symptoms.len()).map(SymptomId::at);
        let mut pairs: Vec<Pair> = symptoms
            .flat_map(|symptom| pairs(family, symptom))
            .collect();
        pairs.sort_by(|a, b| a.tells.total_cmp(&b.tells));
        let read = |id: MeasurementId| {
            let reads = |case: &&crate::knowledge::Case| {
                case.readings
                    .iter()
                    .any(|reading| reading.measurement == id)
            };
            family.cases.iter().filter(reads).count()
        };
        let measurements = family.measurements.iter().enumerate();
        Self {
            family: family.name.clone(),
            measurements: measurements
                .map(|(place, measurement)| Measured {
                    id: measurement.name.clone(),
                    cases: read(MeasurementId::at(place)),
                })
                .collect(),
            causes: (0..family.causes.len())
                .map(|place| covered(family, CauseId::at(place)))
                .collect(),
            pairs,
            figures: figures(family),
        }
    }

    /// The causes by measurement as CSV.
    pub fn coverage_csv(&self) -> Result<String, csv::Error> {
        let mut table = csv::Writer::from_writer(Vec::new());
        let fixed = [
            "cause",
            "repair",
            "rate",
            "complaints",
            "cases expecting its repair",
            "cases naming it",
        ];
        let columns = self.measurements.iter().map(|one| one.id.as_str());
        table.write_record(fixed.into_iter().chain(columns))?;
        for cause in &self.causes {
            let counts = [cause.expecting, cause.naming].map(|count| count.to_string());
            let row = [
                cause.id.clone(),
                cause.repair.clone(),
                plain(cause.rate),
                cause.complaints.join(" "),
            ];
            let cells = cause.abnormal.iter();
            let cells =
                cells.map(|cell| cell.map_or_else(String::new, |cell| plain(rounded(cell))));
            table.write_record(row.into_iter().chain(counts).chain(cells))?;
        }
        let cases = self.measurements.iter().map(|one| one.cases.to_string());
        let label = ["cases reading it", "", "", "", "", ""].map(str::to_owned);
        table.write_record(label.into_iter().chain(cases))?;
        written(table)
    }

    /// The pairs of repairs as CSV.
    pub fn pairs_csv(&self) -> Result<String, csv::Error> {
        csv_of(&self.pairs)
    }

    /// The rates and the figures of `shows` and `chance` as CSV.
    pub fn figures_csv(&self) -> Result<String, csv::Error> {
        csv_of(&self.figures)
    }

    /// Coverage and pairs as one HTML document.
    pub fn html(&self) -> String {
        let title = format!("What {} covers", self.family);
        let body = html! {
            h1 { (title) }
            (self.pairs_html())
            (self.coverage_html())
        };
        document(&title, STYLE, &body)
    }

    fn pairs_html(&self) -> Markup {
        html! {
            h2 { "Pairs of repairs, the hardest to tell apart first" }
            p {
                "Of each two repairs of a complaint: their causes that look most alike, and the measurement that tells them "
                "apart best. 0.3 says that of a hundred vehicles of each kind thirty read differently. Of "
                (self.pairs.len()) " pairs the first " (SHOWN.min(self.pairs.len())) " are shown; pairs.csv has all."
            }
            table {
                thead { tr { th { "Complaint" } th { "Repairs" } th { "Causes" } th { "Best divider" } th { "Tells" } } }
                tbody {
                    @for pair in self.pairs.iter().take(SHOWN) {
                        tr {
                            td { (pair.complaint) }
                            td { (pair.repair) br; (pair.other_repair) }
                            td { (pair.cause) br; (pair.other_cause) }
                            td { (pair.best_divider) }
                            td.figure { (plain(pair.tells)) }
                        }
                    }
                }
            }
        }
    }

    fn coverage_html(&self) -> Markup {
        html! {
            h2 { "Causes by measurement" }
            p {
                "How often a measurement reads otherwise than normal with the cause; empty where it says nothing of it. "
                "Cases: how many expect the repair, and how many name the cause; in the last row, how many read the measurement."
            }
            div.wide {
                table {
                    thead {
                        tr {
                            th { "Cause" } th { "Repair" } th { "Rate" } th { "Cases" }
                            @for measurement in &self.measurements { th.turned { span { (measurement.id) } } }
                        }
                    }
                    tbody {
                        @for cause in &self.causes {
                            tr {
                                th scope="row" { (cause.id) }
                                td { (cause.repair) }
                                td.figure { (plain(cause.rate)) }
                                td.figure { (cause.expecting) " / " (cause.naming) }
                                @for cell in &cause.abnormal {
                                    @match cell {
                                        Some(figure) => td.figure style={ "background:rgba(20,110,60," (plain(rounded(figure * 0.5))) ")" } { (plain(rounded(*figure))) },
                                        None => td {},
                                    }
                                }
                            }
                        }
                        tr {
                            th scope="row" { "Cases reading it" } td {} td {} td {}
                            @for measurement in &self.measurements { td.figure { (measurement.cases) } }
                        }
                    }
                }
            }
        }
    }
}

/// So many pairs are shown in a browser.
const SHOWN: usize = 200;

const STYLE: &str = "body{font:15px/1.4 system-ui,sans-serif;margin:2rem}table{border-collapse:collapse}\
td,th{border:1px solid #bbb;padding:.15rem .4rem;text-align:left;font-weight:normal;vertical-align:top}\
thead th{background:#eee;position:sticky;top:0}.figure{text-align:right}.wide{overflow-x:auto}\
.turned{vertical-align:bottom}.turned span{writing-mode:vertical-rl}";

fn csv_of(rows: &[impl Serialize]) -> Result<String, csv::Error> {
    let mut table = csv::Writer::from_writer(Vec::new());
    rows.iter().try_for_each(|row| table.serialize(row))?;
    written(table)
}

fn written(table: csv::Writer<Vec<u8>>) -> Result<String, csv::Error> {
    let bytes = table
        .into_inner()
        .map_err(|error| std::io::Error::other(error.to_string()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn covered(family: &Family, id: CauseId) -> Covered {
    let cause = family.cause(id);
    let brings = family
        .symptoms
        .iter()
        .filter(|symptom| symptom.tree.causes().contains(&id));
    let cases = |expects: &dyn Fn(&Expect) -> bool| {
        family
            .cases
            .iter()
            .filter(|case| expects(&case.expect))
            .count()
    };
    Covered {
        id: cause.name.clone(),
        repair: family.name_of(cause.repair),
        rate: cause.rate.get(),
        complaints: brings.map(|symptom| symptom.name.clone()).collect(),
        expecting: cases(
            &|expect| matches!(expect, Expect::Repairs(of) if of.contains(&cause.repair)),
        ),
        naming: cases(&|expect| match expect {
            Expect::Ambiguity(causes) => causes.contains(&id),
            Expect::Causes(claims) => claims.iter().any(|(_, cause)| *cause == id),
            Expect::Repairs(_) | Expect::Unlisted => false,
        }),
        abnormal: family
            .measurements
            .iter()
            .map(|measurement| {
                measurement.shows.get(&id)?;
                Some(1.0 - row_under(measurement, &[id])[measurement.normal.index()])
            })
            .collect(),
    }
}

/// Of each two repairs of a complaint the causes that are hardest to tell apart.
fn pairs(family: &Family, symptom: SymptomId) -> Vec<Pair> {
    let causes = family.symptom(symptom).tree.causes();
    let offered = family
        .measurements
        .iter()
        .filter(|one| one.is_for(&[symptom]));
    let rows: Vec<(&str, Vec<Vec<f64>>)> = offered
        .map(|one| {
            let rows = causes.iter().map(|cause| row_under(one, &[*cause]));
            (one.name.as_str(), rows.collect())
        })
        .collect();
    let mut hardest = BTreeMap::new();
    for (place, one) in causes.iter().enumerate() {
        for (after, other) in causes.iter().enumerate().skip(place + 1) {
            let repairs = BTreeSet::from([family.cause(*one).repair, family.cause(*other).repair]);
            let best = rows
                .iter()
                .map(|(name, rows)| (*name, distance(&rows[place], &rows[after])))
                .max_by(|a, b| a.1.total_cmp(&b.1));
            let Some((name, tells)) = best.filter(|_| repairs.len() == 2) else {
                continue;
            };
            let known = hardest
                .entry(repairs)
                .or_insert((f64::INFINITY, *one, *other, name));
            if tells < known.0 {
                *known = (tells, *one, *other, name);
            }
        }
    }
    hardest
        .into_values()
        .map(|(tells, one, other, name)| Pair {
            complaint: family.name_of(symptom),
            repair: family.name_of(family.cause(one).repair),
            other_repair: family.name_of(family.cause(other).repair),
            cause: family.name_of(one),
            other_cause: family.name_of(other),
            best_divider: name.to_owned(),
            tells: rounded(tells),
        })
        .collect()
}

fn figures(family: &Family) -> Vec<Stated> {
    let rates = family.causes.iter().map(|cause| Stated {
        what: "rate",
        cause: cause.name.clone(),
        measurement: String::new(),
        outcome: String::new(),
        figure: cause.rate.get(),
        source: cause.source.clone(),
    });
    let mut figures: Vec<Stated> = rates.collect();
    for measurement in &family.measurements {
        let mut state = |what, cause, outcome: OutcomeId, figure| {
            figures.push(Stated {
                what,
                cause,
                measurement: measurement.name.clone(),
                outcome: measurement.outcomes[outcome.index()].name.clone(),
                figure,
                source: measurement.source.clone(),
            });
        };
        for (cause, row) in &measurement.shows {
            for (outcome, shows) in &row.0 {
                state("shows", family.name_of(*cause), *outcome, shows.get());
            }
        }
        let chances = (0..).map(OutcomeId::at).zip(&measurement.chance.0);
        for (outcome, chance) in chances.filter(|(outcome, _)| *outcome != measurement.normal) {
            state("chance", String::new(), outcome, rounded(chance.get()));
        }
    }
    figures
}
