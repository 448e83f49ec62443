//! The shop's profile: `shop.yaml`.

use super::vehicles::Units;
use crate::load::describe::{Amount, Id, Named, Text};
use crate::load::value::{Entries, Items, Name, Placed, records};

records! {
    /// The shop's profile: what it has, what its work costs, and where its jobs lie. Every field may be left out.
    ShopFile {
        /// Instruments and equipment of set-ups, by name: whether the shop has it. What is not named is there.
        equipment: Entries<bool> as Named<Text, bool> = Entries::default(),
        /// Money per hour of labour, instead of the knowledge's.
        labour_rate: Option<Placed<f64>> as Option<Amount>,
        /// What the shop's money is called.
        currency: Option<Name> as Option<Text>,
        /// How readings are shown, whatever the vehicle's sheet says: `metric` or `us`.
        units: Option<Units>,
        /// The measurements taken before any other, in this order, instead of those of the complaint.
        first_looks: Option<Items<Name>> as Option<Items<Id>>,
        /// The folder of the records of jobs, seen from this file.
        jobs: Option<Name> as Option<Text>,
        /// Whether others see that folder too.
        shared: bool = false,
    }
}
