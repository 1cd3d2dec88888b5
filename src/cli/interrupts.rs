//! Ctrl-C, and what asks a program to end in its place (SIGTERM, SIGHUP): a wish to end early, for a command that then keeps
//! what is done.

use std::fs;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use signal_hook::consts::{SIGINT, SIGTERM};
use signal_hook::flag;

#[cfg(unix)]
const SIGNALS: [i32; 3] = [SIGINT, SIGTERM, signal_hook::consts::SIGHUP];
#[cfg(not(unix))]
const SIGNALS: [i32; 2] = [SIGINT, SIGTERM];

/// The interrupts since a command began.
#[derive(Debug, Clone)]
pub struct Interrupts {
    came: Arc<AtomicBool>,
}

impl Interrupts {
    /// From now on interrupts are noted if `catch`, in place of ending the process.
    pub fn from_now(catch: bool) -> Self {
        let came = Arc::new(AtomicBool::new(false));
        let ignored = if catch { ignored_signals() } else { 0 };
        for signal in SIGNALS.into_iter().filter(|signal| catch && ignored & (1 << (signal - 1)) == 0) {
            // One that cannot be caught ends the program before anything is written, which loses nothing.
            let _ = flag::register(signal, Arc::clone(&came));
        }
        Self { came }
    }

    pub fn came(&self) -> bool {
        self.came.load(Ordering::Relaxed)
    }
}

/// What the program was told to ignore, a bit a signal: one started with `nohup` goes on when its terminal is closed. Only
/// Linux tells it in a file; elsewhere none is taken for ignored.
fn ignored_signals() -> u64 {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let mask = |line: &str| u64::from_str_radix(line.strip_prefix("SigIgn:")?.trim(), 16).ok();
    status.lines().find_map(mask).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use signal_hook::low_level::raise;

    use super::{Interrupts, SIGNALS, ignored_signals};

    /// Tests that run in the background of a shell have SIGINT ignored, and so has the program there.
    #[test]
    fn every_signal_that_asks_for_an_end_is_noted() {
        for signal in SIGNALS {
            let interrupts = Interrupts::from_now(true);
            assert!(!interrupts.came());
            raise(signal).expect("the signal is raised");
            let is_ignored = ignored_signals() & (1 << (signal - 1)) != 0;
            assert_eq!(interrupts.came(), !is_ignored, "signal {signal}");
        }
        assert!(!Interrupts::from_now(true).came() && !Interrupts::from_now(false).came());
    }
}
