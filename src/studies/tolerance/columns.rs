//! The few numbers that are kept of each built car.

use rayon::prelude::*;

/// A few numbers a car, the cars one after the other; NaN where a car has none.
pub(super) struct Columns {
    width: usize,
    values: Vec<f64>,
}

/// Some cars of [`Columns`].
pub(super) struct Rows<'a> {
    width: usize,
    values: &'a mut [f64],
}

impl Columns {
    pub fn new(cars: usize, width: usize) -> Self {
        Self { width, values: vec![f64::NAN; cars * width] }
    }

    /// So many cars at a time, in order.
    pub fn par_rows_mut(&mut self, cars: usize) -> impl IndexedParallelIterator<Item = Rows<'_>> {
        let width = self.width;
        self.values.par_chunks_mut(cars * width).map(move |values| Rows { width, values })
    }

    /// The numbers of a column, without the cars that have none.
    pub fn values(&self, column: usize) -> Vec<f64> {
        self.values.iter().skip(column).step_by(self.width).copied().filter(|value| !value.is_nan()).collect()
    }
}

impl Rows<'_> {
    /// Number of cars.
    pub fn len(&self) -> usize {
        self.values.len() / self.width
    }

    pub fn row(&mut self, car: usize) -> &mut [f64] {
        &mut self.values[car * self.width..(car + 1) * self.width]
    }
}
