//! A car with its file, what was changed of it, and its own undo and redo.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use nalgebra::{Point3, Unit, Vector3};
use serde::Serialize;

use super::refusal::Refusal;
use crate::file::{GeometryFile, ReadError, RewriteError, StarterPoints, rewrite};
use crate::geometry::{Adjustments, Axis, Corner, CornerPoint, End, Geometry, PerSide, Pickup, Side};
use crate::outputs::sha256_hex;
use crate::present::{LengthFormat, loose_design};
use crate::studies::{LooseDesign, keep_room_of_point, keep_taped_lengths};

/// A point moved, or all points at once.
#[derive(Debug, Clone)]
pub(super) enum Change {
    Point { side: Side, point: CornerPoint, from: Place, to: Place, gesture: u64, was: Marks },
    Corners { what: &'static str, from: Box<Drawing>, to: Box<Drawing> },
}

/// Where a point is, side axes; a pickup on the frame with its bolt, which turns with a bracket round a tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    pub(super) at: Point3<f64>,
    pub(super) bolt: Option<Unit<Vector3<f64>>>,
}

/// What the file says of the points as a whole, until one of them is moved.
#[derive(Debug, Clone, Copy)]
pub(super) struct Marks {
    tuned: bool,
    planned: bool,
}

impl Marks {
    fn of(car: &Geometry) -> Self {
        Self { tuned: car.tuned, planned: car.planned }
    }
}

/// What a change is called that brought the points of the file.
pub(super) const READ_AGAIN: &str = "read again";

/// What a change of all points replaces.
#[derive(Debug, Clone)]
pub(super) struct Drawing {
    corners: PerSide<Corner>,
    adjustments: PerSide<Adjustments>,
    marks: Marks,
}

/// What is told of a file and stays while it does.
#[derive(Debug)]
pub(super) struct FileFacts {
    pub(super) input_sha256: String,
    pub(super) starter: Option<StarterPoints>,
}

impl FileFacts {
    pub(super) fn of(file: &GeometryFile) -> Arc<Self> {
        let input_sha256 = sha256_hex(file.text.as_bytes());
        Arc::new(Self { input_sha256, starter: StarterPoints::of(&file.geometry) })
    }
}

/// A car with its file and its own way back.
#[derive(Debug, Clone)]
pub(super) struct Variant {
    pub(super) file: GeometryFile,
    pub(super) facts: Arc<FileFacts>,
    /// Where it is; `None` of the demo car.
    pub(super) path: Option<PathBuf>,
    pub(super) now: Arc<Geometry>,
    pub(super) undo: Vec<Change>,
    pub(super) redo: Vec<Change>,
    /// As the file has it.
    pub(super) saved: Arc<Geometry>,
}

/// What the page calls a variant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub(super) enum Letter {
    A,
    B,
}

impl Letter {
    pub(super) fn other(self) -> Self {
        if self == Self::A { Self::B } else { Self::A }
    }

    /// As charts and sentences name it.
    pub(super) fn words(self) -> &'static str {
        if self == Self::A { "A" } else { "B" }
    }
}

/// A point to be moved.
#[derive(Debug, Clone, Copy)]
pub(super) struct Nudge {
    /// Of the file; both wheels move when the right one is the mirror image.
    pub side: Side,
    /// Which.
    pub point: CornerPoint,
    /// Car axes, mm.
    pub to: Point3<f64>,
    /// Nudges of one gesture are one step to undo; 0 for a step of its own.
    pub gesture: u64,
}

/// A bracket to be moved along what carries it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Walk {
    /// Of the file; both wheels move when the right one is the mirror image.
    pub side: Side,
    /// Which point.
    pub point: CornerPoint,
    /// Where the key points in the view, car axes, of any length.
    pub towards: [f64; 3],
    /// How far.
    pub step_mm: f64,
}

impl Variant {
    /// As its file has it.
    pub(super) fn new(file: GeometryFile, path: Option<PathBuf>, drawn: &Arc<Geometry>) -> Self {
        let [now, saved] = [(); 2].map(|()| Arc::clone(drawn));
        let facts = FileFacts::of(&file);
        Self { file, facts, path, now, undo: Vec::new(), redo: Vec::new(), saved }
    }

    pub(super) fn folder(&self) -> PathBuf {
        self.path.as_deref().and_then(Path::parent).map(Path::to_owned).unwrap_or_default()
    }

    /// `rear-2.toml` beside `rear.toml`: the first such name that is free.
    pub(super) fn free_name(&self, path: &Path) -> Option<String> {
        let stem = path.file_stem()?.to_str()?;
        let mut names = std::iter::once(format!("{stem}.toml")).chain((2..100).map(|k| format!("{stem}-{k}.toml")));
        // Its own is no free one, also when it was deleted.
        let is_own =
            |name: &String| self.path.as_deref().and_then(Path::file_name).is_some_and(|own| own == name.as_str());
        names.find(|name| !is_own(name) && self.folder().join(name).symlink_metadata().is_err())
    }

    /// Whether tuning put its points where they are, some moved by hand since: what was before its file was read again is gone.
    pub(super) fn was_tuned(&self) -> bool {
        let is_read = |change: &&Change| matches!(change, Change::Corners { what: READ_AGAIN, .. });
        let by_tuning = |change: &Change| matches!(change, Change::Corners { to, .. } if to.marks.tuned);
        self.file.geometry.tuned || self.undo.iter().rev().take_while(|change| !is_read(change)).any(by_tuning)
    }

    /// Whether its file lacks something of it.
    pub(super) fn is_changed(&self) -> bool {
        !self.has_corners_of(&self.saved)
    }

    pub(super) fn has_corners_of(&self, car: &Geometry) -> bool {
        (&self.now.left, &self.now.right) == (&car.left, &car.right)
    }

    pub(super) fn words(&self, change: &Change) -> String {
        match change {
            Change::Corners { what, .. } => (*what).to_owned(),
            Change::Point { side, point, from, to, .. } => {
                let name = self.now.corner(*side).name_of(*point);
                format!("{name} {}", step_words(LengthFormat(self.now.units), from.at, to.at))
            }
        }
    }

    /// Where its points are now, counted from those of its file.
    pub(super) fn moves(&self) -> Vec<String> {
        let sides = self.now.own_sides();
        let of_side = |&side: &Side| {
            let (now, saved) = (self.now.corner(side), self.saved.corner(side));
            let moved = now.points().into_iter().filter_map(move |(point, to)| {
                let from = place(saved, point)?.at;
                let who = if self.now.mirrored { String::new() } else { format!("{} ", side.name()) };
                let by = step_words(LengthFormat(self.now.units), from, to);
                (from != to).then(|| format!("{who}{} {by}", now.name_of(point)))
            });
            moved.collect::<Vec<_>>()
        };
        sides.iter().flat_map(of_side).collect()
    }

    /// Moves a point; `drawn` is the car that rooms are counted from. A gesture that ends where it began was none.
    pub(super) fn put(
        &mut self,
        (side, point): (Side, CornerPoint),
        [from, to]: [Place; 2],
        gesture: u64,
        drawn: &Geometry,
    ) -> Result<(), Refusal> {
        let change = Change::Point { side, point, from, to, gesture, was: Marks::of(&self.now) };
        let changed = self.changed(&change, true, drawn);
        check(&self.file, &changed)?;
        self.redo.clear();
        match self.undo.last_mut() {
            Some(Change::Point { side: of, point: last, from: start, to: end, gesture: drag, .. })
                if gesture != 0 && (*of, *last, *drag) == (side, point, gesture) =>
            {
                *end = to;
                if *start == to {
                    // Back where it began: nothing is left to undo, nor to redo.
                    self.undo(drawn);
                    self.redo.clear();
                    return Ok(());
                }
            }
            _ => self.undo.push(change),
        }
        self.now = Arc::new(changed);
        Ok(())
    }

    /// Takes the last change back, if there is one.
    pub(super) fn undo(&mut self, drawn: &Geometry) -> bool {
        let Some(change) = self.undo.pop() else { return false };
        self.now = Arc::new(self.changed(&change, false, drawn));
        self.redo.push(change);
        true
    }

    /// Does it again.
    pub(super) fn redo(&mut self, drawn: &Geometry) -> bool {
        let Some(change) = self.redo.pop() else { return false };
        self.now = Arc::new(self.changed(&change, true, drawn));
        self.undo.push(change);
        true
    }

    /// All points of another car at once, as one step.
    pub(super) fn take(&mut self, what: &'static str, other: &Geometry, drawn: &Geometry) -> Result<(), Refusal> {
        check(&self.file, other)?;
        let (from, to) = (Box::new(Drawing::of(&self.now)), Box::new(Drawing::of(other)));
        let change = Change::Corners { what, from, to };
        self.now = Arc::new(self.changed(&change, true, drawn));
        self.undo.push(change);
        self.redo.clear();
        Ok(())
    }

    /// The car with a change done or taken back.
    fn changed(&self, change: &Change, done: bool, drawn: &Geometry) -> Geometry {
        let mut car = Geometry::clone(&self.now);
        match change {
            Change::Point { side, point, from, to, was, .. } => {
                let at = if done { *to } else { *from };
                car.tuned = was.tuned && !done;
                // A built car with a point moved is a plan for it.
                car.planned = was.planned || (done && car.built);
                let sides = if car.mirrored { &Side::BOTH[..] } else { std::slice::from_ref(side) };
                for &side in sides {
                    put(car.corner_mut(side), *point, at);
                    keep_room_of_point(drawn, &mut car, side, *point);
                }
            }
            Change::Corners { from, to, .. } => {
                let drawing = if done { to } else { from };
                car.left = drawing.corners.left.clone();
                car.right = drawing.corners.right.clone();
                car.adjustments = drawing.adjustments.clone();
                (car.tuned, car.planned) = (drawing.marks.tuned, drawing.marks.planned);
            }
        }
        keep_taped_lengths(drawn, &mut car);
        car
    }
}

/// `1.0 mm outboard, 2.0 mm up`, of places in side axes.
fn step_words(lengths: LengthFormat, from: Point3<f64>, to: Point3<f64>) -> String {
    let moved = to - from;
    let axes = Axis::ALL.into_iter().filter(|axis| moved[axis.index()] != 0.0);
    let moves = axes.map(|axis| {
        let mm = moved[axis.index()];
        format!("{} {}", lengths.with_unit(mm.abs()), axis.way(mm))
    });
    moves.collect::<Vec<_>>().join(", ")
}

impl Drawing {
    pub(super) fn of(car: &Geometry) -> Self {
        Self {
            corners: PerSide { left: car.left.clone(), right: car.right.clone() },
            adjustments: car.adjustments.clone(),
            marks: Marks::of(car),
        }
    }
}

/// A point of a corner by the name that tables give it.
pub(super) fn point_named(corner: &Corner, name: &str) -> Result<CornerPoint, Refusal> {
    let mut points = corner.points().into_iter().map(|(point, _)| point);
    points.find(|&point| corner.name_of(point) == name).ok_or_else(no_such_point)
}

pub(super) fn no_such_point() -> Refusal {
    Refusal::unsound("the car has no such point", "load the page again")
}

pub(super) fn place(corner: &Corner, point: CornerPoint) -> Option<Place> {
    let (_, at) = corner.points().into_iter().find(|(of, _)| *of == point)?;
    let bolt = match point {
        CornerPoint::Pickup(Pickup { link, end: End::Chassis }) => corner.links[link].chassis_bolt,
        _ => None,
    };
    Some(Place { at, bolt })
}

fn put(corner: &mut Corner, point: CornerPoint, to: Place) {
    if let Some((_, place)) = corner.points_mut().into_iter().find(|(of, _)| *of == point) {
        *place = to.at;
    }
    if let CornerPoint::Pickup(Pickup { link, end: End::Chassis }) = point {
        corner.links[link].chassis_bolt = to.bolt;
    }
    corner.carry_spring();
}

/// The car of a file with the points of another one; `None` when they are no cars of the same parts.
pub(super) fn points_on(file: &Geometry, other: &Geometry) -> Option<Geometry> {
    let mut car = file.clone();
    for side in Side::BOTH {
        let (from, names) =
            (other.corner(side), |corner: &Corner| corner.links.each_ref().map(|link| link.name.clone()));
        let points: Vec<CornerPoint> = from.points().into_iter().map(|(point, _)| point).collect();
        let same = |corner: &Corner| corner.points().into_iter().map(|(point, _)| point).eq(points.iter().copied());
        if file.mirrored != other.mirrored || names(from) != names(file.corner(side)) || !same(file.corner(side)) {
            return None;
        }
        for point in points {
            put(car.corner_mut(side), point, place(from, point)?);
            keep_room_of_point(file, &mut car, side, point);
        }
    }
    keep_taped_lengths(file, &mut car);
    (car.tuned, car.planned) = (other.tuned, other.planned);
    Some(car)
}

/// A car that could not be saved or not be moved is not shown either.
pub(super) fn check(file: &GeometryFile, car: &Geometry) -> Result<(), Refusal> {
    rewrite(file, car).map_err(|error| unwritable(&error))?;
    for side in Side::BOTH {
        if let Some(loose) = LooseDesign::find(car.corner(side)) {
            let (what, advice) = loose_design(loose, side);
            return Err(Refusal::unsound(what, advice));
        }
    }
    Ok(())
}

pub(super) fn unwritable(error: &RewriteError) -> Refusal {
    let advice = match error {
        // The file is sound; what the hand asked for is not.
        RewriteError::Unsound(_) => "nothing was changed; choose a place that a car can have",
        RewriteError::NotToml(_) => "correct the file, then read it again",
        RewriteError::NoPlace { .. } | RewriteError::OffLine { .. } => error.advice(),
    };
    let what = match error {
        // No line of the file has these numbers.
        RewriteError::Unsound(ReadError::Problems { problems, .. }) => {
            let each: Vec<&str> = problems.iter().map(|problem| problem.what.as_str()).collect();
            format!("no car has such points: {}", each.join("; "))
        }
        _ => error.to_string(),
    };
    Refusal::unsound(what, advice)
}

/// A file beside the car's own, never a path.
pub(super) fn plain_name(name: &str) -> Result<&str, Refusal> {
    let is_plain = |c: char| c.is_alphanumeric() || "-_. ".contains(c);
    let stem = name.strip_suffix(".toml").unwrap_or_default();
    if stem.trim().is_empty() || stem.starts_with('.') || name.len() > 100 || !name.chars().all(is_plain) {
        let advice = "use letters, digits, spaces, - and _, and .toml at the end";
        return Err(Refusal::unsaved(format!("{name:?} is no name for a geometry file"), advice, None));
    }
    Ok(name)
}
