//! Giving up what takes long.

use std::sync::atomic::{AtomicBool, Ordering};

/// Whether somebody has asked to stop, so that what is known so far is to be given.
#[derive(Clone, Copy, Debug, Default)]
pub struct Stop<'s>(Option<&'s AtomicBool>);

impl<'s> Stop<'s> {
    /// Nobody ever asks.
    pub const fn never() -> Self {
        Self(None)
    }

    /// Whether nobody can ask.
    pub const fn is_never(self) -> bool {
        self.0.is_none()
    }

    /// Asked for once the flag is set.
    pub const fn when(flag: &'s AtomicBool) -> Self {
        Self(Some(flag))
    }

    /// Whether it was asked for.
    pub fn is_asked(self) -> bool {
        self.0.is_some_and(|flag| flag.load(Ordering::Relaxed))
    }
}
