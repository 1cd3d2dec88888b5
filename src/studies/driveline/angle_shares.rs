//! Over what share of the travel a joint stands at which angle: wear follows it.

use super::halfshaft::ShaftRow;

/// Width of a class, deg.
const WIDTH_DEG: f64 = 1.0;

/// One class of angles of one joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AngleShare {
    /// `inner` or `outer`.
    pub joint: &'static str,
    /// From this angle.
    pub from_deg: f64,
    /// Up to this one.
    pub to_deg: f64,
    /// Of the wheel's travel, 0 to 1; all classes of a joint together are 1.
    pub share_of_travel: f64,
}

/// The classes that a joint reaches. Between two rows the angle is taken as straight.
pub(super) fn angle_shares(joint: &'static str, rows: &[ShaftRow]) -> Vec<AngleShare> {
    let angle = |row: &ShaftRow| if joint == "inner" { row.shaft.inner_angle_deg } else { row.shaft.outer_angle_deg };
    let points: Vec<(f64, f64)> = rows.iter().map(|row| (row.bump_mm, angle(row))).collect();
    let class = |from_deg: f64, share: f64| AngleShare {
        joint,
        from_deg,
        to_deg: from_deg + WIDTH_DEG,
        share_of_travel: share,
    };
    shares(&points).into_iter().map(|(number, share)| class(number as f64 * WIDTH_DEG, share)).collect()
}

/// Numbers of the classes reached, rising without a gap, each with its share of the way.
fn shares(points: &[(f64, f64)]) -> Vec<(usize, f64)> {
    let class = |deg: f64| (deg / WIDTH_DEG).floor().max(0.0) as usize;
    let Some((first, last)) = points.first().zip(points.last()) else { return Vec::new() };
    let way_mm = last.0 - first.0;
    let classes = points.iter().map(|(_, deg)| class(*deg));
    let (low, high) = (classes.clone().min().unwrap_or(0), classes.max().unwrap_or(0));
    let mut shares = vec![0.0; high - low + 1];
    if way_mm == 0.0 {
        shares[0] = 1.0;
    }
    for pair in points.windows(2).filter(|_| way_mm > 0.0) {
        let [(from_mm, from_deg), (to_mm, to_deg)] = [pair[0], pair[1]];
        let (least, most) = (from_deg.min(to_deg), from_deg.max(to_deg));
        for (number, share) in (low..).zip(&mut shares) {
            let (bottom, top) = (number as f64 * WIDTH_DEG, (number + 1) as f64 * WIDTH_DEG);
            let inside = if most > least {
                (most.min(top) - least.max(bottom)).max(0.0) / (most - least)
            } else {
                f64::from(u8::from(class(least) == number))
            };
            *share += inside * (to_mm - from_mm) / way_mm;
        }
    }
    (low..).zip(shares).collect()
}

#[cfg(test)]
mod tests {
    use super::shares;

    /// 2.5 to 4.5 deg evenly over 10 mm, then back to 4.0 over 2.5 mm: by hand 2.5, 5.0 and 5.0 mm of 12.5.
    #[test]
    fn a_joint_spends_its_travel_in_the_classes_that_it_crosses() {
        let found = shares(&[(-4.0, 2.5), (6.0, 4.5), (8.5, 4.0)]);
        let expected = [(2, 0.2), (3, 0.4), (4, 0.4)];
        assert_eq!(found.len(), 3);
        assert!(found.iter().zip(expected).all(|(a, b)| a.0 == b.0 && (a.1 - b.1).abs() < 1e-12), "{found:?}");
        assert_eq!(shares(&[(0.0, 7.3)]), [(7, 1.0)]);
        assert_eq!(shares(&[]), []);
    }
}
