//! What a command line may say: numbers, names, help.

use crate::program::run;

#[test]
fn a_number_that_cannot_be_is_refused_with_what_to_write() {
    for (option, value, advice) in [
        ("--bump", "-5", "write millimetres from 0 to 500, for example 60"),
        ("--droop", "nan", "write millimetres from 0 to 500, for example 60"),
        ("--step", "0", "write millimetres above 0, up to 500, for example 5"),
        ("--step", "inf", "write millimetres above 0, up to 500, for example 5"),
        ("--roll", "three", "write degrees from 0 to 45, for example 3"),
        ("--step-roll", "-0.5", "write degrees above 0, up to 45, for example 0.5"),
    ] {
        run(&format!("sweep {option} {value}")).ends_with(2).assert_tells(&[advice]);
    }
}

#[test]
fn steps_that_make_a_mountain_of_rows_are_refused() {
    run("sweep --quiet --step 0.001").ends_with(2).assert_tells(&["120001 rows of heave", "--step"]);
}

#[test]
fn an_unknown_command_or_option_is_usage() {
    run("swoop").ends_with(2).assert_tells(&["swoop"]);
    run("check --sid left").ends_with(2).assert_tells(&["--side"]);
    run("check --side middle").ends_with(2).assert_tells(&["left, right, both"]);
}

#[test]
fn help_names_the_commands_and_the_exit_codes() {
    run("--help").ends_with(0).assert_shows(&["new", "check", "sweep", "Exit codes"]);
}
