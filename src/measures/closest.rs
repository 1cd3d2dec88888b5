//! Where two shapes come nearest: segments, and the ring of a wheel.
//!
//! Source: closest points of two segments, C. Ericson, *Real-Time Collision Detection*, ch. 5 (from memory); distance from a
//! rectangle, elementary. Tested by `tests/kinematics/clearance.rs` and the unit tests below.

use nalgebra::{Point3, Vector3};

/// From the first point to the second, mm.
pub(crate) type Segment = [Point3<f64>; 2];

/// Segments whose directions span less than this share of their lengths' product are parallel.
const PARALLEL: f64 = 1e-12;
/// Places along a segment at which the distance from a ring is looked at; between two of them it has one least value.
const PLACES: usize = 32;
/// A place along a segment is found to this share of its length.
const SETTLED: f64 = 1e-7;

/// The point at a share of a segment, 0 its first end.
pub(super) fn along(segment: &Segment, share: f64) -> Point3<f64> {
    segment[0] + (segment[1] - segment[0]) * share
}

/// Where two segments are nearest, as shares of each; of several equally near places any one.
pub(super) fn of_segments(a: &Segment, b: &Segment) -> [f64; 2] {
    let (u, v, w) = (a[1] - a[0], b[1] - b[0], a[0] - b[0]);
    let (uu, uv, vv) = (u.norm_squared(), u.dot(&v), v.norm_squared());
    let on_a = |t: f64| ((uv * t - u.dot(&w)) / uu).clamp(0.0, 1.0);
    let on_b = |s: f64| ((uv * s + v.dot(&w)) / vv).clamp(0.0, 1.0);
    let span = uu * vv - uv * uv;
    if span > PARALLEL * uu * vv {
        // Nearest on both lines, first kept to the one segment, then to the other.
        let s = ((uv * v.dot(&w) - vv * u.dot(&w)) / span).clamp(0.0, 1.0);
        let t = (uv * s + v.dot(&w)) / vv;
        return if (0.0..=1.0).contains(&t) { [s, t] } else { [on_a(t.clamp(0.0, 1.0)), t.clamp(0.0, 1.0)] };
    }
    // Of parallel ones an end takes part.
    let ends = [[0.0, on_b(0.0)], [1.0, on_b(1.0)], [on_a(0.0), 0.0], [on_a(1.0), 1.0]];
    let square = |[s, t]: &[f64; 2]| (along(a, *s) - along(b, *t)).norm_squared();
    ends.into_iter().min_by(|x, y| square(x).total_cmp(&square(y))).unwrap_or([0.0; 2])
}

/// Least distance between two segments, mm.
pub(crate) fn segments_apart_mm(a: &Segment, b: &Segment) -> f64 {
    let [s, t] = of_segments(a, b);
    (along(a, s) - along(b, t)).norm()
}

/// A hollow wheel: everything between two radii, and so far either side of its centre plane.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ring {
    pub centre: Point3<f64>,
    /// Unit.
    pub axis: Vector3<f64>,
    pub inner_mm: f64,
    pub outer_mm: f64,
    pub half_width_mm: f64,
}

/// Distance of a point from a ring, negative inside, with its derivatives.
#[derive(Debug, Clone, Copy)]
pub(super) struct FromRing {
    pub mm: f64,
    pub by_point: Vector3<f64>,
    pub by_axis: Vector3<f64>,
}

impl Ring {
    /// Radius and place along the axis of a point, mm.
    fn radius_and_height(&self, point: &Point3<f64>) -> (f64, f64) {
        let arm = point - self.centre;
        let height = arm.dot(&self.axis);
        ((arm - self.axis * height).norm(), height)
    }

    /// Beyond the rim (inside its hole or outside the tyre) and beyond a side, negative where it is not, mm.
    fn beyond(&self, radius: f64, height: f64) -> (f64, f64) {
        ((self.inner_mm - radius).max(radius - self.outer_mm), height.abs() - self.half_width_mm)
    }

    fn distance_mm(&self, point: &Point3<f64>) -> f64 {
        let (radius, height) = self.radius_and_height(point);
        match self.beyond(radius, height) {
            (across, beside) if across <= 0.0 || beside <= 0.0 => across.max(beside),
            (across, beside) => across.hypot(beside),
        }
    }

    /// Distance of a point with its derivatives by the point and by the direction of the axis; of an edge or a middle line,
    /// where there is no derivative, that of one side.
    pub fn from(&self, point: &Point3<f64>) -> FromRing {
        let (radius, height) = self.radius_and_height(point);
        let (across, beside) = self.beyond(radius, height);
        let (by_across, by_beside) = match () {
            () if across > 0.0 && beside > 0.0 => (across / across.hypot(beside), beside / across.hypot(beside)),
            () if across >= beside => (1.0, 0.0),
            () => (0.0, 1.0),
        };
        let outward = if self.inner_mm - radius > radius - self.outer_mm { -by_across } else { by_across };
        let by_height = by_beside * height.signum();
        let arm = point - self.centre;
        // A point on the axis is away from it in no direction.
        let out = (arm - self.axis * height).try_normalize(0.0).unwrap_or_default();
        let by_point = out * outward + self.axis * by_height;
        let tilt = if radius > 0.0 { by_height - outward * height / radius } else { by_height };
        FromRing { mm: self.distance_mm(point), by_point, by_axis: arm * tilt }
    }

    /// Where a segment is nearest to the ring, as a share of it.
    pub fn nearest_on(&self, segment: &Segment) -> f64 {
        let distance = |share: f64| self.distance_mm(&along(segment, share));
        let known = std::array::from_fn::<(f64, f64), { PLACES + 1 }, _>(|i| {
            let share = i as f64 / PLACES as f64;
            (share, distance(share))
        });
        least_places(&known, distance, SETTLED)
            .into_iter()
            .min_by(|a, b| a.value.total_cmp(&b.value))
            .map_or(0.0, |least| least.at)
    }
}

/// Where a function of one variable is least.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeastPlace {
    /// Its variable there.
    pub at: f64,
    /// Its value there.
    pub value: f64,
}

/// Every place of a range where a function is less than on either side of it, the ends of the range among them.
///
/// `known` are places with the value there: the places rise, and between three neighbours the function has one least value
/// at most. Found to `settled`, in the unit of the places; where the function is infinite it is never least.
pub fn least_places(known: &[(f64, f64)], value: impl Fn(f64) -> f64, settled: f64) -> Vec<LeastPlace> {
    let last = known.len().saturating_sub(1);
    let is_least = |i: usize| {
        let here = known[i].1;
        here < f64::INFINITY && (i == 0 || here < known[i - 1].1) && (i == last || here <= known[i + 1].1)
    };
    let find = |i: usize| {
        let (low, high) = (known[i.saturating_sub(1)].0, known[(i + 1).min(last)].0);
        let here = LeastPlace { at: known[i].0, value: known[i].1 };
        // Most are least at an end, which one look inside it settles.
        let rises_from_end = || match i {
            0 => value(low + settled) >= here.value,
            _ => i == last && value(high - settled) >= here.value,
        };
        if low == high || rises_from_end() {
            return here;
        }
        least_between([low, high], here, &value, settled)
    };
    (0..known.len()).filter(|&i| is_least(i)).map(find).collect()
}

/// The least value between two places, not above that of `known`, which is one of them or lies between them.
///
/// Source: parabolas through the three best places, golden section where they lead nowhere: R. P. Brent, *Algorithms for
/// Minimization without Derivatives*, ch. 5 (from memory).
fn least_between(
    [mut low, mut high]: [f64; 2],
    known: LeastPlace,
    value: &impl Fn(f64) -> f64,
    settled: f64,
) -> LeastPlace {
    const SHARE: f64 = 0.381_966_011_250_105_1;
    let place = |at: f64| LeastPlace { at, value: value(at) };
    let inside = low < known.at && known.at < high;
    let mut best = if inside { known } else { place(low + SHARE * (high - low)) };
    let (mut second, mut third) = (best, best);
    let (mut step, mut step_before): (f64, f64) = (0.0, 0.0);
    loop {
        let middle = 0.5 * (low + high);
        let reach = 0.5 * settled;
        if (best.at - middle).abs() + 0.5 * (high - low) <= 2.0 * reach {
            return if known.value <= best.value { known } else { best };
        }
        let to_parabola = parabola_step(best, second, third)
            .filter(|by| by.abs() < 0.5 * step_before.abs() && (low + reach..=high - reach).contains(&(best.at + by)));
        (step, step_before) = match to_parabola {
            Some(by) => (by, step),
            None => {
                let longer = if best.at < middle { high - best.at } else { low - best.at };
                (SHARE * longer, longer)
            }
        };
        // Two places nearer than this tell nothing.
        let tried = place(best.at + if step.abs() >= reach { step } else { reach.copysign(step) });
        if tried.value <= best.value {
            if tried.at < best.at {
                high = best.at
            } else {
                low = best.at
            }
            (third, second, best) = (second, best, tried);
        } else {
            if tried.at < best.at {
                low = tried.at
            } else {
                high = tried.at
            }
            if tried.value <= second.value || second.at == best.at {
                (third, second) = (second, tried);
            } else if tried.value <= third.value || third.at == best.at || third.at == second.at {
                third = tried;
            }
        }
    }
}

/// From the best of three places to the vertex of the parabola through them; `None` when they are on no parabola.
fn parabola_step(best: LeastPlace, second: LeastPlace, third: LeastPlace) -> Option<f64> {
    let (a, b) = (second.at - best.at, third.at - best.at);
    let (p, q) = (a * (best.value - third.value), b * (best.value - second.value));
    let (over, under) = (b * q - a * p, 2.0 * (q - p));
    let by = over / under;
    by.is_finite().then_some(by)
}

#[cfg(test)]
mod tests {
    use super::{LeastPlace, Ring, along, least_places, segments_apart_mm};
    use nalgebra::{Point3, Vector3};

    fn apart(a: [[f64; 3]; 2], b: [[f64; 3]; 2]) -> f64 {
        segments_apart_mm(&a.map(Point3::from), &b.map(Point3::from))
    }

    #[test]
    fn segments_are_as_far_apart_as_a_ruler_says() {
        let x = [[0.0, 0.0, 0.0], [10.0, 0.0, 0.0]];
        assert_eq!(apart(x, [[5.0, -3.0, 4.0], [5.0, 3.0, 4.0]]), 4.0);
        assert_eq!(apart(x, [[13.0, 4.0, 0.0], [13.0, 9.0, 0.0]]), 5.0);
        assert_eq!(apart(x, [[2.0, 0.0, 7.0], [30.0, 0.0, 7.0]]), 7.0);
        assert_eq!(apart(x, [[14.0, 0.0, 0.0], [20.0, 0.0, 0.0]]), 4.0);
        assert!(apart(x, [[5.0, -3.0, 0.0], [5.0, 3.0, 0.0]]) < 1e-12);
    }

    #[test]
    fn a_ring_is_hollow_and_has_edges() {
        let axis = Vector3::y();
        let ring = Ring { centre: Point3::origin(), axis, inner_mm: 10.0, outer_mm: 20.0, half_width_mm: 4.0 };
        let at = |x: f64, y: f64| ring.distance_mm(&Point3::new(x, y, 0.0));
        assert_eq!([at(0.0, 0.0), at(7.0, 1.0), at(15.0, 0.0), at(15.0, -9.0)], [10.0, 3.0, -4.0, 5.0]);
        assert_eq!([at(23.0, 8.0), at(7.0, 8.0)], [5.0, 5.0]);
        // Through the hole beside an edge: nearest where it passes the edge.
        let segment = [Point3::new(7.0, -30.0, 0.0), Point3::new(7.0, 0.0, 0.0)];
        let place = along(&segment, ring.nearest_on(&segment));
        assert!((ring.distance_mm(&place) - 3.0).abs() < 1e-12 && place.y >= -4.0 - 1e-6);
    }

    /// The least places of a function that is known at these places.
    fn least(places: &[f64], value: impl Fn(f64) -> f64) -> Vec<LeastPlace> {
        let known: Vec<(f64, f64)> = places.iter().map(|&at| (at, value(at))).collect();
        least_places(&known, value, 1e-6)
    }

    #[test]
    fn a_function_is_least_at_its_ends_and_between_its_places() {
        let places: Vec<f64> = (-6..=6).map(f64::from).collect();
        let two = least(&places, |x| (x - 0.3).abs().min((x + 5.7).abs() + 0.5) - 1e-3 * x);
        let at: Vec<f64> = two.iter().map(|place| (place.at * 1e4).round() / 1e4).collect();
        assert_eq!(at, [-5.7, 0.3]);
        assert_eq!(least(&places, |x| -x * x).len(), 2);
        assert_eq!(least(&[0.0], |x| x).len(), 1);
    }
}
