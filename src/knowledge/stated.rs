//! What an entry states when it is serialised.

/// Whether a field states nothing, and so is left out.
pub(super) fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}
