//! What a survey file says, in mm.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Axis, LengthUnit};
use hubtrace::studies::locate::LocateFindings;
use hubtrace::survey::{ReadingKind, Station, Survey, SurveyFile, SurveyTemplate, survey_text};
use nalgebra::Point3;

const GOOD: &str = include_str!("good/corner.toml");

fn survey(text: &str) -> Survey {
    SurveyFile::parse("survey.toml", text).unwrap_or_else(|error| panic!("{error}")).survey
}

#[test]
fn a_survey_says_what_was_read_of_what() {
    let survey = survey(GOOD);
    assert_eq!((survey.name.as_str(), survey.units), ("left rear corner", LengthUnit::Millimetre));
    assert_eq!((survey.tape_sd_mm, survey.hook_mm), (1.0, 0.0));
    assert_eq!((survey.datums[1].at, survey.datums[1].sd_mm), (Point3::new(800.0, 0.0, 0.0), 0.0));
    let point = Station::Point(0);
    let kinds: Vec<_> = survey.readings.iter().map(|reading| (reading.kind, reading.read_mm)).collect();
    let plumbed = |axis| ReadingKind::Plumbed { axis, of: point };
    assert_eq!(
        kinds,
        [
            (ReadingKind::Distance([Station::Datum(0), point]), Some(812.5)),
            (plumbed(Axis::Z), Some(255.0)),
            (plumbed(Axis::Y), Some(380.0)),
            (plumbed(Axis::X), Some(-150.0)),
        ]
    );
    let lines: Vec<_> = survey.readings.iter().map(|reading| (reading.number, reading.line)).collect();
    assert_eq!(lines, [(1, 20), (2, 24), (3, 28), (4, 32)]);
}

#[test]
fn readings_are_numbered_as_they_stand_in_the_file() {
    let moved = GOOD.replace("[[distance]]\nbetween = [\"A\", \"toe link chassis\"]\nread = 812.5\n", "")
        + "\n[[distance]]\nbetween = [\"A\", \"toe link chassis\"]\nread = 812.5\n";
    let names: Vec<_> = survey(&moved).readings.iter().map(|reading| reading.kind.name()).collect();
    assert_eq!(names, ["height", "offset", "fore_aft", "distance"]);
}

#[test]
fn inches_with_fractions_and_the_hook_become_millimetres() {
    let text = GOOD
        .replace("units = \"mm\"", "units = \"in\"")
        .replace("sd = 1.0", "sd = 0.05\nhook = 0.0625")
        .replace("read = 812.5", "read = \"31 15/16\"\nsd = 0.1")
        .replace("read = 255.0", "read = \"\"");
    let survey = survey(&text);
    let taped = &survey.readings[0];
    assert!((taped.read_mm.unwrap() - 811.2125).abs() < 1e-9, "31.9375 in");
    assert!((survey.measured_mm(taped).unwrap() - 812.8).abs() < 1e-9, "and a sixteenth for the hook: 32 in");
    assert!((taped.sd_mm - 2.54).abs() < 1e-9);
    let height = &survey.readings[1];
    assert_eq!((height.read_mm, survey.measured_mm(height)), (None, None), "still to be taken");
    assert!((height.sd_mm - 1.27).abs() < 1e-9);
    let offset = &survey.readings[2];
    assert_eq!(survey.measured_mm(offset), offset.read_mm, "a plumbed place has no hook");
}

#[test]
fn a_part_knows_where_it_is_held_and_how_exactly_it_was_measured() {
    let part = r#"
        [[part]]
        name = "upright"
        sd = 0.2
        [[part.point]]
        name = "A"
        at = [0.0, 0.0, 0.0]
        [[part.point]]
        name = "B"
        at = [800.0, 0.0, 0.0]
        sd = 0.5
        [[part.point]]
        name = "toe link chassis"
        at = [0.0, 300.0, 0.0]
        [[part.point]]
        name = "halfshaft outer"
        at = [0.0, 50.0, 0.0]
    "#;
    let survey = survey(&format!("{GOOD}{part}"));
    let points = &survey.parts[0].points;
    let held: Vec<_> = points.iter().map(|point| point.sits_at).collect();
    assert_eq!(held, [Some(Station::Datum(0)), Some(Station::Datum(1)), Some(Station::Point(0)), None]);
    assert_eq!(points.iter().map(|point| point.sd_mm).collect::<Vec<_>>(), [0.2, 0.5, 0.2, 0.2]);
}

#[test]
fn what_places_nothing_and_what_cannot_be_true_is_told_with_its_line() {
    let more = "\n[[distance]]\nbetween = [\"A\", \"B\"]\nread = 803.0\n\
                \n[[distance]]\nbetween = [\"toe link chassis\", \"A\"]\nread = 912.5\n";
    let file = SurveyFile::parse("survey.toml", &format!("{GOOD}{more}")).unwrap();
    let told: Vec<_> = file.remarks.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "survey.toml, line 36, column 1: this reading is between two datums and places no point",
            "survey.toml, line 40, column 1: this reading and the one on line 20 measure the same and differ by 100.0 mm",
        ]
    );
    let measured = format!("{GOOD}{more}").replace("at = [0.0, 0.0, 0.0]", "at = [0.0, 0.0, 0.0]\nsd = 0.5");
    assert_eq!(SurveyFile::parse("survey.toml", &measured).unwrap().remarks.len(), 1, "a measured datum is placed too");
}

#[test]
fn a_new_survey_reads_back_with_every_reading_to_be_taken() {
    let file = GeometryFile::parse("car.toml", include_str!("../../geometries/first-cut.toml")).unwrap();
    for units in [LengthUnit::Millimetre, LengthUnit::Inch] {
        let mut template = SurveyTemplate::of(&file.geometry);
        template.units = units;
        template.name = "of a \"new\" car, für später".into();
        let text = survey_text(&template);
        let survey = survey(&text);
        assert_eq!(survey.name, template.name);
        assert_eq!(survey.points.len(), 15, "ten pickups, the wheel, two joints and two ends of the spring");
        assert_eq!(survey.readings.len(), 15 * (6 + 3));
        assert!(survey.readings.iter().all(|reading| reading.read_mm.is_none()));
        for (reading, line) in survey.readings.iter().map(|reading| (reading, text.lines().nth(reading.line - 1))) {
            assert!(line.unwrap().ends_with(&format!("# {}", reading.number)), "{line:?}");
        }
        let near = survey.points[1].near.unwrap();
        assert!((near - file.geometry.left.links[0].chassis).norm() < 13.0, "{near}");
    }
}

/// The whole file in the document reads, and its readings agree; so do lists in place of tables.
#[test]
fn the_file_of_the_document_is_a_sound_survey() {
    let document = include_str!("../../docs/survey-file.md");
    let mut blocks = document.split("```toml\n").skip(1).filter_map(|rest| rest.split("```").next());
    let whole = survey(blocks.next().unwrap());
    assert_eq!((whole.readings.len(), whole.datums[2].sd_mm, whole.readings[1].sd_mm), (6, 0.5, 2.0));
    let found = LocateFindings::of(&whole).located;
    let at = found.points[0].at_mm.unwrap();
    assert!([-150.0, 376.0, 255.0].iter().zip(at).all(|(plumbed, at)| (plumbed - at).abs() < 1.0), "{at:?}");
    assert!(found.suspects.is_empty() && !found.noise.widened, "{found:?}");
    let list = blocks.next().unwrap();
    let listed = survey(&format!("schema = 1\npoint = [{{ name = \"toe link chassis\" }}]\n{list}"));
    assert_eq!((listed.readings[0].kind, listed.readings[0].read_mm), (whole.readings[3].kind, Some(255.0)));
}
