//! The form of a reference file: one topic, one geometry, any number of checks, each with where it comes from.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::Geometry;
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Topic {
    pub topic: String,
    /// A geometry file of this repository, or the text of one.
    geometry: Option<String>,
    #[serde(default, rename = "set")]
    pub sets: Vec<Set>,
    #[serde(default)]
    pub lengthened: Vec<Lengthened>,
    #[serde(default, rename = "load")]
    pub loads: Vec<Load>,
    #[serde(default, rename = "spin_axis")]
    pub spin_axes: Vec<SpinAxis>,
    #[serde(default)]
    pub steer: Vec<Steer>,
    #[serde(default, rename = "toe_unit")]
    pub toe_units: Vec<ToeUnit>,
}

/// Where a number comes from: `found` in a source, from `memory`, or `derived` from a definition.
#[derive(Deserialize)]
pub struct Origin {
    #[serde(default)]
    pub label: String,
    pub source: String,
    pub provenance: String,
    pub how: String,
}

/// Measures of one wheel at travels or roll angles.
#[derive(Deserialize)]
pub struct Set {
    #[serde(flatten)]
    pub origin: Origin,
    pub tolerance: f64,
    #[serde(default)]
    pub moved: Vec<Moved>,
    pub rows: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    pub at: At,
    pub expect: BTreeMap<String, f64>,
}

#[derive(Deserialize, Clone, Copy, Debug)]
#[serde(rename_all = "snake_case")]
pub enum At {
    BumpMm(f64),
    RollDeg(f64),
}

/// A chassis pickup moved before anything is measured; the link gets the length between its points.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Moved {
    pub link: String,
    pub chassis_by: [f64; 3],
}

#[derive(Deserialize)]
pub struct Lengthened {
    #[serde(flatten)]
    pub origin: Origin,
    pub tolerance: f64,
    pub link: String,
    pub by_mm: f64,
    pub toe_deg: f64,
    pub wheel_centre_dx_mm: f64,
    pub wheel_centre_dy_mm: f64,
}

#[derive(Deserialize)]
pub struct Load {
    #[serde(flatten)]
    pub origin: Origin,
    pub tolerance: f64,
    pub force_n: [f64; 3],
    #[serde(default)]
    pub moment_n_mm: [f64; 3],
    pub at: [f64; 3],
    pub tension_n: [f64; 6],
}

#[derive(Deserialize)]
pub struct SpinAxis {
    #[serde(flatten)]
    pub origin: Origin,
    pub tolerance: f64,
    pub axis: Option<[f64; 3]>,
    #[serde(default)]
    pub turns: Vec<(String, f64)>,
    pub toe_deg: f64,
    pub camber_deg: f64,
}

#[derive(Deserialize)]
pub struct Steer {
    #[serde(flatten)]
    pub origin: Origin,
    pub side: String,
    pub toe_deg: f64,
    pub steer_deg: f64,
}

#[derive(Deserialize)]
pub struct ToeUnit {
    #[serde(flatten)]
    pub origin: Origin,
    pub tolerance: f64,
    pub difference_mm: f64,
    pub span_mm: f64,
    pub toe_deg: f64,
}

impl Topic {
    pub fn geometry(&self) -> Geometry {
        let given = self.geometry.as_deref().unwrap_or_else(|| panic!("{}: no geometry", self.topic));
        let read = match given.contains('\n') {
            true => GeometryFile::parse(&self.topic, given),
            false => GeometryFile::read(&Path::new(env!("CARGO_MANIFEST_DIR")).join(given)),
        };
        read.unwrap_or_else(|error| panic!("{}: {error}", self.topic)).geometry
    }

    fn origins(&self) -> Vec<&Origin> {
        let sets = self.sets.iter().map(|check| &check.origin);
        let lengthened = self.lengthened.iter().map(|check| &check.origin);
        let loads = self.loads.iter().map(|check| &check.origin);
        let spin_axes = self.spin_axes.iter().map(|check| &check.origin);
        let steer = self.steer.iter().map(|check| &check.origin);
        let toe_units = self.toe_units.iter().map(|check| &check.origin);
        sets.chain(lengthened).chain(loads).chain(spin_axes).chain(steer).chain(toe_units).collect()
    }
}

/// Every topic in `tests/reference/`, in the order of the file names.
pub fn topics() -> Vec<Topic> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let entries = fs::read_dir(folder).expect("the folder of reference files");
    let mut paths: Vec<_> = entries.map(|entry| entry.expect("an entry").path()).collect();
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "toml"));
    paths.sort();
    let read = |path: &_| fs::read_to_string(path).expect("a readable file");
    paths.iter().map(|path| toml::from_str(&read(path)).unwrap_or_else(|e| panic!("{}: {e}", path.display()))).collect()
}

#[test]
fn every_check_says_where_it_comes_from() {
    for topic in topics() {
        let origins = topic.origins();
        assert!(!origins.is_empty(), "{} checks nothing", topic.topic);
        for origin in origins {
            assert!(!origin.source.is_empty() && !origin.how.is_empty(), "{}: {}", topic.topic, origin.label);
            let known = ["found", "memory", "derived"].iter().any(|word| origin.provenance.starts_with(word));
            assert!(known, "{}: {}", topic.topic, origin.provenance);
            assert!(!origin.source.contains("http"), "{}: a source is named by its title and clause", origin.label);
        }
    }
}
