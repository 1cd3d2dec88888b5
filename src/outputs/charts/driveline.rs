//! The driveline to scale, from above and from the side, and what the place of the final drive trades.

use nalgebra::{Point3, Unit, Vector3};

use super::caption::Caption;
use super::context::ChartContext;
use super::frame::{CHART, Frame, PANEL};
use super::linkage::{circle, outline};
use super::scale::Scale;
use super::sheet::{POINT_MM, PenError};
use super::stroke::Stroke;
use super::views::{bar_length, round_reduction, scale_bar, scale_words};
use crate::geometry::{Geometry, Side};
use crate::present::{driveline as words, runs_out};
use crate::studies::driveline::{DrivelineFindings, PlaceFindings, Placing};

/// Room round what is drawn, as a share of it; that of [`Scale::covering`] comes on top.
const ROOM: f64 = 1.04;
/// Room that [`Scale::covering`] leaves.
const SCALE_ROOM: f64 = 1.08;
/// So much of a shaft before the first and behind the last joint is drawn.
const STUB_MM: f64 = 90.0;
/// How far down the bar of the scale lies, below the numbers of the axis.
const BAR: f64 = 508.0;
const HOUSING_GREY: u8 = 232;

/// A view looks along one axis: which coordinate stands upright on the sheet, and what it is called.
struct View {
    title: &'static str,
    up: usize,
    up_title: &'static str,
}

/// From above: the front of the car at the right, its left side at the top.
pub fn plan(context: &ChartContext, found: &DrivelineFindings) -> Result<String, PenError> {
    view(context, found, &View { title: "Driveline from above", up: 1, up_title: "to the left" })
}

/// From the right: the front of the car at the right.
pub fn side(context: &ChartContext, found: &DrivelineFindings) -> Result<String, PenError> {
    view(context, found, &View { title: "Driveline from the side", up: 2, up_title: "up" })
}

/// What is seen of the driveline, in the unit of the file.
struct Seen {
    tyres: Vec<Vec<(f64, f64)>>,
    /// Inner joint, outer joint and wheel centre of each side, with its name.
    halfshafts: Vec<(String, [(f64, f64); 3])>,
    /// Every joint of the propeller shaft, with a piece of the shafts before and behind.
    propshaft: Vec<(f64, f64)>,
    holes: Vec<(f64, f64)>,
    /// Outline of the housing, closed; empty without one.
    housing: Vec<(f64, f64)>,
}

impl Seen {
    fn of(geometry: &Geometry, place: impl Fn(&Point3<f64>) -> (f64, f64)) -> Self {
        let corners = Side::BOTH.map(|side| (side, geometry.corner(side)));
        let tyres = corners.map(|(side, corner)| {
            let wheel = &corner.wheel;
            let round = circle(&wheel.centre, &wheel.spin_axis, wheel.tyre_radius_mm);
            round.into_iter().map(|at| place(&side.to_car(at))).collect()
        });
        let halfshafts = corners.into_iter().filter_map(|(side, corner)| {
            let shaft = corner.halfshaft.as_ref()?;
            let name = format!("{} halfshaft", side.name());
            Some((name, [shaft.inner, shaft.outer, corner.wheel.centre].map(|at| place(&side.to_car(at)))))
        });
        let propshaft = geometry.propshaft.iter().flat_map(|shaft| {
            let joints = shaft.joints.iter().map(|joint| joint.at);
            let along = |axis: &Unit<Vector3<f64>>| axis.into_inner() * STUB_MM;
            let before = joints.clone().next().map(|first| first - along(&shaft.input_axis));
            let behind = joints.clone().next_back().map(|last| last + along(&shaft.output_axis));
            before.into_iter().chain(joints).chain(behind)
        });
        let housing = geometry.final_drive.iter();
        let in_car = housing.flat_map(|housing| {
            let flanges = housing.outputs.iter().map(|(_, flange)| flange.at).chain(housing.pinion.map(|at| at.at));
            flanges.chain(housing.holes.iter().copied()).map(|own| housing.place.point(&own))
        });
        let around: Vec<(f64, f64)> = in_car.map(|at| place(&at)).collect();
        let holes =
            geometry.final_drive.iter().flat_map(|housing| housing.holes.iter().map(|own| housing.place.point(own)));
        Self {
            tyres: tyres.into(),
            halfshafts: halfshafts.collect(),
            propshaft: propshaft.map(|at| place(&at)).collect(),
            holes: holes.map(|at| place(&at)).collect(),
            housing: if around.is_empty() { around } else { outline(around) },
        }
    }

    fn all(&self) -> impl Iterator<Item = &(f64, f64)> {
        let halfshafts = self.halfshafts.iter().flat_map(|(_, places)| places);
        self.tyres.iter().flatten().chain(halfshafts).chain(&self.propshaft).chain(&self.housing)
    }
}

fn view(context: &ChartContext, found: &DrivelineFindings, view: &View) -> Result<String, PenError> {
    let seen = Seen::of(context.car.geometry(), |at| (context.length(at.x), context.length(at[view.up])));
    let extent = |of: fn(&(f64, f64)) -> f64| {
        let ends = |(low, high): (f64, f64), value: f64| (low.min(value), high.max(value));
        let (low, high) = seen.all().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), ends);
        (f64::midpoint(low, high), (high - low) * ROOM)
    };
    let ((x, wide), (y, high)) = (extent(|at| at.0), extent(|at| at.1));
    // One length is as long either way on the sheet, so many times smaller than on the car.
    let paper = [PANEL.width(), PANEL.height()].map(|points| context.length(points * POINT_MM));
    let reduction = round_reduction((wide / paper[0]).max(high / paper[1]));
    let [across, up] = paper.map(|length| length * reduction / SCALE_ROOM);
    let points_per_mm = 1.0 / (reduction * POINT_MM);
    let bar = bar_length(context, points_per_mm);
    let title = format!("{}, {}", view.title, scale_words(context, reduction, "the bar", bar));
    let notes =
        vec!["Rings: joint centres. Grey: between flanges, pinion and mounting holes of the final drive.".to_owned()];
    let verdict = words::totals(found.driveline.checks()).unwrap_or_default();
    Caption { title: &title, verdict, notes }.sheet(&context.subject, CHART, |sheet| {
        let unit = context.unit_name();
        let across_title = format!("forward, {unit}");
        let up_title = format!("{}, {unit}", view.up_title);
        let (across, up) = (Scale::covering([x], across, 10.0), Scale::covering([y], up, 8.0));
        let mut frame = Frame::new(sheet, PANEL, (across, &across_title), (up, &up_title))?;
        seen.draw(&mut frame)?;
        scale_bar(context, sheet, (PANEL.right, BAR), points_per_mm)
    })
}

impl Seen {
    fn draw(&self, frame: &mut Frame) -> Result<(), PenError> {
        let path = |places: &[(f64, f64)]| places.iter().copied().map(Some).collect::<Vec<_>>();
        if !self.housing.is_empty() {
            frame.region(&self.housing, HOUSING_GREY)?;
            frame.curve(&path(&self.housing), Stroke::EDGE)?;
        }
        self.tyres.iter().try_for_each(|tyre| frame.curve(&path(tyre), Stroke::THIN))?;
        frame.curve(&path(&self.propshaft), Stroke::CURVE)?;
        for (_, [inner, outer, centre]) in &self.halfshafts {
            frame.curve(&path(&[*inner, *outer]), Stroke::CURVE)?;
            frame.curve(&path(&[*outer, *centre]), Stroke::THIN)?;
        }
        self.holes.iter().try_for_each(|hole| frame.dot(*hole))?;
        let joints = self.propshaft.iter().skip(1).take(self.propshaft.len().saturating_sub(2));
        let ends = self.halfshafts.iter().flat_map(|(_, [inner, outer, _])| [inner, outer]);
        joints.chain(ends).try_for_each(|at| frame.ring(*at))?;
        let middle = |a: (f64, f64), b: (f64, f64)| (f64::midpoint(a.0, b.0), f64::midpoint(a.1, b.1));
        for (name, [inner, outer, _]) in &self.halfshafts {
            frame.name_ring(middle(*inner, *outer), name)?;
        }
        if let [_, .., last, _] = self.propshaft[..] {
            let before = self.propshaft[self.propshaft.len() - 3];
            frame.name_ring(middle(before, last), "propeller shaft")?;
        }
        Ok(())
    }
}

/// Straightness of the halfshafts against that of the propeller shaft, over the room of the final drive.
pub fn trade(context: &ChartContext, found: &Placing) -> Result<String, PenError> {
    let title = "Place of the final drive: halfshafts against propeller shaft";
    let mut said = runs_out::placing(context.lengths(), found).into_iter();
    let verdict = said.next().unwrap_or_default();
    Caption { title, verdict, notes: said.collect() }.sheet(&context.subject, CHART, |sheet| {
        let place = |place: &PlaceFindings| Some((place.halfshaft_deg, place.worst_propshaft_deg?));
        let front: Vec<Option<(f64, f64)>> = found.trade.iter().map(place).collect();
        let ends = [place(&found.drawn), place(&found.best)];
        let values = || front.iter().chain(&ends).flatten();
        let across = Scale::covering(values().map(|p| p.0), 0.2, 12.0);
        let up = Scale::covering(values().map(|p| p.1), 0.2, 10.0);
        let across_title = "halfshaft joints at ride height, deg (root mean square)";
        let mut frame =
            Frame::new(sheet, PANEL, (across, across_title), (up, "largest angle of the propeller shaft, deg"))?;
        frame.curve(&front, Stroke::CURVE)?;
        for (at, name) in ends.into_iter().zip(["as drawn", "straightest halfshafts"]) {
            if let Some(at) = at {
                frame.ring(at)?;
                frame.name_ring(at, name)?;
            }
        }
        Ok(())
    })
}
