//! A tape that does not fit its link.

use crate::told::told;

const CAR: &str = include_str!("five-links.toml");

/// 10 mm of a tape are some digit of a point, and as well one of the tape.
#[test]
fn a_tape_that_alone_denies_a_link_is_told_too() {
    let toe = "upright = [-130.0, 668.0, 270.0]";
    let text = CAR.replacen(toe, &format!("{toe}\ntaped = 331.0"), 1);
    let taped = told(&text);
    assert!(taped.len() == 1 && taped[0].contains("`taped` is 321.0: measure it again"), "{taped:#?}");
}
