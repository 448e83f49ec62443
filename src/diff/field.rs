//! The fields of the entries: what each bears on, how its value is compared, and the words for it.

use super::kind::Effect;

/// What fields bear on; those that are not named here are words.
#[rustfmt::skip] // a table reads as a table
const BEARS_ON: [(Effect, &str); 3] = [
    (Effect::Belief,
        "rate max_order unlisted floor reacts mistold fades told_by only_then for after unless along first_looks \
         repeat normal outcomes shows chance rest kind gate event event_strength"),
    (Effect::Limit,
        "unit instrument plausible takes formula reading range accuracy answer holds lasts ended_by conditions band \
         family limit words unclear recording role columns states at_most"),
    (Effect::Cost,
        "minutes parts labour_rate escalation in_place repair reveals set_ups set_up_order requires finds put_back \
         waiting_rate least_saving_share least_saving_minutes repair_from misread close_out recorder wait sets from spoils group \
         needs ends equipment"),
];
/// Texts for people, shown in quotation marks; the others are ids and words of the format.
const TEXTS: &str = "title part text ask note source sources verify means why gloss event_words notice worth complaint \
                     found limit customer learn";
/// Lists whose order is one in which people do or see something.
const ORDERED: &str = "habit first_looks verify_with care conditions cautions outcomes takes limits columns steps \
                       readings heard states";

fn is_in(field: &str, fields: &str) -> bool {
    fields.split_whitespace().any(|other| other == field)
}

/// Whether a value says how what feeds a gate of a tree counts there. A cause's `part` of the vehicle has no place in
/// it.
pub(super) fn feeds_a_gate(field: &str, at: &[String]) -> bool {
    matches!(field, "cause" | "part") && !at.is_empty()
}

/// What a value bears on.
pub(super) fn effect(field: &str, at: &[String]) -> Effect {
    let bears_on = BEARS_ON.iter().find(|(_, fields)| is_in(field, fields));
    match bears_on {
        _ if feeds_a_gate(field, at) => Effect::Belief,
        Some((effect, _)) => *effect,
        None => Effect::Words,
    }
}

/// Whether a field is a text for people.
pub(super) fn is_text(field: &str) -> bool {
    is_in(field, TEXTS)
}

/// Whether the order of a list is stated too.
pub(super) fn is_ordered(field: &str) -> bool {
    is_in(field, ORDERED)
}

/// The family's list that the numbers in a field are places in.
pub(super) fn places_in(field: &str) -> Option<&'static str> {
    match field {
        "caution" | "cautions" | "dangers" | "unread" | "ruled_out" => Some("cautions"),
        "care" => Some("care"),
        _ => None,
    }
}

/// The unit of a number; `last` is the key it has in the field, and `own` the unit that its entry states.
pub(super) fn unit<'u>(field: &str, last: &str, own: &'u str) -> &'u str {
    match (field, last) {
        ("minutes" | "wait" | "lasts" | "least_saving_minutes" | "close_out", _)
        | ("escalation" | "recorder", "minutes")
        | ("from", "minutes" | "wait") => "min",
        ("rate", _) => "of 1,000 jobs",
        ("labour_rate" | "waiting_rate", _) => "an hour",
        ("max_order", _) => "causes",
        ("timed", "tries") => "times",
        ("timed", _) | ("recording", "seconds" | "in all" | "at most") => "s",
        ("accuracy", "percent") => "%",
        ("accuracy", "class" | "digits") => "",
        ("accuracy" | "range" | "plausible" | "recording" | "limit", _) => own,
        _ => "",
    }
}

/// What one line of a list of texts is called, `#` its place, and how it is said that it differs; `None` for lists of
/// ids.
pub(super) fn of_lines(field: &str) -> Option<(&'static str, &'static str)> {
    match field {
        "steps" => Some(("step #", "reworded")),
        "complaints" => Some(("complaint pattern", "reworded")),
        "readings" => Some(("reading #", "changed")),
        "examples" => Some(("example", "reworded")),
        _ => None,
    }
}

/// What is said of a value: the names that tell where in the entry it stands, and the field with the names that belong
/// to it.
pub(super) fn subject<'a>(field: &str, at: &'a [String]) -> (&'a [String], String) {
    let all = at.len();
    // How many of the names are told where in the entry; and how many of the others the field stands before.
    let (places, behind) = match field {
        _ if feeds_a_gate(field, at) => (all - 1, 1),
        "shows" => (1, 0),
        "chance" | "band" | "gloss" | "words" | "finds" | "sets" | "event" | "event_strength"
        | "event_words" | "gate" => (all, 0),
        "requires" | "from" | "unless" | "fades" | "not_before" | "recording" | "recorder" => {
            (0, all)
        }
        // Which figure of several it is.
        "escalation" | "timed" | "range" | "accuracy" | "plausible" => (0, 1),
        _ => (0, 0),
    };
    let (places, names) = at.split_at(places.min(all));
    let (of, names) = names.split_at(names.len().saturating_sub(behind));
    let subject = [of, &[in_words(field)], names].concat().join(" ");
    (places, subject.trim().to_owned())
}

/// A field in words.
pub(super) fn in_words(field: &str) -> String {
    match field {
        "set_ups" | "set_up_order" => "set-ups",
        "max_order" => "most causes in a candidate",
        "unlisted" => "share of the unlisted cause",
        "floor" => "least probability of an outcome",
        "reacts" => "uniform share of the unlisted cause's row",
        "rest" => "what figures leave over goes to",
        "event_strength" => "strength",
        "event_words" => "event",
        "gloss" => "words",
        "words" => "also typed",
        "heard" => "heard in the customer's words",
        "unclear" => "typed, and unclear",
        "mistold" => "share of what is mistold",
        "misread" => "share of what is misread",
        "for" => "offered for",
        "along" => "read along with it",
        "chance" => "by chance",
        "band" | "event" | "limit" | "shows" => "",
        field => return field.replace('_', " "),
    }
    .to_owned()
}
