//! What an entry states when it is serialised.

use std::collections::BTreeMap;

use serde::{Serialize, Serializer};

/// Whether a field states nothing, and so is left out.
pub(super) fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}

/// Writes a map whose keys are no texts: pairs of key and value.
pub(super) fn pairs<K: Serialize, V: Serialize, S: Serializer>(
    map: &BTreeMap<K, V>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(map)
}
