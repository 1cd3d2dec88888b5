//! The solve allocates nothing: a counting allocator says so.

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;

use crate::support::{SPATIAL, corner};
use hubtrace::measures::WheelMeasures;
use hubtrace::mechanism::{Linkage, Walker};

struct Counting;

thread_local! {
    static ALLOCATIONS: Cell<u32> = const { Cell::new(0) };
}

// SAFETY: every call goes on to the system's allocator unchanged; the counter itself allocates nothing.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        ALLOCATIONS.with(|count| count.set(count.get() + 1));
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, memory: *mut u8, layout: Layout) {
        unsafe { System.dealloc(memory, layout) }
    }
}

#[global_allocator]
static COUNTING: Counting = Counting;

fn allocations(work: impl FnOnce()) -> u32 {
    let before = ALLOCATIONS.with(Cell::get);
    work();
    ALLOCATIONS.with(Cell::get) - before
}

#[test]
fn the_counter_counts() {
    assert_eq!(allocations(|| drop(std::hint::black_box(Box::new(1)))), 1);
}

#[test]
fn solving_and_measuring_along_a_path_allocates_nothing() {
    let corner = corner(SPATIAL, [0.0, 760.0, 300.0], 300.0);
    let linkage = Linkage::new(&corner);
    let design = linkage.design().expect("a sound design");
    let mut last_toe_deg = 0.0;
    let count = allocations(|| {
        let mut walker = Walker::new(&linkage, design);
        for bump_mm in [5.0, 10.0, 15.0, 20.0] {
            while walker.here().bump_mm != bump_mm {
                assert!(walker.step_towards(bump_mm));
            }
            last_toe_deg = WheelMeasures::of(&corner, &Default::default(), walker.here()).toe_deg;
        }
    });
    assert_eq!(count, 0);
    // Independent solution of the same corner: toe +0.847256° at +20 mm.
    assert!((last_toe_deg - 0.847_256).abs() < 1e-6);
}
