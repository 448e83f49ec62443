//! `trees/*.yaml`.

use crate::load::describe::{CauseRef, Count, MeasurementRef, SharedRef, Strength, Text};
use crate::load::value::{Caught, Entries, Items, Name, Placed, forms, records};

records! {
    /// A complaint and its fault tree: `<family>/trees/<symptom>.yaml`.
    TreeFile {
        /// Whether it is still to be filled in: it is left out until then, with what refers to it.
        unfinished: bool = false,
        /// The id of the symptom, in kebab case.
        symptom: Name,
        /// Ids it had before, by which older records may name it.
        formerly: Items<Name> = Items::default(),
        /// The top event, in the trade's words.
        title: Caught<String>,
        /// Regular expressions for the customer's words, upper and lower case alike.
        complaints: Caught<Items<Name>> as Items<Text> = Caught::empty(),
        /// Customers' wordings that must find this symptom before any other.
        examples: Caught<Items<String>> = Caught::empty(),
        /// The measurements taken before any other, in this order.
        first_looks: Items<Name> as Items<MeasurementRef> = Items::default(),
        /// What brings the symptom about.
        top: Caught<Placed<Gate>>,
    }

    /// Parts that several trees share: `<family>/trees/shared.yaml`.
    SharedFile {
        /// Shared parts, by id.
        shared: Caught<Entries<Placed<Gate>>>,
    }

    /// `cause` or `shared` with a strength; or a gate, with exactly one of `any`, `all`, and `at_least` with `of`.
    Gate [serde_json::json!({ "oneOf": [
        {"required": ["any"]},
        {"required": ["all"]},
        {"required": ["of"]},
        {"required": ["cause"]},
        {"required": ["shared"]},
    ], "dependencies": {"at_least": ["of"], "of": ["at_least"]} })] {
        /// The id of a cause.
        cause: Option<Name> as Option<CauseRef>,
        /// The id of a shared part.
        shared: Option<Name> as Option<SharedRef>,
        /// How often the cause or shared part, where present, brings this about; 1 where it is left out.
        strength: Option<Placed<f64>> as Option<Strength>,
        /// For a gate: the event, in words. Only the top of a tree goes without.
        event: Option<String>,
        /// For a gate: at least one of these (OR).
        any: Option<Items<Branch>>,
        /// For a gate: all of these together (AND).
        all: Option<Items<Branch>>,
        /// For a gate: at least so many of `of` (voting).
        at_least: Option<Placed<f64>> as Option<Count>,
        /// For a gate: what `at_least` counts.
        of: Option<Items<Branch>>,
    }
}

forms! {
    /// What a gate is fed by: a cause, a cause or a shared part with a strength, or another gate.
    Branch = "a text or a map of fields" {
        /// The id of a cause, at strength 1.
        Text => Cause(Name as CauseRef),
        /// A cause or shared part with a strength, or another gate.
        Map => Gate(Box<Placed<Gate>>),
    }
}
