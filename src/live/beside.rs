//! The car that another one is compared with: moved and judged once, not with every step of the other.

use std::sync::{Arc, Mutex, PoisonError};

use self_cell::self_cell;

use crate::geometry::Geometry;
use crate::studies::{Curves, JudgedCar, Rig, SingularDesign};

type Judged<'g> = (JudgedCar<'g>, Curves);

self_cell!(
    /// A judged car together with its drawing.
    pub(super) struct JudgedBeside {
        owner: Arc<Geometry>,
        #[covariant]
        dependent: Judged,
    }
);

impl JudgedBeside {
    fn of(car: &Arc<Geometry>) -> Result<Self, SingularDesign> {
        Self::try_new(Arc::clone(car), |car| {
            let rig = Rig::new(car)?;
            let curves = Curves::of(&rig);
            Ok((JudgedCar::of(rig), curves))
        })
    }

    /// The car and its curves.
    pub(super) fn judged(&self) -> &Judged<'_> {
        self.borrow_dependent()
    }
}

/// The last car that stood beside another.
#[derive(Default)]
pub(super) struct KnownBeside(Mutex<Option<Arc<JudgedBeside>>>);

impl KnownBeside {
    /// This car, judged now or before; `None` when its links do not hold its wheels.
    pub(super) fn judged(&self, car: &Arc<Geometry>) -> Option<Arc<JudgedBeside>> {
        let known = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(same) = known().as_ref().filter(|known| Arc::ptr_eq(known.borrow_owner(), car)) {
            return Some(Arc::clone(same));
        }
        let judged = Arc::new(JudgedBeside::of(car).ok()?);
        *known() = Some(Arc::clone(&judged));
        Some(judged)
    }
}
