//! A step that mentions a danger, on a measurement without its caution.

use super::Desk;
use crate::load::{Code, FileKind};

/// The steps in which a pattern of `dangers` in family.yaml is found, where the measurement lacks that caution:
/// each caution once a measurement, at the first such step.
pub(super) fn judge(desk: &Desk<'_>) {
    for id in desk.measurements() {
        let measurement = desk.family.measurement(id);
        for danger in &desk.family.dangers {
            if measurement.cautions.contains(&danger.caution) {
                continue;
            }
            let mention = measurement
                .steps
                .iter()
                .enumerate()
                .find_map(|(place, step)| {
                    let found = danger
                        .patterns
                        .iter()
                        .find_map(|pattern| pattern.find(step))?;
                    Some((place, found.as_str()))
                });
            let Some((place, found)) = mention else {
                continue;
            };
            let caution = &desk.family.cautions[danger.caution].name;
            let way = [
                "measurements",
                &measurement.name,
                "steps",
                &place.to_string(),
            ];
            desk.say(
                Code::DangerUnwarned,
                desk.value(FileKind::Measurements, &way),
                format!(
                    "this step says \"{found}\", and `{}` is shown without the caution `{caution}`",
                    measurement.name
                ),
                format!("add `{caution}` to its `cautions`, or word the step so that nobody meets the danger"),
            );
        }
    }
}
