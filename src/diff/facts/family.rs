//! What is stated of a family itself and of what its family file lists.

use super::band;
use crate::diff::fact::Effect::{Belief, Cost, Limit, Words};
use crate::diff::fact::Facts;
use crate::diff::names::Named;
use crate::diff::thing::Kind;
use crate::knowledge::{
    Ambiguity, CodeMeaning, Condition, ConditionKind, Escalation, Family, Figures, Instrument,
    NamedText, SetUp, Shop,
};
use crate::units::uncertainty::Accuracy;

/// What is stated of a family itself; what it lists are things of their own.
pub(in crate::diff) fn family(named: Named<'_>) -> Facts {
    let Family {
        name: _,
        title,
        notice,
        worth,
        figures,
        shop,
        in_place,
        habit,
        cautions,
        dangers,
        sources,
        care: _,
        set_ups: _,
        instruments: _,
        conditions: _,
        codes: _,
        ambiguities: _,
        repairs: _,
        causes: _,
        measurements: _,
        symptoms: _,
        cases: _,
    } = named.family;
    let Figures {
        max_order,
        unlisted,
        floor,
        reacts,
    } = figures;
    let Shop {
        labour_rate,
        escalation: Escalation { minutes, parts },
    } = shop;
    // A candidate joins a handful of causes at most.
    let max_order = u32::try_from(*max_order).map_or(f64::INFINITY, f64::from);
    let mut facts = Facts::default();
    facts
        .number(Belief, "max_order", &[], max_order, "causes")
        .number(Belief, "unlisted", &[], unlisted.get(), "")
        .number(Belief, "floor", &[], floor.get(), "")
        .number(Belief, "reacts", &[], reacts.get(), "")
        .number(Cost, "labour_rate", &[], labour_rate.get(), "an hour")
        .number(Cost, "escalation", &["minutes"], minutes.get(), "min")
        .number(Cost, "escalation", &["parts"], parts.get(), "")
        .set(Cost, "in_place", named.set_ups(in_place))
        .text("title", &[], title)
        .text("notice", &[], notice)
        .text("worth", &[], worth)
        .order(Words, "habit", named.measurements(habit));
    for danger in dangers {
        let caution = cautions
            .get(danger.caution)
            .map_or("", |caution| caution.name.as_str());
        let patterns: Vec<&str> = danger.patterns.iter().map(regex::Regex::as_str).collect();
        facts.word(Words, "dangers", &[caution], &patterns.join(", "));
    }
    for source in sources {
        facts.text("sources", &[&source.name], &source.text);
    }
    facts
}

/// What is stated of a set-up.
pub(in crate::diff) fn set_up(named: Named<'_>, set_up: &SetUp) -> Facts {
    let SetUp {
        name: _,
        formerly: _,
        title,
        minutes,
        group,
        needs,
        ends,
        equipment,
    } = set_up;
    let mut facts = Facts::default();
    facts
        .number(Cost, "minutes", &[], minutes.get(), "min")
        .set(Cost, "needs", named.set_ups(needs))
        .set(Cost, "ends", named.set_ups(ends))
        .text("title", &[], title);
    if let Some(group) = group {
        facts.word(Cost, "group", &[], group);
    }
    if let Some(equipment) = equipment {
        facts.word(Cost, "equipment", &[], equipment);
    }
    facts
}

/// What is stated of an instrument.
pub(in crate::diff) fn instrument(instrument: &Instrument) -> Facts {
    let Instrument {
        name: _,
        title,
        unit,
        range,
        accuracy,
    } = instrument;
    let symbol = unit.symbol();
    let mut facts = Facts::default();
    facts
        .text("title", &[], title)
        .word(Limit, "unit", &[], symbol);
    if let Some(range) = range {
        facts
            .number(Limit, "range", &["from"], range.from(), symbol)
            .number(Limit, "range", &["to"], range.to(), symbol);
    }
    match accuracy {
        Accuracy::Standard(u) => {
            facts.number(Limit, "accuracy", &["standard"], *u, symbol);
        }
        // The span is the range's.
        Accuracy::Class { class, span: _ } => {
            facts.number(Limit, "accuracy", &["class"], *class, "");
        }
        Accuracy::PercentDigits {
            percent,
            digits,
            digit,
        } => {
            facts
                .number(Limit, "accuracy", &["percent"], *percent, "%")
                .number(Limit, "accuracy", &["digits"], *digits, "")
                .number(Limit, "accuracy", &["digit"], *digit, symbol);
        }
        Accuracy::Resolution(step) => {
            facts.number(Limit, "accuracy", &["resolution"], *step, symbol);
        }
    }
    facts
}

/// What is stated of a condition.
pub(in crate::diff) fn condition(named: Named<'_>, condition: &Condition) -> Facts {
    let Condition {
        name: _,
        formerly: _,
        ask,
        kind,
        lasts,
        ended_by,
        source,
    } = condition;
    let mut facts = Facts::default();
    facts.text("ask", &[], ask).text("source", &[], source).set(
        Limit,
        "ended_by",
        named.set_ups(ended_by),
    );
    if let Some(lasts) = lasts {
        facts.number(Limit, "lasts", &[], lasts.get(), "min");
    }
    match kind {
        ConditionKind::YesNo => {
            facts.word(Limit, "answer", &[], "yes or no");
        }
        ConditionKind::Number {
            unit,
            instrument,
            holds,
        } => {
            facts
                .word(Limit, "answer", &[], "a number")
                .word(Limit, "unit", &[], unit.symbol())
                .word(Limit, "holds", &[], &band(holds));
            if let Some(instrument) = instrument {
                facts.word(Limit, "instrument", &[], &named.instrument(*instrument));
            }
        }
    }
    facts
}

/// What is stated of a caution, or of the care that repairs ask for.
pub(in crate::diff) fn text(text: &NamedText) -> Facts {
    let NamedText { name: _, text } = text;
    let mut facts = Facts::default();
    facts.text("text", &[], text);
    facts
}

/// What is stated of causes that look alike; they are named by their causes.
pub(in crate::diff) fn ambiguity(named: Named<'_>, ambiguity: &Ambiguity) -> (String, Facts) {
    let Ambiguity {
        causes,
        parted_by,
        why,
    } = ambiguity;
    let mut causes: Vec<String> = causes.iter().map(|cause| named.cause(*cause)).collect();
    causes.sort_unstable();
    let mut facts = Facts::default();
    facts
        .set(Words, "parted_by", named.measurements(parted_by))
        .text("why", &[], why);
    (causes.join(" or "), facts)
}

/// What is stated of a trouble code.
pub(in crate::diff) fn code(named: Named<'_>, code: &CodeMeaning) -> Facts {
    let CodeMeaning {
        means,
        kind,
        source,
    } = code;
    // The kind is an outcome of the measurement that reads codes.
    let kind = named
        .family
        .measurements
        .iter()
        .filter(|measurement| matches!(measurement.reading, crate::knowledge::Reading::Codes))
        .map(|measurement| named.outcome(measurement, kind))
        .find(|name| name != kind)
        .unwrap_or_else(|| named.name(Kind::Outcome, kind));
    let mut facts = Facts::default();
    facts
        .word(Belief, "kind", &[], &kind)
        .text("means", &[], means)
        .text("source", &[], source);
    facts
}
