//! `family.yaml`.

use schemars::JsonSchema;
use serde::Deserialize;

use super::Span;
use super::measurements::Band;
use crate::load::kinds::{Amount, Floor, Id, Named, Order, Part, Quantity, Share, Text, UnitName};
use crate::load::placed::{Caught, Entries, Items, Name, Placed};

/// A kind of transmission: `<family>/family.yaml`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct FamilyFile {
    /// The id of the family, in kebab case. The folder has the same name.
    #[schemars(with = "Id")]
    pub(crate) family: Caught<Name>,
    /// The kind of transmission, in words.
    #[schemars(with = "Text")]
    pub(crate) title: Caught<Name>,
    /// What stands on every screen that starts a test.
    #[schemars(with = "Text")]
    pub(crate) notice: Caught<Name>,
    /// What the figures of this family are worth, in a sentence or two.
    #[schemars(with = "Text")]
    pub(crate) worth: Caught<Name>,
    /// The most causes a candidate may join.
    #[schemars(with = "Option<Order>")]
    pub(crate) max_order: Option<Caught<Placed<f64>>>,
    /// The share of belief that no listed cause explains the complaint.
    #[schemars(with = "Option<Part>")]
    pub(crate) unlisted: Option<Caught<Placed<f64>>>,
    /// The least probability of any outcome.
    #[schemars(with = "Option<Floor>")]
    pub(crate) floor: Option<Caught<Placed<f64>>>,
    /// How much of the unlisted cause's row is uniform over the outcomes.
    #[schemars(with = "Option<Share>")]
    pub(crate) reacts: Option<Caught<Placed<f64>>>,
    /// What work costs.
    pub(crate) shop: Caught<Shop>,
    /// The set-ups that stand when a vehicle comes in.
    #[schemars(with = "Option<Items<Id>>")]
    pub(crate) in_place: Option<Caught<Items<Name>>>,
    /// The trade's habitual order of measurements.
    #[schemars(with = "Option<Items<Id>>")]
    pub(crate) habit: Option<Caught<Items<Name>>>,
    /// Cautions, by id: the text shown before a measurement that names it.
    #[schemars(with = "Option<Entries<Text>>")]
    pub(crate) cautions: Option<Caught<Entries<Name>>>,
    /// The words in steps that ask for a caution: patterns, by the id of the caution.
    #[schemars(with = "Option<Entries<Items<Text>>>")]
    pub(crate) dangers: Option<Caught<Entries<Items<Name>>>>,
    /// What each word of `source` stands for. Where it is given, every source starts with one of these.
    #[schemars(with = "Option<Named<Text, Text>>")]
    pub(crate) sources: Option<Caught<Entries<Name>>>,
    /// The care that repairs ask for, by id. `close-out` holds for every repair.
    #[schemars(with = "Option<Entries<Text>>")]
    pub(crate) care: Option<Caught<Entries<Name>>>,
    /// Set-ups, by id: what must be in place before a measurement.
    pub(crate) set_ups: Option<Caught<Entries<SetUp>>>,
    /// Instruments, by id: what reads a number, and how well.
    pub(crate) instruments: Option<Caught<Entries<Instrument>>>,
    /// Conditions, by id: what must hold for a reading to count.
    pub(crate) conditions: Option<Caught<Entries<Condition>>>,
    /// Causes that look alike and are put right differently.
    pub(crate) ambiguities: Option<Caught<Items<Ambiguity>>>,
}

/// What work costs.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Shop {
    /// Money per hour of labour.
    #[schemars(with = "Amount")]
    pub(crate) labour_rate: Placed<f64>,
    /// What handing the job on costs, whatever is wrong.
    pub(crate) escalation: Escalation,
}

/// What handing the job on costs.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Escalation {
    /// Working time in minutes.
    #[schemars(with = "Amount")]
    pub(crate) minutes: Placed<f64>,
    /// Parts and outside work, in money.
    #[schemars(with = "Amount")]
    pub(crate) parts: Placed<f64>,
}

/// What must be in place before a measurement.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct SetUp {
    /// Ids it had before, by which older records may name it.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) formerly: Items<Name>,
    /// What it is, in words.
    #[schemars(with = "Text")]
    pub(crate) title: Name,
    /// The minutes it takes to enter it.
    #[schemars(with = "Amount")]
    pub(crate) minutes: Placed<f64>,
    /// Entering it leaves the others of this group.
    #[schemars(with = "Option<Text>")]
    pub(crate) group: Option<Name>,
    /// The set-ups that must be in place while it is entered.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) needs: Items<Name>,
    /// The set-ups that end when it is entered.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) ends: Items<Name>,
    /// The equipment it ties up.
    #[schemars(with = "Option<Text>")]
    pub(crate) equipment: Option<Name>,
}

/// What reads a number, and how well.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Instrument {
    /// What it is, in words.
    #[schemars(with = "Text")]
    pub(crate) title: Name,
    /// The unit of its range and of its accuracy.
    #[schemars(with = "UnitName")]
    pub(crate) unit: Name,
    /// What it can read.
    pub(crate) range: Option<Span>,
    /// How well it reads.
    pub(crate) accuracy: Placed<Accuracy>,
}

/// How well an instrument reads: exactly one of `standard`, `class`, `percent` with `digits` and
/// `digit`, and `resolution`.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(extend("oneOf" = [
    {"required": ["standard"]},
    {"required": ["class"]},
    {"required": ["resolution"]},
    {"anyOf": [{"required": ["percent"]}, {"required": ["digits"]}, {"required": ["digit"]}]},
]))]
pub(crate) struct Accuracy {
    /// One standard uncertainty, in the unit.
    pub(crate) standard: Option<f64>,
    /// The accuracy class of EN 837-1: the greatest error in percent of the span.
    pub(crate) class: Option<f64>,
    /// The greatest error in percent of the reading.
    pub(crate) percent: Option<f64>,
    /// The digits that are added to the percent.
    pub(crate) digits: Option<f64>,
    /// What the last digit is worth, in the unit.
    pub(crate) digit: Option<f64>,
    /// The smallest step it shows, in the unit.
    pub(crate) resolution: Option<f64>,
}

/// What must hold for a reading to count; yes or no where there is no `reading`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Condition {
    /// Ids it had before, by which older records may name it.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) formerly: Items<Name>,
    /// The question.
    #[schemars(with = "Text")]
    pub(crate) ask: Name,
    /// The number that answers it; left out for yes or no.
    pub(crate) reading: Option<ConditionReading>,
    /// Where the number must lie.
    pub(crate) holds: Option<Placed<Band>>,
    /// How many minutes an answer stays good; left out where it stays while its set-ups stand.
    #[schemars(with = "Option<Amount>")]
    pub(crate) lasts: Option<Placed<f64>>,
    /// Entering one of these set-ups ends it.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) ended_by: Items<Name>,
    /// Who says so.
    #[schemars(with = "Text")]
    pub(crate) source: Name,
}

/// The number that answers a condition.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct ConditionReading {
    /// What is measured: pressure, temperature and so on.
    #[schemars(with = "Quantity")]
    pub(crate) quantity: Name,
    /// The unit of a bare number.
    #[schemars(with = "UnitName")]
    pub(crate) unit: Name,
    /// What reads it.
    #[schemars(with = "Option<Id>")]
    pub(crate) instrument: Option<Name>,
}

/// Causes that look alike and are put right differently.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Ambiguity {
    /// The causes.
    #[schemars(with = "Items<Id>")]
    pub(crate) causes: Items<Name>,
    /// The measurements that part them; may be empty.
    #[serde(default)]
    #[schemars(with = "Items<Id>")]
    pub(crate) parted_by: Items<Name>,
    /// Why they look alike.
    #[schemars(with = "Text")]
    pub(crate) why: Name,
}
