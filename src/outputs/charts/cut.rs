//! Curves that grow without end towards a bind.

use crate::geometry::Interval;

/// Stands under a chart of which [`cut_near_binds`] left something out.
pub const CUT_NEAR_BINDS: &str = "Near the bind the value grows without end: the curve stops where it leaves three times the range that it has before.";

/// So near a bind, as a share of the curve along the travel, values say nothing of the range of the others.
const NEAR: f64 = 0.1;

/// Values against wheel travel without those near a bind that would leave nothing of the others to be seen; `binds` are on the
/// axis of the travel.
pub fn cut_near_binds(points: &[Option<(f64, f64)>], binds: &[f64]) -> Vec<Option<(f64, f64)>> {
    let known = || points.iter().flatten();
    let Some(reach) = Interval::of(known().map(|at| at.1)) else { return points.to_vec() };
    let is_near = |travel: f64| binds.iter().any(|bind| (travel - bind).abs() < NEAR * reach.width());
    let Some(range) = Interval::of(known().filter(|at| !is_near(at.1)).map(|at| at.0)) else { return points.to_vec() };
    let is_shown = |&(value, travel): &(f64, f64)| {
        !is_near(travel) || (range.low - range.width()..=range.high + range.width()).contains(&value)
    };
    points.iter().map(|point| point.filter(is_shown)).collect()
}

#[cfg(test)]
mod tests {
    use super::cut_near_binds;

    /// 1 over the distance to a bind at 50 mm: 0.01 to 0.1 further than a tenth of the travel from it.
    #[test]
    fn a_curve_stops_where_it_runs_away_towards_a_bind() {
        let points: Vec<Option<(f64, f64)>> =
            (-50..50).map(|mm| Some((1.0 / f64::from(50 - mm), f64::from(mm)))).collect();
        let highest =
            |points: &[Option<(f64, f64)>]| points.iter().flatten().map(|at| at.0).fold(f64::NEG_INFINITY, f64::max);
        assert_eq!(highest(&points), 1.0);
        let cut = cut_near_binds(&points, &[50.0]);
        assert_eq!(cut.len(), points.len());
        assert!((0.1..0.2).contains(&highest(&cut)), "{}", highest(&cut));
        assert_eq!(cut_near_binds(&points, &[]), points, "without a bind all of it is shown");
    }

    #[test]
    fn a_curve_that_stays_in_its_range_up_to_the_bind_is_whole() {
        let points: Vec<Option<(f64, f64)>> = (-50..50).map(|mm| Some((f64::from(mm), f64::from(mm)))).collect();
        assert_eq!(cut_near_binds(&points, &[50.0]), points);
    }
}
