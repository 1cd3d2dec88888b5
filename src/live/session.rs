//! One file and what was done to its car since it was read.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use nalgebra::Point3;

use super::points::ride_words;
use super::refusal::Refusal;
use super::tuning::Tuning;
use super::variant::{
    Change, Drawing, FileFacts, Letter, Nudge, Place, READ_AGAIN, Variant, Walk, check, no_such_point, place,
    plain_name, points_on, unwritable,
};
use crate::file::{GeometryFile, MAX_LENGTH_MM, demo_to_go_on_with, rewrite};
use crate::geometry::{Axis, CornerPoint, Geometry, Side};
use crate::outputs::{WriteError, replace_file, write_file};
use crate::present::LengthFormat;
use crate::studies::Ride;

/// One car on the page, and perhaps a second one to compare with.
#[derive(Debug, Clone)]
pub struct Session {
    /// The car as the file had it first: rooms are counted from it.
    drawn: Arc<Geometry>,
    shown: Variant,
    /// The variant that is kept aside.
    other: Option<Variant>,
    /// Which of the two is shown.
    letter: Letter,
    /// The car at the start until one is pinned.
    pinned: Arc<Geometry>,
    has_pinned: bool,
    /// What is compared with: the other variant, or the pinned car.
    beside_other: bool,
    revision: u64,
    /// Of this start of the program.
    run: String,
    tuning: Option<Tuning>,
}

impl Session {
    /// On a file that was read; without a path it is the demo car.
    pub fn new(file: GeometryFile, path: Option<PathBuf>) -> Self {
        let drawn = Arc::new(file.geometry.clone());
        let pinned = Arc::clone(&drawn);
        let shown = Variant::new(file, path, &drawn);
        let (other, letter) = (None, Letter::A);
        let (has_pinned, beside_other) = (false, false);
        Self {
            drawn,
            shown,
            other,
            letter,
            pinned,
            has_pinned,
            beside_other,
            revision: 0,
            run: run_of_now(),
            tuning: None,
        }
    }

    /// Counts every change of what is shown.
    pub(super) fn revision(&self) -> u64 {
        self.revision
    }

    /// Tells this start of the program from any other.
    pub(super) fn run(&self) -> &str {
        &self.run
    }

    /// The car as it is now.
    pub(super) fn car(&self) -> &Arc<Geometry> {
        &self.shown.now
    }

    /// The variant that is shown.
    pub(super) fn letter(&self) -> Letter {
        self.letter
    }

    /// The variant that is kept aside.
    pub(super) fn other(&self) -> Option<Letter> {
        self.other.is_some().then(|| self.letter.other())
    }

    /// The car that it is compared with, with its letter when it is the other variant.
    pub(super) fn beside(&self) -> (&Arc<Geometry>, Option<Letter>) {
        match self.other.as_ref().filter(|_| self.beside_other) {
            Some(other) => (&other.now, Some(self.letter.other())),
            None => (&self.pinned, None),
        }
    }

    /// Whether a car was pinned, compared with now or not.
    pub(super) fn has_pinned(&self) -> bool {
        self.has_pinned
    }

    /// What the car that it is compared with is called.
    pub(super) fn beside_name(&self) -> &'static str {
        match self.beside() {
            (_, Some(letter)) => letter.words(),
            (_, None) if self.has_pinned => "pinned",
            (_, None) => "at start",
        }
    }

    /// The car as it was read.
    pub(super) fn drawn(&self) -> &Arc<Geometry> {
        &self.drawn
    }

    /// The file as it was read or saved last.
    pub(super) fn file(&self) -> &GeometryFile {
        &self.shown.file
    }

    /// What is told of that file.
    pub(super) fn facts(&self) -> &Arc<FileFacts> {
        &self.shown.facts
    }

    /// The name under which a save would put it: that of its file, a free one for the demo car and for a copy beside the variant that
    /// has the file.
    pub(super) fn file_name(&self) -> String {
        let own = self.shown.path.as_deref().and_then(|path| path.file_name()?.to_str());
        let name = match own {
            // The numbers of the car that stands there stay in its file.
            Some(own) if self.is_new_plan() => {
                let stem = own.strip_suffix(".toml").unwrap_or(own);
                self.shown.free_name(Path::new(&format!("{stem}-plan.toml")))
            }
            None => self.shown.free_name(Path::new("my-car.toml")),
            Some(own) if self.is_copy() => {
                let (stem, letter) = (own.strip_suffix(".toml").unwrap_or(own), self.letter.words().to_lowercase());
                self.shown.free_name(Path::new(&format!("{stem}-{letter}.toml")))
            }
            Some(own) => Some(own.to_owned()),
        };
        name.unwrap_or_default()
    }

    /// Two variants began with one file: it is that of A.
    fn is_copy(&self) -> bool {
        let shares = self.other.as_ref().is_some_and(|other| other.path == self.shown.path);
        self.letter == Letter::B && shares && !self.is_demo()
    }

    /// A built car with points moved, whose file still has it as it stands.
    pub(super) fn is_new_plan(&self) -> bool {
        let (now, file) = (&self.shown.now, &self.shown.file.geometry);
        now.built && now.planned && !file.planned
    }

    /// The demo car has no file of its own.
    pub(super) fn is_demo(&self) -> bool {
        self.shown.path.is_none()
    }

    /// Whether tuning put the points where they are, some moved by hand since.
    pub(super) fn was_tuned(&self) -> bool {
        self.shown.was_tuned()
    }

    /// Whether the file lacks something that the page shows.
    pub(super) fn is_changed(&self) -> bool {
        self.shown.is_changed()
    }

    /// What would be lost without a save, a line for each variant: `variant B, rear.toml: toe link chassis 1.0 mm up`.
    pub(super) fn unsaved(&self) -> Vec<String> {
        let is_copy = |other: &Variant| other.has_corners_of(&self.shown.now);
        let other = self.other.as_ref().filter(|other| !is_copy(other)).map(|other| (self.letter.other(), other));
        let changed = [(self.letter, &self.shown)].into_iter().chain(other).filter(|(_, variant)| variant.is_changed());
        let line = |(letter, variant): (Letter, &Variant)| {
            let who = self.other.as_ref().map_or_else(String::new, |_| format!("variant {}, ", letter.words()));
            format!("{who}{}: {}", variant.file.source, variant.moves().join("; "))
        };
        changed.map(line).collect()
    }

    /// What undo and redo would do, in words.
    pub(super) fn steps(&self) -> [Option<String>; 2] {
        [&self.shown.undo, &self.shown.redo].map(|steps| steps.last().map(|change| self.shown.words(change)))
    }

    /// Refuses a request of a page that was loaded from an earlier start of the program; empty where the page says of none.
    pub(super) fn expect_run(&self, run: &str) -> Result<(), Refusal> {
        if run.is_empty() || run == self.run { Ok(()) } else { Err(Refusal::started_anew()) }
    }

    /// Refuses a request that was made on another car than this, and one that would change a car that is being tuned.
    pub(super) fn expect(&self, revision: u64) -> Result<(), Refusal> {
        if revision != self.revision {
            return Err(Refusal::stale());
        }
        if self.is_tuned_now() { Err(Refusal::being_tuned()) } else { Ok(()) }
    }

    fn is_tuned_now(&self) -> bool {
        self.tuning.as_ref().is_some_and(Tuning::is_running)
    }

    /// Moves a point, if the file could be written with it and the links then hold the wheel.
    pub(super) fn nudge(&mut self, nudge: Nudge) -> Result<(), Refusal> {
        let Nudge { side, point, to, gesture } = nudge;
        self.expect_on_a_car(to)?;
        let (at, side) = (side.to_car(to), self.kept(side)); // its own inverse
        let from = place(self.shown.now.corner(side), point).ok_or_else(no_such_point)?;
        self.put(side, point, [from, Place { at, ..from }], gesture)
    }

    /// Refuses a place that no file may have, in the numbers that were typed.
    fn expect_on_a_car(&self, to: Point3<f64>) -> Result<(), Refusal> {
        let lengths = LengthFormat(self.shown.now.units);
        match Axis::ALL.into_iter().find(|axis| to[axis.index()].abs() > MAX_LENGTH_MM) {
            None => Ok(()),
            Some(axis) => {
                let (at, most) = (lengths.with_unit(to[axis.index()]), lengths.with_unit(MAX_LENGTH_MM));
                let what = format!("{} = {at} is outside -{most} to {most}", axis.name());
                Err(Refusal::unsound(what, "nothing was changed; choose a place that a car can have"))
            }
        }
    }

    /// Moves a bracket along its tube or in the plane of its room.
    pub(super) fn walk(&mut self, walk: Walk) -> Result<(), Refusal> {
        let Walk { side, point, towards, step_mm } = walk;
        let towards = side.to_car(Point3::from(towards)).coords; // its own inverse
        let side = self.kept(side);
        let from = place(self.shown.now.corner(side), point).ok_or_else(no_such_point)?;
        let ride = Ride::of(&self.shown.now, side, point);
        let ride = ride
            .ok_or_else(|| Refusal::unsound("it rides on no tube and has no plane of room", "load the page again"))?;
        let link = towards.try_normalize(0.0).and_then(|towards| ride.step(&towards, step_mm)).ok_or_else(|| {
            let what = format!("it keeps to {}, which does not go that way", ride_words(&ride));
            Refusal::unsound(what, "turn the view, or take the tick off “Arrow keys, not a drag, keep the bracket …”")
        })?;
        let to = Place { at: link.chassis, bolt: link.chassis_bolt };
        self.put(side, point, [from, to], 0)
    }

    /// The side that a change is kept of: the left one for both when they are mirror images.
    fn kept(&self, side: Side) -> Side {
        if self.shown.now.mirrored { Side::Left } else { side }
    }

    fn put(&mut self, side: Side, point: CornerPoint, [from, to]: [Place; 2], gesture: u64) -> Result<(), Refusal> {
        if from != to {
            self.shown.put((side, point), [from, to], gesture, &self.drawn)?;
            self.revision += 1;
        }
        Ok(())
    }

    /// Takes the last change back.
    pub(super) fn undo(&mut self) {
        self.revision += u64::from(self.shown.undo(&self.drawn));
    }

    /// Does it again.
    pub(super) fn redo(&mut self) {
        self.revision += u64::from(self.shown.redo(&self.drawn));
    }

    /// Compares with the car of now from here on.
    pub(super) fn pin(&mut self) {
        self.pinned = Arc::clone(&self.shown.now);
        (self.has_pinned, self.beside_other) = (true, false);
        self.revision += 1;
    }

    /// Keeps the car of now as the other variant too, and compares with that from here on; what the other was, its undo brings back.
    pub(super) fn copy(&mut self) {
        let (now, what) = (&self.shown.now, if self.letter == Letter::A { "copied from A" } else { "copied from B" });
        match &mut self.other {
            None => self.other = Some(self.shown.clone()),
            Some(other) => {
                let [from, to] = [&other.now, now].map(|car| Box::new(Drawing::of(car)));
                other.undo.push(Change::Corners { what, from, to });
                other.redo.clear();
                other.now = Arc::clone(now);
            }
        }
        self.beside_other = true;
        self.revision += 1;
    }

    /// Shows the other variant and compares with this one, if there are two.
    pub(super) fn switch(&mut self) {
        if let Some(other) = &mut self.other {
            std::mem::swap(&mut self.shown, other);
            self.letter = self.letter.other();
            self.beside_other = true;
            self.revision += 1;
        }
    }

    /// The last tuning that was started.
    pub(super) fn tuning(&self) -> Option<&Tuning> {
        self.tuning.as_ref()
    }

    /// A new one of the car of this revision, unless one runs.
    pub(super) fn begin_tuning(&mut self, revision: u64) -> Result<Tuning, Refusal> {
        if self.is_tuned_now() {
            return Err(Refusal::busy());
        }
        self.expect(revision)?;
        let tuning = Tuning::default();
        self.tuning = Some(tuning.clone());
        Ok(tuning)
    }

    /// All points of another car at once, as one step; false when they are where they were, which is none.
    pub(super) fn take(&mut self, what: &'static str, other: &Geometry) -> Result<bool, Refusal> {
        if self.shown.has_corners_of(other) {
            return Ok(false);
        }
        self.shown.take(what, other, &self.drawn)?;
        self.revision += 1;
        Ok(true)
    }

    /// Reads the file of the car again: its points are then those of the file, and one step brings back where they stood.
    pub(super) fn read_again(&mut self) -> Result<(), Refusal> {
        let Some(path) = &self.shown.path else {
            return Err(Refusal::unsaved("the demo car has no file of its own", "save it under a name first", None));
        };
        let file = GeometryFile::read(path)
            .map_err(|error| Refusal::unsound(error, "correct the file, then read it again"))?;
        if let Some(name) = file.geometry.unplaced().first() {
            let what = format!("link {name:?} of the file has no chassis point");
            return Err(Refusal::unsound(what, "give it one, then read the file again"));
        }
        check(&file, &file.geometry)?;
        let (now, read) = (&self.shown.now, &file.geometry);
        let stood = points_on(read, now);
        if self.is_changed() && stood.is_none() {
            let advice = "save this car under another name first, then read the file again";
            let what = "the file has other parts than this car, and no step could bring back what was moved here";
            return Err(Refusal::unsaved(what, advice, self.shown.free_name(path)));
        }
        match stood {
            Some(stood) if (&stood.left, &stood.right) == (&read.left, &read.right) => {}
            Some(stood) => {
                let [from, to] = [&stood, read].map(|car| Box::new(Drawing::of(car)));
                self.shown.undo.push(Change::Corners { what: READ_AGAIN, from, to });
            }
            None => self.shown.undo.clear(),
        }
        self.shown.redo.clear();
        self.drawn = Arc::new(read.clone());
        (self.shown.now, self.shown.saved) = (Arc::clone(&self.drawn), Arc::clone(&self.drawn));
        self.shown.facts = FileFacts::of(&file);
        self.shown.file = file;
        self.revision += 1;
        Ok(())
    }

    /// Writes the file, comments kept: its own, which must still say what was read of it, or a new one beside it.
    pub(super) fn save(&mut self, name: Option<&str>) -> Result<String, Refusal> {
        let copy = (self.is_copy() || self.is_new_plan()).then(|| self.file_name());
        let name = name.or(copy.as_deref());
        let mut text = rewrite(&self.shown.file, &self.shown.now).map_err(|error| unwritable(&error))?;
        if self.is_demo() {
            text = demo_to_go_on_with(&text);
        }
        let own =
            self.shown.path.clone().filter(|own| name.is_none_or(|name| own.file_name().is_some_and(|of| of == name)));
        let path = match (own, name) {
            (Some(own), _) => {
                replace_file(&own, &self.shown.file.text, &text).map_err(|error| self.not_saved(&own, &error))?;
                own
            }
            (None, Some(name)) => {
                let path = self.shown.folder().join(plain_name(name)?);
                write_file(&path, &text, false).map_err(|error| self.not_saved(&path, &error))?;
                path
            }
            (None, None) => {
                let free = Some(self.file_name());
                return Err(Refusal::unsaved("the demo car has no file of its own", "give it a name", free));
            }
        };
        let saved = GeometryFile::read(&path).map_err(|error| Refusal::fault(&error))?;
        let said = saved.source.clone();
        self.shown.facts = FileFacts::of(&saved);
        (self.shown.file, self.shown.path, self.shown.saved) = (saved, Some(path), Arc::clone(&self.shown.now));
        self.revision += 1;
        Ok(said)
    }

    fn not_saved(&self, path: &Path, error: &WriteError) -> Refusal {
        let is_own = self.shown.path.as_deref() == Some(path);
        let other = self.other.as_ref().filter(|other| other.path.as_deref() == Some(path));
        let advice = match (other, error) {
            (Some(_), _) => {
                let other = self.letter.other().words();
                format!(
                    "That is the file of variant {other}: save this one under a name of its own. Nothing was written."
                )
            }
            (None, WriteError::Changed { .. }) if is_own && path.symlink_metadata().is_err() => {
                "It was deleted or renamed since it was read. Save this car under another name. Nothing was written."
                    .to_owned()
            }
            (None, WriteError::Changed { .. }) if is_own => {
                "Save it under another name, or read the file again: undo then brings \
                back the points that were moved here. Nothing was written."
                    .to_owned()
            }
            (None, _) => "Save it under another name. Nothing was written.".to_owned(),
        };
        let what = match error {
            WriteError::Changed { .. } if path.symlink_metadata().is_err() => {
                format!("Not saved: {} is no longer there.", self.shown.file.source)
            }
            _ => format!("Not saved: {error}."),
        };
        Refusal::unsaved(what, advice, self.shown.free_name(path))
    }
}

/// No two starts of the program have the same.
fn run_of_now() -> String {
    let since = std::time::UNIX_EPOCH.elapsed().unwrap_or_default();
    format!("{:x}-{:x}", since.as_nanos(), std::process::id())
}
