//! Tuning against general-purpose optimisers that solved the same problems on kinematics of their own.
//!
//! `tests/outside/tune_reference.py` made `tests/outside/tune/expected.toml`; the README beside it says how.

use std::fs;
use std::path::Path;

use crate::file::GeometryFile;
use crate::geometry::{Corner, Geometry, Interval, Side};
use crate::studies::design_variables::DesignVariables;
use crate::studies::tune::SearchOptions;
use crate::studies::tune::descent::{descend, descend_on};
use crate::studies::tune::iterate::{Bounds, Iterate, Objective};
use crate::studies::tune::problem::TuneProblem;
use crate::studies::tune::search::{distinct, search};
use crate::studies::{JudgedCar, Rig, State, ToeCurve};
use serde::Deserialize;

/// Ours may be worse than theirs by this share …
const SHARE: f64 = 1.02;
/// … and by no more than this, deg.
const WORSE_DEG: f64 = 0.001;
/// Worst toe change that no gauge can see, deg: where theirs is below, ours needs only be below it too.
const FLAT_DEG: f64 = 1e-4;

#[derive(Deserialize)]
struct Expected {
    #[serde(rename = "problem")]
    case: Vec<Problem>,
}

#[derive(Deserialize)]
struct Problem {
    name: String,
    free: Vec<String>,
    drawn: f64,
    best_from_starts: f64,
    best_anywhere: f64,
    best_setting: Vec<f64>,
    starts: Vec<Vec<f64>>,
}

impl Problem {
    fn geometry(&self) -> Geometry {
        let file = match self.name.as_str() {
            "first-cut" => "geometries/first-cut.toml".to_owned(),
            name => format!("tests/outside/tune/{name}.toml"),
        };
        GeometryFile::read(Path::new(&file)).unwrap_or_else(|error| panic!("{error}")).geometry
    }
}

/// Puts every problem to a car of its own.
fn each(mut see: impl FnMut(&Problem, &TuneProblem, &Geometry)) {
    let text = fs::read_to_string("tests/outside/tune/expected.toml").expect("the expected answers");
    let expected: Expected = toml::from_str(&text).expect("a whole file of answers");
    assert!(expected.case.len() >= 6);
    for case in &expected.case {
        let geometry = case.geometry();
        let variables = DesignVariables::of(&geometry, Side::Left);
        assert_eq!(variables.list.len(), case.free.len(), "{}", case.name);
        see(case, &TuneProblem::new(&geometry, Side::Left, variables, None), &geometry);
    }
}

fn never() -> bool {
    false
}

fn searched(problem: &TuneProblem, seed: u64) -> Vec<Iterate> {
    let options = SearchOptions { seed, starts: 8, stop: &never, ..SearchOptions::default() };
    distinct(&search(problem, &options).ends, |_| true).into_iter().map(|answer| answer.iterate).collect()
}

fn bounds(problem: &TuneProblem) -> Bounds {
    problem.variables.list.iter().map(|f| Interval { low: f.range.low, high: f.range.high }).collect()
}

/// Worst bump steer by a sweep of the moved car, and whether it keeps all its limits but that of bump steer.
fn swept(geometry: &Geometry, problem: &TuneProblem, design_vector: &[f64]) -> (f64, bool) {
    let left = problem.variables.apply(design_vector).corner;
    let right = Corner { side: Side::Right, ..left.clone() };
    let car = Geometry { left, right, ..geometry.clone() };
    let judged = JudgedCar::of(Rig::new(&car).expect("a sound design"));
    let worst = ToeCurve::of(&judged.heave.rows, &judged.heave.design.left).worst_change_deg.abs();
    (worst, judged.verdicts.iter().all(|verdict| verdict.state != State::Fail))
}

fn good_enough(ours: f64, theirs: f64) -> bool {
    ours <= FLAT_DEG.max(theirs * SHARE).min(theirs + WORSE_DEG)
}

#[test]
fn drawn_cars_and_outside_answers_have_the_same_worst_toe_change() {
    each(|case, problem, _| {
        let worst =
            |design_vector: &[f64]| problem.evaluate(design_vector).expect("a car that moves").worst_bump_steer_deg;
        let drawn = worst(&vec![0.0; case.free.len()]);
        assert!((drawn - case.drawn).abs() < 1e-9, "{}: drawn {drawn}", case.name);
        let best = worst(&case.best_setting);
        assert!((best - case.best_anywhere).abs() < 1e-9, "{}: best {best}", case.name);
    });
}

#[test]
fn no_outside_optimum_from_the_same_starts_is_better() {
    each(|case, problem, geometry| {
        let bounds = bounds(problem);
        let from = |start: &Vec<f64>| {
            let squares = descend(problem, &bounds, start, Objective::Squares, &never)?;
            descend_on(problem, &bounds, squares.iterate, Objective::Worst, &never)
        };
        let ends = case.starts.iter().filter_map(|start| from(start).ok());
        let ends = ends.map(|end| swept(geometry, problem, &end.iterate.design_vector));
        let ours = ends.filter(|(_, held)| *held).map(|(worst, _)| worst).fold(f64::INFINITY, f64::min);
        assert!(good_enough(ours, case.best_from_starts), "{}: ours {ours} deg", case.name);
    });
}

#[test]
fn the_search_is_as_good_as_any_outside_optimum() {
    each(|case, problem, geometry| {
        let best = searched(problem, 1).into_iter().next().expect("an answer");
        let (ours, held) = swept(geometry, problem, &best.design_vector);
        assert!(held, "{}: a limit is broken", case.name);
        assert!(good_enough(ours, case.best_anywhere), "{}: ours {ours} deg", case.name);
    });
}

#[test]
fn no_setting_leaves_its_bounds_by_a_single_bit() {
    each(|case, problem, _| {
        for answer in searched(problem, 2) {
            for (x, variable) in answer.design_vector.iter().zip(&problem.variables.list) {
                assert!((variable.range.low..=variable.range.high).contains(x), "{}: {variable:?} at {x}", case.name);
            }
        }
    });
}
