//! An abnormal outcome that no cause gives.

use super::Desk;
use crate::load::{Code, FileKind};

/// The outcomes, but for the normal one, that no figure of `shows` gives. Where the family states the outcome's
/// `chance`, somebody has thought of how it comes about without any listed cause.
pub(super) fn judge(desk: &Desk<'_>) {
    for id in desk.measurements() {
        let measurement = desk.family.measurement(id);
        for (place, outcome) in measurement.outcomes.iter().enumerate() {
            let shown = measurement.shows.values().any(|row| {
                row.0
                    .iter()
                    .any(|(shown, figure)| shown.index() == place && figure.get() > 0.0)
            });
            let name = measurement.name.as_str();
            let stands = |way: &[&str]| {
                desk.places
                    .stands(&desk.family.name, FileKind::Measurements, way)
            };
            let chance = ["measurements", name, "chance", &outcome.name];
            if place == measurement.normal.index() || shown || stands(&chance) {
                continue;
            }
            let banded = ["measurements", name, "outcomes", &outcome.name];
            let chosen = ["measurements", name, "reading", "choices", &outcome.name];
            let way: &[&str] = if stands(&banded) { &banded } else { &chosen };
            desk.say(
                Code::UnshownOutcome,
                desk.key(FileKind::Measurements, way),
                format!("no cause gives the outcome `{}` of `{}`", outcome.name, name),
                "say under `shows` which causes give it; where it only comes by chance, state its `chance`",
            );
        }
    }
}
