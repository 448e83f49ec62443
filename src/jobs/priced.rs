//! The knowledge at the labour rate that a job was opened with.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use crate::knowledge::Knowledge;
use crate::record::Opened;

/// How many labour rates are kept ready.
const KEPT: usize = 8;

/// The knowledge, at whatever labour rate a job asks for.
#[derive(Debug)]
pub struct Priced {
    own: Arc<Knowledge>,
    at_rate: Mutex<BTreeMap<u64, Arc<Knowledge>>>,
}

impl Priced {
    /// The knowledge, at the labour rates of its families.
    pub fn new(knowledge: Knowledge) -> Self {
        Self {
            own: Arc::new(knowledge),
            at_rate: Mutex::default(),
        }
    }

    /// The knowledge at its own labour rates.
    pub const fn own(&self) -> &Arc<Knowledge> {
        &self.own
    }

    /// The knowledge for a job.
    pub fn of(&self, opened: &Opened) -> Arc<Knowledge> {
        let shop = opened.shop.as_ref();
        let Some((shop, rate)) = shop.and_then(|shop| Some((shop, shop.labour_rate?))) else {
            return Arc::clone(&self.own);
        };
        let mut ready = self.at_rate.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(knowledge) = ready.get(&rate.to_bits()) {
            return Arc::clone(knowledge);
        }
        let mut knowledge = Knowledge::clone(&self.own);
        for family in &mut knowledge.families {
            shop.price(family);
        }
        let knowledge = Arc::new(knowledge);
        if ready.len() < KEPT {
            ready.insert(rate.to_bits(), Arc::clone(&knowledge));
        }
        knowledge
    }
}
