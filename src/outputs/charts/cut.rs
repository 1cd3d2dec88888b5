//! Curves that grow without end towards a bind.

use crate::geometry::Interval;

/// Stands under a chart of which [`cut_near_binds`] left something out.
pub const CUT_NEAR_BINDS: &str = "Near the bind the value grows without end: the curve stops where it leaves three times the range that it has before.";

/// So near a bind, as a share of the curve along the travel, values say nothing of the range of the others.
const NEAR: f64 = 0.1;

/// Values against wheel travel without those near a bind that would leave nothing of the others to be seen, and without what comes
/// after them on the way to that bind and beyond: it would lie there loose. `binds` are on the axis of the travel.
pub fn cut_near_binds(points: &[Option<(f64, f64)>], binds: &[f64]) -> Vec<Option<(f64, f64)>> {
    let known = || points.iter().flatten();
    let Some(reach) = Interval::of(known().map(|at| at.1)) else { return points.to_vec() };
    let is_near = |travel: f64, bind: f64| (travel - bind).abs() < NEAR * reach.width();
    let is_far = |travel: f64| !binds.iter().any(|&bind| is_near(travel, bind));
    let Some(range) = Interval::of(known().filter(|at| is_far(at.1)).map(|at| at.0)) else { return points.to_vec() };
    let kept = range.low - range.width()..=range.high + range.width();
    // The travel at which the curve stops on its way out to a bind, and which way that is.
    let stop = |&bind: &f64| {
        let out = (bind - (reach.low + reach.high) / 2.0).signum();
        let lost = known().filter(|(value, travel)| is_near(*travel, bind) && !kept.contains(value));
        (out, lost.map(|at| out * at.1).fold(f64::INFINITY, f64::min))
    };
    let stops: Vec<(f64, f64)> = binds.iter().map(stop).collect();
    let is_shown = |at: &(f64, f64)| stops.iter().all(|(out, stop)| out * at.1 < *stop);
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

    /// Anti-squat comes back from the other end beyond its pole.
    #[test]
    fn nothing_lies_loose_beyond_the_place_where_a_curve_stops() {
        let pole = |mm: i32| Some((1.0 / (50.5 - f64::from(mm).abs()), f64::from(mm)));
        let points: Vec<Option<(f64, f64)>> = (-75..75).map(pole).collect();
        let cut = cut_near_binds(&points, &[50.5, -50.5]);
        let parts: Vec<_> = cut.split(Option::is_none).filter(|part| !part.is_empty()).collect();
        assert_eq!(parts.len(), 1, "{cut:?}");
        assert!(cut.iter().flatten().all(|at| at.1.abs() < 50.0 && at.0 > 0.0), "{cut:?}");
    }

    /// A bind 3 mm above design height: the value is lost from design height on, and the whole of droop stays.
    #[test]
    fn a_bind_near_design_height_takes_nothing_of_the_other_way() {
        let points: Vec<Option<(f64, f64)>> =
            (-60..3).map(|mm| Some((1.0 / f64::from(3 - mm), f64::from(mm)))).collect();
        let cut = cut_near_binds(&points, &[3.0]);
        assert!(cut[0].is_some() && cut.iter().flatten().count() > 55, "{cut:?}");
        assert!(cut.iter().flatten().all(|at| at.1 < 1.0), "{cut:?}");
    }

    #[test]
    fn a_curve_that_stays_in_its_range_up_to_the_bind_is_whole() {
        let points: Vec<Option<(f64, f64)>> = (-50..50).map(|mm| Some((f64::from(mm), f64::from(mm)))).collect();
        assert_eq!(cut_near_binds(&points, &[50.0]), points);
    }
}
