//! A repair that puts no cause right.

use super::Desk;
use crate::knowledge::RepairId;
use crate::load::{Code, FileKind};

/// The repairs that no cause names.
pub(super) fn judge(desk: &Desk<'_>) {
    for (place, repair) in desk.family.repairs.iter().enumerate() {
        let id = RepairId::at(place);
        if !desk.family.causes.iter().any(|cause| cause.repair == id) {
            desk.say(
                Code::UnusedRepair,
                desk.key(FileKind::Causes, &["repairs", &repair.name]),
                format!("no cause is put right by `{}`", repair.name),
                "name it as the repair of a cause, or delete it",
            );
        }
    }
}
