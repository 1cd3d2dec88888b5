//! What is told of an answer: new lengths, targets, tapes, and what holds it back.

use crate::file::GeometryFile;
use crate::geometry::{Geometry, Interval, Quantity, Side};
use crate::studies::design_variables::DesignVariables;
use crate::studies::plausibility::Doubt;
use crate::studies::tune::answer::{lengths, targets};
use crate::studies::tune::held_back::{at_limits, chance_held_back, held_back, targets_held_back};
use crate::studies::tune::iterate::{Bounds, Iterate};
use crate::studies::tune::problem::TuneProblem;
use crate::studies::tune::residual::{Evaluation, Residual, ResidualOf};
use crate::studies::tune::search::bounds_of;
use crate::studies::tune::tuned_car::with_corners;
use crate::studies::tune::{Choice, GivenUp, SearchOptions, tune};

fn first_cut() -> Geometry {
    let text = include_str!("../../../../geometries/first-cut.toml");
    GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry
}

/// From (-110, 372, 388) to (-45, 652, 400) mm by Pythagoras.
const UPPER_REAR_MM: f64 = 287.696;

#[test]
fn links_that_change_are_told_with_both_lengths() {
    let geometry = first_cut();
    let mut variables = DesignVariables::of(&geometry, Side::Left);
    let mut tuned = geometry.left.clone();
    let link = &mut tuned.links[1];
    link.chassis += (link.chassis - link.upright).normalize() * 10.0;
    let told = lengths(&variables, &tuned);
    assert_eq!(told.len(), 1);
    assert!(told[0].drawn_mm.is_some_and(|mm| (mm - UPPER_REAR_MM).abs() < 1e-3), "{told:?}");
    assert!(told[0].link == "upper rear" && (told[0].new_mm - UPPER_REAR_MM - 10.0).abs() < 1e-3, "{told:?}");
    // A link that had no bracket yet has no length to change.
    variables.unplaced[1] = true;
    let told = lengths(&variables, &geometry.left);
    assert!(told.len() == 1 && told[0].drawn_mm.is_none(), "{told:?}");
    assert!((told[0].new_mm - UPPER_REAR_MM).abs() < 1e-3, "{told:?}");
}

#[test]
fn a_target_is_told_by_the_figure_that_misses_it_most() {
    let residual = |(quantity, value): (Quantity, f64)| Residual {
        subject: ResidualOf::Target(quantity),
        value,
        band: Interval { low: 50.0, high: 90.0 },
        scale: 0.5,
        gradient: Vec::new(),
    };
    let (squat, lift) = (Quantity::AntiSquat, Quantity::AntiLift);
    let figures = [(squat, 48.0), (lift, 60.0), (squat, 95.0), (squat, 91.0), (lift, 70.0)].map(residual);
    let told: Vec<_> = targets(&figures).into_iter().map(|told| (told.quantity, told.value, told.reached)).collect();
    assert_eq!(told, [(squat, 95.0, false), (lift, 60.0, true)]);
}

/// The tape said 3 mm more than the drawing, and goes on to.
#[test]
fn a_tape_goes_along_with_its_link() {
    let mut geometry = first_cut();
    geometry.left.links[1].taped_mm = Some(UPPER_REAR_MM + 3.0);
    geometry.left.links[2].taped_mm = Some(400.0);
    let mut tuned = geometry.left.clone();
    let out = (tuned.links[1].chassis - tuned.links[1].upright).normalize();
    tuned.links[1].chassis += out * 10.0;
    let car = with_corners(&geometry, &[(Side::Left, &tuned)]);
    let taped_mm = [1, 2].map(|link: usize| car.left.links[link].taped_mm.expect("a tape"));
    assert!((taped_mm[0] - UPPER_REAR_MM - 13.0).abs() < 1e-3 && taped_mm[1] == 400.0, "{taped_mm:?}");
}

/// Places and derivatives: the first wants to go on down, the second to go on up, the fourth is at its high end and wants nothing.
fn at_ends(bounds: &Bounds) -> (Vec<f64>, Vec<f64>) {
    let (mut design_vector, mut gradient) = (vec![0.0; bounds.len()], vec![0.0; bounds.len()]);
    (design_vector[0], gradient[0]) = (bounds[0].low, 0.4);
    (design_vector[1], gradient[1]) = (bounds[1].high, -0.2);
    design_vector[3] = bounds[3].high;
    (design_vector, gradient)
}

/// A residual of 0.5, counted ten times, takes 0.25 of its derivative from the chance.
#[test]
fn ends_of_rooms_that_keep_cars_from_passing_are_told_with_what_more_room_buys() {
    let geometry = first_cut();
    let problem = TuneProblem::new(&geometry, Side::Left, DesignVariables::of(&geometry, Side::Left), None);
    let bounds = bounds_of(&problem);
    let (design_vector, mut gradient) = at_ends(&bounds);
    // Is in the middle, and wants to come back.
    (gradient[2], gradient[3]) = (0.4, 0.4);
    let built = Residual { subject: ResidualOf::Built, value: 0.5, band: Interval::single(0.0), scale: 10.0, gradient };
    let evaluation = Evaluation { objective: vec![built], limits: Vec::new(), worst_bump_steer_deg: 0.0 };
    let told = chance_held_back(&problem, &bounds, &Iterate { design_vector, evaluation });
    assert_eq!(told.len(), 2, "{told:?}");
    for (told, (k, at, buys)) in told.iter().zip([(0, bounds[0].low, 0.1), (1, bounds[1].high, 0.05)]) {
        assert!(told.variable == problem.variables.list[k].kind && told.at == at, "{told:?}");
        assert!((told.buys - buys).abs() < 1e-12 && told.subject == ResidualOf::Built, "{told:?}");
        // Half of 5² over 200.
        assert!((told.missed - 0.0625).abs() < 1e-12, "{told:?}");
    }
}

/// Of two gaps one stands at its limit and the other is too small: the limit is broken, whatever holds the answer back.
#[test]
fn a_limit_that_is_broken_elsewhere_is_not_just_kept() {
    let residual = |subject: ResidualOf, value: f64| {
        let band = Interval { low: 5.0, high: f64::INFINITY };
        Residual { subject, value, band, scale: 2.0, gradient: vec![0.0, 0.3] }
    };
    let (gap, scrub) = (ResidualOf::Limit(Quantity::Clearance), ResidualOf::Limit(Quantity::Scrub));
    let told = |limits: Vec<Residual>| {
        let objective = vec![residual(ResidualOf::Target(Quantity::AntiSquat), 0.0)];
        at_limits(&Evaluation { objective, limits, worst_bump_steer_deg: 0.0 })
    };
    assert_eq!(told(vec![residual(gap, 5.0), residual(gap, 9.0), residual(scrub, 5.0)]), [gap, scrub]);
    assert_eq!(told(vec![residual(gap, 5.0), residual(gap, 4.0), residual(scrub, 5.0)]), [scrub]);
    // A bracket that stands where it was drawn, whatever is free.
    let fixed = Residual { gradient: vec![0.0, 0.0], ..residual(ResidualOf::ClearOfTube, 5.0) };
    assert_eq!(told(vec![fixed, residual(scrub, 5.0)]), [scrub]);
}

/// Of one residual alone, a mm more of a room takes its derivative from it.
#[test]
fn ends_of_rooms_that_keep_the_worst_from_falling_are_told_at_either_end() {
    let geometry = first_cut();
    let problem = TuneProblem::new(&geometry, Side::Left, DesignVariables::of(&geometry, Side::Left), None);
    let bounds = bounds_of(&problem);
    let (design_vector, gradient) = at_ends(&bounds);
    let subject = ResidualOf::Target(Quantity::AntiSquat);
    let worst = Residual { subject, value: 90.0, band: Interval::single(50.0), scale: 0.5, gradient };
    let evaluation = Evaluation { objective: vec![worst], limits: Vec::new(), worst_bump_steer_deg: 0.0 };
    let told = held_back(&problem, &bounds, &Iterate { design_vector, evaluation });
    assert_eq!(told.len(), 2, "{told:?}");
    for (told, (k, at, buys)) in told.iter().zip([(0, bounds[0].low, 0.4), (1, bounds[1].high, 0.2)]) {
        assert!(told.variable == problem.variables.list[k].kind && told.at == at, "{told:?}");
        assert!((told.buys - buys).abs() < 1e-3 && told.subject == subject, "{told:?}");
        // 40 % are missed: a hundred millimetres of the first room buy them, by first order, and not more.
        assert!((told.missed - 40.0).abs() < 1e-9, "{told:?}");
        let most_mm = 40.0 / told.buys;
        assert!(told.gain(0.99 * most_mm).is_some() && told.gain(1.01 * most_mm).is_none(), "{told:?}");
    }
}

/// The target would fall with the third room, which is not used up, and with the first, at its low end; the second stands where all
/// that is wanted gets worse beyond.
#[test]
fn of_an_answer_made_of_all_that_is_wanted_ends_are_told_beyond_which_all_of_it_gets_better() {
    let geometry = first_cut();
    let problem = TuneProblem::new(&geometry, Side::Left, DesignVariables::of(&geometry, Side::Left), None);
    let bounds = bounds_of(&problem);
    let (design_vector, mut gradient) = at_ends(&bounds);
    gradient[2] = 0.4;
    let target = |value: f64, gradient: Vec<f64>| {
        let subject = ResidualOf::Target(Quantity::AntiSquat);
        Residual { subject, value, band: Interval::single(50.0), scale: 0.5, gradient }
    };
    let mut toe_gradient = vec![0.0; bounds.len()];
    toe_gradient[1] = 1.0;
    let toe = Residual { subject: ResidualOf::Spread, band: Interval::single(0.0), ..target(40.0, toe_gradient) };
    let objective = vec![toe, target(90.0, gradient.clone())];
    let told = |limits: Vec<Residual>| {
        let evaluation = Evaluation { objective: objective.clone(), limits, worst_bump_steer_deg: 0.0 };
        targets_held_back(&problem, &bounds, &Iterate { design_vector: design_vector.clone(), evaluation })
    };
    // Anti-squat falls beyond the end of the first room: a limit that is just kept from below would break, one from above would not.
    let subject = ResidualOf::Limit(Quantity::AntiSquat);
    let limit = |band: Interval| Residual { subject, band, ..target(90.0, gradient.clone()) };
    assert_eq!(told(vec![limit(Interval { low: 90.0, high: 120.0 })]), []);
    assert_eq!(told(vec![limit(Interval { low: 10.0, high: 90.0 })]), told(Vec::new()));
    let told = told(Vec::new());
    let [told] = &told[..] else { panic!("{told:?}") };
    assert!(told.variable == problem.variables.list[0].kind && told.at == bounds[0].low, "{told:?}");
    assert!((told.buys - 0.4).abs() < 1e-12 && (told.missed - 40.0).abs() < 1e-9, "{told:?}");
    assert_eq!(told.subject, ResidualOf::Target(Quantity::AntiSquat));
}

/// Of two answers of which `check` doubts the flattest, the sentence belongs to that one.
#[test]
fn a_doubt_is_told_of_the_answer_that_it_belongs_to() {
    let geometry = first_cut();
    let options = SearchOptions { starts: 1, ..SearchOptions::default() };
    let mut side =
        tune(&geometry, &[Side::Left], &options, &|car| Some(car.clone())).expect("an answer").swap_remove(0);
    let mut forgiving = side.answers[0].clone();
    forgiving.corner.links[4].chassis.z += 5.0;
    side.answers.truncate(1);
    side.forgiving = Some(forgiving);
    let doubt = Doubt::of(None, Vec::new(), "It is inside a tube.".to_owned());
    side.doubts = vec![doubt.clone()];
    assert!(side.doubts_of(Choice::MostForgiving).is_empty());
    assert_eq!(side.doubts_of_first_other(Choice::MostForgiving), std::slice::from_ref(&doubt));
    assert_eq!(side.doubts_of(Choice::Flattest), [doubt]);
    assert!(side.doubts_of_first_other(Choice::Flattest).is_empty());
}

/// An answer that steers less than the nearest that was found is nearer.
#[test]
fn no_answer_is_nearer_than_the_nearest_that_is_told() {
    let limit = Some(Interval { low: -0.06, high: 0.06 });
    let told = |nearest: f64, reached: f64| {
        let mut of = GivenUp {
            quantity: Quantity::BumpSteer,
            limit,
            nearest,
            nearest_beside: nearest,
            beside_others: false,
            by_steps: false,
            room: None,
        };
        of.met_by(reached);
        (of.nearest, of.nearest_beside)
    };
    assert_eq!(told(0.191, 0.096), (0.096, 0.096));
    assert_eq!(told(0.191, -0.1), (-0.1, -0.1));
    assert_eq!(told(-0.191, 0.3), (-0.191, -0.191));
}
