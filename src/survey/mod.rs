//! A survey: taped distances, plumbed heights and places, and parts measured on the bench, for the time before there is a
//! geometry.
//!
//! In reading order: `model` (what was measured, in mm), `survey_file` (TOML → [`SurveyFile`], or every mistake with its
//! line), `tape_reading` (a reading as it stands on the tape, fractions of an inch included), `template` (the survey that is
//! still to be taken, to be filled in). It knows nothing of how points are found.

mod model;
mod survey_file;
mod tape_reading;
mod template;

pub use model::{Datum, Part, PartPoint, Reading, ReadingKind, Station, Survey, SurveyPoint};
pub use survey_file::SurveyFile;
pub use template::{SurveyTemplate, TemplateDatum, ToTake, ToTakeOfKind, survey_text};
