//! What signals and the recordings of measurements state.

use super::facts::{Facts, number};
use crate::knowledge::{During, Family, Measurement, Recording, Signal};
use crate::units::Unit;

/// What a signal states beside its plain fields.
pub(super) fn signal(family: &Family, signal: &Signal, facts: &mut Facts) {
    for (state, words) in &signal.states {
        facts.set("states", &[state], words.join(", "));
    }
    for (other, times) in &signal.at_most {
        facts.set(
            "at_most",
            &[&family.signal(*other).name],
            number(*times, ""),
        );
    }
}

/// How a measurement is read from a recording.
pub(super) fn recording(
    family: &Family,
    measurement: &Measurement,
    recording: &Recording,
    facts: &mut Facts,
) {
    for (name, id) in &recording.reads {
        facts.set(
            "recording",
            &["reads", name],
            family.signal(*id).name.as_str(),
        );
    }
    for (id, during) in &recording.during {
        let signal = family.signal(*id);
        let words = match during {
            During::Band(band) => {
                let unit = signal.unit.map_or("", Unit::symbol);
                format!("{band} {unit}").trim_end().to_owned()
            }
            During::States(states) => {
                let names = states.iter().map(|state| signal.states[*state].0.as_str());
                names.collect::<Vec<_>>().join(" or ")
            }
        };
        facts.set("recording", &["while", &signal.name], words);
    }
    for (id, most) in &recording.steady {
        let signal = family.signal(*id);
        let unit = signal.unit.map_or("", Unit::symbol);
        facts.set("recording", &["steady", &signal.name], number(*most, unit));
    }
    facts.set("recording", &["seconds"], number(recording.seconds, "s"));
    if recording.in_all > 0.0 {
        facts.set("recording", &["in all"], number(recording.in_all, "s"));
    }
    facts.set("recording", &["takes"], recording.takes.id());
    if let Some(event) = recording.event {
        facts.set("recording", &["event"], event.id());
    }
    for (outcome, event) in &recording.outcomes {
        let outcome = &measurement.outcomes[outcome.index()].name;
        facts.set("recording", &["outcomes", outcome], event.id());
    }
}
