//! What is stated of a measurement.

use super::band;
use crate::diff::fact::Effect::{Belief, Cost, Limit, Words};
use crate::diff::fact::Facts;
use crate::diff::names::Named;
use crate::knowledge::{
    Chance, Check, Measurement, Number, Outcome, Reading, Rest, Row, Take, Timed,
};
use crate::units::{Interval, Unit};

/// What is stated of a measurement.
pub(in crate::diff) fn measurement(named: Named<'_>, measurement: &Measurement) -> Facts {
    let Measurement {
        name: _,
        formerly: _,
        title,
        ask,
        reading,
        outcomes: _,
        normal: _,
        set_ups,
        conditions,
        minutes,
        cautions,
        offered_for,
        limits,
        note,
        steps,
        shows: _,
        chance: _,
        rest: _,
        repeat,
        timed,
        source,
    } = measurement;
    let mut facts = Facts::default();
    facts
        .number(Cost, "minutes", &[], minutes.get(), "min")
        .set(Cost, "set_ups", named.set_ups(set_ups))
        .order(Limit, "conditions", named.conditions(conditions))
        .flag(Belief, "repeat", *repeat)
        .text("title", &[], title)
        .text("ask", &[], ask)
        .order(Words, "cautions", named.cautions(cautions))
        .order(Words, "limits", limits.clone())
        .lines("steps", steps.clone(), true)
        .text("source", &[], source);
    if let Some(note) = note {
        facts.text("note", &[], note);
    }
    if let Some(offered) = offered_for {
        facts.set(Belief, "for", named.symptoms(offered));
    }
    match timed {
        None => {}
        Some(Timed::Lag) => {
            facts.word(Words, "timed", &[], "lag");
        }
        Some(Timed::Stall { limit, cool_down }) => {
            facts
                .word(Words, "timed", &[], "stall")
                .number(Words, "timed", &["limit"], *limit, "s")
                .number(Words, "timed", &["cool_down"], *cool_down, "s");
        }
    }
    answer(named, reading, &mut facts);
    outcomes(named, measurement, &mut facts);
    figures(named, measurement, &mut facts);
    facts
}

/// What an answer looks like.
fn answer(named: Named<'_>, reading: &Reading, facts: &mut Facts) {
    let number = match reading {
        Reading::Words => {
            facts.word(Limit, "reading", &[], "words");
            return;
        }
        Reading::Codes => {
            facts.word(Limit, "reading", &[], "words or trouble codes");
            return;
        }
        Reading::Number(number) => number,
    };
    let Number {
        unit,
        instrument,
        plausible,
        takes,
        formula,
        checks,
    } = number;
    facts
        .word(Limit, "reading", &[], "a number")
        .word(Limit, "unit", &[], unit.symbol());
    if let Some(instrument) = instrument {
        facts.word(Limit, "instrument", &[], &named.instrument(*instrument));
    }
    span(facts, &[], *plausible, unit.symbol());
    if let Some(formula) = formula {
        facts.word(Limit, "formula", &[], formula.text());
    }
    if !takes.is_empty() {
        let order = takes.iter().map(|take| take.name.clone()).collect();
        facts.order(Limit, "takes", order);
    }
    for take in takes {
        let Take {
            name,
            ask,
            unit,
            instrument,
            plausible,
        } = take;
        let at = [name.as_str()];
        facts
            .text("ask", &at, ask)
            .word(Limit, "unit", &at, unit.symbol());
        if let Some(instrument) = instrument {
            facts.word(Limit, "instrument", &at, &named.instrument(*instrument));
        }
        span(facts, &at, *plausible, unit.symbol());
    }
    for check in checks {
        let Check {
            name,
            formula,
            plausible,
        } = check;
        // A quantity on the way has the unit of whatever its formula makes.
        facts.word(Limit, "formula", &["check", name], formula.text());
        span(facts, &["check", name], Some(*plausible), "");
    }
}

/// The values that are possible at all.
fn span(facts: &mut Facts, at: &[&str], plausible: Option<Interval>, unit: &str) {
    if let Some(span) = plausible {
        let ends = [("from", span.from()), ("to", span.to())];
        for (end, number) in ends {
            let at: Vec<&str> = at.iter().copied().chain([end]).collect();
            facts.number(Limit, "plausible", &at, number, unit);
        }
    }
}

/// The outcomes: their order, their words, the values they stand for.
fn outcomes(named: Named<'_>, measurement: &Measurement, facts: &mut Facts) {
    let unit = measurement.number().map(|number| number.unit);
    let normal = &measurement.outcomes[measurement.normal.index()].name;
    let name = |outcome: &str| named.outcome(measurement, outcome);
    facts.word(Belief, "normal", &[], &name(normal)).order(
        Belief,
        "outcomes",
        measurement
            .outcomes
            .iter()
            .map(|outcome| name(&outcome.name))
            .collect(),
    );
    for outcome in &measurement.outcomes {
        let Outcome {
            name: id,
            gloss,
            bands,
        } = outcome;
        let id = name(id);
        if let Some(gloss) = gloss {
            facts.text("gloss", &[&id], gloss);
        }
        if !bands.is_empty() {
            let mut words: Vec<String> = bands.iter().map(band).collect();
            words.sort_unstable();
            let unit = unit.map_or("", Unit::symbol);
            let text = format!("{} {unit}", words.join(", or "));
            facts.word(Limit, "band", &[&id], text.trim_end());
        }
    }
}

/// What each cause shows, and what turns up by chance.
fn figures(named: Named<'_>, measurement: &Measurement, facts: &mut Facts) {
    let outcome = |place: usize| named.outcome(measurement, &measurement.outcomes[place].name);
    for (cause, Row(row)) in &measurement.shows {
        let cause = named.cause(*cause);
        for (shown, p) in row {
            facts.number(
                Belief,
                "shows",
                &[&outcome(shown.index()), &cause],
                p.get(),
                "",
            );
        }
        // A row that states nothing still says that the cause is looked for.
        if row.is_empty() {
            facts.word(Belief, "shows", &["nothing", &cause], "named");
        }
    }
    let Chance(chance) = &measurement.chance;
    for (place, p) in chance.iter().enumerate() {
        // The normal outcome has what the others leave.
        if place != measurement.normal.index() {
            facts.number(Belief, "chance", &[&outcome(place)], p.get(), "");
        }
    }
    let rest = match measurement.rest {
        Rest::Normal => "normal",
        Rest::Chance => "chance",
    };
    facts.word(Belief, "rest", &[], rest);
}
