//! The chance that a tuning tells is the one that the weld study finds on what it wrote.

use crate::car::Car;

use super::tuned;

/// Groups, shape and tape count in both, and so does the other wheel.
#[test]
fn a_tuned_car_has_one_chance() {
    let demo = Car::demo().to_string();
    let weld = demo.lines().skip_while(|line| *line != "[weld]").take_while(|line| !line.is_empty());
    let weld = weld.collect::<Vec<_>>().join("\n");
    let careful = "[weld]\nsd = 0.2";
    let boxed = "[weld]\nwithin = 0.3\nshape = \"uniform\"\n[[weld.group]]\nname = \"box\"\n\
                 pickups = [\"lower front chassis\", \"lower rear chassis\"]\nsd = 0.6\ntogether = true\n[tape]\nsd = 0.1";
    for errors in [careful, boxed] {
        let (folder, ran) = tuned(demo.replace(&weld, errors));
        let told = ran.number("/tune/chance");
        let found = folder.run("tolerance hubtrace-out/tuned.toml --out welded");
        let (low, high) = (found.number("/tolerance/share_inside_low"), found.number("/tolerance/share_inside_high"));
        assert!(low <= told && told <= high, "{told}, not between {low} and {high}");
        assert!(told > 0.005 && told < 0.999, "{told} says nothing");
    }
}
