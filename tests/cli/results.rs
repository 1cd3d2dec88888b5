//! The output folder as the commands of one job share it.

use crate::car::Car;
use crate::program::Folder;

const SHORT: &str = "--quiet --bump 10 --droop 10 --step 10 --roll 0";

#[test]
fn a_tuned_car_is_studied_in_the_folder_where_it_lies() {
    let folder = Folder::with(Car::demo());
    folder.run(&format!("tune car.toml --starts 1 {SHORT}")).ends_with(0);
    let tuned = folder.text("hubtrace-out/tuned.toml");
    let ran = folder.run(&format!("tolerance hubtrace-out/tuned.toml --cars 10 {}", SHORT.replace("--quiet", "")));
    ran.assert_shows(&["Note: hubtrace-out holds results of another input too: of tune, made from car.toml."]);
    assert_eq!(folder.text("hubtrace-out/tuned.toml"), tuned);
    assert!(ran.written().contains(&"tolerance.csv".to_owned()) && ran.written().contains(&"moves.csv".to_owned()));
}

#[test]
fn a_sweep_leaves_nothing_of_the_car_before_it() {
    let folder = Folder::with(Car::demo());
    let first = folder.run(&format!("sweep car.toml {SHORT}")).written();
    assert!(first.contains(&"plunge.svg".to_owned()), "{first:?}");
    folder.write("car.toml", Car::demo().without("halfshaft"));
    let ran = folder.run(&format!("sweep car.toml {}", SHORT.replace("--quiet", "")));
    ran.assert_shows(&["Removed, of an earlier run:", "plunge.svg"]);
    assert!(!ran.written().contains(&"plunge.svg".to_owned()), "{ran}");
}

#[test]
fn tables_of_the_drawn_and_of_the_tuned_car_have_names_of_their_own() {
    let folder = Folder::with(Car::demo());
    let swept = folder.run(&format!("sweep car.toml {SHORT}")).text("heave.csv");
    let tuned = folder.run(&format!("tune car.toml --starts 1 {SHORT}"));
    assert_eq!(tuned.text("heave.csv"), swept);
    assert_ne!(tuned.text("tuned-heave.csv"), swept);
}

#[test]
fn force_never_overwrites_the_input() {
    let source = Car::demo().to_string();
    let folder = Folder::new();
    folder.write("work/heave.csv", &source);
    let ran = folder.run(&format!("sweep work/heave.csv --out work --force {SHORT}"));
    assert_eq!(ran.code, Some(4), "{ran}");
    ran.assert_tells(&["would overwrite their own source work/heave.csv", "--out"]);
    assert_eq!(folder.text("work/heave.csv"), source);
}
