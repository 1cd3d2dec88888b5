//! Command lines run in this process, as the real program runs them.

use hubtrace::cli::{Terminal, run, run_with};
use rayon::ThreadPoolBuilder;

use crate::program;

/// Exit code, stdout and stderr of a command line.
fn told(line: &str) -> (u8, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = run_with(line.split(' '), &mut out, &mut err);
    (code, text(out), text(err))
}

fn text(bytes: Vec<u8>) -> String {
    String::from_utf8(bytes).expect("text")
}

#[test]
fn a_command_says_and_ends_as_the_real_program_does() {
    for line in ["check", "check --side middle", "check missing.toml", "--help", "tune --help", "tune --starts", ""] {
        let real = program::run(line);
        let (code, out, err) = told(format!("hubtrace {line}").trim_end());
        assert_eq!((Some(code.into()), out, err), (real.code, real.out, real.err), "{line}");
    }
}

/// On one thread, so that it takes longer than what needs no progress on any machine.
#[test]
fn progress_is_shown_on_a_terminal_alone() {
    let folder = program::Folder::new();
    let line = format!("hubtrace tune --starts 120 --out {}", folder.path("out").display());
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args: Vec<&str> = line.split(' ').collect();
    let terminal = &mut Terminal { out: &mut out, err: &mut err, err_is_terminal: true, owns_process: false };
    let one_thread = ThreadPoolBuilder::new().num_threads(1).build().expect("a thread");
    one_thread.install(|| run(&args, terminal));
    let err = text(err);
    assert!(err.contains(" searches done (Ctrl-C keeps the best so far)") && err.ends_with('\n'), "{err}");
    assert_eq!(told(&line).2, program::DEMO_NOTE);
}
