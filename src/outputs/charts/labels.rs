//! Where words can stand without covering each other or the curves.

use super::sheet::{PenError, Sheet, TextStyle};
use super::stroke::SheetPoint;

/// Width of an average letter of a sans-serif face over its size, plain and bold; on the wide side.
const LETTER_WIDTH: f64 = 0.58;
const BOLD_WIDTH: f64 = 0.66;
/// Distance at which a path is looked at when words seek a free place, in points of the page.
const PATH_STEP: f64 = 4.0;

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

/// What is already on the paper, so that words can keep clear of it.
#[derive(Debug, Default)]
pub struct LabelPlacer {
    points: Vec<SheetPoint>,
    areas: Vec<Area>,
}

impl LabelPlacer {
    pub fn add_path(&mut self, path: &[SheetPoint]) {
        self.points.extend(path.first());
        for pair in path.windows(2) {
            let (from, to) = (pair[0], pair[1]);
            let steps = ((to.0 - from.0).hypot(to.1 - from.1) / PATH_STEP).ceil().max(1.0);
            let part = |k: u32| f64::from(k) / steps;
            let between = |t: f64| (from.0 + (to.0 - from.0) * t, from.1 + (to.1 - from.1) * t);
            self.points.extend((1..=steps as u32).map(|k| between(part(k))));
        }
    }

    pub fn add_area(&mut self, area: Area) {
        self.areas.push(area);
    }

    /// The place that covers least; the first of equals.
    pub fn clearest(&self, places: impl IntoIterator<Item = Area>, inside: &Area) -> Option<Area> {
        let covered = |area: &Area| {
            let points = self.points.iter().filter(|&&p| area.holds(p)).count();
            let words = self.areas.iter().filter(|other| area.meets(other)).count();
            points + 100 * words + if area.is_inside(inside) { 0 } else { 10_000 }
        };
        places.into_iter().min_by_key(covered)
    }

    /// Writes words on the clearest of these places and says where.
    pub fn write(
        &mut self,
        sheet: &Sheet,
        words: &str,
        letters: TextStyle,
        places: impl IntoIterator<Item = Area>,
        inside: &Area,
    ) -> Result<Option<Area>, PenError> {
        let Some(area) = self.clearest(places, inside) else { return Ok(None) };
        self.add_area(area);
        sheet.words(words, area.middle(), letters)?;
        Ok(Some(area))
    }
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
    let mut broken: Vec<String> = textwrap::wrap(words, letters).into_iter().map(String::from).collect();
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
    use super::{broken, spread};

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
}
