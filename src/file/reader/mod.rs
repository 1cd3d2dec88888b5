//! What every table of the file is read with: the walk over its keys, the kinds of value, the list of mistakes.

mod diagnostics;
mod list;
mod number;
mod number_text;
mod point;
mod table;
mod text;
mod value;

pub(crate) use diagnostics::{Diagnostics, Source, Span};
pub(crate) use list::{EachAxis, EdgeKind, IntervalKind, Numbers, Texts, counted, numbers, numbers_of};
pub use number::MAX_MM;
pub(crate) use number::{ANGLE, ANGLE_CHANGE, COMPONENT, COORDINATE, LENGTH, Number, NumberUnit};
pub(crate) use point::{Direction, Frame, PointKind};
pub(crate) use table::{At, Table, list_of_tables, nearest, only_one};
pub(crate) use text::{Flag, LongText, Schema, Text, ThreadKind, Word};
pub(crate) use value::{Scope, ValueError, ValueKind, kind_name, shown};
