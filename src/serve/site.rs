//! What the page serves: the knowledge, the shop, the folder of jobs, and what is open on each job.

use std::collections::{BTreeMap, VecDeque};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use tokio::sync::Semaphore;

use super::guard::Guard;
use super::offer::Offer;
use crate::files::{Readers, fingerprint};
use crate::jobs::{Folder, Priced};
use crate::knowledge::Knowledge;
use crate::load::ShopProfile;
use crate::practice::Course;
use crate::record::Clock;
use crate::session::Prompt;

/// How many plans are kept.
const PLANS: usize = 64;
/// How many recordings are kept until their readings are taken.
const OFFERS: usize = 4;

/// What a page is started with.
pub struct Start {
    /// The knowledge, at its own labour rates.
    pub knowledge: Knowledge,
    /// The shop.
    pub profile: ShopProfile,
    /// The folder of the records.
    pub folder: PathBuf,
    /// What time it is.
    pub clock: Clock,
    /// Who is heard.
    pub guard: Guard,
    /// Where it is kept what the columns of recordings are.
    pub mappings: Option<PathBuf>,
}

/// What the page serves.
pub struct Site {
    pub(super) knowledge: Priced,
    pub(super) profile: ShopProfile,
    pub(super) clock: Clock,
    guard: Guard,
    path: PathBuf,
    folder: Mutex<Folder>,
    files: Mutex<BTreeMap<String, PathBuf>>,
    open: Mutex<BTreeMap<String, Arc<Mutex<Open>>>>,
    plans: Mutex<BTreeMap<String, Arc<Planned>>>,
    /// Held while a plan is worked out: one at a time, so that answers never wait for several.
    planning: Mutex<()>,
    /// Recordings that were sent and not taken yet, by job, the oldest first.
    offers: Mutex<VecDeque<(String, Arc<Offer>)>>,
    /// How many were sent.
    offered: AtomicU64,
    /// Held while a recording is received.
    pub(super) receiving: Semaphore,
    /// The file of what the columns of recordings are, for one at a time.
    mappings: Mutex<Option<PathBuf>>,
}

/// A plan, worked out: its page and its drawing.
pub(super) struct Planned {
    pub(super) page: String,
    pub(super) drawing: String,
}

/// What came of asking for a plan.
pub(super) enum Made {
    /// It is worked out.
    Ready(Arc<Planned>),
    /// Another is being worked out.
    Busy,
    /// It cannot be worked out.
    Not,
}

/// What is open on a job beside its record: a question that an answer left open, and what was said to it. It is lost with
/// the program, and then the record tells what comes next.
#[derive(Debug, Default)]
pub(super) struct Open {
    /// The lines of the record that it belongs to.
    pub(super) lines: usize,
    /// How often the question was asked on those lines.
    pub(super) turn: u32,
    /// The question that is still open.
    pub(super) prompt: Option<Prompt>,
    /// What to do at once.
    pub(super) caution: Option<String>,
    /// What was said to the last answer.
    pub(super) said: Vec<String>,
    /// Of practice: what was done so far.
    pub(super) course: Course,
}

impl Site {
    /// What a page serves.
    pub fn new(start: Start) -> Self {
        Self {
            knowledge: Priced::new(start.knowledge),
            profile: start.profile,
            clock: start.clock,
            guard: start.guard,
            folder: Mutex::new(Folder::new(&start.folder)),
            path: start.folder,
            files: Mutex::default(),
            open: Mutex::default(),
            plans: Mutex::default(),
            planning: Mutex::default(),
            offers: Mutex::default(),
            offered: AtomicU64::new(1),
            receiving: Semaphore::new(1),
            mappings: Mutex::new(start.mappings),
        }
    }

    /// Who is heard.
    pub(super) const fn guard(&self) -> &Guard {
        &self.guard
    }

    /// Who may read a new record.
    pub(super) fn readers(&self) -> Readers {
        Readers::of_jobs(self.profile.shared)
    }

    /// The folder of the records.
    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// The folder, looked at.
    pub(super) fn folder(&self) -> io::Result<MutexGuard<'_, Folder>> {
        let mut folder = held(&self.folder);
        folder.look(&self.knowledge)?;
        Ok(folder)
    }

    /// The file of the record that goes by a name, where the folder has it and its name ends so.
    pub(super) fn file(&self, id: &str, ending: &str) -> Option<PathBuf> {
        let mut files = held(&self.files);
        if !files.contains_key(id) {
            files.retain(|_, path| !path.to_string_lossy().ends_with(ending));
            files.extend(self.listed(ending));
        }
        let file = files.get(id).cloned();
        file.filter(|path| path.to_string_lossy().ends_with(ending))
    }

    /// The files of the folder whose names end so, each with the name it goes by.
    pub(super) fn listed(&self, ending: &str) -> BTreeMap<String, PathBuf> {
        let files = Folder::files(&self.path, ending).unwrap_or_default();
        let named = files.into_iter().map(|path| (id_of_path(&path), path));
        named.collect()
    }

    /// What is open on a job; one request at a time has it.
    pub(super) fn open(&self, id: &str) -> Arc<Mutex<Open>> {
        let mut open = held(&self.open);
        Arc::clone(open.entry(id.to_owned()).or_default())
    }

    /// The recording that was sent for a job.
    pub(super) fn offer(&self, id: &str) -> Option<Arc<Offer>> {
        let offers = held(&self.offers);
        let (_, offer) = offers.iter().find(|(of, _)| of == id)?;
        Some(Arc::clone(offer))
    }

    /// Keeps a recording for a job, instead of the one before it; none takes that away.
    pub(super) fn set_offer(&self, id: &str, offer: Option<Offer>) {
        let mut offers = held(&self.offers);
        offers.retain(|(of, _)| of != id);
        if let Some(mut offer) = offer {
            offer.number = self.offered.fetch_add(1, Ordering::Relaxed);
            offers.push_back((id.to_owned(), Arc::new(offer)));
        }
        if offers.len() > OFFERS {
            offers.pop_front();
        }
    }

    /// The file of what the columns of recordings are; one at a time has it.
    pub(super) fn mappings(&self) -> MutexGuard<'_, Option<PathBuf>> {
        held(&self.mappings)
    }

    /// A plan, worked out once.
    pub(super) fn plan(&self, name: &str, make: impl FnOnce() -> Option<Planned>) -> Made {
        if let Some(made) = held(&self.plans).get(name) {
            return Made::Ready(Arc::clone(made));
        }
        let Ok(_planning) = self.planning.try_lock() else {
            return Made::Busy;
        };
        let Some(made) = make().map(Arc::new) else {
            return Made::Not;
        };
        let mut plans = held(&self.plans);
        if plans.len() < PLANS {
            plans.insert(name.to_owned(), Arc::clone(&made));
        }
        Made::Ready(made)
    }
}

/// What a lock holds; a request that failed while it held it left it whole.
pub(super) fn held<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

/// What a job goes by on the page: nothing of its file's name can be read from it.
pub(super) fn id_of(file: &str) -> String {
    fingerprint(file.as_bytes())
}

fn id_of_path(path: &Path) -> String {
    id_of(&path.file_name().unwrap_or_default().to_string_lossy())
}
