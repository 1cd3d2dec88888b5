//! Everything that the shop is told of a car.

use std::collections::BTreeMap;

use serde::Serialize;

use super::brackets::{Bracket, brackets};
use super::clocking::{LinkClock, clocking};
use super::cut_list::{CutLink, cut_list};
use super::notch::{TubeEnd, tube_ends};
use super::points::{NamedLine, NamedPoint, named_lines, named_points};
use super::setting::{Setting, setting_chart};
use super::tape_check::{TapeCheck, tape_check};
use super::template::{BracketTemplate, templates};
use crate::geometry::{Geometry, Side};
use crate::studies::car_findings::CarFindings;
use crate::studies::driveline::Exhaustion;
use crate::studies::errors::ErrorSource;
use crate::studies::forces::ForcesFindings;
use crate::studies::judged_car::JudgedCar;
use crate::studies::rig::Rig;
use crate::studies::tolerance::{
    LinksAfterWelding, ToleranceFindings, ToleranceRequest, USUAL_CARS, USUAL_GAUGE_SD_DEG, USUAL_JIG_SD_MM,
    USUAL_PLACING_SD_MM,
};

/// A car for the shop, as far as the wheels asked for go.
#[derive(Debug, Clone, Serialize)]
pub struct FabricationFindings<'g> {
    /// The car moved and judged.
    #[serde(flatten)]
    pub car: CarFindings<'g>,
    /// What it is made by.
    #[serde(rename = "fabricate")]
    pub shop: ShopFindings,
    /// A weld study, for what to jig and which bracket to weld last; `None` of a car that does not move through its travel,
    /// or moves in very small steps.
    #[serde(skip)]
    pub weld: Option<ToleranceFindings<'g>>,
    /// How near the links are to what they bear; `None` without a spring.
    #[serde(skip)]
    pub forces: Option<ForcesFindings<'g>>,
}

/// Rows of bump and droop that it takes; with more it is left to `tolerance`, for sheets are to be there at once.
const MAX_ROWS: usize = 200;

/// What a car is made by.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShopFindings {
    /// Every rod end, by wheel and link, the inner end first.
    pub brackets: Vec<Bracket>,
    /// Every link, by wheel.
    pub clocking: Vec<LinkClock>,
    /// What a tape must read.
    pub tape_check: TapeCheck,
    /// Every link as it is sawn, by wheel.
    pub cut_list: Vec<CutLink>,
    /// What turns and shims do, by wheel.
    pub setting_chart: Vec<Setting>,
    /// What runs out first on the way up and down.
    #[serde(skip)]
    pub runs_out: BTreeMap<Side, Exhaustion>,
    /// Every point of the car.
    #[serde(skip)]
    pub points: Vec<NamedPoint>,
    /// What joins them, and the frame.
    #[serde(skip)]
    pub lines: Vec<NamedLine>,
    /// The brackets on the frame, seen along their bolts.
    #[serde(skip)]
    pub templates: Vec<BracketTemplate>,
    /// Ends of frame tubes that sit on another tube, of the left side.
    #[serde(skip)]
    pub tube_ends: Vec<TubeEnd>,
}

impl<'g> FabricationFindings<'g> {
    /// Of a car on its rig, for these wheels.
    pub fn of(rig: Rig<'g>, sides: &[Side]) -> Self {
        let wheels = || sides.iter().map(|&side| rig.wheel(side));
        let car = CarFindings::of(JudgedCar::of(rig.clone()), sides);
        let shop = ShopFindings {
            brackets: wheels().flat_map(brackets).collect(),
            clocking: wheels().flat_map(clocking).collect(),
            cut_list: wheels().flat_map(cut_list).collect(),
            setting_chart: wheels().flat_map(setting_chart).collect(),
            runs_out: wheels().filter_map(|wheel| Some((wheel.corner.side, Exhaustion::of(wheel)?))).collect(),
            tape_check: tape_check(rig.geometry, sides),
            points: named_points(rig.geometry, sides),
            lines: named_lines(rig.geometry, sides),
            templates: wheels().flat_map(templates).collect(),
            tube_ends: tube_ends(&rig.geometry.tubes),
        };
        let is_small = rig.geometry.travel.heave_rows() as usize <= MAX_ROWS;
        let study = || ToleranceFindings::of(car.judged.clone(), sides, weld_request(rig.geometry)).ok();
        let weld = if is_small { study() } else { None };
        let forces = ForcesFindings::of(&rig, sides, &[]);
        Self { shop, car, weld, forces }
    }
}

/// The study that `tolerance` makes without options, so that both tell the same figures.
fn weld_request(geometry: &Geometry) -> ToleranceRequest {
    ToleranceRequest {
        cars: USUAL_CARS as usize,
        seed: 1,
        errors: ErrorSource::of_file(geometry.weld.as_ref()),
        links: LinksAfterWelding::Adjusted,
        gauge_sd_deg: USUAL_GAUGE_SD_DEG,
        placing_sd_mm: USUAL_PLACING_SD_MM,
        jig_sd_mm: USUAL_JIG_SD_MM,
    }
}
