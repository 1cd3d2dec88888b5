//! Frame tubes under their brackets.

use super::super::length::{LengthFormat, rounded};
use super::super::quantity::band;
use super::super::words;
use super::{newtons, reserve};
use crate::geometry::Axis;
use crate::studies::forces::{BracketOnTube, ForcesFindings, OtherTube, TubeForm, WheelFrame};

/// Each bracket on a frame tube, of which side where they differ.
pub fn brackets_on_tubes(lengths: LengthFormat, found: &ForcesFindings) -> Vec<String> {
    let several = found.frame.len() > 1;
    let of = |wheels: &WheelFrame| {
        let side = wheels.wheels.first().filter(|_| several).map_or(String::new(), |side| format!("{}, ", side.name()));
        let sentence = |bracket| format!("{side}{}", bracket_on_tube(lengths, bracket));
        wheels.brackets.iter().map(|bracket| words::sentence_start(&sentence(bracket))).collect::<Vec<_>>()
    };
    found.frame.iter().flat_map(of).collect()
}

/// A bracket on a frame tube, in one sentence; stiffness and toe from hinged to built-in ends.
fn bracket_on_tube(lengths: LengthFormat, bracket: &BracketOnTube) -> String {
    let [low, high] = [bracket.stiffness_n_per_mm.low, bracket.stiffness_n_per_mm.high].map(|k| rounded(k / 1000.0, 1));
    let toe = bracket.toe_deg_per_kn;
    let toe = band(|deg| rounded(deg, 4), toe);
    format!(
        "{} on {:?}, {} of {} from a node: {low} to {high} kN/mm across it, which is {toe} deg of toe for 1 kN in the link. Largest \
         force across it {} N: brace it {}. Moment by its stand-off {} N·m; reserve of the tube {}{}.",
        words::inner_bracket(&bracket.link),
        bracket.tube,
        lengths.number(bracket.from_node_mm),
        lengths.with_unit(bracket.span_mm),
        newtons(bracket.across_n),
        words::along(Axis::nearest(bracket.brace_along)),
        newtons(bracket.stand_off_nm),
        reserve(bracket.reserve),
        if bracket.reserve < 1.0 { " (FAIL)" } else { "" }
    )
}

/// Outside and wall of a tube: `30.00 x 2.00 mm`.
pub fn tube_size(lengths: LengthFormat, outside_mm: f64, wall_mm: f64) -> String {
    format!("{} x {} {}", lengths.finer(outside_mm), lengths.finer(wall_mm), lengths.symbol())
}

/// A frame tube under a bracket, as it is or in another form: one line of the table that sets them side by side.
pub struct TubeLine {
    /// Name of the tube.
    pub tube: String,
    /// `round 30.00 x 2.00 mm, as it is`.
    pub form: String,
    /// Stiffness over that of the tube as it is.
    pub stiffness: String,
    /// Strength over that of the tube as it is.
    pub strength: String,
    /// Between its nodes, kg.
    pub mass_kg: String,
}

/// Every tube under a bracket once: as it is, two of it side by side, and a square one as strong.
pub fn tube_forms(lengths: LengthFormat, frame: &[WheelFrame]) -> Vec<TubeLine> {
    let mut brackets: Vec<&BracketOnTube> = Vec::new();
    for bracket in frame.iter().flat_map(|wheels| &wheels.brackets) {
        if brackets.iter().all(|known| known.tube != bracket.tube) {
            brackets.push(bracket);
        }
    }
    let of = |bracket: &BracketOnTube| {
        let line = |form: String, stiffness: f64, strength: f64, mass_kg: f64| TubeLine {
            tube: bracket.tube.clone(),
            form,
            stiffness: rounded(stiffness, 2),
            strength: rounded(strength, 2),
            mass_kg: rounded(mass_kg, 2),
        };
        let as_it_is = format!("round {}, as it is", tube_size(lengths, bracket.od_mm, bracket.wall_mm));
        let other = |other: &OtherTube| {
            let form = match other.form {
                TubeForm::TwoBesideEachOther => "two of it side by side".to_owned(),
                TubeForm::SquareOfEqualStrength => {
                    format!("square {}, as strong", tube_size(lengths, other.outside_mm, other.wall_mm))
                }
            };
            line(form, other.stiffness_ratio, other.strength_ratio, other.mass_kg)
        };
        let others: Vec<TubeLine> = bracket.instead.iter().map(other).collect();
        std::iter::once(line(as_it_is, 1.0, 1.0, bracket.mass_kg)).chain(others)
    };
    brackets.into_iter().flat_map(of).collect()
}

/// Stands above the lines of [`tube_forms`].
pub const TUBE_FORMS_TITLE: &str =
    "Frame tubes under brackets in other forms; stiffness and strength over those of the tube as it is";
/// How they are to be read.
pub const TUBE_FORMS_NOTE: &str = "As strong means in bending across its corners, the weakest way of a square tube; across its flats it bears \
    two fifths more. Two tubes share the load only when the bracket holds both.";
