"""Least gaps between the bodies of a car over its travel, by bounded least squares and by minimisation over the bodies' points.

Reads `clearance/car.toml`, solves postures with `natural_corner.py` (no rotation anywhere) and writes `clearance/clearance.csv`.
Two bars: the nearest points of their lines by `scipy.optimize.lsq_linear`. A bar and the ring of tyre and rim: the nearest
of a point of the line and a point of the ring, all four coordinates free, by SLSQP from many starts. Over the travel: every
eight millimetres, then a bounded minimisation about the least. `at_bump_mm` is empty where the gap is the same everywhere.
"""

import csv
import pathlib
import tomllib

import numpy
from scipy.optimize import lsq_linear, minimize, minimize_scalar

import natural_corner

HERE = pathlib.Path(__file__).parent / "clearance"
CAR = HERE / "car.toml"
# Parts that hang together. The upper front link runs through the brace that its bracket is on.
JOINED = [
    {"halfshaft", "inner boot", "outer boot", "tyre and rim"},
    {"tube lower rail", "tube brace", "tube floor bar", "tube tray"},
]
SAME = 1e-3  # mm by which a gap must change over the travel to have a place: above what SLSQP leaves


def floats(numbers):
    return [float(x) for x in numbers]


def array(point):
    return numpy.array(floats(point))


class Side:
    def __init__(self, corner, table, whole):
        self.corner, self.table, self.whole = corner, table, whole
        self.rings, self.placed = {}, {}
        points = corner.points
        # In doubles, for scipy.
        self.links = [(name, array(c), floats(shares)) for (name, c, _), (_, shares, _) in zip(points["links"], corner.links)]
        self.outer, self.mount = (floats(corner.carried(points[key][at])) for key, at in (("shaft", 2), ("spring", 1)))

    def bars(self, q):
        """Name, both ends and radius of every bar at a posture, in the car's axes."""
        if (key := tuple(q[:3])) in self.placed:
            return self.placed[key]
        corner, points, gaps = self.corner, self.corner.points, self.whole["clearance"]
        own = {link["name"]: link for link in self.table["link"]}
        bars = []
        for name, chassis, shares in self.links:
            od = own[name].get("tube", {}).get("od", 25.4)
            bars.append((name, chassis, array(corner.place(q, shares)), od / 2))
        a, b = array(points["shaft"][0]), array(corner.place(q, self.outer))
        along = (b - a) / numpy.linalg.norm(b - a)
        bars.append(("halfshaft", a, b, gaps["shaft_radius"]))
        bars.append(("inner boot", a, a + gaps["boot_length"] * along, gaps["boot_radius"]))
        bars.append(("outer boot", b, b - gaps["boot_length"] * along, gaps["boot_radius"]))
        chassis = array(points["spring"][0])
        bars.append(("spring", chassis, array(corner.place(q, self.mount)), gaps["spring_radius"]))
        for tube in self.whole["tube"]:
            ends = [array([x, corner.side * y, z]) for x, y, z in (tube["from"], tube["to"])]
            bars.append(("tube " + tube["name"], *ends, tube["od"] / 2))
        self.placed[key] = bars
        return bars

    def names(self):
        return [name for name, *_ in self.bars(floats(self.corner.design))] + ["tyre and rim"]

    def gap(self, first, second, q):
        bars = {name: bar for name, *bar in self.bars(q)}
        if second == "tyre and rim":
            return self.from_ring(first, bars[first], q)
        (a, b, r), (c, d, s) = bars[first], bars[second]
        found = lsq_linear(numpy.column_stack([b - a, c - d]), c - a, bounds=(0, 1), tol=1e-15)
        return numpy.sqrt(2 * found.cost) - r - s

    def from_ring(self, name, bar, q):
        a, b, r = bar
        wheel = self.table["wheel"]
        centre, axis = array(q[0:3]), array(self.corner.spin(q))
        e = numpy.cross(axis, [1.0, 0.0, 0.0])
        e /= numpy.linalg.norm(e)
        f = numpy.cross(axis, e)

        def apart(x):
            share, angle, radius, height = x
            on_ring = centre + radius * (numpy.cos(angle) * e + numpy.sin(angle) * f) + height * axis
            return numpy.sum((a + share * (b - a) - on_ring) ** 2)

        half = wheel["tyre_width"] / 2
        bounds = [(0, 1), (None, None), (wheel["rim_radius"], wheel["tyre_radius"]), (-half, half)]
        # From every corner at the design, later from the posture before.
        starts = self.rings.get(name) or [
            (share, angle, wheel["rim_radius"], height)
            for share in (0.1, 0.5, 0.9)
            for angle in numpy.linspace(0, 2 * numpy.pi, 8, endpoint=False)
            for height in (-half, half)
        ]
        found = [minimize(apart, x, bounds=bounds, method="SLSQP", options={"ftol": 1e-16, "maxiter": 500}) for x in starts]
        found.sort(key=lambda answer: answer.fun)
        self.rings[name] = [found[0].x, *[x.x for x in found[1:4]]]
        return numpy.sqrt(found[0].fun) - r

    def least(self, first, second):
        travel, corner = self.corner.travel, self.corner
        path = [(bump, q) for bump, q in corner.path if -travel["droop"] <= bump <= travel["bump"]]
        path = path[:-1:16] + path[-1:]
        gaps = [self.gap(first, second, q) for _, q in path]
        if max(gaps) - min(gaps) < SAME:
            return min(gaps), None
        k = int(numpy.argmin(gaps))
        if k in (0, len(path) - 1):
            return gaps[k], path[k][0]

        def at(bump):
            q = corner.found(path[k][1], lambda p: corner.bump(p) - bump)
            return self.gap(first, second, q)

        low, high = path[k - 1][0], path[k + 1][0]
        found = minimize_scalar(at, bounds=(low, high), method="bounded", options={"xatol": 1e-6})
        return float(found.fun), float(found.x)


def mirrored(table):
    """The mirror image of a table of points."""
    turn = lambda v: [v[0], -v[1], v[2]] if isinstance(v, list) else v
    return {key: turn(value) for key, value in table.items()}


def sides(whole):
    """The tables of both sides in the car's axes; what `[right]` leaves out is the mirror image of the left."""
    own = {link["name"]: link for link in whole["right"]["link"]}
    right = {key: mirrored(whole[key]) for key in ("halfshaft", "spring")}
    right["wheel"] = whole["right"]["wheel"]
    right["link"] = [own.get(link["name"], mirrored(link)) for link in whole["link"]]
    return ("left", 1, whole), ("right", -1, right)


def main():
    with open(CAR, "rb") as file:
        whole = tomllib.load(file)
    with open(HERE / "clearance.csv", "w", newline="") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["side", "pair", "least_mm", "at_bump_mm"])
        for name, sign, table in sides(whole):
            points = natural_corner.corner_points(table, sign, natural_corner.mpf(1), False)
            side = Side(natural_corner.Corner(points, sign, whole["travel"]), table, whole)
            for j, second in enumerate(side.names()):
                for first in side.names()[:j]:
                    if any({first, second} <= group for group in JOINED):
                        continue
                    least, at = side.least(first, second)
                    rows.writerow([name, f"{first} / {second}", repr(float(least)), "" if at is None else repr(float(at))])


main()
