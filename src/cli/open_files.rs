//! When the system gives out no more handles of files: nothing is wrong with the file or its place.

use std::io;

/// What to do then.
pub const OUT_OF_HANDLES: &str =
    "too many files are open: close other programs, or raise the limit (`ulimit -n`), and run the command again";

/// True when the process or the system has as many open files as it may.
pub fn is_out_of_handles(error: &io::Error) -> bool {
    const OF_PROCESS: i32 = if cfg!(windows) { 4 } else { 24 };
    const OF_SYSTEM: i32 = 23;
    error.raw_os_error().is_some_and(|code| code == OF_PROCESS || (cfg!(unix) && code == OF_SYSTEM))
}
