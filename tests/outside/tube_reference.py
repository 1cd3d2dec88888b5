#!/usr/bin/env python3
"""Outside truth for brackets on frame tubes: feet, distances and moved brackets from a geometry library.

`sympy.geometry` drops exact perpendiculars on lines with rational coordinates; a bracket is turned about its tube
with `sympy`'s quaternions. Nothing here uses a formula of the program. Writes `tubes.csv` anew when run.
"""

import csv
import random
from pathlib import Path

import sympy
from sympy import Line3D, Point3D, Quaternion, Rational

HERE = Path(__file__).parent
CASES = 24
DIGITS = 40


def rational(low, high, per=8):
    return Rational(random.randint(low * per, high * per), per)


def place():
    return Point3D(rational(-300, 300), rational(200, 700), rational(100, 500))


def numeric(point):
    return Point3D(*(sympy.N(x, DIGITS) for x in point), evaluate=False)


def bracket(tube, point, slide, stand_off, turn):
    """First along the tube, then off it, then round it by an exact number of degrees; in 40 digits from the unit vectors on."""
    foot = tube.projection(point)
    along, out = numeric((tube.p2 - tube.p1).unit), numeric((point - foot).unit)
    about = foot + along * slide
    arm = out * sympy.N(point.distance(foot) + stand_off, DIGITS)
    turning = Quaternion.from_axis_angle(tuple(along), sympy.N(sympy.rad(turn), DIGITS))
    return about + Point3D(*Quaternion.rotate_point(tuple(arm), turning), evaluate=False)


def main():
    random.seed(11)
    with open(HERE / "tubes.csv", "w", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        point_columns = [f"{name}_{axis}" for name in ("from", "to", "point") for axis in "xyz"]
        table.writerow(point_columns + ["slide", "stand_off", "turn", "off", "along", "moved_x", "moved_y", "moved_z"])
        for _ in range(CASES):
            start, end, point = place(), place(), place()
            tube = Line3D(start, end)
            ways = rational(-40, 40), rational(-10, 30), Rational(random.randint(-170, 170))
            foot = tube.projection(point)
            sign = 1 if (foot - start).dot(end - start) >= 0 else -1
            numbers = [*start, *end, *point, *ways, tube.distance(point), sign * start.distance(foot)]
            numbers += [*bracket(tube, point, *ways)]
            table.writerow([repr(float(sympy.N(number, DIGITS))) for number in numbers])


if __name__ == "__main__":
    main()
