//! `family.yaml`.

use super::Span;
use super::measurements::Band;
use crate::knowledge::Role;
use crate::load::describe::{
    Amount, CauseRef, CautionRef, ConditionRef, FindingCode, Floor, InstrumentRef, MeasurementRef,
    Named, Order, OutcomeRef, Part, Quantity, SetUpRef, Share, SignalRef, Text, UnitName,
    UnlessOutcomeRef, UnlessRef,
};
use crate::load::value::{Caught, Entries, Items, Name, Placed, records};
use crate::units::{Minutes, Money};

records! {
    /// A kind of transmission: `<family>/family.yaml`.
    FamilyFile {
        /// The id of the family, in kebab case. The folder has the same name.
        family: Caught<Name>,
        /// The kind of transmission, in words.
        title: Caught<String>,
        /// What stands on every screen that starts a test.
        notice: Caught<String>,
        /// What the figures of this family are worth, in a sentence or two.
        worth: Caught<String>,
        /// What its jobs are called, in several: rates are given in 1,000 of them. `jobs` where it is left out.
        jobs: Caught<Option<String>>,
        /// Whether it is still to be filled in: no job is opened on it until then.
        unfinished: Caught<bool> = Caught::empty(),
        /// The most causes a candidate may join.
        max_order: Caught<Option<Placed<f64>>> as Order,
        /// The share of belief that no listed cause explains the complaint.
        unlisted: Caught<Option<Placed<f64>>> as Part,
        /// The least probability of any outcome.
        floor: Caught<Option<Placed<f64>>> as Floor,
        /// How much of the unlisted cause's row is uniform over the outcomes.
        reacts: Caught<Option<Placed<f64>>> as Share,
        /// The probability that what a customer says has nothing to do with what is wrong.
        mistold: Caught<Option<Placed<f64>>> as Share,
        /// The probability that a reading was taken wrongly: 0 unless it is said, and then none is asked for a second time
        /// before a repair.
        misread: Caught<Option<Placed<f64>>> as Share,
        /// What is left of the figures of `only_then` measurements once a measurement, by id, has an outcome.
        fades: Caught<Entries<Entries<Placed<f64>>>> as Named<MeasurementRef, Named<OutcomeRef, Share>> = Caught::empty(),
        /// What work costs.
        shop: Caught<Shop>,
        /// The set-ups that stand when a vehicle comes in.
        in_place: Caught<Items<Name>> as Items<SetUpRef> = Caught::empty(),
        /// The set-ups that stand once a repair is done and everything is put back.
        put_back: Caught<Items<Name>> as Items<SetUpRef> = Caught::empty(),
        /// Words of a complaint that are about something else: patterns; what they match is left out before the
        /// complaints of the trees are looked for.
        not_meant: Caught<Items<Name>> as Items<Text> = Caught::empty(),
        /// What happens where a part is condemned before what must be read first: said in practice.
        unproved: Option<String>,
        /// The trade's habitual order of measurements.
        habit: Caught<Items<Name>> as Items<MeasurementRef> = Caught::empty(),
        /// Cautions, by id: the text shown before a measurement that names it.
        cautions: Caught<Entries<String>> = Caught::empty(),
        /// The words in steps that ask for a caution: patterns, by the id of the caution.
        dangers: Caught<Entries<Items<Name>>> as Named<CautionRef, Items<Text>> = Caught::empty(),
        /// What each word of `source` stands for. Where it is given, every source starts with one of these.
        sources: Caught<Entries<String>> as Named<Text, String> = Caught::empty(),
        /// The care that repairs ask for, by id. `close-out` holds for every repair.
        care: Caught<Entries<String>> = Caught::empty(),
        /// Set-ups, by id: what must be in place before a measurement.
        set_ups: Caught<Entries<SetUp>> = Caught::empty(),
        /// Instruments, by id: what reads a number, and how well.
        instruments: Caught<Entries<Instrument>> = Caught::empty(),
        /// Conditions, by id: what must hold for a reading to count.
        conditions: Caught<Entries<Condition>> = Caught::empty(),
        /// What recording a drive of the scan tool takes; left out where none is proposed.
        recorder: Caught<Option<Recorder>>,
        /// Signals, by id: what a column of a recording of the scan tool can be.
        signals: Caught<Entries<Signal>> = Caught::empty(),
        /// Causes that look alike and are put right differently.
        ambiguities: Caught<Items<Ambiguity>> = Caught::empty(),
        /// Findings of `check` that are known and meant.
        accept: Caught<Items<Accept>> = Caught::empty(),
    }

    /// A finding at one place that is known and meant.
    Accept {
        /// The code of the finding.
        finding: Name as FindingCode,
        /// Where: the names that `check` shows with it.
        at: String,
        /// Why it is meant.
        because: String,
    }

    /// What work costs.
    Shop {
        /// Money per hour of labour.
        labour_rate: Money,
        /// Money per hour of waiting, with nobody at work; 0 where it is left out.
        waiting_rate: Option<Money>,
        /// What a measurement must save to be worth taking.
        least_saving: Option<LeastSaving>,
        /// How likely a repair must be to cure before it is advised, as long as measuring on hardly costs more; 0 where it is
        /// left out.
        repair_from: Option<Placed<f64>> as Option<Share>,
        /// Minutes that every repair takes beside its own work until it is proved: codes cleared, road test, codes
        /// read again; 0 where it is left out.
        close_out_minutes: Option<Minutes>,
        /// What handing the job on costs, whatever is wrong.
        escalation: Escalation,
    }

    /// What a measurement must save to be worth taking: whichever of the two is more.
    LeastSaving {
        /// The share of the expected cost.
        share: Placed<f64> as Share,
        /// The money of so many minutes of labour.
        minutes: Minutes,
    }

    /// What handing the job on costs.
    Escalation {
        /// Working time in minutes.
        minutes: Minutes,
        /// Parts and outside work, in money.
        parts: Money,
    }

    /// What must be in place before a measurement.
    SetUp {
        /// Ids it had before, by which older records may name it.
        formerly: Items<Name> = Items::default(),
        /// What it is, in words.
        title: String,
        /// The minutes it takes to enter it.
        minutes: Minutes,
        /// Entering it leaves the others of this group.
        group: Option<String>,
        /// The set-ups that must be in place while it is entered.
        needs: Items<Name> as Items<SetUpRef> = Items::default(),
        /// The set-ups that end when it is entered.
        ends: Items<Name> as Items<SetUpRef> = Items::default(),
        /// The set-ups that entering it puts in place too.
        sets: Items<Name> as Items<SetUpRef> = Items::default(),
        /// The minutes that pass with nobody at work.
        wait: Option<Minutes>,
        /// The price of what it uses up.
        parts: Option<Money>,
        /// What entering it takes where another set-up is left, by that set-up.
        from: Entries<Entering> as Named<SetUpRef, Entering> = Entries::default(),
        /// The measurements that can no longer be read once it was entered.
        spoils: Items<Name> as Items<MeasurementRef> = Items::default(),
        /// Not entered once a measurement, by id, has one of these outcomes, nor for a symptom under `complaint`.
        unless: Entries<Items<Name>> as Named<UnlessRef, Items<UnlessOutcomeRef>> = Entries::default(),
        /// The conditions that are asked while it is entered.
        conditions: Items<Name> as Items<ConditionRef> = Items::default(),
        /// The cautions shown before it.
        cautions: Items<Name> as Items<CautionRef> = Items::default(),
        /// The equipment it ties up.
        equipment: Option<String>,
    }

    /// What entering a set-up takes where another is left; a field left out is as in general.
    Entering {
        /// The minutes it takes.
        minutes: Option<Minutes>,
        /// The minutes that pass with nobody at work.
        wait: Option<Minutes>,
        /// The set-ups that must be in place while it is entered.
        needs: Option<Items<Name>> as Option<Items<SetUpRef>>,
    }

    /// What reads a number, and how well.
    Instrument {
        /// What it is, in words.
        title: String,
        /// The unit of its range and of its accuracy.
        unit: Name as UnitName,
        /// What it can read.
        range: Option<Span>,
        /// How well it reads.
        accuracy: Placed<Accuracy>,
    }

    /// How well an instrument reads: exactly one of `standard`, `class`, `percent` with `digits` and
    /// `digit`, and `resolution`.
    Accuracy [serde_json::json!({ "oneOf": [
        {"required": ["standard"]},
        {"required": ["class"]},
        {"required": ["resolution"]},
        {"anyOf": [{"required": ["percent"]}, {"required": ["digits"]}, {"required": ["digit"]}]},
    ] })] {
        /// One standard uncertainty, in the unit.
        standard: Option<f64>,
        /// The accuracy class of EN 837-1: the greatest error in percent of the span.
        class: Option<f64>,
        /// The greatest error in percent of the reading.
        percent: Option<f64>,
        /// The digits that are added to the percent.
        digits: Option<f64>,
        /// What the last digit is worth, in the unit.
        digit: Option<f64>,
        /// The smallest step it shows, in the unit.
        resolution: Option<f64>,
    }

    /// What recording a drive takes, beside what its measurements need.
    Recorder {
        /// Minutes to start a recording, save it and read it in.
        minutes: Minutes,
        /// The set-ups it needs.
        set_ups: Items<Name> as Items<SetUpRef> = Items::default(),
    }

    /// What a column of a recording can be: a number with `quantity` and `unit`, or `states`.
    Signal {
        /// What it is, in words.
        title: String,
        /// What the program takes it for where it computes traces and looks for events.
        role: Caught<Option<Role>>,
        /// What is measured: pressure, temperature and so on.
        quantity: Option<Name> as Option<Quantity>,
        /// The unit of its range, and of a column that names none.
        unit: Option<Name> as Option<UnitName>,
        /// What reads it.
        instrument: Option<Name> as Option<InstrumentRef>,
        /// What its numbers can be; others are taken for missing.
        range: Option<Span>,
        /// For a state in words: what a column says for each state.
        states: Option<Entries<Items<String>>> as Option<Named<Text, Items<String>>>,
        /// Patterns of a column's name, in any case; those that fit best first.
        columns: Items<Name> as Items<Text>,
        /// How many times another signal it is at most.
        at_most: Entries<Placed<f64>> as Named<SignalRef, Amount> = Entries::default(),
    }

    /// What must hold for a reading to count; yes or no where there is no `reading`.
    Condition {
        /// Ids it had before, by which older records may name it.
        formerly: Items<Name> = Items::default(),
        /// The question.
        ask: String,
        /// The number that answers it; left out for yes or no.
        reading: Option<ConditionReading>,
        /// Where the number must lie.
        holds: Option<Placed<Band>>,
        /// How many minutes an answer stays good; left out where it stays while its set-ups stand.
        lasts: Option<Minutes>,
        /// Entering one of these set-ups ends it.
        ended_by: Items<Name> as Items<SetUpRef> = Items::default(),
        /// Who says so.
        source: String,
    }

    /// The number that answers a condition.
    ConditionReading {
        /// What is measured: pressure, temperature and so on.
        quantity: Name as Quantity,
        /// The unit of a bare number.
        unit: Name as UnitName,
        /// What reads it.
        instrument: Option<Name> as Option<InstrumentRef>,
    }

    /// Causes that look alike and are put right differently.
    Ambiguity {
        /// The causes.
        causes: Items<Name> as Items<CauseRef>,
        /// The measurements that part them; may be empty.
        parted_by: Items<Name> as Items<MeasurementRef> = Items::default(),
        /// Why they look alike.
        why: Placed<String>,
    }
}
