#!/usr/bin/env python3
"""Outside truth for `hubtrace forces`: the equations of equilibrium of the upright and of the link that carries the spring.

Postures come from `natural_corner.py`. Everything is worked in the axes of the car, the right wheel with its real points.
A link without the spring pulls along its line. The one that carries the spring is a body of its own, with an unknown force
of three components at each end; numpy solves all equations at once (least squares, since one of them says nothing: a link
can turn about its own line). Axial force, shear and bending are then read off that body cut open. A right wheel's load is the
mirror image of the left one's: forces mirror in y, moments in x and z.

Run it without arguments to write the tables in `forces/` anew.
"""

import csv
import tomllib
from pathlib import Path

import numpy

from natural_corner import read

HERE = Path(__file__).parent
CARS = ["asymmetric", "spring-on-link"]


def doubles(p):
    return numpy.array([float(x) for x in p])


def unit(v):
    return v / numpy.linalg.norm(v)


def skew(r):
    return numpy.array([[0, -r[2], r[1]], [r[2], 0, -r[0]], [-r[1], r[0], 0]])


def load_on(load, corner, q):
    """Force on the upright and moment about the wheel centre, N and N mm, car axes."""
    side = corner.side
    centre, spin = doubles(q[0:3]), unit(doubles(corner.spin(q)))
    contact = doubles(corner.contact(q, 0 * q[0]))
    force = lambda key: numpy.array(load.get(key, [0.0, 0.0, 0.0])) * [1, side, 1]
    at_contact = numpy.cross(contact - centre, force("contact"))
    moment = at_contact + 1000 * numpy.array(load.get("moment", [0.0, 0.0, 0.0])) * [side, 1, side]
    if load.get("torque_to") == "halfshaft":
        torque = -at_contact @ spin
        inner, _, outer = corner.points["shaft"]
        along = unit(doubles(corner.place(q, corner.carried(outer))) - doubles(inner))
        angle = numpy.arctan2(numpy.linalg.norm(numpy.cross(spin, along)), spin @ along)
        across = unit(along - spin * (along @ spin))
        # The spindle's part holds the wheel in its turning; the joint adds a couple in the plane of the two axes.
        moment = moment + torque * spin + torque * numpy.tan(angle / 2) * across
    return force("contact") + force("centre"), moment


def members(corner, q):
    links = []
    for (name, chassis, _), (_, shares, _) in zip(corner.points["links"], corner.links):
        links.append((name, doubles(chassis), doubles(corner.place(q, shares))))
    chassis, mount, on = corner.points["spring"]
    if on == "upright":
        return links, doubles(chassis), doubles(corner.place(q, corner.carried(mount))), None, None
    carrier = [name for name, _, _ in links].index(on)
    drawn = corner.points["links"][carrier]
    share = numpy.linalg.norm(doubles(mount) - doubles(drawn[1])) / numpy.linalg.norm(
        doubles(drawn[2]) - doubles(drawn[1])
    )
    _, inner, outer = links[carrier]
    return links, doubles(chassis), inner + share * (outer - inner), carrier, share


def solved(corner, q, load):
    links, spring_end, mount, carrier, share = members(corner, q)
    centre = doubles(q[0:3])
    force, moment = load_on(load, corner, q)
    pull = unit(spring_end - mount)  # of a spring in tension, at its moving end
    # Unknowns: a tension for each plain link, two end forces of the carrier, the spring's tension.
    columns, names = [], []
    for i, (name, inner, outer) in enumerate(links):
        if i == carrier:
            continue
        u = unit(inner - outer)
        columns.append(numpy.concatenate([u, skew(outer - centre) @ u, numpy.zeros(6)]))
        names.append(name)
    if carrier is None:
        columns.append(numpy.concatenate([pull, skew(mount - centre) @ pull, numpy.zeros(6)]))
    else:
        name, inner, outer = links[carrier]
        for e in numpy.eye(3):  # on the upright, and against it on the link
            columns.append(numpy.concatenate([e, skew(outer - centre) @ e, -e, -skew(outer - inner) @ e]))
        for e in numpy.eye(3):  # frame on link
            columns.append(numpy.concatenate([numpy.zeros(6), e, numpy.zeros(3)]))
        columns.append(numpy.concatenate([numpy.zeros(6), pull, skew(mount - inner) @ pull]))
    matrix = numpy.array(columns).T
    scale = numpy.array([1, 1, 1, 100, 100, 100] * 2)
    right = -numpy.concatenate([force, moment, numpy.zeros(6)]) / scale
    answer, *_ = numpy.linalg.lstsq(matrix / scale[:, None], right, rcond=1e-13)
    left = numpy.abs((matrix / scale[:, None]) @ answer - right).max()
    assert left < 1e-9 * max(1.0, numpy.abs(right).max()), left

    tension = dict(zip(names, answer))
    parts, brackets = [], []
    for i, (name, inner, outer) in enumerate(links):
        u = unit(outer - inner)
        if i != carrier:
            t = tension[name]
            parts.append((name, t, t, t, 0.0, 0.0))
            brackets.append((f"{name} chassis", inner, t * u))
            continue
        on_upright, on_link = answer[4:7], answer[7:10]
        at_chassis, at_upright = -on_link @ u, -on_upright @ u
        across = [numpy.linalg.norm(f - (f @ u) * u) for f in (on_link, on_upright)]
        bending = across[0] * numpy.linalg.norm(mount - inner) / 1000
        mean = share * at_chassis + (1 - share) * at_upright
        parts.append((name, mean, at_chassis, at_upright, max(across), bending))
        brackets.append((f"{name} chassis", inner, -on_link))
    spring = answer[-1]
    parts.append(("spring", spring, spring, spring, 0.0, 0.0))
    brackets.append(("spring chassis", spring_end, -spring * pull))
    return parts, brackets


def main():
    for car in CARS:
        corners, travel, _, _ = read(HERE / f"{car}.toml")
        loads = tomllib.loads((HERE / f"{car}.toml").read_text())["load"]
        cases = list(dict.fromkeys(load["name"] for load in loads))
        axial, frame = [], []
        for case in cases:
            for corner in corners:
                side = "left" if corner.side > 0 else "right"
                meant = [l for l in loads if l["name"] == case and l.get("side", "both") in (side, "both")]
                for load in meant:
                    for bump in sorted({-travel["droop"], 0.0, travel["bump"]}):
                        parts, brackets = solved(corner, corner.at_bump(bump), load)
                        axial += [[case, side, bump, *map(plain, part)] for part in parts]
                        frame += [[case, side, bump, b, *map(plain, at), *map(plain, f)] for b, at, f in brackets]
        write(f"{car}.csv", ["axial_n", "axial_chassis_n", "axial_upright_n", "shear_n", "bending_nm"], "part", axial)
        places = ["x_mm", "y_mm", "z_mm", "force_x_n", "force_y_n", "force_z_n"]
        write(f"{car}.brackets.csv", places, "bracket", frame)


def plain(value):
    return value if isinstance(value, str) else repr(float(value))


def write(name, numbers, part, rows):
    with open(HERE / "forces" / name, "w", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(["case", "side", "bump_mm", part, *numbers])
        table.writerows(rows)


if __name__ == "__main__":
    main()
