//! Time limit of an answer, and whether it left anything out.

use std::sync::atomic::{AtomicBool, Ordering};

/// Clock of one answer. Every stage asks it before a step that may be left out, never after the last one: an answer is cut short
/// exactly where the clock once said that the time is up.
pub(super) struct Clock<'a> {
    time_is_up: &'a (dyn Fn() -> bool + Sync),
    cut: AtomicBool,
}

impl<'a> Clock<'a> {
    /// By the wish of the caller.
    pub fn of(time_is_up: &'a (dyn Fn() -> bool + Sync)) -> Self {
        Self { time_is_up, cut: AtomicBool::new(false) }
    }

    /// Whether the time is up, so that the step to come is left out.
    pub fn is_up(&self) -> bool {
        let up = (self.time_is_up)();
        if up {
            self.cut.store(true, Ordering::Relaxed);
        }
        up
    }

    /// Whether a step was left out.
    pub fn cut_short(&self) -> bool {
        self.cut.load(Ordering::Relaxed)
    }
}

/// Warning of an answer that was cut short.
pub(super) const CUT_SHORT: &str = "the time limit ended the search before everything was tried: this is the best so far; a \
                                    longer limit (--time-limit), or none, may find a better one";
