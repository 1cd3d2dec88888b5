#!/usr/bin/env python3
"""Outside truth for `hubtrace sweep`: the same corners, solved by general-purpose libraries in another way.

`natural_corner.py` solves the postures. Every first-order quantity here is a central difference of two postures that
stand 2e-15 mm of bump apart, in 50 digits, never a formula for a derivative.

Run it without arguments to write the expected tables of every `*.toml` beside it anew, or name some of those files.
"""

import csv
import platform
import sys
from pathlib import Path

import mpmath
import numpy
import scipy
from mpmath import mp, mpf

from natural_corner import NEAR, angle_deg, length, read, scale, sub, unit

HERE = Path(__file__).parent
PARALLEL = mpf(10) ** -7  # sine of the angle between two front-view normals that do not meet
COLUMNS = """side bump_mm body_roll_deg ride_height_change_mm toe_deg steer_deg camber_deg inclination_deg contact_x_mm
contact_y_mm contact_z_mm scrub_mm recession_mm upright_pitch_deg wheel_centre_x_mm wheel_centre_y_mm
wheel_centre_z_mm shaft_inner_angle_deg shaft_outer_angle_deg shaft_plunge_mm bump_steer_gradient_deg_per_mm
camber_gradient_deg_per_mm roll_centre_height_mm roll_centre_lateral_mm wheel_centre_path_deg anti_squat_pct
anti_lift_pct spring_length_mm damper_per_wheel residual_mm track_change_mm""".split()


# What is read from a posture -------------------------------------------------------------------------------------


def toe_deg(corner, q):
    s = corner.spin(q)
    return mp.degrees(mp.atan2(s[0], corner.side * s[1]))


def camber_deg(corner, q):
    return mp.degrees(mp.asin(-corner.spin(q)[2]))


def across_road(corner, p, roll):
    """Lateral place (y left) and height of p in the axes of the road, before the ride height is added."""
    y, z = p[1], p[2] - corner.road_height
    return y * mp.cos(roll) - z * mp.sin(roll), y * mp.sin(roll) + z * mp.cos(roll)


def row(corner, q, roll_deg, ride_height, car):
    """One line of the tables without its roll centre, and the front-view data that the roll centre is made of."""
    roll = mp.radians(mpf(roll_deg))
    below, above = corner.neighbours(q)
    rate = lambda measure: (measure(above) - measure(below)) / (2 * NEAR)
    contact = corner.contact(q, roll)
    held = corner.carried(contact, q)
    v = scale(sub(corner.place(above, held), corner.place(below, held)), 1 / (2 * NEAR))
    centre_slope = -rate(lambda p: p[0])
    pitched = corner.direction(q, corner.upright_z)
    spin, toe = corner.spin(q), toe_deg(corner, q)
    y_road, _ = across_road(corner, contact, roll)
    cells = {
        "side": "left" if corner.side > 0 else "right",
        "bump_mm": corner.bump(q),
        "body_roll_deg": mpf(roll_deg),
        "ride_height_change_mm": -(contact[2] - corner.road_height) if ride_height is None else mpf(ride_height),
        "toe_deg": toe,
        "steer_deg": -corner.side * toe,
        "camber_deg": camber_deg(corner, q),
        "inclination_deg": mp.degrees(mp.asin(-(spin[1] * mp.sin(roll) + spin[2] * mp.cos(roll)))),
        "scrub_mm": corner.side * (y_road - corner.track_at_design),
        "recession_mm": corner.centre[0] - q[0],
        "upright_pitch_deg": mp.degrees(mp.atan2(pitched[0], pitched[2])),
        "bump_steer_gradient_deg_per_mm": rate(lambda p: toe_deg(corner, p)),
        "camber_gradient_deg_per_mm": rate(lambda p: camber_deg(corner, p)),
        "wheel_centre_path_deg": mp.degrees(mp.atan(centre_slope)),
    }
    for axis, value, middle in zip("xyz", contact, q[0:3]):
        cells[f"contact_{axis}_mm"], cells[f"wheel_centre_{axis}_mm"] = value, middle
    if "shaft" in corner.points:
        inner, axis, outer = corner.points["shaft"]
        shaft = sub(corner.place(q, corner.carried(outer)), inner)
        cells["shaft_inner_angle_deg"] = angle_deg(shaft, axis)
        cells["shaft_outer_angle_deg"] = angle_deg(shaft, spin)
        cells["shaft_plunge_mm"] = length(shaft) - length(sub(outer, inner))
    if "spring" in corner.points:
        cells["spring_length_mm"] = corner.spring_length(q)
        cells["damper_per_wheel"] = -rate(lambda p: corner.spring_length(p))
    if "wheelbase" in car and "cg_height" in car:
        lever = 100 * mpf(car["wheelbase"]) / mpf(car["cg_height"])
        if "rear_drive_share" in car:
            cells["anti_squat_pct"] = lever * centre_slope * mpf(car["rear_drive_share"])
        if "rear_brake_share" in car:
            cells["anti_lift_pct"] = lever * -v[0] / v[2] * mpf(car["rear_brake_share"])
    v_road = unit([v[1] * mp.cos(roll) - v[2] * mp.sin(roll), v[1] * mp.sin(roll) + v[2] * mp.cos(roll), mpf(0)])
    return cells, (y_road, v_road[0], v_road[1])


def own_roll_centre(cells, front):
    y, v_y, v_z = front
    cells["roll_centre_height_mm"] = y * v_y / v_z


def axle_roll_centre(pair, mirror_and_level):
    """Where the two front-view normals meet: v . (p - C) = 0 on both sides, C on the road."""
    (left, (y1, vy1, vz1)), (right, (y2, vy2, vz2)) = pair
    across = vy1 * vz2 - vz1 * vy2
    if mirror_and_level:
        for cells, front in pair:
            own_roll_centre(cells, front)
            cells["roll_centre_lateral_mm"] = mpf(0)
    elif abs(across) >= PARALLEL:
        lateral = (vy1 * y1 * vz2 - vy2 * y2 * vz1) / across
        height = vy1 * vy2 * (y2 - y1) / across
        for cells in (left, right):
            cells["roll_centre_height_mm"], cells["roll_centre_lateral_mm"] = height, lateral


def track_change(corners, pair):
    """In both rows: how much further apart the contact points stand along the road than at design."""
    (left, (y_left, *_)), (right, (y_right, *_)) = pair
    at_design = corners[0].track_at_design - corners[1].track_at_design
    left["track_change_mm"] = right["track_change_mm"] = (y_left - y_right) - at_design


# The three studies -----------------------------------------------------------------------------------------------


def stepped(low, high, step):
    """Multiples of the step counted from 0, and the two ends, rising."""
    inside = [k * step for k in range(-int(-low / step), int(high / step) + 1)]
    ends = [end for end in (low, high) if min(abs(end - x) for x in inside) > 1e-9]
    return sorted(inside + ends)


def heave(corners, travel, car):
    for bump in stepped(-travel["droop"], travel["bump"], travel["step"]):
        pair = [row(corner, corner.at_bump(bump), 0.0, None, car) for corner in corners]
        track_change(corners, pair)
        for cells, front in pair:
            own_roll_centre(cells, front)
            yield cells


def over_road(corners, car, mirrored_car, ride_heights, rolls):
    for ride_height in ride_heights:
        for roll in rolls:
            postures = [corner.on_road(roll, ride_height) for corner in corners]
            if None in postures:
                continue  # left out for both sides
            pair = [row(corner, q, roll, ride_height, car) for corner, q in zip(corners, postures)]
            axle_roll_centre(pair, mirrored_car and roll == 0.0)
            track_change(corners, pair)
            yield from (cells for cells, _ in pair)


def cell(value):
    """The shortest digits that read back to the same double; what refinement leaves of a zero is a zero."""
    return value if isinstance(value, str) else repr(float(value) if abs(value) > 1e-30 else 0.0)


def written(path, rows):
    """What does not exist is an empty cell; so is the closure error, which belongs to the program under test."""
    with open(path, "w", newline="") as file:
        table = csv.DictWriter(file, COLUMNS, restval="", lineterminator="\n")
        table.writeheader()
        for cells in rows:
            table.writerow({key: cell(value) for key, value in cells.items()})


def main(names):
    for path in [Path(name) for name in names] or sorted(HERE.glob("*.toml")):
        corners, travel, car, mirrored_car = read(path)
        rolls = stepped(-travel["roll"], travel["roll"], travel["step_roll"])
        heights = stepped(-travel["bump"], travel["droop"], travel["step"])
        written(path.with_suffix(".heave.csv"), heave(corners, travel, car))
        written(path.with_suffix(".roll.csv"), over_road(corners, car, mirrored_car, [0.0], rolls))
        written(path.with_suffix(".grid.csv"), over_road(corners, car, mirrored_car, heights, rolls))
        print(path.name)
    versions = {"Python": platform.python_version(), "numpy": numpy.__version__, "scipy": scipy.__version__}
    versions["mpmath"] = mpmath.__version__
    (HERE / "versions.txt").write_text("".join(f"{name} {number}\n" for name, number in versions.items()))


if __name__ == "__main__":
    main(sys.argv[1:])
