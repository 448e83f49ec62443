//! The fields of the entries: what each bears on, and the words for it.

use super::thing::{Effect, Kind};

/// What a field of an entry bears on.
pub(super) fn effect(kind: Kind, field: &str) -> Effect {
    match field {
        "part" if kind == Kind::Cause => Effect::Words,
        "rate" | "max_order" | "unlisted" | "floor" | "reacts" | "mistold" | "fades"
        | "told_by" | "only_then" | "for" | "after" | "unless" | "along" | "first_looks"
        | "repeat" | "normal" | "outcomes" | "shows" | "chance" | "rest" | "kind" | "gate"
        | "cause" | "part" | "event" | "event_strength" => Effect::Belief,
        "unit" | "instrument" | "plausible" | "takes" | "formula" | "reading" | "range"
        | "accuracy" | "answer" | "holds" | "lasts" | "ended_by" | "conditions" | "band"
        | "family" | "limit" | "words" | "unclear" | "recording" | "role" | "columns"
        | "states" | "at_most" => Effect::Limit,
        "minutes"
        | "parts"
        | "labour_rate"
        | "escalation"
        | "in_place"
        | "repair"
        | "reveals"
        | "set_ups"
        | "set_up_order"
        | "requires"
        | "finds"
        | "put_back"
        | "waiting_rate"
        | "least_saving_share"
        | "least_saving_minutes"
        | "repair_from"
        | "close_out"
        | "recorder"
        | "wait"
        | "sets"
        | "from"
        | "spoils"
        | "group"
        | "needs"
        | "ends"
        | "equipment" => Effect::Cost,
        _ => Effect::Words,
    }
}

/// Whether a field is a text for people, shown in quotation marks, and not an id or a word of the format.
pub(super) fn is_text(kind: Kind, field: &str) -> bool {
    matches!(
        field,
        "title"
            | "text"
            | "ask"
            | "note"
            | "source"
            | "sources"
            | "verify"
            | "means"
            | "why"
            | "gloss"
            | "event_words"
            | "notice"
            | "worth"
            | "complaint"
            | "found"
            | "limit"
    ) || (kind == Kind::Cause && field == "part")
}

/// What one line of a list of texts is called; `None` for lists of ids.
pub(super) fn line_word(field: &str) -> Option<&'static str> {
    match field {
        "steps" => Some("step"),
        "complaints" => Some("complaint pattern"),
        "readings" => Some("reading"),
        "examples" => Some("example"),
        _ => None,
    }
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
        "for" => "offered for",
        "along" => "read along with it",
        "chance" => "by chance",
        "band" | "event" => "",
        field => return field.replace('_', " "),
    }
    .to_owned()
}
