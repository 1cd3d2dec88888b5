//! The values at which a study shows a row.

/// Multiples of `step` counted from 0 inside `[low, high]`, with both ends added, rising.
///
/// `low ≤ 0 ≤ high` and `step > 0`; 0 is always among them. A multiple that is an end to within a millionth of the step
/// is shown once, as the end: a step in inches with nine digits is that far off.
pub fn stations(low: f64, high: f64, step: f64) -> Vec<f64> {
    let one_way = |end: f64| {
        (1..)
            .map(move |k| f64::from(k) * step)
            .take_while(move |value| *value < end - 1e-6 * step)
            .chain((end > 0.0).then_some(end))
    };
    let mut values: Vec<f64> = one_way(-low).map(|value| -value).collect();
    values.reverse();
    values.push(0.0);
    values.extend(one_way(high));
    values
}

/// Of so many rows at most about `most`, evenly, the first and the last among them.
pub fn thinned(rows: usize, most: usize) -> impl Iterator<Item = usize> {
    let every = rows.div_ceil(most).max(1);
    let last = rows.checked_sub(1).filter(|last| last % every != 0);
    (0..rows).step_by(every).chain(last)
}

#[cfg(test)]
mod tests {
    use super::{stations, thinned};

    #[test]
    fn stations_count_from_zero_and_add_both_ends() {
        assert_eq!(stations(-7.0, 10.0, 5.0), [-7.0, -5.0, 0.0, 5.0, 10.0]);
        assert_eq!(stations(0.0, 0.0, 5.0), [0.0]);
    }

    #[test]
    fn rows_are_left_out_evenly_and_never_at_the_ends() {
        let rows = |rows, most| thinned(rows, most).collect::<Vec<_>>();
        assert_eq!(rows(0, 3), [0; 0]);
        assert_eq!(rows(3, 3), [0, 1, 2]);
        assert_eq!(rows(6, 3), [0, 2, 4, 5]);
        assert_eq!(rows(7, 3), [0, 3, 6]);
    }

    #[test]
    fn an_end_that_is_a_multiple_to_rounding_is_shown_once() {
        assert_eq!(stations(0.0, 60.0, 0.1).len(), 601);
        assert_eq!(stations(-0.3, 0.3, 0.1).len(), 7);
    }
}
