//! The shop's profile: `shop.yaml`.

use crate::load::describe::{Named, Text};
use crate::load::value::{Entries, Items, Name, Placed, records};
use crate::units::{Money, System};

records! {
    /// The shop's profile: what it has, what its work costs, and where its jobs lie. Every field may be left out.
    ShopFile {
        /// Instruments and equipment of set-ups, by name: whether the shop has it. What is not named is there.
        equipment: Entries<bool> as Named<Text, bool> = Entries::default(),
        /// Money per hour of labour, instead of the knowledge's.
        labour_rate: Option<Money>,
        /// What the shop's money is called.
        currency: Option<Placed<String>>,
        /// How readings are shown, whatever the vehicle's sheet says: `metric` or `us`.
        units: Option<System>,
        /// The measurements taken before any other, in this order, instead of those of the complaint.
        first_looks: Option<Items<Name>>,
        /// The folder of the records of jobs, seen from this file.
        jobs: Option<String>,
        /// Whether others see that folder too.
        shared: bool = false,
    }
}
