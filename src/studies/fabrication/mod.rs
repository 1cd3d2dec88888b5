//! What the shop needs of a car: where every bracket goes and how its bolt points, how the ends of a link are clocked, what a
//! tape must read.
//!
//! In reading order: `points` (the car as named points and lines), `brackets` (every rod end with its bolt), `clocking` (the
//! two ends of a link against each other), `tape_check` (distances that fix the pickups), `template` (a bracket seen along its
//! bolt), `notch` (the edge of a tube that sits on another), `cut_list` (links as they are sawn), `setting` (what turns and
//! shims do), `findings` (all of it).

mod brackets;
mod clocking;
mod cut_list;
mod findings;
mod notch;
mod points;
mod setting;
mod tape_check;
mod template;

pub use brackets::{BoltAngles, BoltFrom, Bracket};
pub use clocking::LinkClock;
pub use cut_list::{CutFault, CutLink, CutTube, cut_list};
pub use findings::{FabricationFindings, ShopFindings};
pub use notch::{NoNotch, Notch, TubeEnd, ZeroLine, tube_ends};
pub use points::{LineKind, NamedLine, NamedPoint, named_lines, named_points};
pub use setting::{Setting, SettingStep, setting_chart};
pub use tape_check::{PointFix, TapeCheck, TapeRow, TapeStart, Taped, tape_check};
pub use template::{BracketTemplate, LinkAt, SeenFrom};
