//! `causes.yaml`.

use crate::load::describe::{
    CareRef, CautionRef, MeasurementRef, PerThousand, RepairRef, SetUpRef, VerifyRef,
};
use crate::load::value::{Caught, Entries, Items, Name, Placed, records};
use crate::units::{Minutes, Money};

records! {
    /// Causes, and the repairs that put them right: `<family>/causes.yaml`.
    CausesFile {
        /// Repairs, by id.
        repairs: Caught<Entries<Repair>>,
        /// Causes, by id.
        causes: Caught<Entries<Cause>>,
    }

    /// What puts a cause right.
    Repair {
        /// Whether it is still to be filled in: it is left out until then, with what refers to it.
        unfinished: bool = false,
        /// Ids it had before, by which older records may name it.
        formerly: Items<Name> = Items::default(),
        /// What is done.
        title: String,
        /// Hands-on minutes, the verification included.
        minutes: Minutes,
        /// The price of its parts.
        parts: Money,
        /// What must have been read before it is advised.
        requires: Option<Requires>,
        /// The dismantling it begins with; its minutes hold it.
        set_ups: Items<Name> as Items<SetUpRef> = Items::default(),
        /// The cautions shown before it.
        cautions: Items<Name> as Items<CautionRef> = Items::default(),
        /// What to verify afterwards, in words.
        verify: String,
        /// What verifies it, in order: measurements, and in words what is to be confirmed.
        verify_with: Items<Name> as Items<VerifyRef> = Items::default(),
        /// The care it asks for: ids under `care` in family.yaml. `close-out` is implied.
        care: Items<Name> as Items<CareRef> = Items::default(),
        /// Whether the valve body is opened, or the tray taken off.
        opens_valve_body: bool = false,
        /// Whether the unit is taken out, or opened up elsewhere than at the valve body.
        unit_out: bool = false,
        /// The measurements it answers on the way.
        reveals: Items<Name> as Items<MeasurementRef> = Items::default(),
    }

    /// What must have been read before a repair is advised.
    Requires {
        /// Each of these measurements.
        all: Items<Name> as Items<MeasurementRef> = Items::default(),
        /// One of these measurements.
        any: Items<Name> as Items<MeasurementRef> = Items::default(),
    }

    /// One thing that can be wrong.
    Cause {
        /// Whether it is still to be filled in: it is left out until then, with what refers to it.
        unfinished: bool = false,
        /// Ids it had before, by which older records may name it.
        formerly: Items<Name> = Items::default(),
        /// What is wrong, in the trade's words.
        title: String,
        /// The part of the vehicle it belongs to.
        part: String,
        /// Of 1,000 jobs, in how many this is wrong.
        rate: Placed<f64> as PerThousand,
        /// The repair that puts it right.
        repair: Name as RepairRef,
        /// Who says so.
        source: String,
    }
}
