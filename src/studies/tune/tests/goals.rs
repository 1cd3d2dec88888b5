//! What a descent is after: the flattest curve, and not at the cost of everything else.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::answers::lowest;
use crate::file::GeometryFile;
use crate::geometry::{AdjustmentRange, Geometry, Interval, Limits, Quantity, Side, Target, Weld};
use crate::studies::design_variables::DesignVariables;
use crate::studies::errors::ErrorModel;
use crate::studies::termination::Termination;
use crate::studies::tune::forgiveness::Forgiveness;
use crate::studies::tune::iterate::{Iterate, span};
use crate::studies::tune::problem::TuneProblem;
use crate::studies::tune::residual::{Evaluation, ResidualOf};
use crate::studies::tune::search::search;
use crate::studies::tune::stages::with_margins_that_are_kept;
use crate::studies::tune::{Descent, SearchOptions};

const FIRST_CUT: &str = include_str!("../../../../geometries/first-cut.toml");

/// The first cut without limits; the bracket of the toe link goes up and down and nothing else moves.
fn one_bracket() -> Geometry {
    let mut geometry = GeometryFile::parse("rear.toml", FIRST_CUT).unwrap_or_else(|error| panic!("{error}")).geometry;
    geometry.limits = Limits::default();
    let links = &mut geometry.adjustments.left.links;
    *links = Default::default();
    links[4].chassis[2] = Some(AdjustmentRange { low: -25.0, high: 25.0, step: None });
    geometry
}

fn problem(geometry: &Geometry) -> TuneProblem<'_> {
    TuneProblem::new(geometry, Side::Left, DesignVariables::of(geometry, Side::Left), None)
}

fn flattest(problem: &TuneProblem) -> Iterate {
    let options = SearchOptions { starts: 1, ..SearchOptions::default() };
    search(problem, &options).ends.swap_remove(0).iterate
}

/// The least worst change of toe wherever the bracket is, deg.
fn flattest_by_trying(problem: &TuneProblem) -> f64 {
    lowest(-25.0, 25.0, |z_mm| problem.evaluate(&[z_mm]).expect("a car that moves").worst_bump_steer_deg)
}

/// Least squares leave a worst change that is larger than it must be.
#[test]
fn one_bracket_is_put_where_the_worst_change_is_least() {
    let geometry = one_bracket();
    let problem = problem(&geometry);
    let (ours, tried) = (flattest(&problem).evaluation.worst_bump_steer_deg, flattest_by_trying(&problem));
    assert!(ours <= tried * 1.0001 && tried > 0.005, "{ours} deg, by trying {tried} deg");
}

/// Ten thousand per cent of anti-squat are out of reach wherever the toe link goes: toe is not given up for a hair of them.
#[test]
fn a_target_out_of_reach_does_not_cost_the_toe_curve() {
    let mut geometry = one_bracket();
    let band = Interval::single(1e4);
    geometry.targets.list.push(Target { quantity: Quantity::AntiSquat, band, weight: 0.01 });
    let problem = problem(&geometry);
    let answer = flattest(&problem);
    let worst = answer.evaluation.worst_residual();
    let missed = answer.evaluation.objective.iter().filter(|of| of.scaled().abs() == worst);
    assert!(missed.map(|of| of.subject).eq([ResidualOf::Target(Quantity::AntiSquat)]), "{worst}");
    let (ours, tried) = (answer.evaluation.worst_bump_steer_deg, flattest_by_trying(&problem));
    assert!(ours < 2.0 * tried, "{ours} deg, by trying {tried} deg");
}

#[test]
fn a_target_has_a_value_on_a_drawn_car_that_moves() {
    let mut geometry = one_bracket();
    let has_value = |geometry: &Geometry| problem(geometry).has_value_as_drawn(Quantity::AntiSquat);
    assert_eq!(has_value(&geometry), Some(true));
    geometry.travel.droop_mm = 400.0;
    assert_eq!(has_value(&geometry), None);
    geometry.travel.droop_mm = 60.0;
    geometry.car.cg_height_mm = None;
    assert_eq!(has_value(&geometry), Some(false));
}

/// Without `[limits]` there is no chance to make large, so each rod end keeps two standard deviations to its limit. At design height a link that is
/// square to its bolt leans by what its two ends err along the bolt over its length.
#[test]
fn a_rod_end_keeps_two_standard_deviations_where_there_is_no_chance() {
    const SD_MM: f64 = 0.4;
    let geometry = Geometry { weld: Some(Weld::new(SD_MM)), tape: None, ..one_bracket() };
    let problem = problem(&geometry);
    let errors = ErrorModel::of_file(&geometry).left;
    let forgiving = problem.forgiving(Forgiveness::least_square(errors));
    let [plain, narrower] = [&problem, &forgiving].map(|problem| {
        let limits = problem.evaluate(&[0.0]).expect("a car that moves").limits;
        let of_rod_ends = limits.into_iter().filter(|of| of.subject == ResidualOf::Limit(Quantity::RodEndAngle));
        of_rod_ends.map(|of| of.band).collect::<Vec<Interval>>()
    });
    let stations = problem.stations_mm.len();
    let design = problem.stations_mm.iter().position(|bump_mm| *bump_mm == 0.0).expect("design height");
    assert_eq!((plain.len(), narrower.len()), (10 * stations, 10 * stations));
    for (link, end) in (0..5).flat_map(|link| [(link, 0), (link, 1)]) {
        let (plain, narrower) =
            (plain[(2 * link + end) * stations + design], narrower[(2 * link + end) * stations + design]);
        let sd_deg = (f64::sqrt(2.0) * SD_MM / geometry.left.links[link].length_mm()).to_degrees();
        for margin_deg in [plain.high - narrower.high, narrower.low - plain.low] {
            assert!((margin_deg / sd_deg - 2.0).abs() < 0.02, "{link} {end}: {margin_deg} of {sd_deg} deg");
        }
    }
}

#[test]
fn a_variable_that_is_held_has_a_span_to_divide_by() {
    assert_eq!(span(&Interval { low: -2.0, high: 6.0 }), 8.0);
    assert_eq!(span(&Interval::single(3.0)), 1.0);
}

/// The largest lean that a rod end may have, deg, margin and all.
fn least_room_deg(judged: &Evaluation) -> f64 {
    let of_rod_ends = judged.limits.iter().filter(|of| of.subject == ResidualOf::Limit(Quantity::RodEndAngle));
    of_rod_ends.map(|of| of.band.high).fold(f64::INFINITY, f64::min)
}

/// Every rod end leans as far as it may, and nothing moves: no share of a margin can be kept. Of a search that is stopped the answer
/// before it stays.
#[test]
fn half_of_a_margin_that_cannot_be_kept_is_asked_for_and_then_none() {
    let mut geometry = Geometry { weld: Some(Weld::new(0.4)), tape: None, ..one_bracket() };
    let judged = problem(&geometry).evaluate(&[0.0]).expect("a car that moves");
    let of_rod_ends = judged.limits.iter().filter(|of| of.subject == ResidualOf::Limit(Quantity::RodEndAngle));
    let worst_deg = of_rod_ends.map(|of| of.value.abs()).fold(0.0, f64::max);
    geometry.left.links.iter_mut().for_each(|link| link.rod_end_limit_deg = Some(worst_deg));
    let problem = problem(&geometry);
    let drawn = problem.evaluate(&[0.0]).expect("a car that moves");
    let asked = |stop_at: usize| {
        let (count, mut rooms_deg) = (AtomicUsize::new(0), std::sync::Mutex::new(Vec::new()));
        let stop = || count.load(Ordering::Relaxed) >= stop_at;
        let options = SearchOptions { stop: &stop, ..SearchOptions::default() };
        let (_, found) = with_margins_that_are_kept(&problem, &drawn, &options, |stages| {
            count.fetch_add(1, Ordering::Relaxed);
            let evaluation = stages.last()?.evaluate(&[0.0])?;
            rooms_deg.lock().ok()?.push(least_room_deg(&evaluation));
            let iterate = Iterate { design_vector: vec![0.0], evaluation };
            Some(Descent { iterate, termination: Termination::Converged })
        });
        let found_deg = least_room_deg(found.expect("an answer").evaluation());
        (std::mem::take(rooms_deg.get_mut().expect("no other thread")), found_deg)
    };
    let (rooms_deg, found_deg) = asked(usize::MAX);
    let all_deg = least_room_deg(&drawn);
    let [whole, half, none] = rooms_deg[..] else { panic!("{rooms_deg:?}") };
    assert!(
        whole < all_deg - 0.05 && (half - f64::midpoint(whole, all_deg)).abs() < 1e-9,
        "{rooms_deg:?} of {all_deg}"
    );
    assert!(none == all_deg && found_deg == none, "{rooms_deg:?} of {all_deg}, {found_deg}");
    assert_eq!(asked(2), (vec![whole, half], whole));
}
