//! Command lines run in this process, as the real program runs them.

use hubtrace::cli::run_with;

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
