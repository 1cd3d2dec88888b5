//! An upright that was measured on the bench, with boxes in place of brackets: little else confirms its numbers.

use crate::told::{changed, told};

const CAR: &str = include_str!("on-the-bench.toml");

fn told_of(piece: &str, other: &str) -> Vec<String> {
    told(&changed(CAR, &[(piece, other)]))
}

/// Offsets are stamped in whole millimetres; one of 5 or -35 mm is rare, and sound.
#[test]
fn an_offset_in_another_unit_is_told_with_the_one_that_was_meant() {
    for (other, meant) in [
        ("1.378", "1.378 mm is stamped on no wheel; probably 35.0: it is in inches, and the file in mm;"),
        ("3.5", "3.5 mm is stamped on no wheel; probably 35.0: it is in cm;"),
    ] {
        let told = told_of("offset = 35.0", &format!("offset = {other}"));
        assert!(told.len() == 1 && told[0].starts_with(&format!("offset, left: {meant}")), "{told:#?}");
    }
    for sound in ["0.0", "5.0", "8.0", "20.0", "35.5", "-35.0", "-12.5"] {
        assert_eq!(told_of("offset = 35.0", &format!("offset = {sound}")), Vec::<String>::new(), "{sound}");
    }
}

#[test]
fn an_upright_with_every_y_turned_is_one_question() {
    let turned = changed(
        CAR,
        &[("-112.0,", "112.0,"), ("-115.0,", "115.0,"), ("-85.0,", "85.0,"), ("-88.0,", "88.0,"), ("-98.0,", "98.0,")],
    );
    let expected = "The upright points, left: all 5 stand outboard of the face on which the wheel seats, where no upright is: the sign of y \
                    is probably turned on all of them.";
    assert_eq!(told(&turned), [expected]);
}

#[test]
fn a_box_that_is_far_longer_than_the_others_is_told_with_the_end_that_was_meant() {
    let upper = |z: &str| format!("x = [80.0, 220.0], y = [370.0, 430.0], z = {z}");
    let told = |z: &str| told_of(&upper("[370.0, 430.0]"), &upper(z));
    let expected = "`within` of link \"upper front\", left: z = [37.0, 430.0] is probably [370.0, 430.0]: the decimal point is shifted; as \
                    written it is 393.0 mm long in z, and no other box more than 80.0 mm.";
    assert_eq!(told("[37.0, 430.0]"), [expected]);
    // A bracket that may go anywhere on its post.
    assert_eq!(told("[150.0, 480.0]"), Vec::<String>::new());
}
