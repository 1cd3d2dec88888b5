//! Each corner at design in numbers that a builder can measure on the car, how near it is to binding, and what the file leaves
//! open.

use nalgebra::Vector3;
use serde::{Serialize, Serializer};

use super::bolts::{BestBolt, best_bolts};
use super::clearance::{AssumedSize, GapAtDesign, assumed, without_body};
use super::heave::SideBind;
use super::plausibility::{Doubt, doubts};
use super::rig::{Rig, SingularDesign, WheelStop};
use super::stations::stations;
use super::verdicts::State;
use crate::geometry::{ChassisPlace, Corner, Geometry, Halfshaft, Interval, LinkAdjustments, PerSide, Quantity, Side};
use crate::measures::{camber_deg, contact_point, toe_deg, toe_mm};
use crate::mechanism::{Linkage, NEARLY_SINGULAR, WheelPath, margin_at_design};
use crate::strength::Material;

/// How far a wheel is driven on in search of a bind, mm either way; a racing car's stops come earlier.
pub const OVERTRAVEL_MM: f64 = 150.0;
/// Below this margin a corner is told to be close to binding.
const CLOSE_TO_BINDING: f64 = 0.02;
/// A healthy corner has this margin and more.
const HEALTHY: f64 = 0.1;

/// Everything that `check` tells of a car.
#[derive(Debug, Clone, Serialize)]
pub struct CheckFindings {
    /// Of the car.
    pub name: String,
    /// The right side is the mirror image of the left.
    pub mirrored: bool,
    /// Distance between the contact points at design, across the car, mm.
    pub track_mm: f64,
    /// Height of the left contact point above the right one at design, mm.
    pub contact_height_difference_mm: f64,
    /// Both corners at design.
    pub wheels: PerSide<Inspection>,
    /// What a builder should look at again, one sentence each; empty for a sound car.
    pub warnings: Vec<Doubt>,
    /// What no command can tell for want of data.
    pub lacking: Vec<Lacking>,
    /// Gap that every pair of bodies must keep, mm.
    pub least_gap_mm: f64,
    /// The file names none.
    pub least_gap_is_default: bool,
    /// What has data and no limit in the file; by its key in JSON.
    #[serde(serialize_with = "by_key")]
    pub limits_not_set: Vec<Quantity>,
    /// The best way for the bolt of every rod end to point, when it was asked for.
    pub best_bolts: Option<PerSide<Vec<BestBolt>>>,
}

/// One corner at design.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Inspection {
    /// Which corner.
    pub side: Side,
    /// Per wheel, toe-in positive.
    pub toe_deg: f64,
    /// Toe of the wheel over [`crate::geometry::Wheel::toe_span_mm`].
    pub toe_mm: f64,
    /// Over which toe is stated in mm.
    pub toe_span_mm: f64,
    /// Top of the wheel leaning out positive.
    pub camber_deg: f64,
    /// Contact point on a level road, car axes.
    pub contact_mm: [f64; 3],
    /// In the order of the file.
    pub links: Vec<LinkInspection>,
    /// Between the centres of the halfshaft's joints, mm; `None` without a halfshaft.
    pub halfshaft_mm: Option<f64>,
    /// Gap of every pair of bodies as drawn, the nearest first, mm; without those links that have no chassis point.
    pub clearance: Vec<GapAtDesign>,
    /// Thicknesses that were taken because the file gives none.
    pub assumed: Vec<AssumedSize>,
    /// `None` while a link has no chassis point.
    #[serde(flatten)]
    pub assembled: Option<Assembled>,
}

/// What of a corner can be told once every link has both its points.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Assembled {
    /// Margin against binding at design, see [`margin_at_design`]; no unit.
    pub margin: f64,
    /// The margin in words.
    pub health: Health,
    /// Where the wheel binds when driven on to [`OVERTRAVEL_MM`], if it does.
    pub binds_in_droop: Option<SideBind>,
    /// The same on the way up.
    pub binds_in_bump: Option<SideBind>,
    /// Between the centres of the halfshaft's joints over bump and droop, or as far as the wheel moves, mm; `None` without a
    /// halfshaft.
    pub halfshaft_over_travel_mm: Option<Interval>,
}

/// One link as tape and callipers show it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LinkInspection {
    /// Of the link.
    pub name: String,
    /// Between its two points; `None` while it has no chassis point.
    pub eye_to_eye_mm: Option<f64>,
    /// It has neither a chassis point nor a box for one.
    pub lacks_room: bool,
    /// From its upright hole to those of the links after it, in the order of the file.
    pub holes_mm: Vec<f64>,
}

/// How near a corner is to binding at design.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Health {
    /// Binding at design or so near to it that a step further binds.
    AllButBinding,
    /// A little error of the points can make it bind.
    CloseToBinding,
    /// Clear of it, by less than a healthy corner is.
    LessThanHealthy,
    /// Far from it.
    WellClear,
}

/// Something that is not checked, and the table or keys that would give it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Lacking {
    /// What cannot be told.
    pub what: String,
    /// The keys that would tell it.
    pub needs: String,
}

impl CheckFindings {
    /// The only error is a design that is singular, the left side first.
    pub fn of(geometry: &Geometry) -> Result<Self, SingularDesign> {
        let wheels = PerSide::try_of(|side| Inspection::of(geometry, side))?;
        let [_, left_mm, left_height_mm] = wheels.left.contact_mm;
        let [_, right_mm, right_height_mm] = wheels.right.contact_mm;
        Ok(Self {
            name: geometry.name.clone(),
            mirrored: geometry.looks_alike(),
            track_mm: left_mm - right_mm,
            contact_height_difference_mm: left_height_mm - right_height_mm,
            wheels,
            warnings: doubts(geometry),
            lacking: lacking(geometry),
            least_gap_mm: geometry.clearance.least_mm(),
            least_gap_is_default: geometry.clearance.least_mm.is_none(),
            limits_not_set: geometry.without_limit(),
            best_bolts: None,
        })
    }

    /// The same with the best bolt of every rod end of both wheels.
    pub fn with_best_bolts(self, geometry: &Geometry) -> Result<Self, SingularDesign> {
        let rig = Rig::new(geometry)?;
        Ok(Self { best_bolts: Some(PerSide::of(|side| best_bolts(rig.wheel(side)))), ..self })
    }
}

impl Inspection {
    /// The only error is a design that is singular.
    pub fn of(geometry: &Geometry, side: Side) -> Result<Self, SingularDesign> {
        let corner = geometry.corner(side);
        let assembled = geometry.is_placed(side).then(|| Assembled::of(geometry, side)).transpose()?;
        let may = &geometry.adjustments[side].links;
        let wheel = &corner.wheel;
        let toe_deg = toe_deg(&wheel.spin_axis);
        let contact = contact_point(&wheel.centre, &wheel.spin_axis, wheel.tyre_radius_mm, &Vector3::z());
        Ok(Self {
            side,
            toe_deg,
            toe_mm: toe_mm(toe_deg, wheel.toe_span_mm),
            toe_span_mm: wheel.toe_span_mm,
            camber_deg: camber_deg(&wheel.spin_axis),
            contact_mm: side.to_car(contact).into(),
            links: (0..corner.links.len()).map(|link| LinkInspection::of(corner, link, &may[link])).collect(),
            halfshaft_mm: corner.halfshaft.as_ref().map(Halfshaft::length_mm),
            clearance: GapAtDesign::all(geometry, corner),
            assumed: assumed(geometry, side),
            assembled,
        })
    }

    /// Bodies are nearer to each other at design than they must be.
    pub fn has_too_near(&self) -> bool {
        self.clearance.iter().any(|gap| gap.state == State::Fail)
    }
}

fn halfshaft_over_travel_mm(geometry: &Geometry, corner: &Corner) -> Option<Interval> {
    let (shaft, travel) = (corner.halfshaft.as_ref()?, &geometry.travel);
    let rows_mm = stations(-travel.droop_mm, travel.bump_mm, travel.step_mm);
    let path = WheelPath::follow(&Linkage::new(corner), &rows_mm).ok()?;
    let postures = rows_mm.iter().filter_map(|&bump_mm| path.at(bump_mm));
    Interval::of(postures.map(|posture| (posture.point(&shaft.outer) - shaft.inner).norm()))
}

impl Assembled {
    fn of(geometry: &Geometry, side: Side) -> Result<Self, SingularDesign> {
        let corner = geometry.corner(side);
        let linkage = Linkage::new(corner);
        let path =
            WheelPath::follow(&linkage, &[-OVERTRAVEL_MM, OVERTRAVEL_MM]).map_err(|_| SingularDesign { side })?;
        let margin = margin_at_design(&linkage);
        Ok(Self {
            margin,
            health: Health::of(margin),
            binds_in_droop: path.binds_in_droop.map(|bind| SideBind::of(corner, WheelStop::Droop, bind)),
            binds_in_bump: path.binds_in_bump.map(|bind| SideBind::of(corner, WheelStop::Bump, bind)),
            halfshaft_over_travel_mm: halfshaft_over_travel_mm(geometry, corner),
        })
    }
}

impl LinkInspection {
    fn of(corner: &Corner, index: usize, may: &LinkAdjustments) -> Self {
        let link = &corner.links[index];
        let others = corner.links[index + 1..].iter();
        Self {
            name: link.name.clone(),
            eye_to_eye_mm: may.is_placed().then(|| link.length_mm()),
            lacks_room: may.place == ChassisPlace::Nowhere,
            holes_mm: others.map(|other| (link.upright - other.upright).norm()).collect(),
        }
    }
}

impl Health {
    fn of(margin: f64) -> Self {
        match margin {
            m if m < NEARLY_SINGULAR => Health::AllButBinding,
            m if m < CLOSE_TO_BINDING => Health::CloseToBinding,
            m if m < HEALTHY => Health::LessThanHealthy,
            _ => Health::WellClear,
        }
    }
}

fn by_key<S: Serializer>(quantities: &[Quantity], serializer: S) -> Result<S::Ok, S::Error> {
    let keys = quantities.iter().filter_map(|quantity| quantity.definition().limit.key_and_table());
    serializer.collect_seq(keys.map(|(key, _)| key))
}

fn lacking(geometry: &Geometry) -> Vec<Lacking> {
    let any = |lacks: fn(&Corner) -> bool| Side::BOTH.into_iter().any(|side| lacks(geometry.corner(side)));
    let car = &geometry.car;
    let keys = |keys: &[(&str, Option<f64>)]| {
        let absent = keys.iter().filter(|(_, value)| value.is_none()).map(|&(key, _)| key).collect::<Vec<_>>();
        (!absent.is_empty()).then(|| format!("{} in [car]", absent.join(", ")))
    };
    let (wheelbase, height) = (("wheelbase", car.wheelbase_mm), ("cg_height", car.cg_height_mm));
    let bolts = any(|c| c.links.iter().any(|l| l.chassis_bolt.is_none() || l.upright_bolt.is_none()));
    let table = |absent: bool, name: &str| absent.then(|| name.to_owned());
    let all = [
        ("halfshaft plunge and joint angles", table(any(|c| c.halfshaft.is_none()), "[halfshaft]")),
        ("spring", table(any(|c| c.spring.is_none()), "[spring]")),
        ("anti-squat", keys(&[wheelbase, height, ("rear_drive_share", car.rear_drive_share)])),
        ("anti-lift", keys(&[wheelbase, height, ("rear_brake_share", car.rear_brake_share)])),
        ("rod-end angles", table(bolts, "`chassis_bolt` and `upright_bolt` on every link")),
    ];
    let all = all.into_iter().filter_map(|(what, needs)| needs.map(|needs| Lacking { what: what.to_owned(), needs }));
    all.chain(no_clearance(geometry)).chain(unknown_metals(geometry)).collect()
}

/// Metals of tubes that neither the program nor the file knows, each once.
fn unknown_metals(geometry: &Geometry) -> Vec<Lacking> {
    let of_links =
        Side::BOTH.into_iter().flat_map(|side| &geometry.corner(side).links).filter_map(|link| link.tube.as_ref());
    let names = of_links.map(|tube| &tube.material).chain(geometry.tubes.iter().map(|tube| &tube.material)).flatten();
    let mut found: Vec<Lacking> = Vec::new();
    for name in names.filter(|name| geometry.materials.iter().all(|metal| metal.name != **name)) {
        let Err(why) = Material::named(name) else { continue };
        // Another metal may be called nearly like it, so that nothing is said of what was meant.
        let own = geometry.materials.iter().map(|metal| metal.name.as_str());
        let near = Material::like(name).or_else(|| { own }.find(|own| strsim::osa_distance(own, name) == 1));
        let near = near.map_or(String::new(), |near| format!("; {near:?} is known"));
        let (what, needs) =
            (format!("strength of tubes of {name:?}, which {why}"), format!("[[material]] of that name{near}"));
        if found.iter().all(|lacking| lacking.what != what) {
            found.push(Lacking { what, needs });
        }
    }
    found
}

/// Parts of either side that have no body, in one line.
fn no_clearance(geometry: &Geometry) -> Option<Lacking> {
    let (mut names, mut keys): (Vec<String>, Vec<String>) =
        without_body(geometry, Side::Left).into_iter().map(|part| (part.what, part.needs)).unzip();
    for part in
        without_body(geometry, Side::Right).into_iter().filter(|part| !keys.contains(&part.needs)).collect::<Vec<_>>()
    {
        // Of one part the two sides may lack different keys.
        keys.push(part.needs.replace("[wheel]", "[right.wheel]"));
        names.extend((!names.contains(&part.what)).then_some(part.what));
    }
    (!names.is_empty()).then(|| Lacking { what: format!("clearance of {}", names.join(", ")), needs: keys.join(", ") })
}
