//! Searches of the stock, one for each open page, beside everything else.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use serde::Serialize;

use crate::live::{Asked, Found};
use crate::pipeline::{Answer, AnswerError, answer_unless};
use crate::synthesis::{Progress, SearchError};

/// Searches that run at once.
const MOST_RUNNING: usize = 2;
/// Searches that are kept, running or not; each holds a whole answer.
const MOST_KEPT: usize = 8;
/// A page that has not asked for so long is closed: its search is stopped.
const CLOSED_AFTER: Duration = Duration::from_secs(20);

/// State of a search, for the page.
#[derive(Debug, Serialize)]
#[serde(tag = "state", rename_all = "snake_case")]
pub enum Standing {
    /// none was started
    None,
    /// it runs
    Running {
        /// steps done
        done: usize,
        /// steps in all, as far as they are known; 0 before the first is done
        of: usize,
    },
    /// it ended with springs
    Found {
        /// what it found
        found: Box<Found>,
    },
    /// it ended without
    Failed {
        /// reason
        message: String,
    },
    /// it was stopped
    Stopped,
}

/// Too many run already.
#[derive(Debug)]
pub struct Busy;

enum Result {
    Running,
    Found(Arc<Answer>),
    Failed(String),
    Stopped,
}

struct Search {
    tab: String,
    fingerprint: String,
    stop: Arc<AtomicBool>,
    steps: Arc<Mutex<Progress>>,
    looked: Arc<Mutex<Instant>>,
    result: Arc<Mutex<Result>>,
}

impl Search {
    fn runs(&self) -> bool {
        matches!(*held(&self.result), Result::Running)
    }

    fn standing(&self) -> Standing {
        match &*held(&self.result) {
            Result::Running => {
                let Progress { done, of } = *held(&self.steps);
                Standing::Running { done, of }
            }
            Result::Found(answer) => Standing::Found { found: Box::new(Found::of(answer)) },
            Result::Failed(message) => Standing::Failed { message: message.clone() },
            Result::Stopped => Standing::Stopped,
        }
    }
}

/// All searches, the oldest first.
#[derive(Default)]
pub struct Searches(Mutex<Vec<Search>>);

/// Values behind a lock are valid even where a thread panicked while it held the lock.
fn held<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Searches {
    /// Starts a page's search; the one it had for another question is stopped, the same question is not asked twice.
    pub fn start(&self, tab: &str, asked: &Asked) -> std::result::Result<Standing, Busy> {
        let fingerprint = asked.fingerprint();
        let mut all = held(&self.0);
        if let Some(place) = all.iter().position(|search| search.tab == tab) {
            let search = &all[place];
            *held(&search.looked) = Instant::now();
            let over = matches!(*held(&search.result), Result::Stopped | Result::Failed(_));
            if search.fingerprint == fingerprint && !over {
                return Ok(search.standing());
            }
            search.stop.store(true, Ordering::Relaxed);
            all.remove(place);
        }
        if all.iter().filter(|search| search.runs()).count() >= MOST_RUNNING {
            return Err(Busy);
        }
        if all.len() >= MOST_KEPT
            && let Some(place) = all.iter().position(|search| !search.runs())
        {
            all.remove(place);
        }
        let search = Search {
            tab: tab.to_owned(),
            fingerprint,
            stop: Arc::new(AtomicBool::new(false)),
            steps: Arc::new(Mutex::new(Progress::default())),
            looked: Arc::new(Mutex::new(Instant::now())),
            result: Arc::new(Mutex::new(Result::Running)),
        };
        run(&search, asked.clone());
        let standing = search.standing();
        all.push(search);
        Ok(standing)
    }

    /// State of a page's search.
    pub fn look(&self, tab: &str) -> Standing {
        let all = held(&self.0);
        all.iter().find(|search| search.tab == tab).map_or(Standing::None, |search| {
            *held(&search.looked) = Instant::now();
            search.standing()
        })
    }

    /// Stops a page's search.
    pub fn stop(&self, tab: &str) {
        if let Some(search) = held(&self.0).iter().find(|search| search.tab == tab) {
            search.stop.store(true, Ordering::Relaxed);
        }
    }

    /// The answer to a question, if some search found it.
    pub fn answer(&self, asked: &Asked) -> Option<Arc<Answer>> {
        let fingerprint = asked.fingerprint();
        held(&self.0).iter().filter(|search| search.fingerprint == fingerprint).find_map(
            |search| match &*held(&search.result) {
                Result::Found(answer) => Some(Arc::clone(answer)),
                _ => None,
            },
        )
    }
}

fn run(search: &Search, asked: Asked) {
    let (stop, steps) = (Arc::clone(&search.stop), Arc::clone(&search.steps));
    let (looked, result) = (Arc::clone(&search.looked), Arc::clone(&search.result));
    let kept = Arc::clone(&result);
    let work = move || {
        let stopped = || stop.load(Ordering::Relaxed) || held(&looked).elapsed() > CLOSED_AFTER;
        let progress = |step: Progress| *held(&steps) = step;
        // one core stays free for the hand that draws
        let cores = std::thread::available_parallelism().map_or(2, std::num::NonZero::get);
        let pool = rayon::ThreadPoolBuilder::new().num_threads(cores.saturating_sub(1).max(1)).build();
        let found = match (asked.question(), pool) {
            (Ok(question), Ok(pool)) => match pool.install(|| answer_unless(&stopped, question, &progress)) {
                Ok(answer) => Result::Found(Arc::new(answer)),
                Err(AnswerError::Search(SearchError::Stopped)) => Result::Stopped,
                Err(error) => Result::Failed(error.to_string()),
            },
            (Err(error), _) => Result::Failed(error.to_string()),
            (_, Err(error)) => Result::Failed(error.to_string()),
        };
        *held(&kept) = found;
    };
    if let Err(error) = std::thread::Builder::new().name("search".to_owned()).spawn(work) {
        *held(&result) = Result::Failed(error.to_string());
    }
}
