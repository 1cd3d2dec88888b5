//! Ctrl-C as a wish to end early, for a command that then keeps the best so far.

use std::sync::atomic::{AtomicUsize, Ordering};

/// Of this process. It only counts up, so that an interrupt belongs to the commands that ran when it came.
static COUNT: AtomicUsize = AtomicUsize::new(0);

/// The interrupts since a command began.
#[derive(Debug, Clone, Copy)]
pub struct Interrupts {
    before: usize,
}

impl Interrupts {
    /// From now on Ctrl-C is counted if `catch`, in place of ending the process.
    pub fn from_now(catch: bool) -> Self {
        if catch {
            // A second handler cannot be set; without one Ctrl-C ends the program before anything is written, which
            // loses nothing.
            let _ = ctrlc::set_handler(interrupt);
        }
        Self { before: COUNT.load(Ordering::Relaxed) }
    }

    pub fn came(self) -> bool {
        COUNT.load(Ordering::Relaxed) != self.before
    }
}

fn interrupt() {
    COUNT.fetch_add(1, Ordering::Relaxed);
}

#[cfg(test)]
mod tests {
    use super::{Interrupts, interrupt};

    #[test]
    fn an_interrupt_ends_the_command_that_runs_and_not_the_next() {
        let first = Interrupts::from_now(false);
        assert!(!first.came());
        interrupt();
        let second = Interrupts::from_now(false);
        assert!(first.came() && !second.came());
    }
}
