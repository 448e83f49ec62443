//! Two versions of the knowledge on the same drawn vehicles: for `study` and `diff`.

use super::Result;
use super::progress::bar;
use crate::knowledge::SymptomId;
use crate::simulate::{Paired, Settings, Side, Unworkable, Version, compare, paired_report};
use crate::text::Paper;

/// Lets both versions diagnose the vehicles of the one and of the other, complaint by complaint. What they come to
/// is told in the report, and given for JSON.
pub(super) fn on_the_same_vehicles(
    old: Version<'_>,
    new: Version<'_>,
    symptoms: &[SymptomId],
    settings: &Settings,
    interactive: bool,
    report: &mut Paper,
) -> Result<Vec<Paired>> {
    let sides = compare(old, new, symptoms, settings)?;
    let total = sides.iter().map(Side::vehicles).sum();
    let bar = bar(total, "vehicles", interactive);
    let runs = sides.iter().map(|side| side.run(&|| bar.inc(1)));
    let found: std::result::Result<Vec<_>, Unworkable> = runs.collect();
    bar.finish_and_clear();
    let found = found?;
    for symptom in symptoms {
        let name = &new.family.symptom(*symptom).name;
        if old.family.symptom_named(name).is_none() {
            report.text(format!("{name} is not in the old version."));
        }
    }
    paired_report(report, new.family, &found);
    Ok(found)
}
