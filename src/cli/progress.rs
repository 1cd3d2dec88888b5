//! What a person at a terminal sees of work that takes long.

use std::sync::mpsc::{RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;

use super::terminal::Terminal;

/// Work that is done sooner needs no progress.
const AFTER: Duration = Duration::from_secs(1);
const BETWEEN: Duration = Duration::from_millis(500);

/// Does the work, and meanwhile keeps one line of the terminal up to date: how far it is, in the words of `so_far`.
pub fn showing<T>(
    terminal: &mut Terminal<'_>,
    quiet: bool,
    so_far: impl Fn() -> String + Sync,
    work: impl FnOnce() -> T,
) -> T {
    if quiet || !terminal.err_is_terminal {
        return work();
    }
    let (end, ended) = channel::<()>();
    let so_far = &so_far;
    thread::scope(|scope| {
        scope.spawn(move || {
            let (mut wait, mut width) = (AFTER, 0);
            while ended.recv_timeout(wait) == Err(RecvTimeoutError::Timeout) {
                let line = so_far();
                // A shorter line leaves nothing of a longer one before it.
                terminal.note(&format!("\r{line:<width$} "));
                (wait, width) = (BETWEEN, line.chars().count());
            }
            if width > 0 {
                terminal.note("\n");
            }
        });
        let done = work();
        drop(end);
        done
    })
}

#[cfg(test)]
mod tests {
    use std::thread::sleep;
    use std::time::Duration;

    use super::showing;
    use crate::cli::Terminal;

    /// What is seen of work of so many milliseconds.
    fn seen(quiet: bool, err_is_terminal: bool, work_ms: u64) -> String {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let mut terminal = Terminal { out: &mut out, err: &mut err, err_is_terminal, owns_process: false };
        let done = showing(
            &mut terminal,
            quiet,
            || "3 of 8 done".to_owned(),
            || {
                sleep(Duration::from_millis(work_ms));
                5
            },
        );
        assert_eq!(done, 5);
        String::from_utf8(err).expect("text")
    }

    #[test]
    fn only_work_of_more_than_a_second_is_shown_and_only_to_a_person() {
        assert_eq!(seen(false, true, 10), "");
        let shown = seen(false, true, 1_300);
        assert!(shown.starts_with("\r3 of 8 done ") && shown.ends_with('\n'), "{shown:?}");
        assert_eq!(seen(true, true, 1_300) + &seen(false, false, 1_300), "");
    }
}
