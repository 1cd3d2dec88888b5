//! Every quantity and every measure is documented, and has a value on the demo car or a reason for having none.

use std::collections::BTreeSet;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{LimitKey, Over, Quantity};
use hubtrace::measures::Measure;
use hubtrace::studies::{JudgedCar, Rig, State};

const CONVENTIONS: &str = include_str!("../docs/conventions.md");
const GEOMETRY_FILE: &str = include_str!("../docs/geometry-file.md");

/// The lines below a heading, up to the next one.
fn section<'t>(text: &'t str, heading: &str) -> Vec<&'t str> {
    let lines = text.lines().skip_while(|line| !line.starts_with(heading)).skip(1);
    lines.take_while(|line| !line.starts_with('#')).collect()
}

/// The keys in the first column of the tables in a section.
fn keys_of(heading: &str) -> BTreeSet<String> {
    let first = |line: &&str| line.trim_start_matches('|').split('|').next().unwrap_or_default().to_owned();
    let cells =
        section(GEOMETRY_FILE, heading).iter().filter(|line| line.starts_with("| `")).map(first).collect::<Vec<_>>();
    let keys = cells.iter().flat_map(|cell| cell.split('`').skip(1).step_by(2));
    keys.map(str::to_owned).collect()
}

#[test]
fn the_table_of_limits_is_that_of_the_catalogue() {
    let keys: BTreeSet<String> = Quantity::ALL.iter().filter_map(|q| q.limit_key()).map(str::to_owned).collect();
    assert_eq!(keys_of("### `[limits]`"), keys);
    for line in section(GEOMETRY_FILE, "### `[limits]`") {
        let Some(quantity) =
            Quantity::ALL.iter().find(|q| q.limit_key().is_some_and(|key| line.starts_with(&format!("| `{key}`"))))
        else {
            continue;
        };
        let is_pair = matches!(quantity.definition().limit, LimitKey::Pair(_));
        assert_eq!(line.contains("[low, high]"), is_pair, "{line}");
        let over = match quantity.definition().over {
            Over::BumpAndDroop => "bump and droop",
            Over::Roll => "roll",
            Over::Design => "design",
        };
        assert!(line.contains(over) || line.contains("from design"), "{line} does not say {over:?}");
    }
}

#[test]
fn the_table_of_targets_is_that_of_the_catalogue() {
    let mut keys: BTreeSet<String> =
        Quantity::ALL.iter().filter_map(|q| q.definition().target).map(|target| target.key.to_owned()).collect();
    keys.insert("toe".to_owned());
    assert_eq!(keys_of("### `[targets]`"), keys);
}

#[test]
fn every_column_has_its_line() {
    for measure in Measure::ALL {
        let line = CONVENTIONS.lines().find(|line| line.starts_with(&format!("| `{}` |", measure.column())));
        assert!(line.is_some(), "`{}` has no line in docs/conventions.md", measure.column());
    }
}

#[test]
fn every_quantity_has_a_value_on_the_demo_car_or_lacks_data_that_it_names() {
    let file = GeometryFile::parse("demo", include_str!("../geometries/first-cut.toml")).expect("the demo car");
    let car = JudgedCar::of(Rig::new(&file.geometry).expect("a sound design"));
    for quantity in Quantity::ALL.iter().filter(|q| q.definition().limit != LimitKey::NotLimited) {
        let of_it: Vec<_> = car.verdicts.iter().filter(|verdict| verdict.quantity == *quantity).collect();
        assert!(!of_it.is_empty(), "{quantity:?} has no verdict");
        for verdict in of_it {
            match verdict.range {
                Some(range) => assert!(range.low <= range.high, "{verdict:?}"),
                None => assert_eq!(
                    (verdict.state, verdict.reason()),
                    (State::NotChecked, quantity.definition().needs.lacking())
                ),
            }
        }
    }
}

#[test]
fn no_two_lines_share_a_name_a_column_or_a_member() {
    let different = |words: Vec<&'static str>| words.iter().collect::<BTreeSet<_>>().len() == words.len();
    assert!(different(Quantity::ALL.iter().map(|q| q.name()).collect()));
    assert!(different(Quantity::ALL.iter().map(|q| q.definition().member).collect()));
    assert!(different(Measure::ALL.iter().map(|m| m.column()).collect()));
}
