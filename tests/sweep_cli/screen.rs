//! What a builder sees: everything within 80 columns, in the shop's words, nothing when quiet.

use textwrap::core::display_width;

use super::program::{DEMO, SOUND, Written, changed, sweep, sweep_from};

const COLUMNS: usize = 80;
/// Words of the inside of the program.
const NEVER: [&str; 6] = ["posture", "residual", "condition number", "prior", "NaN", "inf "];

fn fits(screen: &str) {
    for line in screen.lines() {
        assert!(display_width(line) <= COLUMNS, "{} columns: {line}", display_width(line));
    }
    for word in NEVER {
        assert!(!screen.to_lowercase().contains(&word.to_lowercase()), "{word} in\n{screen}");
    }
}

#[test]
fn every_car_fits_the_screen_in_the_shops_words() {
    for file in ["first-cut", "as-built", "double-wishbone", "semi-trailing"] {
        fits(&sweep_from("geometries", &[&format!("{file}.toml")]).out);
    }
    for file in ["fl-a", "fl-b", "fl-c", "asymmetric", "inch-hub-axes", "near-fold", "spring-on-link", "stops"] {
        fits(&sweep_from("tests/outside", &[&format!("{file}.toml")]).out);
    }
}

#[test]
fn long_names_fit_the_screen() {
    let name = "N".repeat(80);
    let links = [("\"upper front\"", "U"), ("\"toe link\"", "T")]
        .map(|(from, letter)| (from, format!("\"{}\"", letter.repeat(80))));
    let mut changes = vec![("Teasel hillclimb special, rear, first cut", name.as_str())];
    changes.extend(links.iter().map(|(from, to)| (*from, to.as_str())));
    let text = changed(DEMO, &changes);
    let file = Written::new(text);
    let ran = sweep(&[file.path(), "--droop", "300"]);
    assert_eq!(ran.code, Some(3));
    fits(&ran.out);
    fits(&ran.err);
}

/// Letters that take two columns each.
#[test]
fn names_in_wide_scripts_fit_the_screen() {
    let (name, link) = ("後輪独立懸架の試作車".repeat(8), format!("\"{}\"", "前上リンク".repeat(16)));
    let changes = [("Teasel hillclimb special, rear, first cut", name.as_str()), ("\"toe link\"", link.as_str())];
    let file = Written::new(changed(DEMO, &changes));
    let ran = sweep(&[file.path(), "--droop", "300"]);
    assert_eq!(ran.code, Some(3));
    fits(&ran.out);
    fits(&ran.err);
}

#[test]
fn a_quote_in_a_name_is_escaped_where_the_name_is_quoted() {
    let file = Written::new(changed(DEMO, &[("\"toe link\"", r#"'the "toe" link'"#)]));
    let said = sweep(&[file.path(), "--droop", "300"]).said();
    assert!(said.contains(r#""the \"toe\" link" carry the bind"#), "{said}");
}

#[test]
fn a_long_path_fits_the_screen() {
    fits(&sweep(&[&format!("{}geometries/as-built.toml", "./".repeat(30))]).out);
}

#[test]
fn the_screen_says_what_a_builder_acts_on() {
    let screen = sweep(&[DEMO]).out;
    for words in [
        "per wheel",
        "worst bump steer",
        "slope",
        "bow",
        "FAIL",
        "pass",
        "not checked",
        "roll-centre height",
        "anti-squat",
        "Solver check",
    ] {
        assert!(screen.contains(words), "{words} in\n{screen}");
    }
    assert!(screen.contains("heave.csv") && screen.contains("a failed link"), "{screen}");
}

#[test]
fn quiet_prints_nothing_at_all() {
    for file in [&[SOUND, "--quiet"][..], &["--quiet"]] {
        let ran = sweep(file);
        assert_eq!((ran.out.as_str(), ran.err.as_str()), ("", ""));
        assert!(ran.folder.join("heave.csv").exists());
    }
}

#[test]
fn quiet_does_not_hide_an_error() {
    let ran = sweep(&[DEMO, "--quiet", "--droop", "300"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(3), ""));
    assert!(ran.err.contains("binds at 248.7 mm of droop"), "{}", ran.err);
}

#[test]
fn inches_are_shown_in_inches() {
    let screen = sweep(&["tests/outside/inch-hub-axes.toml"]).out;
    assert!(screen.contains(" in") && !screen.contains(" mm over"), "{screen}");
}
