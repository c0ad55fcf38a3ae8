//! Stop signals: a run ends between two exchanges of files, never within one.
//!
//! A run that is writing finishes the exchange once its commit record stands, or withdraws what it has staged before;
//! it ends right after that, by the signal. A signal that the caller ignores, as `nohup` does, stays ignored.

use std::sync::{Mutex, MutexGuard, PoisonError};

/// Writings of the run, and the signal that waits for their end.
struct State {
    /// writings under way
    writings: usize,
    /// signal that asked for the end
    signal: Option<i32>,
}

static STATE: Mutex<State> = Mutex::new(State { writings: 0, signal: None });

fn state() -> MutexGuard<'static, State> {
    STATE.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A writing under way: as long as it lives a stop signal waits.
pub struct Writing(());

impl Writing {
    /// Begins a writing.
    pub fn begin() -> Self {
        state().writings += 1;
        Self(())
    }
}

impl Drop for Writing {
    fn drop(&mut self) {
        let mut state = state();
        state.writings -= 1;
        if let Some(signal) = state.signal.filter(|_| state.writings == 0) {
            end(signal);
        }
    }
}

/// Whether a stop signal waits for the writing that is under way.
pub fn asked() -> bool {
    state().signal.is_some()
}

/// Ends the run at once, or after the writing that is under way.
#[cfg_attr(not(unix), allow(dead_code))]
fn stop(signal: i32) {
    let mut state = state();
    state.signal = Some(signal);
    if state.writings == 0 {
        end(signal);
    }
}

#[cfg(unix)]
pub use unix::watch;

#[cfg(unix)]
use unix::end;

#[cfg(unix)]
mod unix {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    use signal_hook::iterator::Signals;
    use signal_hook::low_level::emulate_default_handler;

    /// Watches for stop signals from now on.
    pub fn watch() {
        let ignored = ignored();
        let heeded: Vec<i32> = [SIGHUP, SIGINT, SIGTERM]
            .into_iter()
            .filter(|signal| ignored.map_or(*signal != SIGHUP, |mask| (mask >> (signal - 1)) & 1 == 0))
            .collect();
        // without a watch the signals end the run as they always do
        if let Ok(mut signals) = Signals::new(heeded) {
            std::thread::spawn(move || signals.forever().for_each(super::stop));
        }
    }

    /// Mask of the signals that the caller ignores; `None` where the system does not tell.
    fn ignored() -> Option<u64> {
        let status = std::fs::read_to_string("/proc/self/status").ok()?;
        let mask = status.lines().find_map(|line| line.strip_prefix("SigIgn:"))?;
        u64::from_str_radix(mask.trim(), 16).ok()
    }

    /// Ends the process by the signal, so that its caller sees why: 128 and the signal's number in a shell.
    pub fn end(signal: i32) {
        let _ = emulate_default_handler(signal);
        std::process::exit(128 + signal);
    }
}

/// No signals to watch for on this system.
#[cfg(not(unix))]
pub fn watch() {}

#[cfg(not(unix))]
fn end(signal: i32) {
    std::process::exit(128 + signal);
}
