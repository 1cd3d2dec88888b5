//! One seed and the next give answers of the same worth.

use std::path::Path;

use crate::file::GeometryFile;
use crate::geometry::{Geometry, Side};
use crate::studies::tune::{BuildOdds, Choice, SearchOptions, tune, tuned_geometry};

fn read(path: &str) -> Geometry {
    GeometryFile::read(Path::new(path)).unwrap_or_else(|error| panic!("{error}")).geometry
}

#[test]
#[ignore = "exploration"]
fn explore() {
    let path = std::env::var("CAR").unwrap_or("geometries/first-cut.toml".into());
    let geometry = read(&path);
    let seeds: u64 = std::env::var("SEEDS").map_or(4, |s| s.parse().expect("a number"));
    for seed in 1..=seeds {
        let options = SearchOptions { seed, starts: 8, stop: &|| false, progress: &|| {} };
        let began = std::time::Instant::now();
        let tuned =
            tune(&geometry, &[Side::Left], &options, &|car| Some(car.clone())).expect("an answer").swap_remove(0);
        let took = began.elapsed().as_secs_f64();
        let told = |choice: Choice| {
            let answer = tuned.chosen(choice);
            let car = tuned_geometry(&geometry, &[(Side::Left, &answer.corner)]);
            let odds = BuildOdds::of(&car, 10_000).expect("odds");
            let moves: Vec<String> =
                answer.moves.iter().map(|m| format!("{:.1}", m.distance_mm().unwrap_or(0.0))).collect();
            format!(
                "{:.4} deg {:.4} p90 {:.4} hold {} {:?} moves {}",
                answer.worst_bump_steer_deg,
                odds.chance.share.map_or(-1.0, |s| s.value()),
                odds.worst.left.p90_deg,
                answer.limits_hold,
                answer.termination,
                moves.join(" ")
            )
        };
        println!(
            "seed {seed} {took:.1} s\n   flattest {}\n  forgiving {}",
            told(Choice::Flattest),
            told(Choice::MostForgiving)
        );
    }
}
