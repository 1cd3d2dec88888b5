//! Where words can stand without covering each other or the curves.

use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::ops::RangeInclusive;

use super::sheet::{PenError, Sheet, TextStyle};
use super::stroke::{SheetPoint, Stroke};
use crate::present::unbroken::{freed, held};

/// Width of an average letter of a sans-serif face over its size, plain and bold; on the wide side.
const LETTER_WIDTH: f64 = 0.53;
const BOLD_WIDTH: f64 = 0.6;
/// Distance at which a path is looked at when words seek a free place, in points of the page.
const PATH_STEP: f64 = 4.0;
/// Points of paths are kept by squares of the sheet this wide, so that a small area looks at few of them.
const SQUARE: f64 = 12.0;
/// No sheet is wider or higher than this, in points of the page.
const PAPER: f64 = 10_000.0;
/// A leader meets what comes nearer to it than this: a little more than half a step, so that no path slips through.
const MEETS: f64 = 0.55 * PATH_STEP;
/// Distance between the places that words try anywhere on a drawing.
const ANYWHERE_STEP: f64 = 9.0;

/// A rectangle on the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Area {
    pub fn around((x, y): SheetPoint, width: f64, height: f64) -> Self {
        Self { left: x - width / 2.0, right: x + width / 2.0, top: y - height / 2.0, bottom: y + height / 2.0 }
    }

    pub fn middle(&self) -> SheetPoint {
        ((self.left + self.right) / 2.0, (self.top + self.bottom) / 2.0)
    }

    pub fn width(&self) -> f64 {
        self.right - self.left
    }

    pub fn height(&self) -> f64 {
        self.bottom - self.top
    }

    /// The place of the area that is nearest to a place.
    pub fn nearest(&self, (x, y): SheetPoint) -> SheetPoint {
        (x.clamp(self.left, self.right), y.clamp(self.top, self.bottom))
    }

    fn holds(&self, (x, y): SheetPoint) -> bool {
        (self.left..=self.right).contains(&x) && (self.top..=self.bottom).contains(&y)
    }

    fn meets(&self, other: &Self) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }

    fn is_inside(&self, other: &Self) -> bool {
        other.holds((self.left, self.top)) && other.holds((self.right, self.bottom))
    }
}

/// Width that words take, as far as it can be known without the font.
pub fn width_of(words: &str, letters: TextStyle) -> f64 {
    let width = if letters.bold { BOLD_WIDTH } else { LETTER_WIDTH };
    words.chars().count() as f64 * width * letters.size
}

/// Where words may stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    pub area: Area,
    /// Where a thin line from the words ends, when they stand off what they name.
    pub leads_to: Option<SheetPoint>,
}

impl Place {
    /// Beside what the words name.
    pub fn beside(middle: SheetPoint, width: f64, height: f64) -> Self {
        Self { area: Area::around(middle, width, height), leads_to: None }
    }

    /// Off what they name.
    pub fn led(middle: SheetPoint, width: f64, height: f64, to: SheetPoint) -> Self {
        Self { area: Area::around(middle, width, height), leads_to: Some(to) }
    }

    /// Everywhere in an area, the nearest to `to` first, for words that find no place beside what they name.
    pub fn anywhere(inside: Area, width: f64, height: f64, to: SheetPoint) -> impl Iterator<Item = Self> {
        let middles = move || {
            let across = evenly(inside.left + width / 2.0, inside.right - width / 2.0, ANYWHERE_STEP);
            let rows = evenly(inside.top + height / 2.0, inside.bottom - height / 2.0, ANYWHERE_STEP);
            let middles: Vec<SheetPoint> = rows.flat_map(|y| across.clone().map(move |x| (x, y))).collect();
            nearest_first(middles, to)
        };
        // Looked for only when nothing nearer was free.
        std::iter::once_with(middles).flatten().map(move |middle| Self::led(middle, width, height, to))
    }
}

/// Points by their distance from a place; of equally near ones the first. One of the first is mostly taken, so the rest is not sorted.
fn nearest_first(points: Vec<SheetPoint>, to: SheetPoint) -> impl Iterator<Item = SheetPoint> {
    // The bits of numbers that are not negative rise with them.
    let far = |point: &SheetPoint| square_apart(*point, to).to_bits();
    let mut heap: BinaryHeap<_> = points.iter().enumerate().map(|(k, point)| Reverse((far(point), k))).collect();
    std::iter::from_fn(move || heap.pop().map(|Reverse((_, k))| points[k]))
}

/// Places from one end to another, about so far apart, both ends among them; none when the ends are the wrong way round.
pub fn evenly(from: f64, to: f64, step: f64) -> impl Iterator<Item = f64> + Clone {
    let steps = ((to - from) / step).ceil().max(0.0);
    let place = move |k: u32| if steps > 0.0 { from + (to - from) * f64::from(k) / steps } else { from };
    (0..=steps as u32).filter(move |_| to >= from).map(place)
}

/// Square of the distance between two points: thousands are compared for one word, and none needs its root.
fn square_apart(a: SheetPoint, b: SheetPoint) -> f64 {
    (a.0 - b.0).powi(2) + (a.1 - b.1).powi(2)
}

/// What is already on the paper, so that words can keep clear of it.
#[derive(Debug, Default)]
pub struct LabelPlacer {
    /// Points of paths, by the squares of each row of the sheet.
    rows: Vec<Vec<Vec<SheetPoint>>>,
    areas: Vec<Area>,
}

impl LabelPlacer {
    pub fn add_path(&mut self, path: &[SheetPoint]) {
        path.iter().take(1).for_each(|&first| self.add_point(first));
        for pair in path.windows(2) {
            let (from, to) = (pair[0], pair[1]);
            let steps = (square_apart(from, to).sqrt() / PATH_STEP).ceil().max(1.0);
            let part = |k: u32| f64::from(k) / steps;
            let between = |t: f64| (from.0 + (to.0 - from.0) * t, from.1 + (to.1 - from.1) * t);
            (1..=steps as u32).for_each(|k| self.add_point(between(part(k))));
        }
    }

    fn add_point(&mut self, point: SheetPoint) {
        let row = reached(&mut self.rows, square_of(point.1));
        reached(row, square_of(point.0)).push(point);
    }

    /// Points of paths in an area, and a few more.
    fn points(&self, area: Area) -> impl Iterator<Item = &SheetPoint> {
        let columns = square_of(area.left)..=square_of(area.right);
        let rows = among(&self.rows, square_of(area.top)..=square_of(area.bottom));
        rows.iter().flat_map(move |row| among(row, columns.clone())).flatten()
    }

    /// Points of paths that a line comes near to, and a few more.
    fn points_along(&self, from: SheetPoint, to: SheetPoint) -> impl Iterator<Item = &SheetPoint> {
        let (low, high) = if from.1 < to.1 { (from, to) } else { (to, from) };
        let (run, rise) = (high.0 - low.0, high.1 - low.1);
        let rows = square_of(low.1 - MEETS)..=square_of(high.1 + MEETS);
        rows.flat_map(move |row| {
            let top = row as f64 * SQUARE;
            let heights = [top - MEETS, top + SQUARE + MEETS].map(|y| y.clamp(low.1, high.1));
            let [a, b] = if rise > 0.0 { heights.map(|y| low.0 + run * (y - low.1) / rise) } else { [low.0, high.0] };
            self.points(Area { left: a.min(b) - MEETS, right: a.max(b) + MEETS, top, bottom: top })
        })
    }

    pub fn add_area(&mut self, area: Area) {
        self.areas.push(area);
    }

    /// Whether words cover nothing on one of these places.
    pub fn has_room(&self, places: &[Place], inside: &Area) -> bool {
        places.iter().any(|place| self.is_free(&place.area, inside))
    }

    /// The first place where words cover nothing and are led across nothing; when each is, the one led across least.
    fn clearest(&self, places: impl IntoIterator<Item = Place>, inside: &Area) -> Option<Place> {
        let mut best: Option<(usize, Place)> = None;
        for place in places.into_iter().filter(|place| self.is_free(&place.area, inside)) {
            let least = best.map_or(usize::MAX, |(least, _)| least);
            let crossed = place.leads_to.map_or(0, |to| self.crossed(place.area.nearest(to), to, least));
            if crossed == 0 {
                return Some(place);
            }
            if crossed < least {
                best = Some((crossed, place));
            }
        }
        best.map(|(_, place)| place)
    }

    fn is_free(&self, area: &Area, inside: &Area) -> bool {
        area.is_inside(inside)
            && !self.areas.iter().any(|other| area.meets(other))
            && !self.points(*area).any(|point| area.holds(*point))
    }

    /// How many points of paths a line comes near to before its end, counted up to `most`.
    fn crossed(&self, from: SheetPoint, to: SheetPoint, most: usize) -> usize {
        let near = |point: &SheetPoint| {
            square_to_part(*point, from, to) < MEETS * MEETS && square_apart(*point, to) > (1.05 * MEETS).powi(2)
        };
        self.points_along(from, to).filter(|point| near(point)).take(most).count()
    }

    /// Writes words on the clearest of these places; where every place covers something they are left out.
    pub fn write(
        &mut self,
        sheet: &Sheet,
        words: &str,
        letters: TextStyle,
        places: impl IntoIterator<Item = Place>,
        inside: &Area,
    ) -> Result<(), PenError> {
        let Some(Place { area, leads_to }) = self.clearest(places, inside) else { return Ok(()) };
        self.add_area(area);
        if let Some(to) = leads_to {
            let leader = [area.nearest(to), to];
            sheet.line(&leader, Stroke::LEADER)?;
            self.add_path(&leader);
        }
        sheet.words(words, area.middle(), letters)
    }
}

/// Row or column of the square at a place of the sheet; what is drawn beyond the paper counts to its edge.
fn square_of(place: f64) -> usize {
    (place.clamp(0.0, PAPER) / SQUARE) as usize
}

/// An element of a list, which grows to have it.
fn reached<T: Default>(list: &mut Vec<T>, index: usize) -> &mut T {
    if list.len() <= index {
        list.resize_with(index + 1, T::default);
    }
    &mut list[index]
}

/// The elements of a list in a range, as far as it has them.
fn among<T>(list: &[T], range: RangeInclusive<usize>) -> &[T] {
    let end = list.len().min(range.end() + 1);
    &list[(*range.start()).min(end)..end]
}

/// Square of the distance of a point from the nearest point between two ends.
pub fn square_to_part(point: SheetPoint, from: SheetPoint, to: SheetPoint) -> f64 {
    let along = (to.0 - from.0, to.1 - from.1);
    let square = along.0 * along.0 + along.1 * along.1;
    let share =
        if square == 0.0 { 0.0 } else { ((point.0 - from.0) * along.0 + (point.1 - from.1) * along.1) / square };
    let share = share.clamp(0.0, 1.0);
    square_apart(point, (from.0 + share * along.0, from.1 + share * along.1))
}

/// Moves labels in a row as little as possible so that none covers the next and all lie between `low` and `high`.
///
/// `wanted` holds middle and size of each; the middles come back in the same order. Least squares with the order kept:
/// labels that would overlap are pushed apart as one block.
pub fn spread(wanted: &[(f64, f64)], low: f64, high: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|&a, &b| wanted[a].0.total_cmp(&wanted[b].0));
    // Middle of each label when all are pushed together from 0, and the room the row takes.
    let mut room = 0.0;
    let packed: Vec<f64> = order
        .iter()
        .map(|&i| {
            room += wanted[i].1;
            room - wanted[i].1 / 2.0
        })
        .collect();
    let mut blocks: Vec<(f64, usize)> = Vec::new();
    for (&i, packed) in order.iter().zip(&packed) {
        let (mut sum, mut count) = (wanted[i].0 - packed, 1);
        while let Some(&(before, many)) = blocks.last().filter(|(s, n)| s / *n as f64 > sum / count as f64) {
            (sum, count) = (sum + before, count + many);
            blocks.pop();
        }
        blocks.push((sum, count));
    }
    let starts = blocks.iter().flat_map(|&(sum, count)| std::iter::repeat_n(sum / count as f64, count));
    let mut middles = vec![0.0; wanted.len()];
    for ((&i, packed), start) in order.iter().zip(&packed).zip(starts) {
        middles[i] = start.min(high - room).max(low) + packed;
    }
    middles
}

/// Words broken into lines of at most `letters`, at most `lines` of them; what is left out shows as an ellipsis.
pub fn broken(words: &str, letters: usize, lines: usize) -> Vec<String> {
    let mut broken: Vec<String> = textwrap::wrap(&held(words), letters).iter().map(|line| freed(line)).collect();
    if broken.len() > lines {
        broken.truncate(lines);
        if let Some(last) = broken.last_mut() {
            *last = last.chars().take(letters - 1).chain(['…']).collect();
        }
    }
    broken
}

#[cfg(test)]
mod tests {
    use super::{Area, LabelPlacer, Place, broken, evenly, spread};

    #[test]
    fn labels_with_room_stay_where_they_are() {
        assert_eq!(spread(&[(50.0, 10.0), (20.0, 10.0)], 0.0, 100.0), [50.0, 20.0]);
    }

    #[test]
    fn labels_that_would_overlap_are_pushed_apart_evenly() {
        assert_eq!(spread(&[(50.0, 10.0), (50.0, 10.0)], 0.0, 100.0), [45.0, 55.0]);
        assert_eq!(spread(&[(99.0, 10.0), (98.0, 10.0)], 0.0, 100.0), [95.0, 85.0]);
    }

    #[test]
    fn long_names_end_with_an_ellipsis() {
        assert_eq!(broken("upper front", 20, 2), ["upper front"]);
        assert_eq!(broken("upper front link of the left side", 12, 2), ["upper front", "link of the…"]);
    }

    #[test]
    fn words_stand_where_they_cover_nothing_or_not_at_all() {
        let inside = Area { left: 0.0, top: 0.0, right: 100.0, bottom: 40.0 };
        let mut taken = LabelPlacer::default();
        taken.add_path(&[(0.0, 20.0), (100.0, 20.0)]);
        let place = |y: f64| Place::beside((50.0, y), 30.0, 10.0);
        assert_eq!(taken.clearest([place(18.0), place(39.0), place(30.0)], &inside), Some(place(30.0)));
        assert_eq!(taken.clearest([place(18.0), place(24.0)], &inside), None);
    }

    #[test]
    fn a_leader_that_crosses_nothing_is_better_than_a_nearer_place() {
        let inside = Area { left: 0.0, top: 0.0, right: 100.0, bottom: 100.0 };
        let mut taken = LabelPlacer::default();
        taken.add_path(&[(0.0, 50.0), (100.0, 50.0)]);
        taken.add_path(&[(0.0, 60.0), (100.0, 60.0)]);
        let to = (50.0, 60.0);
        let [across, clear] = [(50.0, 40.0), (50.0, 90.0)].map(|middle| Place::led(middle, 10.0, 10.0, to));
        assert_eq!(taken.clearest([across, clear], &inside), Some(clear));
        assert_eq!(taken.clearest([across], &inside), Some(across));
    }

    #[test]
    fn places_anywhere_come_nearest_first_and_stay_inside() {
        let inside = Area { left: 0.0, top: 0.0, right: 100.0, bottom: 50.0 };
        let all: Vec<Place> = Place::anywhere(inside, 20.0, 10.0, (90.0, 45.0)).collect();
        assert_eq!(all[0].area, Area { left: 80.0, top: 40.0, right: 100.0, bottom: 50.0 });
        assert!(all.len() > 30 && all.iter().all(|place| place.area.is_inside(&inside)));
        assert_eq!(Place::anywhere(inside, 120.0, 10.0, (0.0, 0.0)).count(), 0);
    }

    #[test]
    fn even_places_have_both_ends() {
        assert_eq!(evenly(0.0, 1.0, 0.4).collect::<Vec<_>>(), [0.0, 1.0 / 3.0, 2.0 / 3.0, 1.0]);
        assert_eq!(evenly(2.0, 2.0, 1.0).collect::<Vec<_>>(), [2.0]);
        assert_eq!(evenly(2.0, 1.0, 1.0).count(), 0);
    }
}
