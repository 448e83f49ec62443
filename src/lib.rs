//! Halfsplit tells a driveline technician which measurement to take next, and when to stop measuring and repair.
//!
//! The program `halfsplit` is built on this library, which other programs can use as well:
//!
//! ```
//! use halfsplit::{
//!     Answer, Circumstances, Complaint, Model, OrderBy, Source, Standing, Typing, load,
//!     understand,
//! };
//!
//! // The knowledge built into the program; `Source::folder` reads a folder of YAML files.
//! let knowledge = load(&Source::embedded()).map_err(|findings| findings.to_string())?.knowledge;
//! let family = knowledge.family("chain-cvt").ok_or("no such family")?;
//! let vehicle = knowledge.vehicle("demo-estate");
//!
//! // The complaint gives the candidates and the belief before any reading.
//! let complaint = Complaint {
//!     present: vec![family.symptom_named("slipping").ok_or("no such symptom")?],
//!     ..Complaint::default()
//! };
//! let model = Model::new(family, vehicle, complaint)?;
//!
//! // Two readings, as a technician would type them.
//! let mut evidence = Vec::new();
//! for (name, typed) in [("fluid-level", "low"), ("gauge-secondary-stall", "4.6 MPa")] {
//!     let id = family.measurement_named(name).ok_or("no such measurement")?;
//!     match understand(family, vehicle, id, typed, &Typing::default()) {
//!         Answer::Taken(taken) => evidence.push(taken.evidence),
//!         Answer::Question { words, .. } | Answer::Refused(words) => return Err(words.into()),
//!     }
//! }
//!
//! // The belief after them, the measurements worth taking next, and the repairs to do instead.
//! let arrived = Circumstances::on_arrival(family);
//! let standing = Standing::new(&model, evidence, &arrived, OrderBy::default())?;
//! let (repairs, probability) = &standing.repairs_by_probability()[0];
//! assert_eq!(family.repair_names(repairs), "repair-leak");
//! assert!(*probability > 0.5);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! How the figures are computed: docs/method.md. The modules are the rooms of the program; they are open to its
//! tests and may change without notice, while the names below are kept.

#[doc(hidden)]
pub mod cases;
#[doc(hidden)]
pub mod commands;
#[doc(hidden)]
pub mod decide;
#[doc(hidden)]
pub mod diff;
#[doc(hidden)]
pub mod drawing;
#[doc(hidden)]
pub mod entry;
#[doc(hidden)]
pub mod fault_tree;
#[doc(hidden)]
pub mod files;
#[doc(hidden)]
pub mod infer;
#[doc(hidden)]
pub mod jobs;
#[doc(hidden)]
pub mod knowledge;
#[doc(hidden)]
pub mod learn;
#[doc(hidden)]
pub mod lint;
#[doc(hidden)]
pub mod load;
#[doc(hidden)]
pub mod practice;
#[doc(hidden)]
pub mod record;
#[doc(hidden)]
pub mod recording;
#[doc(hidden)]
pub mod serve;
#[doc(hidden)]
pub mod session;
#[doc(hidden)]
pub mod sheet;
#[doc(hidden)]
pub mod simulate;
#[doc(hidden)]
pub mod terminal;
#[doc(hidden)]
pub mod text;
#[doc(hidden)]
pub mod units;

pub use decide::{Advice, Again, Circumstances, OrderBy, Ranked, RepairNow, Standing, WhyAgain};
pub use infer::{Answer, Belief, Candidate, Complaint, Evidence, Model, Typing, understand};
pub use knowledge::{CauseId, Family, Knowledge, MeasurementId, RepairId, SymptomId, Vehicle};
pub use load::{Finding, Findings, Source, load};
pub use record::{Event, Record, State};
