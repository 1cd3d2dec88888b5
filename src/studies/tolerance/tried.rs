//! Which limits of the file the built cars are held to, and which they are not.

use serde::Serialize;

use crate::geometry::{Interval, PerSide, Quantity, Side};
use crate::studies::judged_car::JudgedCar;
use crate::studies::limit_totals::LimitTotals;

/// Limits of a file as a weld study takes them: what was not seen on the drawing is not tried on the cars either.
#[derive(Debug, Clone, PartialEq)]
pub struct TriedLimits {
    pub(super) wheels: PerSide<Vec<(Quantity, Interval)>>,
    pub(super) axle: Vec<(Quantity, Interval)>,
    /// The limits that no car is held to, each once, in the order of the catalogue of their side.
    pub not_tried: Vec<NotTried>,
    set: usize,
}

/// A limit of the file that no built car is held to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NotTried {
    /// With a limit in the file.
    pub quantity: Quantity,
    /// Why built cars are not held to it.
    pub reason: &'static str,
}

/// How many limits were tried on the cars, of those in the file; each quantity counts once for both wheels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct LimitCount {
    /// Tried on built cars.
    pub checked: usize,
    /// In the file.
    pub set: usize,
}

impl TriedLimits {
    /// Of a drawn car.
    pub fn of(car: &JudgedCar) -> Self {
        let tried = |side: Option<Side>| {
            let of_side = car.verdicts.iter().filter(|verdict| verdict.side == side);
            let tried = of_side.filter(|verdict| verdict.gap.is_none());
            tried.filter_map(|verdict| Some((verdict.quantity, verdict.limit?))).collect()
        };
        let mut not_tried: Vec<NotTried> = Vec::new();
        for verdict in car.verdicts.iter().filter(|verdict| verdict.limit.is_some()) {
            let is_new = not_tried.iter().all(|known| known.quantity != verdict.quantity);
            not_tried
                .extend(verdict.gap.filter(|_| is_new).map(|reason| NotTried { quantity: verdict.quantity, reason }));
        }
        Self {
            wheels: PerSide::of(|side| tried(Some(side))),
            axle: tried(None),
            not_tried,
            set: LimitTotals::of(&car.verdicts, car.geometry()).set,
        }
    }

    /// How many are tried, of how many.
    pub fn count(&self) -> LimitCount {
        LimitCount { checked: self.set - self.not_tried.len(), set: self.set }
    }

    /// The limit of a quantity is tried on the cars.
    pub(super) fn has(&self, quantity: Quantity) -> bool {
        self.wheels.iter().any(|(_, limits)| limits.iter().any(|(tried, _)| *tried == quantity))
    }

    /// The same of a limit of the axle.
    pub(super) fn has_of_axle(&self, quantity: Quantity) -> bool {
        self.axle.iter().any(|(tried, _)| *tried == quantity)
    }

    /// No car is held to anything.
    pub(super) fn is_empty(&self) -> bool {
        self.wheels.iter().all(|(_, limits)| limits.is_empty()) && self.axle.is_empty()
    }
}
