"""Chains of joints and stepped shafts, worked out without a formula of the program.

`driveline/chains.csv`: random chains in space. A universal joint is nothing but two yoke arms that stay square to each other:
each arm is turned about its own shaft until they do, by bisection, in 40 digits. Speeds and accelerations are differences of
those turns. A joint that passes its speed evenly carries a mark along by the reflection in its bisecting plane, twice.

`driveline/shafts.csv`: shafts of one to four pieces, pinned or on springs. First frequency by finite elements (Hermite cubics),
then the root next to it of the determinant of all pieces at once, four sines and hyperbolic sines to a piece, in 40 digits.

    python3 tests/outside/propshaft_reference.py
"""

import csv
import pathlib
import random

import mpmath
import numpy
from mpmath import mpf
from scipy.linalg import eigh

HERE = pathlib.Path(__file__).parent / "driveline"
mpmath.mp.dps = 40
DEGREE = mpmath.pi / 180


def dot(a, b):
    return sum(x * y for x, y in zip(a, b))


def cross(a, b):
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


def plus(a, b, by=1):
    return [x + by * y for x, y in zip(a, b)]


def unit(a):
    size = mpmath.sqrt(dot(a, a))
    return [x / size for x in a]


def turned(v, about, by):
    """Rodrigues' formula."""
    c, s = mpmath.cos(by), mpmath.sin(by)
    return plus(plus([x * c for x in v], cross(about, v), s), about, dot(about, v) * (1 - c))


def mirrored(v, normal):
    return plus(v, normal, -2 * dot(v, normal))


class Chain:
    """`kinds` with one more direction; a phase for each joint, used by universal ones."""

    def __init__(self, kinds, directions, phases):
        self.kinds, self.directions, self.phases = kinds, directions, phases
        self.turns = None

    def shafts(self, turn):
        """How far each shaft has turned since turn 0, whatever mark it carries."""
        marks = self.marks(turn)
        if self.turns is None:
            self.turns = self.marks(mpf(0))
        out = []
        for direction, now, then in zip(self.directions, marks, self.turns):
            out.append(mpmath.atan2(dot(direction, cross(then, now)), dot(then, now)))
        return out

    def marks(self, turn):
        """A direction fixed in each shaft and square to it."""
        first = self.directions[0]
        square = unit(cross(first, [mpf("0.3"), mpf("0.5"), mpf("-0.7")]))
        mark = turned(square, first, turn)
        marks = [mark]
        yoke = mark
        for kind, phase, before, after in zip(self.kinds, self.phases, self.directions, self.directions[1:]):
            if kind == "u":
                # The arm of the second yoke: square to its shaft and to the arm of the first.
                start = unit(plus(yoke, after, -dot(yoke, after)))
                error = lambda by: dot(turned(start, after, by), yoke)
                by = mpmath.findroot(error, (mpf(1), mpf(2)), solver="anderson", tol=1e-70, verify=False)
                yoke = turned(turned(start, after, by), after, phase)
            else:
                # Through the joint by two reflections: from one shaft to the bisecting direction, from there to the other.
                middle = unit(plus(before, after))
                yoke = mirrored(mirrored(yoke, before), middle)
                yoke = unit(plus(yoke, after, -dot(yoke, after)))
            marks.append(yoke)
        return marks

    def motion(self, turn):
        """Speed and its slope of every shaft, by central differences."""
        h = mpf("1e-10")
        left, here, right = (self.shafts(turn + k * h) for k in (-1, 0, 1))
        speed = [(b - a) / (2 * h) for a, b in zip(left, right)]
        slope = [(a - 2 * b + c) / h**2 for a, b, c in zip(left, here, right)]
        return speed, slope


def random_direction(about, most):
    axis = unit([mpf(random.uniform(-1, 1)) for _ in range(3)])
    side = unit(cross(about, axis))
    return turned(about, side, mpf(random.uniform(0.3, most)) * DEGREE)


def chains():
    random.seed(11)
    rows = []
    for index, kinds in enumerate(["u", "uu", "uu", "uu", "uf", "fu", "ucu", "usu", "uuu", "uufu", "ufuu", "uuuu"]):
        along = [mpf(-1), mpf(0), mpf(0)]
        directions = [random_direction(along, 3)]
        for kind in kinds:
            most = 0 if kind == "s" else (4 if kind == "f" else 25)
            directions.append(directions[-1] if most == 0 else random_direction(directions[-1], most))
        phases = [mpf(random.uniform(-90, 90)) if index > 1 else mpf(0) for _ in kinds]
        chain = Chain(kinds, directions, [p * DEGREE for p in phases])
        for turn in (7, 64, 151):
            speed, slope = chain.motion(turn * DEGREE + first_fork(chain))
            rows.append(
                [
                    kinds,
                    ";".join(" ".join(repr(float(x)) for x in d) for d in directions),
                    ";".join(repr(float(p)) for p in phases),
                    turn,
                    ";".join(repr(float(x)) for x in speed),
                    ";".join(repr(float(x)) for x in slope),
                ]
            )
    return rows


def first_fork(chain):
    """The turn at which the fork of the first universal joint lies in the plane of its shafts."""
    k = chain.kinds.index("u")
    before, after = chain.directions[k], chain.directions[k + 1]
    normal = unit(cross(before, after))
    in_plane = cross(normal, before)
    mark = chain.marks(mpf(0))[k]
    return mpmath.atan2(dot(before, cross(mark, in_plane)), dot(mark, in_plane))


def finite_elements(pieces, ends, count):
    nodes = len(pieces) * count + 1
    stiff, mass = numpy.zeros((2 * nodes, 2 * nodes)), numpy.zeros((2 * nodes, 2 * nodes))
    at = 0
    for ei, kg_per_mm, length in pieces:
        h, mu = length / count, kg_per_mm * 1e-3
        k = ei / h**3 * numpy.array([[12, 6 * h, -12, 6 * h], [6 * h, 4 * h * h, -6 * h, 2 * h * h], [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h * h, -6 * h, 4 * h * h]])
        m = mu * h / 420 * numpy.array([[156, 22 * h, 54, -13 * h], [22 * h, 4 * h * h, 13 * h, -3 * h * h], [54, 13 * h, 156, -22 * h], [-13 * h, -3 * h * h, -22 * h, 4 * h * h]])
        for _ in range(count):
            stiff[at : at + 4, at : at + 4] += k
            mass[at : at + 4, at : at + 4] += m
            at += 2
    free = list(range(2 * nodes))
    for end, row in zip(ends, (0, 2 * nodes - 2)):
        if end is None:
            free.remove(row)
        else:
            stiff[row, row] += end
    values = eigh(stiff[numpy.ix_(free, free)], mass[numpy.ix_(free, free)], eigvals_only=True, subset_by_index=[0, 0])
    return float(numpy.sqrt(values[0]))


def determinant(pieces, ends, w):
    """All pieces at once: four shapes each, matched in deflection, slope, moment and shear where they meet."""
    n = len(pieces)
    rows = mpmath.matrix(4 * n, 4 * n)

    def state(rows, index, x, row, sign):
        """Deflection, slope, moment and shear of a piece at x, into four rows."""
        ei, mu = mpf(pieces[index][0]), mpf(pieces[index][1]) / 1000
        k = (mu * w * w / ei) ** mpf("0.25")
        sin, cos, sinh, cosh = (f(k * x) for f in (mpmath.sin, mpmath.cos, mpmath.sinh, mpmath.cosh))
        shapes = [(sin, cos, -sin, -cos), (cos, -sin, -cos, sin), (sinh, cosh, sinh, cosh), (cosh, sinh, cosh, sinh)]
        for j, shape in enumerate(shapes):
            for i, (value, factor) in enumerate(zip(shape, (1, k, ei * k**2, ei * k**3))):
                rows[row + i, 4 * index + j] += sign * factor * value

    for index in range(n - 1):
        state(rows, index, mpf(pieces[index][2]), 2 + 4 * index, 1)
        state(rows, index + 1, mpf(0), 2 + 4 * index, -1)
    for end, index, x, row, sign in ((ends[0], 0, mpf(0), 0, 1), (ends[1], n - 1, mpf(pieces[-1][2]), 4 * n - 2, -1)):
        full = mpmath.matrix(4, 4 * n)
        state(full, index, x, 0, 1)
        for j in range(4 * n):
            rows[row, j] = full[2, j]
            rows[row + 1, j] = full[0, j] if end is None else full[3, j] + sign * mpf(end) * full[0, j]
    return mpmath.det(rows)


def exact(pieces, ends, near):
    """The root next to the finite elements' answer."""
    bounds = (mpf(near) * mpf("0.99999"), mpf(near) * mpf("1.00001"))
    low, high = (determinant(pieces, ends, bound) for bound in bounds)
    assert low * high < 0, (pieces, ends)
    return float(mpmath.findroot(lambda w: determinant(pieces, ends, w), bounds, solver="anderson", tol=1e-60, verify=False))


def shafts():
    steel, density = 205e3, 7850e-9

    def piece(od, wall, length):
        inner = od - 2 * wall
        return (steel * numpy.pi / 64 * (od**4 - inner**4), density * numpy.pi / 4 * (od**2 - inner**2), length)

    cases = [
        ([piece(70, 2, 1350)], [None, None]),
        ([piece(76, 1.6, 700), piece(60, 3, 650)], [None, None]),
        ([piece(40, 20, 120), piece(70, 2, 900)], [None, None]),
        ([piece(40, 20, 120), piece(90, 2, 900), piece(50, 4, 200)], [None, None]),
        ([piece(70, 2, 1200)], [None, 600.0]),
        ([piece(70, 2, 1200)], [40000.0, None]),
        ([piece(76, 1.6, 700), piece(60, 3, 650)], [300.0, 900.0]),
        ([piece(30, 3, 400), piece(90, 2, 300), piece(30, 3, 500), piece(60, 2, 200)], [None, 2000.0]),
    ]
    rows = []
    for pieces, ends in cases:
        found = exact(pieces, ends, finite_elements(pieces, ends, 24))
        rows.append(
            [
                ";".join(" ".join(repr(float(x)) for x in p) for p in pieces),
                ";".join("" if end is None else repr(end) for end in ends),
                repr(found),
            ]
        )
    return rows


def write(name, head, rows):
    with open(HERE / name, "w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(head)
        writer.writerows(rows)


if __name__ == "__main__":
    HERE.mkdir(exist_ok=True)
    write("chains.csv", ["kinds", "directions", "phases_deg", "turn_deg", "speed", "slope_per_rad"], chains())
    write("shafts.csv", ["pieces_n_mm2_kg_per_mm_mm", "ends_n_per_mm", "first_rad_per_s"], shafts())
