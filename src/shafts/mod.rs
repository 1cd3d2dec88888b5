//! Shafts that move no wheel, as pure formulas: the universal joint, a chain of joints over one turn, tubes in torsion and
//! bending, balance. Knows no file, no limits and no suspension.

mod balance;
mod bending;
mod chain;
mod tube;
mod universal_joint;

pub use balance::permissible_unbalance_g_mm;
pub use bending::{BeamEnd, BeamPiece, first_critical_rad_per_s};
pub use chain::{Chain, ShaftMotion};
pub use tube::{Section, mass_kg, splice_weld_mpa, twist_deg};
pub use universal_joint::{UniversalJoint, largest_lead_rad, peak_to_peak};
