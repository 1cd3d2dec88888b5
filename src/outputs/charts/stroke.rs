//! Line styles that can be told apart in grey, and what a path needs before it is drawn.

/// A place on the sheet: right and down from its upper left corner, in points of the page.
pub type SheetPoint = (f64, f64);

/// How a line looks: grey (0 is black), width and the lengths of its dashes and gaps in turn, in points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    pub grey: u8,
    pub width: f64,
    pub dash: &'static [f64],
}

impl Stroke {
    pub const CURVE: Self = Self { grey: 0, width: 2.0, dash: &[] };
    pub const DASHED: Self = Self { grey: 0, width: 2.0, dash: &[9.0, 5.0] };
    pub const PALE: Self = Self { grey: 130, width: 3.2, dash: &[] };
    pub const PALE_DASHED: Self = Self { grey: 130, width: 3.2, dash: &[9.0, 5.0] };
    /// Of another car behind this one: told apart by their dashes too.
    pub const BESIDE: Self = Self { grey: 130, width: 2.6, dash: &[3.0, 4.0] };
    pub const BESIDE_DASHED: Self = Self { grey: 130, width: 2.6, dash: &[12.0, 4.0, 3.0, 4.0] };
    /// Curves that carry numbers, in turn.
    pub const NUMBERED: [Self; 5] = [
        Self::CURVE,
        Self { dash: &[14.0, 4.0], ..Self::CURVE },
        Self { dash: &[7.0, 4.0], ..Self::CURVE },
        Self { dash: &[12.0, 3.0, 4.0, 3.0], ..Self::CURVE },
        Self { dash: &[2.0, 3.0], ..Self::CURVE },
    ];
    pub const LIMIT: Self = Self { grey: 90, width: 1.2, dash: &[12.0, 4.0, 2.0, 4.0] };
    pub const LIMIT_BAR: Self = Self { grey: 90, width: 2.4, dash: &[] };
    pub const EDGE: Self = Self { grey: 120, width: 0.8, dash: &[] };
    pub const GRID: Self = Self { grey: 222, width: 0.8, dash: &[] };
    pub const BASELINE: Self = Self { grey: 120, width: 1.0, dash: &[] };
    pub const THIN: Self = Self { grey: 60, width: 1.0, dash: &[] };
    pub const LEADER: Self = Self { grey: 80, width: 0.8, dash: &[] };
}

/// Points that lie this near to the line without them are left out, in points of the page.
const UNSEEN: f64 = 0.1;

/// A path without the points that cannot be seen to bend it (Ramer, Douglas and Peucker).
pub fn thinned(path: &[SheetPoint]) -> Vec<SheetPoint> {
    let mut kept: Vec<SheetPoint> = path.first().copied().into_iter().collect();
    let mut open = vec![(0, path.len().saturating_sub(1))];
    while let Some((first, last)) = open.pop() {
        let inner = first + 1..last;
        let furthest = inner
            .map(|i| (i, distance_to_line(path[i], path[first], path[last])))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .filter(|(_, distance)| *distance > UNSEEN);
        match furthest {
            Some((middle, _)) => open.extend([(middle, last), (first, middle)]),
            None if last > first => kept.push(path[last]),
            None => {}
        }
    }
    kept
}

fn distance_to_line(p: SheetPoint, from: SheetPoint, to: SheetPoint) -> f64 {
    let (along, off) = (minus(to, from), minus(p, from));
    let length = along.0.hypot(along.1);
    if length == 0.0 { off.0.hypot(off.1) } else { (along.0 * off.1 - along.1 * off.0).abs() / length }
}

/// The dashes of a path; `pattern` holds dash and gap in turn.
pub fn dashes(path: &[SheetPoint], pattern: &[f64]) -> Vec<Vec<SheetPoint>> {
    let mut done = Vec::new();
    let mut dash: Vec<SheetPoint> = path.first().copied().into_iter().collect();
    let (mut turn, mut left) = (0, pattern[0]);
    for pair in path.windows(2) {
        let (mut from, to) = (pair[0], pair[1]);
        loop {
            let along = minus(to, from);
            let length = along.0.hypot(along.1);
            if length < left {
                left -= length;
                dash.extend((turn % 2 == 0).then_some(to));
                break;
            }
            from = (from.0 + along.0 * left / length, from.1 + along.1 * left / length);
            dash.push(from);
            if turn % 2 == 0 {
                done.push(std::mem::take(&mut dash));
            }
            turn = (turn + 1) % pattern.len();
            left = pattern[turn];
        }
    }
    done.extend((dash.len() > 1).then_some(dash));
    done
}

fn minus(a: SheetPoint, b: SheetPoint) -> SheetPoint {
    (a.0 - b.0, a.1 - b.1)
}

#[cfg(test)]
mod tests {
    use super::{dashes, thinned};

    #[test]
    fn a_straight_path_keeps_its_ends_and_a_corner_stays() {
        let path = [(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (2.0, 3.0)];
        assert_eq!(thinned(&path), [(0.0, 0.0), (2.0, 0.0), (2.0, 3.0)]);
        assert_eq!(thinned(&path[..1]), [(0.0, 0.0)]);
        assert_eq!(thinned(&[]), []);
    }

    #[test]
    fn dashes_go_round_corners_and_leave_gaps() {
        let path = [(0.0, 0.0), (3.0, 0.0), (3.0, 5.0)];
        let expected = [vec![(0.0, 0.0), (3.0, 0.0), (3.0, 1.0)], vec![(3.0, 3.0), (3.0, 5.0)]];
        assert_eq!(dashes(&path, &[4.0, 2.0]), expected);
    }
}
