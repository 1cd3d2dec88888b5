#!/usr/bin/env python3
"""Outside truth for link forces: virtual work instead of six equilibrium equations.

With the spring held at its length, five links and spring make the upright a structure. Letting one of the six members
out by a hair moves the upright; the work that the load does over the hair is the tension of that member. No unit
vector along a member and no moment arm is written down anywhere.

Run it without arguments to write `fl-c.forces.csv` anew.
"""

import csv
from pathlib import Path

from mpmath import mpf

from natural_corner import dot, read, scale, sub

HERE = Path(__file__).parent
HAIR = mpf(10) ** -15  # mm that a member is let out and taken in by
# Force in N (x forward, y left, z up), and the place of the upright it acts at. A drive on the chassis hands no
# torque to the upright, so its force acts at the wheel centre.
CASES = [
    ("vertical", (0, 0, 4000), "contact"),
    ("cornering", (0, -4500, 4000), "contact"),
    ("braking, caliper on the upright", (-3000, 0, 2500), "contact"),
    ("driving, torque on the upright", (2500, 0, 3500), "contact"),
    ("driving alone, final drive on the chassis", (2500, 0, 0), "centre"),
]


def let_out(corner, member, by):
    """The structure at design with one member longer by a hair: links 0 to 4, the spring 5."""
    held = corner.spring_length(corner.design) + (by if member == 5 else 0)
    drawn = list(corner.links)
    if member < 5:
        chassis, shares, link_length = drawn[member]
        corner.links[member] = (chassis, shares, link_length + by)
    q = corner.refined(corner.design, lambda p: corner.spring_length(p) - held)
    corner.links = drawn
    return q


def tension(corner, member, force, acts_at):
    places = {"contact": corner.contact(corner.design, mpf(0)), "centre": corner.centre}
    held = corner.carried(places[acts_at])
    longer, shorter = (corner.place(let_out(corner, member, by), held) for by in (HAIR, -HAIR))
    return dot(force, scale(sub(longer, shorter), 1 / (2 * HAIR)))


def main():
    (corner, _), _, _, _ = read(HERE / "fl-c.toml")
    members = [name for name, _, _ in corner.points["links"]] + ["spring"]
    with open(HERE / "fl-c.forces.csv", "w", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(["case", "force_x_n", "force_y_n", "force_z_n", "acts_at", "member", "tension_n"])
        for case, force, acts_at in CASES:
            for index, member in enumerate(members):
                table.writerow([case, *force, acts_at, member, repr(float(tension(corner, index, force, acts_at)))])


if __name__ == "__main__":
    main()
