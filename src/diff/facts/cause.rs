//! What is stated of causes and repairs.

use crate::diff::fact::Effect::{Belief, Cost, Words};
use crate::diff::fact::Facts;
use crate::diff::names::Named;
use crate::knowledge::{Cause, Repair};

/// What is stated of a cause.
pub(in crate::diff) fn cause(named: Named<'_>, cause: &Cause) -> Facts {
    let Cause {
        name: _,
        formerly: _,
        title,
        part,
        rate,
        repair,
        source,
    } = cause;
    let mut facts = Facts::default();
    facts
        .number(Belief, "rate", &[], rate.get(), "of 1,000 jobs")
        .word(Cost, "repair", &[], &named.repair(*repair))
        .text("title", &[], title)
        .text("part", &[], part)
        .text("source", &[], source);
    facts
}

/// What is stated of a repair.
pub(in crate::diff) fn repair(named: Named<'_>, repair: &Repair) -> Facts {
    let Repair {
        name: _,
        formerly: _,
        title,
        minutes,
        parts,
        verify,
        verify_with,
        care,
        opens_valve_body,
        reveals,
    } = repair;
    let mut facts = Facts::default();
    facts
        .number(Cost, "minutes", &[], minutes.get(), "min")
        .number(Cost, "parts", &[], parts.get(), "")
        .set(Cost, "reveals", named.measurements(reveals))
        .text("title", &[], title)
        .text("verify", &[], verify)
        .order(Words, "verify_with", named.measurements(verify_with))
        .order(Words, "care", named.care(care))
        .flag(Words, "opens_valve_body", *opens_valve_body);
    facts
}
