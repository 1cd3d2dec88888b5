//! Screens of files in inches, limits that are small, and what a car is called.

use crate::car::Car;
use crate::program::Folder;
use crate::screen::assert_fits_the_width;

/// The axle as built, every length of its file in inches.
fn as_built_in_inches() -> Car {
    const LENGTHS: [&str; 20] = [
        "centre",
        "tyre_radius",
        "rim_radius",
        "toe_span",
        "chassis",
        "upright",
        "taped",
        "inner",
        "outer",
        "mount",
        "plunge_window",
        "wheelbase",
        "cg_height",
        "bump",
        "droop",
        "step",
        "scrub",
        "recession",
        "setback",
        "roll_centre_height",
    ];
    let text = std::fs::read_to_string("geometries/as-built.toml").expect("the car");
    let inches = |number: &str| match number.trim().parse::<f64>() {
        Ok(mm) => format!(" {:.5}", mm / 25.4),
        Err(_) => number.to_owned(),
    };
    let line = |line: &str| {
        let code = line.split('#').next().unwrap_or_default();
        let Some((key, value)) = code.split_once('=') else { return code.to_owned() };
        match key.trim() {
            "units" => "units = \"in\"".to_owned(),
            key if LENGTHS.contains(&key) => {
                let bare = value.trim().trim_matches(['[', ']']);
                let numbers = bare.split(',').map(inches).collect::<Vec<_>>().join(",");
                if value.contains('[') { format!("{key} = [{numbers} ]") } else { format!("{key} ={numbers}") }
            }
            _ => code.to_owned(),
        }
    };
    Car::parse(&text.lines().map(|of| line(of) + "\n").collect::<String>())
}

/// The cells of a line of the table of limits, which never touch: name, unit, values, limit, verdict.
fn cells(line: &str) -> Vec<String> {
    line.replace(" to ", "..").split_whitespace().map(str::to_owned).collect()
}

#[test]
fn travel_of_the_command_line_says_that_it_is_in_mm_where_the_file_is_in_inches() {
    let told = |car: Car, options: &str| Folder::with(car).run(&format!("sweep car.toml {options}")).messages();
    let read = "read in mm, though the file is in inches: --bump 2.2 mm, --step 0.5 mm";
    let messages = told(as_built_in_inches(), "--bump 2.2 --step 0.5");
    assert!(messages.contains(read), "{messages}");
    assert!(!told(as_built_in_inches(), "--roll 1").contains("read in mm"));
    let folder = Folder::with(as_built_in_inches());
    for (line, read) in [
        ("tolerance car.toml --cars 20 --sd 0.5 --jig 0.2", "--sd 0.5 mm, --jig 0.2 mm\n"),
        ("forces car.toml --at 20 --at -20", "--at 20 mm, --at -20 mm\n"),
    ] {
        let messages = folder.run(line).err;
        assert!(messages.contains(&format!("though the file is in inches: {read}")), "{messages}");
    }
    assert!(!told(Car::demo(), "--bump 22").contains("read in mm"));
}

/// 25.4 mm of bump for 25.
#[test]
fn a_slope_of_a_car_in_inches_is_told_for_an_inch_of_bump() {
    let of = |car: Car, span: &str| {
        let page = Folder::with(car).run("sweep car.toml").ends_with(1).out;
        let line = page.lines().find(|line| line.contains("slope per")).expect("a slope").to_owned();
        let number = line.split(&format!("slope per {span}")).nth(1).unwrap_or_else(|| panic!("{line}")).to_owned();
        number.split_whitespace().next().and_then(|number| number.parse::<f64>().ok()).expect("a number")
    };
    let inches = of(as_built_in_inches(), "1 in");
    let millimetres = of(Car::read("geometries/as-built.toml"), "25 mm");
    assert!((inches - millimetres * 25.4 / 25.0).abs() < 1.1e-3, "{inches} {millimetres}");
}

#[test]
fn no_two_cells_of_a_car_in_inches_touch() {
    let folder = Folder::with(as_built_in_inches());
    let swept = folder.run("sweep car.toml").ends_with(1);
    assert_fits_the_width(&swept.out);
    let line = |name: &str| swept.out.lines().find(|line| line.starts_with(name)).expect(name);
    assert_eq!(cells(line("roll-centre heig"))[1..], ["heig…", "in", "3.017", "2.915", "1.575..4.331", "pass"]);
    assert_eq!(cells(line("recession"))[3..], ["-0.145..0.097", "±0.197", "pass"]);
    let loose = Folder::with(format!("{}\n[weld]\nsd = 0.315\n", as_built_in_inches()));
    let welded = loose.run("tolerance car.toml --cars 200").doubted(1).ends_with(1);
    assert_fits_the_width(&welded.out);
    let height = welded.out.lines().find(|line| line.starts_with("roll-centre height")).expect("cars that break it");
    assert_eq!(cells(height)[7], "1.575..4.331", "{height}");
}

#[test]
fn a_figure_of_the_axle_stands_below_that_word() {
    let swept = Folder::with(Car::read("geometries/as-built.toml")).run("sweep car.toml").ends_with(1);
    let lines: Vec<&str> = swept.out.lines().skip_while(|line| !line.trim_start().starts_with("left ")).collect();
    let axle = lines.iter().position(|line| line.trim() == "axle").expect("a line of its own");
    let end_of = |line: &str, word: &str| line.find(word).expect("the word") + word.len();
    let (left, right) = (end_of(lines[0], "left"), end_of(lines[0], "right"));
    assert_eq!(lines[axle].trim_end().len(), right);
    let rows = lines.iter().enumerate().skip(1).take_while(|(_, line)| !line.starts_with("Roll centre:"));
    for (k, line) in rows.filter(|(k, _)| *k != axle) {
        let is_of_axle =
            ["track change", "roll steer", "thrust angle", "setback"].iter().any(|of| line.starts_with(of));
        assert_eq!(is_of_axle, k > axle, "{line}");
        assert_eq!(is_of_axle, line[24..left].trim().is_empty(), "{line}");
        assert!(!line[left..right].trim().is_empty(), "{line}");
    }
}

/// By hand: 0.2 / 25.4 = 0.00787; with a hundredth of an inch it would read as nothing.
#[test]
fn a_small_limit_is_told_with_the_decimals_that_it_needs() {
    let small = as_built_in_inches().set("limits.recession", "0.00787").set("limits.thrust_angle", "0.004");
    let swept = Folder::with(small.set("limits.setback", "0.0004")).run("sweep car.toml").doubted(2).ends_with(1);
    let limit = |name: &str| {
        let line = swept.out.lines().find(|line| line.starts_with(name)).expect(name);
        cells(line).into_iter().find(|cell| cell.starts_with('±')).expect("a limit")
    };
    assert_eq!(["recession", "thrust angle", "setback"].map(limit), ["±0.0079", "±0.004", "±0.0004"]);
    let welded =
        Folder::with(Car::demo().set("weld.sd", "0.004")).run("tolerance car.toml --cars 20").doubted(1).ends_with(1);
    welded.assert_shows(&["brackets and upright holes 0.004 mm one sd"]);
}

#[test]
fn a_bind_is_told_in_the_unit_of_the_file() {
    let folder = Folder::new();
    folder.run("new car.toml --units in --quiet").ends_with(0);
    let ran = folder.run("sweep car.toml --droop 320 --step 20");
    assert_eq!(ran.code, Some(3), "{ran}");
    ran.assert_tells(&["binds at 9.", "in of droop"]);
}

/// Every pickup of the demo from a survey, or some of them.
fn measured(links: &[&str]) -> Car {
    let sd = "{ chassis = [1.0, 1.0, 1.0], upright = [1.0, 1.0, 1.0] }";
    links.iter().fold(Car::demo(), |car, link| car.set(&format!("{link}.measured_sd"), sd))
}

#[test]
fn a_car_whose_points_came_from_a_survey_is_not_called_drawn() {
    let all = ["upper front", "upper rear", "lower front", "lower rear", "toe link"];
    for (links, words) in [(&all[..], "as measured"), (&all[..2], "as in the file")] {
        let folder = Folder::with(measured(links));
        for (line, words) in [
            ("check car.toml --bolts", ""),
            ("sweep car.toml", ""),
            ("tolerance car.toml --cars 100 --links cut", words),
            ("tune car.toml --starts 2 --cars 100", words),
        ] {
            let ran = folder.run(line);
            let screen = ran.screen().to_lowercase();
            assert!(!screen.contains("draw") && screen.contains(words), "{ran}");
        }
    }
    Folder::with(Car::demo()).run("tolerance car.toml --cars 100 --links cut").assert_shows(&["links cut as drawn"]);
}
