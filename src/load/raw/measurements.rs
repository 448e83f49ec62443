//! `measurements/*.yaml`.

use super::Span;
use crate::knowledge::{EventKind, Rest, Statistic, ToldBy};
use crate::load::describe::{
    Amount, CauseRef, CautionRef, ConditionRef, InstrumentRef, LimitKey, LimitName, MeasurementRef,
    Named, OutcomeRef, Quantity, SetUpRef, Share, SignalRef, SymptomRef, Text, UnitName,
    UnlessOutcomeRef, UnlessRef,
};
use crate::load::value::{Caught, Entries, Items, Name, Placed, forms, records, words};
use crate::units::Minutes;

records! {
    /// Measurements: `<family>/measurements/*.yaml`, grouped by how they are taken.
    MeasurementsFile {
        /// Measurements, by id.
        measurements: Caught<Entries<Measurement>>,
    }

    /// Something to read, look at or feel.
    Measurement {
        /// Whether it is still to be filled in: it is left out until then, with what refers to it.
        unfinished: bool = false,
        /// Ids it had before, by which older records may name it.
        formerly: Items<Name> = Items::default(),
        /// What is measured.
        title: String,
        /// The question at the prompt.
        ask: String,
        /// What an answer looks like.
        reading: Placed<Reading>,
        /// For a number: the outcomes by id, each with the values it stands for.
        outcomes: Option<Entries<Bands>>,
        /// The set-ups that must be in place.
        set_ups: Items<Name> as Items<SetUpRef> = Items::default(),
        /// The measurements that must have been read before it.
        after: Items<Name> as Items<MeasurementRef> = Items::default(),
        /// Not offered once a measurement, by id, has one of these outcomes, nor for a symptom under `complaint`.
        unless: Entries<Items<Name>> as Named<UnlessRef, Items<UnlessOutcomeRef>> = Entries::default(),
        /// The measurements that can be read in the same go.
        along: Items<Name> as Items<MeasurementRef> = Items::default(),
        /// The set-ups that stand once it has read so, by outcome.
        sets: Entries<Items<Name>> as Named<OutcomeRef, Items<SetUpRef>> = Entries::default(),
        /// What else is typed for an outcome, by outcome; under `unclear`, what can mean several of them.
        words: Entries<Items<Placed<String>>> = Entries::default(),
        /// On whose word it is answered, where nobody reads it at the vehicle.
        told_by: Option<ToldBy>,
        /// For one that the customer answers: patterns of their words that tell its outcome already, by outcome.
        heard: Entries<Items<Name>> as Named<OutcomeRef, Items<Text>> = Entries::default(),
        /// Whether it shows a fault only while that acts.
        only_then: bool = false,
        /// The causes that an outcome shows by itself, whatever they do to the complaint, by outcome.
        finds: Entries<Items<Name>> as Named<OutcomeRef, Items<CauseRef>> = Entries::default(),
        /// The conditions that must hold for the reading to count.
        conditions: Items<Name> as Items<ConditionRef> = Items::default(),
        /// The minutes of the measurement itself, its set-ups apart.
        minutes: Minutes,
        /// The cautions shown before it.
        cautions: Items<Name> as Items<CautionRef> = Items::default(),
        /// The cautions that say what comes of taking what comes after it before it is read.
        unread: Items<Name> as Items<CautionRef> = Items::default(),
        /// The cautions that say what comes of taking what an outcome rules out, by outcome.
        ruled_out: Entries<Items<Name>> as Named<OutcomeRef, Items<CautionRef>> = Entries::default(),
        /// The symptoms it is offered for; left out where it is offered for all.
        offered_for ("for"): Option<Items<Name>> as Option<Items<SymptomRef>>,
        /// Limits of the vehicle's sheet to show beside a reading of words.
        limits: Items<Name> as Items<LimitName> = Items::default(),
        /// The trap or remark that belongs to it.
        note: Option<String>,
        /// What to do, step by step.
        steps: Items<String> = Items::default(),
        /// For each outcome but the normal one: how often each cause gives it, 0 to 1.
        shows: Entries<Entries<Placed<f64>>> as Named<OutcomeRef, Named<CauseRef, Share>>,
        /// How often it reads so with none of the named causes; 0.02 for an outcome that is not stated.
        chance: Entries<Placed<f64>> as Named<OutcomeRef, Share> = Entries::default(),
        /// Where the probability goes that a cause's row leaves over: to `normal`, or as `chance`.
        rest: Option<Rest>,
        /// Whether a second reading adds to the first instead of replacing it.
        repeat: bool = false,
        /// How it is timed with the program.
        timed: Option<Timed>,
        /// How it is read from a recording of the scan tool.
        recording: Option<Placed<Recording>>,
        /// Who says so.
        source: String,
    }

    /// How a measurement is read from a recording.
    Recording {
        /// The signal that each raw reading of `takes` is read from; under `value`, that of a number read itself.
        reads: Entries<Name> as Named<Text, SignalRef> = Entries::default(),
        /// What signals must be all through the window: a band of numbers, or a list of states.
        during ("while"): Entries<During> as Named<SignalRef, During> = Entries::default(),
        /// The most that signals change a second in the window.
        steady: Entries<Placed<f64>> as Named<SignalRef, Amount> = Entries::default(),
        /// The shortest window, in seconds.
        seconds: Option<Placed<f64>> as Option<Amount>,
        /// The longest that signals may be so on end, in seconds: nothing is read where they were so for longer.
        at_most: Option<Placed<f64>> as Option<Amount>,
        /// How long all windows are together at least, in seconds.
        in_all: Option<Placed<f64>> as Option<Amount>,
        /// Which value of the windows: `mean`, `largest`, `smallest` or `furthest` from zero; the mean where it is left out.
        takes: Caught<Option<Statistic>>,
        /// The event whose length is the reading, in place of `reads`.
        event: Caught<Option<EventKind>>,
        /// For words: the event that each outcome is; the normal one where none of them is in the windows.
        outcomes: Entries<EventKind> as Named<OutcomeRef, EventKind> = Entries::default(),
        /// For words: when what is computed from `reads` stands for an outcome, the first that holds counting; the normal
        /// one where none does.
        judged: Entries<Judged> as Named<Text, Judged> = Entries::default(),
    }

    /// When recorded numbers stand for an outcome.
    Judged {
        /// What is computed from the signals, by the names that `reads` gives them.
        value: Name as Text,
        /// Where it must lie.
        band ("is"): Placed<Band>,
    }

    /// What an answer looks like: `choices` for words, `quantity` and `unit` for a number.
    Reading {
        /// For words: the outcomes, in the order shown, as a list or as a map to a few words each.
        choices: Option<Choices>,
        /// For words: the outcome of a vehicle with none of the named causes, where it is not called `normal`.
        normal: Option<Name> as Option<OutcomeRef>,
        /// For words: whether trouble codes stand for outcomes, by codes.yaml.
        codes: bool = false,
        /// For a number: what is measured: pressure, temperature and so on.
        quantity: Option<Name> as Option<Quantity>,
        /// For a number: the unit of a bare number and of the bands.
        unit: Option<Name> as Option<UnitName>,
        /// For a number: what reads it.
        instrument: Option<Name> as Option<InstrumentRef>,
        /// For a number: the values that are possible at all; others are questioned.
        plausible: Option<Span>,
        /// For a number with no bounded band: how wide an open band is taken; else a fifth of its limit's size.
        open: Option<Placed<f64>> as Option<f64>,
        /// For a computed number: the formula over the names of `takes`.
        value: Option<Name> as Option<Text>,
        /// For a computed number: the raw readings, by their names in the formula.
        takes: Option<Entries<Take>> as Option<Named<Text, Take>>,
        /// For a computed number: what else its raw readings must make plausible, by name.
        checks: Option<Entries<Check>> as Option<Named<Text, Check>>,
    }

    /// A quantity that raw readings make on the way; outside its span the readings are questioned.
    Check {
        /// The formula over the names of `takes`.
        value: Name as Text,
        /// The values that are possible at all.
        plausible: Span,
    }

    /// A raw reading that a number is computed from.
    Take {
        /// The question.
        ask: String,
        /// What is measured: pressure, temperature and so on.
        quantity: Name as Quantity,
        /// The unit of a bare number, and of the number in the formula.
        unit: Name as UnitName,
        /// What reads it.
        instrument: Option<Name> as Option<InstrumentRef>,
        /// The values that are possible at all; others are questioned.
        plausible: Option<Span>,
        /// The value usually read, where the uncertainty of the computed number is foreseen.
        typical: Option<Placed<f64>> as Option<f64>,
    }

    /// A band of values: at most one lower end (`from` or `above`) and one upper end (`to` or `below`);
    /// or, alone, the words of an outcome that no number stands for.
    Band {
        /// Values from here on, this one included.
        from: Option<Placed<Limit>>,
        /// Values above this one.
        above: Option<Placed<Limit>>,
        /// Values up to here, this one included.
        to: Option<Placed<Limit>>,
        /// Values below this one.
        below: Option<Placed<Limit>>,
        /// What the outcome means, where it is seen or felt and no number stands for it.
        words: Option<String>,
    }

    /// Exactly one of a stall and a lag.
    TimedTest [serde_json::json!({ "oneOf": [{"required": ["stall"]}, {"required": ["lag"]}] })] {
        /// Held no longer than a limit.
        stall: Option<Stall>,
        /// The time from the lever to the bump.
        lag: Option<Lag>,
    }

    /// The figures of a timed stall.
    Stall {
        /// The longest it may be held, in seconds.
        limit: Placed<f64> as Amount,
        /// When to say that the throttle is to be let go, in seconds; the limit where it is left out.
        warn: Option<Placed<f64>> as Option<Amount>,
        /// The least cooling after it, in seconds.
        cool_down: Placed<f64> as Amount,
    }

    /// The figures of a timed lag.
    Lag {
        /// How many times it is timed; the mean counts.
        tries: Placed<f64> as Amount,
    }
}

forms! {
    /// A list of outcomes, or a map of outcomes to a few words each.
    Choices = "a list or a map of fields" {
        /// Outcomes without words.
        List => Plain(Items<Name>),
        /// Outcomes with a few words each.
        Map => Glossed(Entries<String>),
    }

    /// The values an outcome stands for: a band, or a list of bands.
    Bands = "a map of fields or a list" {
        /// One band.
        Map => One(Box<Placed<Band>>),
        /// Several bands.
        List => Several(Items<Placed<Band>>),
    }

    /// What a signal must be: a band of numbers, or a list of states.
    During = "a map of fields or a list" {
        /// A band of numbers.
        Map => Band(Box<Placed<Band>>),
        /// States.
        List => States(Items<Name> as Items<Text>),
    }

    /// A number in the reading's unit, or a name in the vehicle's sheet such as `stall.max`.
    Limit = "a number or a text" {
        /// A number.
        Number => Number(f64),
        /// A name in the vehicle's sheet.
        Text => Named(Name as LimitKey),
    }

    /// How a measurement is timed: `lag`, or the figures of a stall or of a lag.
    Timed = "a text or a map of fields" {
        /// `lag`: the time from the lever to the bump.
        Text => Once(OneLag),
        /// A stall, held no longer than a limit, or a lag that is timed several times.
        Map => Test(Box<Placed<TimedTest>>),
    }
}

/// A lag, timed once.
#[derive(Clone, Copy, Debug)]
pub(crate) struct OneLag;

words! {
    OneLag {
        "lag" = OneLag,
    }
    Rest {
        "normal" = Rest::Normal,
        "chance" = Rest::Chance,
    }
    ToldBy {
        "customer" = ToldBy::Customer,
    }
}
