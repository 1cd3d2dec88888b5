//! Shop sheets in words.

use super::correct::way;
use super::length::{LengthFormat, rounded};
use super::quantity::band;
use super::{forces, weld_study, words};
use crate::geometry::{Axis, Corner, End, LengthKind, Link, Side, Tube};
use crate::studies::fabrication::{
    BoltAngles, BoltFrom, Bracket, CutFault, CutLink, LinkClock, NoNotch, Notch, PointFix, SeenFrom, Setting,
    SettingStep, TapeCheck, TapeStart, ZeroLine,
};
use crate::studies::forces::{ForcesFindings, Masses};
use crate::studies::tolerance::LastBracketGain;
use crate::studies::{CarFindings, Lacking, PairClearance};

/// How the two angles of a bolt are set.
pub const BOLT_ANGLES: &str = "Angles are read at the end of the bolt that points forward: \"plan\" from straight ahead, seen \
    from above, outboard positive; \"tilt\" from level, up positive. \"leans\" is how far the rod end tilts from square at worst \
    over bump and droop.";
/// How the ends of a link are locked.
pub const CLOCKING: &str = "Clock angle: look along the link from its chassis end; turn the far rod end clockwise from the near \
    one by this angle and lock both. \"may be off\" is what the angle may miss either way before a rod end reaches its limit \
    somewhere in the travel.";

/// How drawings at true size are printed.
pub const TRUE_SIZE: &str = "PDF sheets are printed at 100 % (\"actual size\"); measure the bar of \
    100 mm on each before it is used.";

/// Where the order of welding is from.
pub const COMMON_PRACTICE: &str = "Steps without a number of your car are common practice, not a rule; the order of your welder \
    and the rulebook come first.";

/// What the tape check starts from, and how well it fixes the pickups.
pub fn tape_check(lengths: LengthFormat, check: &TapeCheck) -> String {
    let count = check.distances.len();
    let head = match check.measured_from {
        TapeStart::Datums => format!("Tape check: {count} distances, three of each pickup from datums of the file."),
        TapeStart::DatumsAndPickups => format!(
            "Tape check: {count} distances; the file has fewer than three [[datum]], so other pickups stand in. Add datums to \
             fix the car in its frame."
        ),
        TapeStart::Pickups => format!(
            "Tape check: {count} distances between the pickups themselves, for the file has no [[datum]]. They hold the shape \
             and not its place in the frame: add three datums or more."
        ),
    };
    let worst = check.loosest().map(|(point, within_mm)| {
        let within = lengths.with_unit(within_mm);
        format!(" With each distance inside its tolerance, every pickup is within {within} of its place ({point:?} at worst).")
    });
    let loose: Vec<String> =
        check.fixes.iter().filter(|fix| fix.within_mm.is_none()).map(|fix| format!("{:?}", fix.point)).collect();
    let loose = match &loose[..] {
        [] => String::new(),
        names => format!(
            " Not fixed by any three of these places: {}; add a datum that is well above the others, or \
             below them down to the floor.",
            words::listed(names)
        ),
    };
    head + &worst.unwrap_or_default() + &too_loose(check).unwrap_or_default() + &loose
}

/// The pickups that the tape fixes, but no better than a link could be out, and where a datum would help most of them.
fn too_loose(check: &TapeCheck) -> Option<String> {
    let way = |fix: &PointFix| fix.loosest_way.map(Axis::nearest);
    let count = |axis: Axis| check.too_loose().filter(|fix| way(fix) == Some(axis)).count();
    let axis = Axis::ALL.into_iter().max_by_key(|&axis| count(axis)).filter(|&axis| count(axis) > 0)?;
    let by_pickup = words::gathered(check.too_loose().map(|fix| (fix.pickup, format!("{:?}", fix.point))));
    let names = match by_pickup.iter().all(|(_, sides)| sides.len() == 2) {
        true => format!(
            "{}, on both sides",
            words::listed(&by_pickup.into_iter().map(|(_, sides)| sides[0].clone()).collect::<Vec<_>>())
        ),
        false => words::listed(&by_pickup.into_iter().flat_map(|(_, sides)| sides).collect::<Vec<_>>()),
    };
    let is_of = |side: Side| check.too_loose().all(|fix| fix.side == side);
    let (on, there) = match Side::BOTH.into_iter().find(|&side| is_of(side)) {
        Some(side) => (format!("on the {} of the car, ", side.name()), " there"),
        None => (String::new(), ""),
    };
    let further = match (check.measured_from, axis) {
        (TapeStart::Pickups, _) => String::new(),
        (_, Axis::X) => format!(" Add a datum {on}well ahead of the others{there}, or behind them."),
        (_, Axis::Y) => " Add a datum well to the left of the others, or to the right of them.".to_owned(),
        (_, Axis::Z) => format!(" Add a datum {on}well above the others{there}, or below them down to the floor."),
    };
    Some(format!(
        " The tape does not check pickups that may be further off than a link can be turned to take up, here mostly {}: {}.{further}",
        words::along(axis),
        names
    ))
}

/// How many bolts of the file there are, and how many are proposed.
pub fn bolts(brackets: &[Bracket]) -> Option<String> {
    let best = brackets.iter().filter(|bracket| bracket.bolt_from == Some(BoltFrom::Best)).count();
    (best > 0).then(|| {
        format!(
            "{best} of {} bolts have no direction in the file: the one that leaves the least lean is shown (marked *); weld to \
             it, or write yours as `chassis_bolt` or `upright_bolt`.",
            brackets.len()
        )
    })
}

/// Of a link whose ends cannot be locked so that both stay inside their limit.
pub fn clock_without_room(link: &LinkClock) -> Option<String> {
    let short_deg = -link.permitted_deg.filter(|deg| *deg < 0.0)?;
    Some(format!(
        "Link {:?}: at no clock angle do both rod ends stay inside their limit, it lacks {} deg either way; turn a bolt toward \
         its best direction, or take rod ends that lean more.",
        link.link,
        rounded(short_deg, 2)
    ))
}

/// The way of a bolt: `plan 23.9 deg, tilt 0.0 deg`.
pub fn bolt_angles(angles: &BoltAngles) -> String {
    let plan = angles.plan_deg.map_or("stands upright".to_owned(), |deg| format!("plan {} deg", rounded(deg, 1)));
    format!("{plan}, tilt {} deg", rounded(angles.tilt_deg, 1))
}

/// From where a template is seen.
pub fn seen_from(view: SeenFrom) -> &'static str {
    match view {
        SeenFrom::Behind => "along the bolt, from behind",
        SeenFrom::Outside => "along the bolt, from outside",
        SeenFrom::Above => "along the bolt, from above",
    }
}

/// How a notched tube sits: `25.4 mm on 38.1 mm, 60.0 deg, 3.0 mm off centre`.
pub fn notch_fit(lengths: LengthFormat, notch: &Notch) -> String {
    let [od, on] = [notch.od_mm, notch.on_od_mm].map(|mm| lengths.with_unit(mm));
    let (angle, off) = (rounded(notch.angle_deg, 1), lengths.with_unit(notch.offset_mm));
    format!("Tube of {od} on {on}, {angle} deg between them, {off} off centre.")
}

/// Why a tube end has no wrap.
pub fn no_notch(why: &NoNotch) -> String {
    match why {
        NoNotch::Overhangs => "it is wider than the other tube there, so it does not sit on it all round".to_owned(),
        NoNotch::TooFlat { angle_deg } => {
            format!("the two are {} deg apart, too near to parallel for a notch", rounded(*angle_deg, 1))
        }
    }
}

/// Which side of a tube faces so.
pub fn zero_line(zero: ZeroLine) -> &'static str {
    match zero {
        ZeroLine::Up => "up",
        ZeroLine::Forward => "forward",
    }
}

/// Why a link cannot be made as drawn.
pub fn cut_fault(lengths: LengthFormat, fault: CutFault) -> String {
    match fault {
        CutFault::TubeTooShort { needs_mm } => {
            format!("tube too short: the shanks need {} inside it", lengths.with_unit(needs_mm))
        }
        CutFault::NoRoomForHead { needs_mm } => {
            format!("screwed in, the head has less than {} beside the lock nut", lengths.with_unit(needs_mm))
        }
        CutFault::ShortEngagement { needs_mm } => {
            format!("engagement below one and a half diameters, {}", lengths.with_unit(needs_mm))
        }
    }
}

/// How the cut list is read, what it assumes, and what the file lacks.
pub fn cut_list(links: &[CutLink]) -> Vec<String> {
    let mut said = vec![
        "Tube: what is sawn between the inserts, both rod ends as far out as each other; \"held\": thread inside each insert as \
         drawn; \"ball to face\": from the centre of the ball to the face of the insert; longer and shorter: how far the link \
         can be adjusted. Masses are those of the tubes alone."
            .to_owned(),
    ];
    if links.iter().filter_map(|link| link.tube).any(|tube| tube.range_assumed) {
        said.push(
            "A range that the file does not give (`adjust` of the link) is taken as four turns of each rod end either way."
                .to_owned(),
        );
    }
    let mut needs: Vec<String> = links.iter().flat_map(|link| &link.needs).map(|&key| key.to_owned()).collect();
    needs.sort();
    needs.dedup();
    if !needs.is_empty() {
        said.push(format!("Tube lengths need more of [rod_end]: {}.", words::listed(&needs)));
    }
    let masses: Vec<f64> = links.iter().filter_map(|link| link.tube_mass_kg).collect();
    if !masses.is_empty() && masses.len() == links.len() {
        said.push(format!("All {} tubes: {} kg.", masses.len(), rounded(masses.iter().sum(), 2)));
    }
    said
}

/// Links that cannot be made as drawn, and why; `None` when all can.
pub fn cut_faults<'l>(lengths: LengthFormat, links: impl Iterator<Item = &'l CutLink>) -> Option<String> {
    let faults = |link: &'l CutLink| link.faults.iter().map(move |&fault| (fault, link));
    let faults: Vec<(CutFault, &CutLink)> = links.flat_map(faults).collect();
    let is_short = |(fault, _): &(CutFault, &CutLink)| matches!(fault, CutFault::ShortEngagement { .. });
    let cure = match (faults.iter().all(is_short), faults.iter().any(is_short)) {
        _ if faults.is_empty() => return None,
        (true, _) => "Write a longer `engagement` where the inserts have room for it, or take longer ones",
        (_, true) => {
            "Take another rod end or insert, move a bracket, or write a longer `engagement` where the insert has room for it"
        }
        _ => "Take another rod end or insert, or move a bracket",
    };
    let by_fault = faults
        .iter()
        .map(|(fault, link)| (cut_fault(lengths, *fault), format!("{:?} ({})", link.link, link.side.name())));
    let by_fault = words::gathered(by_fault).into_iter();
    let each: Vec<String> = by_fault.map(|(fault, links)| format!("{}: {fault}", words::listed(&links))).collect();
    Some(format!("Cannot be made as drawn: {}. {cure}.", each.join("; ")))
}

/// What each link is adjusted by, as the file says: `How they are adjusted: "toe link" by a sleeve, a turn 3.00 mm; …`; `None`
/// when it says nothing.
pub fn adjusters(lengths: LengthFormat, corner: &Corner) -> Option<String> {
    let of_link = |(index, link): (usize, &Link)| {
        let length = link.adjusters.length.map(|length| {
            let part = match length.kind {
                LengthKind::Sleeve => "a sleeve",
                LengthKind::End => "turning one rod end",
            };
            format!("{:?} by {part}, a turn {}", link.name, lengths.finer_unit(length.mm_per_turn()))
        });
        let bracket = |end: End| {
            let of = link.adjusters.at(end)?;
            let part = match (of.step_mm, end) {
                (Some(step_mm), End::Chassis) => format!("shims of {}", lengths.finer_unit(step_mm)),
                (Some(step_mm), End::Upright) => format!("spacers of {}", lengths.finer_unit(step_mm)),
                (None, _) => "a slot".to_owned(),
            };
            let range = band(|mm| lengths.number(mm), of.range_mm);
            let place = words::pickup(corner, index, end);
            Some(format!("{place} by {part}, {range} {} {}", lengths.symbol(), way(of.along, 1.0)))
        };
        length.into_iter().chain(End::BOTH.into_iter().filter_map(bracket)).collect::<Vec<_>>()
    };
    let each: Vec<String> = corner.links.iter().enumerate().flat_map(of_link).collect();
    (!each.is_empty()).then(|| format!("How they are adjusted: {}.", each.join("; ")))
}

/// What the tubes of the links, as sawn, and of the frame weigh, as far as the file tells.
pub fn masses(links: &[CutLink], frame: Option<&Masses>) -> String {
    let known: Option<f64> = links.iter().map(|link| link.tube_mass_kg).sum();
    let of_links = known.map(|kg| (format!("the {} link tubes of these sheets", links.len()), kg));
    let of_frame = frame.filter(|frame| frame.frame_tubes > 0);
    let of_frame =
        of_frame.map(|frame| (format!("{} frame tubes of the file", frame.frame_tubes), frame.frame_tubes_kg));
    let all: Vec<(String, f64)> = of_links.into_iter().chain(of_frame).collect();
    let each: Vec<String> = all.iter().map(|(what, kg)| format!("{what} {} kg", rounded(*kg, 2))).collect();
    match each.len() {
        0 => "Nothing is known of any tube: its size, wall and material are in the file under `tube` of a link and [[tube]].".to_owned(),
        1 => format!("{}.", words::sentence_start(&each[0])),
        _ => {
            let sum = rounded(all.iter().map(|(_, kg)| kg).sum(), 2);
            format!("{}, together {sum} kg.", words::sentence_start(&each.join(", ")))
        }
    }
}

/// Why frame tubes are not, or not all, set beside square ones.
pub fn frame_tubes_lack(tubes: &[Tube], found: Option<&ForcesFindings>, none_told: bool) -> Option<String> {
    let square = "A square tube of equal strength is set beside";
    match (found, tubes) {
        (_, []) => Some(format!("{square} each frame tube that carries a bracket; the file has no [[tube]].")),
        (None, _) => Some(format!(
            "{square} each frame tube that carries a bracket once forces are known: they need a [spring]."
        )),
        (Some(found), _) => {
            let is_tube =
                |lacks: &&Lacking| tubes.iter().any(|tube| lacks.what == format!("frame tube {:?}", tube.name));
            let bare: Vec<Lacking> = found.lacking.iter().filter(is_tube).cloned().collect();
            match forces::not_checked(&bare) {
                None if none_told => {
                    Some(format!("{square} each frame tube that carries a bracket; no link has a `chassis_tube`."))
                }
                not_checked => not_checked,
            }
        }
    }
}

/// How the setting chart is read.
pub const SETTING_CHART: &str = "Each row alone, everything else held; for small steps effects add up. Toe-in, top of the wheel \
    outboard and wheel moved back are positive; the slope is that of bump steer over bump and droop. The other way round, the \
    signs turn.";

/// The same chart on the page for the wall, with these shims under the inner brackets.
pub fn settings(lengths: LengthFormat, has_threads: bool, shims: &[&Setting]) -> String {
    let thick = words::gathered(shims.iter().map(|shim| (lengths.finer_unit(shim.by_mm), shim.link.clone())));
    let thick = match &thick[..] {
        [(all, _)] => all.clone(),
        several => {
            several.iter().map(|(thick, of)| format!("{thick} ({})", words::listed(of))).collect::<Vec<_>>().join(", ")
        }
    };
    let threads =
        if has_threads { "" } else { " What a turn does needs `thread` of [rod_end], or `adjust` of the link." };
    format!(
        "Slope: that of bump steer for {} of bump. Shim: {thick} under the inner bracket, up or as the file says. Everything else \
         held; recession and the outer eyes are on the setting chart.{threads}",
        lengths.slope_span().0
    )
}

/// What is done, in a row of the setting chart.
pub fn setting_step(lengths: LengthFormat, setting: &Setting) -> String {
    let by = lengths.finer_unit(setting.by_mm);
    match setting.what {
        SettingStep::Flat => format!("one flat longer, {by}"),
        SettingStep::HalfTurn => format!("half a turn of one rod end out, {by}"),
        SettingStep::ChassisShim { along } | SettingStep::UprightShim { along } => {
            let [x, y, z] = along;
            let axis = [(x, "forward", "back"), (y, "to the left", "to the right"), (z, "up", "down")];
            let whole = axis.into_iter().find(|(part, ..)| part.abs() > 1.0 - 1e-9);
            let way = whole.map_or_else(
                || format!("along {}, {}, {}", rounded(x, 2), rounded(y, 2), rounded(z, 2)),
                |(part, plus, minus)| if part > 0.0 { plus.to_owned() } else { minus.to_owned() },
            );
            let is_frame = matches!(setting.what, SettingStep::ChassisShim { .. });
            let bracket = if is_frame { "inner bracket" } else { "outer eye" };
            format!("shim of {by}, {bracket} {way}")
        }
    }
}

/// How near two parts come: `lower front / lower rear, 44.8 mm at design height`.
pub fn tightest_gap(lengths: LengthFormat, pair: &PairClearance) -> String {
    let (gap, at) = (lengths.with_unit(pair.least_mm.abs()), words::travel(lengths, pair.at_bump_mm));
    match pair.least_mm < 0.0 {
        true => format!("{}, which touch, by {gap} too much at {at}", pair.pair),
        false => format!("{}, {gap} at {at}", pair.pair),
    }
}

/// The steps from the bare frame to the last weld.
pub fn weld_order(lengths: LengthFormat, car: &CarFindings, last: Option<&LastBracketGain>) -> Vec<String> {
    let geometry = car.judged.geometry();
    let each = |of: &dyn Fn(Side) -> String| {
        let sides = geometry.told_sides(&car.sides);
        let told = |&side: &Side| {
            let who = if geometry.looks_alike() { String::new() } else { format!("{}: ", side.name()) };
            who + &of(side)
        };
        sides.iter().map(told).collect::<Vec<_>>().join("; ")
    };
    let centres = each(&|side| {
        let centre = side.to_car(geometry.corner(side).wheel.centre);
        let [x, y, z] = [centre.x, centre.y, centre.z].map(|mm| lengths.number(mm));
        format!("x {x}, y {y}, z {z}")
    });
    let links = each(&|side| {
        let links = geometry.corner(side).links.iter();
        let each = links.map(|link| format!("{:?} {}", link.name, lengths.with_unit(link.length_mm())));
        each.collect::<Vec<_>>().join(", ")
    });
    let but = last.map_or(String::new(), |gain| format!(", all but the {}", words::inner_bracket(&gain.bracket.link)));
    let nearest = car.heave.values().filter_map(|toe| toe.clearance.pairs.first());
    let nearest = nearest.min_by(|a, b| a.least_mm.total_cmp(&b.least_mm));
    let nearest =
        nearest.map_or(String::new(), |pair| format!(" Feel the tightest gap: {}.", tightest_gap(lengths, pair)));
    vec![
        "Bolt the final drive, or a dummy of it, and the halfshafts in place; they stay until everything is tacked.".to_owned(),
        "Set the bare frame level on stands, and check the datums against each other.".to_owned(),
        format!(
            "Hold each upright at design height, hub locked, spring and anti-roll bar off; wheel centre at {centres} {}.",
            lengths.symbol()
        ),
        format!("Make up the links, eye to eye: {links}."),
        format!("Bolt brackets and links together, set every bolt to its two angles, clock and lock the rod ends, tack{but}."),
        "Tape check: write down every distance, and move a tack until all are inside their tolerance; opposite numbers and \
         diagonals last."
            .to_owned(),
        format!("Swing each wheel by hand through full bump and droop.{nearest}"),
        "Weld in short runs, opposite sides in turn, the links bolted in. Let it cool, and tape again.".to_owned(),
        "Gauge toe against wheel travel on both wheels, spring and bar off, hub locked.".to_owned(),
        last.map_or_else(
            || "Compare with the curve of this sheet: one bracket's height cures a slope, length and lean of its link a bow.".to_owned(),
            |gain| words::sentence_start(&weld_study::last_bracket_steps(lengths, gain)),
        ),
        "Check the faces of every joint with a feeler before its bolt is torqued; mark torqued bolts with paint.".to_owned(),
    ]
}
