//! An overlay laid over a family.

use std::collections::BTreeMap;
use std::path::Path;

use super::overlay::{Moved, Named, Overlay};
use crate::infer::row_under;
use crate::knowledge::{CauseId, Family, MeasurementId, OutcomeId};
use crate::load::place_of;
use crate::text::{nearest, plain, quoted};
use crate::units::{Probability, Rate};

/// Figures agree where they differ by less than this share: an overlay's are written to six digits.
const AGREES: f64 = 1e-5;

/// Something in an overlay that does not fit the knowledge.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoFit {
    /// Line and column, from 1, if the overlay was read from a file.
    pub place: Option<(u32, u32)>,
    /// What does not fit, and what would.
    pub words: String,
}

impl NoFit {
    /// As it is said of a file: `file:line:column: words`.
    pub fn in_file(&self, path: &Path) -> String {
        let (path, words) = (path.display(), &self.words);
        match self.place {
            Some((line, column)) => format!("{path}:{line}:{column}: {words}"),
            None => format!("{path}: {words}"),
        }
    }
}

/// Lays an overlay over a family: the figures it names become its `now`.
///
/// Every figure must still be what it was when the overlay was learned, so that none is moved twice.
/// Rows stay rows: what an overlay's figures leave of 1 goes where the measurement says.
///
/// # Errors
///
/// All that does not fit, with its place; the family is then as it was.
pub fn apply(family: &mut Family, overlay: &Overlay) -> Result<(), Vec<NoFit>> {
    let mut fitting = Fitting {
        family,
        overlay,
        rates: Vec::new(),
        rows: BTreeMap::new(),
        misfits: Vec::new(),
    };
    fitting.check();
    let Fitting {
        rates,
        rows,
        misfits,
        ..
    } = fitting;
    if !misfits.is_empty() {
        return Err(misfits);
    }
    for (cause, rate) in rates {
        family.causes[cause.index()].rate = rate;
    }
    for ((measurement, cause), row) in rows {
        let shows = &mut family.measurements[measurement.index()].shows;
        shows.entry(cause).or_default().0.extend(row);
    }
    Ok(())
}

/// An overlay being compared with a family.
struct Fitting<'a> {
    family: &'a Family,
    overlay: &'a Overlay,
    rates: Vec<(CauseId, Rate)>,
    rows: BTreeMap<(MeasurementId, CauseId), BTreeMap<OutcomeId, Probability>>,
    misfits: Vec<NoFit>,
}

impl Fitting<'_> {
    fn check(&mut self) {
        let (family, overlay) = (self.family, self.overlay);
        if overlay.family != family.name {
            let words = format!(
                "the overlay is of the family {}, and this is {}",
                quoted(&overlay.family),
                quoted(&family.name)
            );
            self.say(&["family"], words);
            return;
        }
        for (name, moved) in &overlay.rates.0 {
            let way = ["rates", name];
            let Some(cause) = self.cause(&way) else {
                continue;
            };
            let today = family.cause(cause).rate.get();
            let now = Rate::per_thousand(moved.now).map_err(|error| error.to_string());
            if let Some(now) = self.moved(&way, moved, today, now) {
                self.rates.push((cause, now));
            }
        }
        for (name, outcomes) in &overlay.shows.0 {
            let known = family.measurements.iter().map(|item| item.name.as_str());
            let id = family.measurement_named(name);
            let Some(id) = self.known(&["shows", name], "measurement", id, known) else {
                continue;
            };
            for (outcome, causes) in &outcomes.0 {
                self.outcome(id, &["shows", name, outcome], causes);
            }
        }
        self.bound();
    }

    fn outcome(&mut self, id: MeasurementId, way: &[&str; 3], causes: &Named<Moved>) {
        let known = self.family.measurement(id);
        let [shows, measurement, name] = *way;
        let outcomes = known.outcomes.iter().map(|item| item.name.as_str());
        let Some(outcome) = self.known(way, "outcome", known.outcome(name), outcomes) else {
            return;
        };
        if outcome == known.normal {
            let name = quoted(name);
            let words = format!("{name} is the normal outcome: it takes what the others leave");
            self.say(way, words);
            return;
        }
        for (cause, moved) in &causes.0 {
            let way = [shows, measurement, name, cause];
            let Some(id_of_cause) = self.cause(&way) else {
                continue;
            };
            if !known.shows.contains_key(&id_of_cause) {
                let (measurement, cause) = (quoted(measurement), quoted(cause));
                let words =
                    format!("{measurement} does not show the cause {cause} in the knowledge");
                self.say(&way, words);
                continue;
            }
            let today = row_under(known, &[id_of_cause])[outcome.index()];
            let now = Probability::new(moved.now).map_err(|error| error.to_string());
            if let Some(now) = self.moved(&way, moved, today, now) {
                let row = self.rows.entry((id, id_of_cause)).or_default();
                row.insert(outcome, now);
            }
        }
    }

    /// Keeps every row at most 1: what rounding left above is taken off in proportion, more is a misfit.
    fn bound(&mut self) {
        let mut rows = std::mem::take(&mut self.rows);
        for ((measurement, cause), row) in &mut rows {
            let known = self.family.measurement(*measurement);
            let stated = known.shows.get(cause).into_iter().flat_map(|row| &row.0);
            let kept: f64 = stated
                .filter(|(outcome, _)| !row.contains_key(*outcome))
                .map(|(_, p)| p.get())
                .sum();
            let moved: f64 = row.values().map(|p| p.get()).sum();
            if kept + moved <= 1.0 {
                continue;
            }
            if kept + moved <= 1.0 + AGREES && moved > 0.0 {
                let scale = (1.0 - kept).max(0.0) / moved;
                for p in row.values_mut() {
                    *p = Probability::nearest(p.get() * scale);
                }
                continue;
            }
            let cause = &self.family.cause(*cause).name;
            let words = format!(
                "the figures of {} for {} add up to {}: over all outcomes they may add up to 1",
                quoted(cause),
                quoted(&known.name),
                plain(kept + moved)
            );
            let first = row.keys().next();
            let outcome = first.map_or("", |id| known.outcomes[id.index()].name.as_str());
            self.say(&["shows", &known.name, outcome, cause], words);
        }
        self.rows = rows;
    }

    /// What a figure becomes, where that is a figure and it is today what it was when the overlay was learned.
    fn moved<T>(
        &mut self,
        way: &[&str],
        moved: &Moved,
        today: f64,
        now: Result<T, String>,
    ) -> Option<T> {
        let words = match now {
            Err(words) => format!("now: {words}"),
            Ok(now) if (moved.was - today).abs() <= AGREES * moved.was.abs().max(today.abs()) => {
                return Some(now);
            }
            Ok(_) => format!(
                "learned from {}, and the knowledge says {} today: learn again from today's knowledge",
                plain(moved.was),
                plain(today)
            ),
        };
        self.say(way, words);
        None
    }

    /// The cause at the end of a way.
    fn cause(&mut self, way: &[&str]) -> Option<CauseId> {
        let family = self.family;
        let known = family.causes.iter().map(|item| item.name.as_str());
        let name = way.last().copied().unwrap_or_default();
        self.known(way, "cause", family.cause_named(name), known)
    }

    /// What was found by the name at the end of a way; where nothing was, that is said.
    fn known<'n, Id>(
        &mut self,
        way: &[&str],
        kind: &str,
        found: Option<Id>,
        known: impl Iterator<Item = &'n str>,
    ) -> Option<Id> {
        if found.is_none() {
            let name = way.last().copied().unwrap_or_default();
            let meant = nearest(name, known).map_or_else(String::new, |near| {
                format!(": did you mean {}?", quoted(near))
            });
            self.say(way, format!("there is no {kind} {}{meant}", quoted(name)));
        }
        found
    }

    fn say(&mut self, way: &[&str], words: String) {
        let way = [&["overlay"], way].concat();
        let place = place_of(&self.overlay.text, &way);
        self.misfits.push(NoFit { place, words });
    }
}
