//! Frames of sound cars at random, as much of them as a file gives: rails, cross tubes, braces in plan and in side view, struts of a
//! hoop; on one side or on both, with nodes that meet exactly, nearly or not at all.

use rand::rngs::StdRng;
use rand::seq::{IndexedRandom, SliceRandom};
use rand::{Rng, SeedableRng};

pub type Triple = [f64; 3];

/// A tube in mm from the axle line, the middle of the car and the road.
#[derive(Debug, Clone)]
pub struct FrameTube {
    pub name: String,
    pub ends: [Triple; 2],
    pub od: Option<f64>,
}

impl FrameTube {
    /// A rod end there has room beside the tube.
    pub fn is_clear_of(&self, place: &Triple) -> bool {
        let [from, to, at] = [self.ends[0], self.ends[1], *place].map(nalgebra::Vector3::from);
        let along = to - from;
        let share = ((at - from).dot(&along) / along.norm_squared()).clamp(0.0, 1.0);
        (at - (from + along * share)).norm() > 50.0
    }
}

/// A file that has a brace has a tube on which it ends.
pub fn without_loose_braces(tubes: Vec<FrameTube>) -> Vec<FrameTube> {
    const NODE_MM: f64 = 30.0;
    let is_node = |a: &Triple, b: &Triple| {
        (a[0] - b[0]).abs() <= NODE_MM && (a[1].abs() - b[1].abs()).abs() <= NODE_MM && (a[2] - b[2]).abs() <= NODE_MM
    };
    let meets = |tube: &FrameTube, other: &FrameTube| {
        tube.name != other.name && tube.ends.iter().any(|end| other.ends.iter().any(|at| is_node(end, at)))
    };
    let is_kept = |tube: &&FrameTube| !tube.name.contains("brace") || tubes.iter().any(|other| meets(tube, other));
    tubes.iter().filter(is_kept).cloned().collect()
}

/// Where the rails of a frame are, mm.
struct Bay {
    rear: f64,
    front: f64,
    low: f64,
    high: f64,
    low_out: f64,
    high_out: f64,
}

/// Tubes of one frame, by the seed alone.
pub fn frame(seed: u64) -> Vec<FrameTube> {
    let mut random = StdRng::seed_from_u64(seed);
    let step = *[0.5, 1.0, 5.0, 10.0].choose(&mut random).expect("there are some");
    let mut drawn = |[least, most]: [f64; 2]| (random.random_range(least..most) / step).round() * step;
    let rear = drawn([-420.0, -140.0]);
    let high = drawn([330.0, 520.0]);
    let high_out = drawn([240.0, 440.0]);
    let bay = Bay {
        rear,
        front: drawn([140.0, 900.0]),
        low: drawn([60.0, 240.0]),
        high,
        low_out: high_out + drawn([-120.0, 60.0]),
        high_out,
    };
    let hoop = drawn([800.0, 1200.0]);
    let middle = drawn([bay.rear + 60.0, bay.front - 60.0]);
    let nose = drawn([1200.0, 2600.0]);
    let mut tubes = bay.side(middle, hoop);
    tubes.extend(bay.across(middle));
    tubes.extend(bay.far(nose));
    tubes.shuffle(&mut random);
    let most = tubes.len();
    tubes.truncate(random.random_range(1..=most));
    let thick = *[25.0_f64, 30.0, 38.0, 40.0, 44.5].choose(&mut random).expect("there are some");
    let has_both_sides = random.random_bool(0.3);
    let off_mm = *[0.0, 0.0, 4.0, 15.0].choose(&mut random).expect("there are some");
    let mut found = Vec::new();
    for (name, ends) in tubes {
        let od = random.random_bool(0.8).then(|| (thick * random.random_range(0.5..1.05_f64)).round());
        let od =
            if random.random_bool(0.02) { Some(*[76.1, 82.5, 88.9].choose(&mut random).expect("some")) } else { od };
        // It leaves room above the road.
        let lowest = ends[0][2].min(ends[1][2]);
        let od = od.filter(|mm| 0.5 * mm < lowest - 40.0);
        let mut near = |n: f64| n + if off_mm > 0.0 { f64::round(random.random_range(-off_mm..off_mm)) } else { 0.0 };
        let ends = ends.map(|end| end.map(&mut near));
        if has_both_sides && ends.iter().all(|end| end[1] > 0.0) {
            let mirrored = ends.map(|[x, y, z]| [x, -y, z]);
            found.push(FrameTube { name: format!("{name}, right"), ends: mirrored, od });
        }
        found.push(FrameTube { name: name.to_owned(), ends, od });
    }
    found
}

impl Bay {
    fn low_at(&self, x: f64) -> Triple {
        [x, self.low_out, self.low]
    }

    fn high_at(&self, x: f64) -> Triple {
        [x, self.high_out, self.high]
    }

    /// Rails, uprights and braces of the left side, and struts of a hoop on them.
    fn side(&self, middle: f64, hoop: f64) -> Vec<(&'static str, [Triple; 2])> {
        let (rear, front) = (self.rear, self.front);
        vec![
            ("upper rail", [self.high_at(rear), self.high_at(front)]),
            ("lower rail", [self.low_at(rear), self.low_at(front)]),
            ("rear upright", [self.low_at(rear), self.high_at(rear)]),
            ("middle upright", [self.low_at(middle), self.high_at(middle)]),
            ("front upright", [self.low_at(front), self.high_at(front)]),
            ("rear brace", [self.low_at(rear), self.high_at(middle)]),
            ("front brace", [self.low_at(front), self.high_at(middle)]),
            ("hoop strut", [self.high_at(middle), [front, 0.8 * self.high_out, hoop]]),
            ("hoop leg", [self.low_at(front), [front, 0.8 * self.high_out, hoop]]),
            ("lone strut", [self.high_at(rear), [middle, 0.5 * self.high_out, self.high + 150.0]]),
        ]
    }

    /// Cross tubes, level and as braces, and braces in plan.
    fn across(&self, middle: f64) -> Vec<(&'static str, [Triple; 2])> {
        let (rear, front) = (self.rear, self.front);
        let across = |[x, y, z]: Triple| [x, -y, z];
        vec![
            ("rear cross tube", [self.low_at(rear), across(self.low_at(rear))]),
            ("upper cross tube", [self.high_at(rear), across(self.high_at(rear))]),
            ("front cross tube", [self.low_at(front), across(self.low_at(front))]),
            ("brace of the bulkhead", [self.low_at(rear), across(self.high_at(rear))]),
            ("brace in plan", [self.low_at(rear), across(self.low_at(front))]),
            ("asymmetric brace", [self.high_at(middle), [rear, -0.3 * self.high_out, self.high]]),
            ("seat brace", [self.low_at(front), across(self.low_at(middle))]),
        ]
    }

    /// What reaches far ahead.
    fn far(&self, nose: f64) -> Vec<(&'static str, [Triple; 2])> {
        vec![
            ("sill", [self.low_at(self.front), self.low_at(nose)]),
            ("backbone", [[self.front, 0.0, self.high], [nose, 0.0, self.high]]),
            ("long rail", [[self.rear, self.low_out + 60.0, self.low], [nose, self.low_out + 60.0, self.low]]),
        ]
    }
}
