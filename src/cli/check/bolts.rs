//! Which way the bolt of each rod end should point.

use crate::geometry::Side;
use crate::present::rounded;
use crate::present::words::sentence_start;
use crate::studies::BestBolt;

use super::super::layout::{column, wrapped};

const NAME_COLUMNS: usize = 24;

pub fn lines(side: Side, bolts: &[BestBolt]) -> Vec<String> {
    let head = format!(
        "{} wheel, best bolt of every rod end as the file writes it, and how far it tilts from square over the travel:",
        side.name()
    );
    let mut lines = vec![String::new(), wrapped("", &sentence_start(&head))];
    lines.push(format!("  {:<NAME_COLUMNS$} {:>24} {:>9} {:>9} {:>7}", "", "x, y, z", "leaves", "now", "limit"));
    lines.extend(bolts.iter().map(line));
    lines
}

fn line(bolt: &BestBolt) -> String {
    let deg = |deg: Option<f64>| deg.map_or_else(|| "-".to_owned(), |deg| rounded(deg, 2));
    let way: String = bolt.as_written.iter().map(|&part| format!("{:>8}", rounded(part, 3))).collect();
    let name = column(&format!("{} {}", bolt.link, bolt.end), NAME_COLUMNS);
    let (leaves, now, limit) = (deg(Some(bolt.leaves_deg)), deg(bolt.as_drawn_deg), deg(bolt.limit_deg));
    format!("  {name} {way:>24} {leaves:>9} {now:>9} {limit:>7}")
}
