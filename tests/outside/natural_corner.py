"""One wheel with its five links, in *natural coordinates*: no rotation anywhere.

The unknowns are the places in the car of three points of the upright (wheel centre W, a point P on the spindle, a
point Q in the wheel plane), nine numbers in all. Three rigid distances, five link lengths and one driving equation
close them. scipy's Powell hybrid finds a posture in doubles, with a Jacobian by complex steps; iterative refinement
with residuals in 50 decimal digits (mpmath) takes it to the last digit of a double. Both wheels are worked in the
car's own axes (right side: y negative); the mirror image is made of the points alone.
"""

import tomllib

import numpy
from mpmath import mp, mpf
from scipy.optimize import root

mp.dps = 50
ARM = mpf(100)  # mm from W to P and to Q: any length would do, this one keeps all nine unknowns of a size
NEAR = mpf(10) ** -15  # mm of bump travel between a posture and the neighbours that its velocity is taken from
CLOSED = mpf(10) ** -40  # mm, what "solved" means here
STOP_SLACK = mpf(10) ** -6  # mm beyond a stop that still counts as on it
PATH_STEP = 0.5  # mm of bump travel between the postures that guard the assembly branch
BEYOND = 1.0  # mm that the path is followed past each stop, to see which wheels would pass it


# Three-vectors as plain lists, so that floats, complex numbers and 50-digit numbers go through the same lines.
def add(a, b, share=1):
    return [x + share * y for x, y in zip(a, b)]


def sub(a, b):
    return add(a, b, -1)


def scale(a, f):
    return [x * f for x in a]


def dot(a, b):
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a, b):
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


def length(a):
    return dot(a, a) ** 0.5


def unit(a):
    return scale(a, 1 / length(a))


def angle_deg(a, b):
    return mp.degrees(mp.atan2(length(cross(a, b)), dot(a, b)))


def mirrored(p):
    return [p[0], -p[1], p[2]]


def exact(p):
    return [mpf(x) for x in p]


# The geometry file, as far as the sweep needs it -----------------------------------------------------------------


def corner_points(table, side, per_unit, hub):
    """The points of one side of the file in the car's axes and in mm; `side` is +1 on the left and -1 on the right."""
    wheel = table["wheel"]
    toe, camber = (mp.radians(mpf(wheel.get(key, 0.0))) for key in ("toe", "camber"))
    outboard = [mp.cos(camber) * mp.sin(toe), side * mp.cos(camber) * mp.cos(toe), -mp.sin(camber)]
    place = lambda p: scale(exact(p), per_unit)
    centre = place(wheel["centre"])

    def upright_place(p):
        if not hub:
            return place(p)
        x, y, z = place(p)  # Rx(-camber), then Rz(-toe), then to the wheel centre
        y, z = y * mp.cos(camber) + z * mp.sin(camber), -y * mp.sin(camber) + z * mp.cos(camber)
        x, y = x * mp.cos(toe) + y * mp.sin(toe), -x * mp.sin(toe) + y * mp.cos(toe)
        return add(centre, [x, y, z])

    points = {
        "centre": centre,
        "spin": outboard,
        "radius": mpf(wheel["tyre_radius"]) * per_unit,
        "links": [(link["name"], place(link["chassis"]), upright_place(link["upright"])) for link in table["link"]],
    }
    if "halfshaft" in table:
        shaft = table["halfshaft"]
        points["shaft"] = (place(shaft["inner"]), unit(exact(shaft["axis"])), upright_place(shaft["outer"]))
    if "spring" in table:
        spring = table["spring"]
        mount = upright_place(spring["mount"]) if spring["on"] == "upright" else place(spring["mount"])
        points["spring"] = (place(spring["chassis"]), mount, spring["on"])
    return points


def mirror_image(points):
    image = dict(points, centre=mirrored(points["centre"]), spin=mirrored(points["spin"]))
    image["links"] = [(name, mirrored(c), mirrored(u)) for name, c, u in points["links"]]
    if "shaft" in points:
        image["shaft"] = tuple(mirrored(p) for p in points["shaft"])
    if "spring" in points:
        chassis, mount, on = points["spring"]
        image["spring"] = (mirrored(chassis), mirrored(mount), on)
    return image


# One wheel as a mechanism ----------------------------------------------------------------------------------------


class Corner:
    def __init__(self, points, side, travel):
        self.side, self.points, self.travel = side, points, travel
        self.centre, self.radius = points["centre"], points["radius"]
        spin = points["spin"]
        upward = unit(add([mpf(0), mpf(0), mpf(1)], spin, -spin[2]))
        self.design = self.centre + add(self.centre, spin, ARM) + add(self.centre, upward, ARM)
        self.links = [(c, self.carried(u), length(sub(u, c))) for _, c, u in points["links"]]
        self.upright_z = self.along(self.design, [mpf(0), mpf(0), mpf(1)])
        self.road_height = self.contact(self.design, mpf(0))[2]
        self.track_at_design = self.contact(self.design, mpf(0))[1]
        # The same data in doubles, for scipy.
        self.rough = [([float(x) for x in c], [float(x) for x in k], float(l)) for c, k, l in self.links]
        self.path = self.followed()

    def frame(self, q):
        w, a, b = q[0:3], sub(q[3:6], q[0:3]), sub(q[6:9], q[0:3])
        arm = 100 if isinstance(q[0], (float, complex)) else ARM
        return w, scale(a, 1 / arm), scale(b, 1 / arm)

    def along(self, q, v):
        """Shares of the direction v along P-W, Q-W and their cross product: constant on a rigid upright."""
        _, a, b = self.frame(q)
        return [dot(v, a), dot(v, b), dot(v, cross(a, b))]

    def carried(self, p, q=None):
        """Shares of a place p that is fixed to the upright, at posture q (at design when none is given)."""
        q = q or self.design
        return self.along(q, sub(p, q[0:3]))

    def direction(self, q, shares):
        _, a, b = self.frame(q)
        return add(add(scale(a, shares[0]), b, shares[1]), cross(a, b), shares[2])

    def place(self, q, shares):
        return add(q[0:3], self.direction(q, shares))

    def spin(self, q):
        return self.frame(q)[1]

    def contact(self, q, roll):
        """The lowest point of the tyre disc towards a road that is tilted by `roll` (radians)."""
        up = [0, mp.sin(roll), mp.cos(roll)] if isinstance(q[0], mpf) else [0.0, numpy.sin(roll), numpy.cos(roll)]
        spin = self.spin(q)
        radius = self.radius if isinstance(q[0], mpf) else float(self.radius)
        return add(q[0:3], unit(sub(scale(spin, dot(up, spin)), up)), radius)

    def bump(self, q):
        return q[2] - (self.centre[2] if isinstance(q[0], mpf) else float(self.centre[2]))

    def spring_length(self, q):
        """Between the spring's two mountings; a mounting on a link keeps its share of the link's length."""
        chassis, mount, on = self.points["spring"]
        if on == "upright":
            return length(sub(self.place(q, self.carried(mount)), chassis))
        inner, shares, whole = self.links[[name for name, _, _ in self.points["links"]].index(on)]
        part = length(sub(mount, inner)) / whole
        return length(sub(add(inner, sub(self.place(q, shares), inner), part), chassis))

    def above_road(self, q, roll, ride_height):
        """How far the contact point of posture q stands above the tilted road, mm."""
        c = self.contact(q, roll)
        if isinstance(q[0], mpf):
            return c[1] * mp.sin(roll) + (c[2] - self.road_height) * mp.cos(roll) + ride_height
        return c[1] * numpy.sin(roll) + (c[2] - float(self.road_height)) * numpy.cos(roll) + ride_height

    def closure(self, q, drive):
        """Nine equations, all in mm: three rigid distances, five link lengths, the driving equation."""
        fine = isinstance(q[0], mpf)
        arm, links = (ARM, self.links) if fine else (100.0, self.rough)
        a, b, ab = sub(q[3:6], q[0:3]), sub(q[6:9], q[0:3]), sub(q[6:9], q[3:6])
        rigid = [(dot(v, v) - share * arm * arm) / (2 * arm) for v, share in ((a, 1), (b, 1), (ab, 2))]
        ends = [(sub(self.place(q, shares), c), l) for c, shares, l in links]
        return rigid + [(dot(v, v) - l * l) / (2 * l) for v, l in ends] + [drive(q)]

    def jacobian(self, q, drive):
        """By complex steps through `closure`, so that it needs no formula of its own."""
        columns = []
        for k in range(9):
            stepped = [complex(x) for x in q]
            stepped[k] += 1e-30j
            columns.append([complex(r).imag / 1e-30 for r in self.closure(stepped, drive)])
        return numpy.array(columns).T

    def found(self, start, drive):
        """Powell's hybrid method from a nearby posture, in doubles; None when it does not arrive."""
        start = [float(x) for x in start]
        answer = root(
            lambda q: numpy.array(self.closure([float(x) for x in q], drive)),
            start,
            jac=lambda q: self.jacobian([float(x) for x in q], drive),
            method="hybr",
            options={"xtol": 1e-14},
        )
        closed = max(abs(r) for r in self.closure([float(x) for x in answer.x], drive))
        return [float(x) for x in answer.x] if closed < 1e-9 else None

    def refined(self, q, drive):
        """Iterative refinement: residuals in 50 digits, corrections with the Jacobian in doubles."""
        inverse = numpy.linalg.inv(self.jacobian([float(x) for x in q], drive))
        q = [mpf(x) for x in q]
        for _ in range(40):
            residuals = self.closure(q, drive)
            worst = max(abs(r) for r in residuals)
            if worst < CLOSED:
                return q
            scaled = inverse @ numpy.array([float(r / worst) for r in residuals])
            q = [x - mpf(c) * worst for x, c in zip(q, scaled)]
        raise ArithmeticError(f"refinement stalls at {mp.nstr(worst, 3)} mm")

    def followed(self):
        """Postures from droop to bump in small steps from the design: the branch that every answer must lie on."""
        return self.followed_to(-self.travel["droop"] - BEYOND)[:0:-1] + self.followed_to(self.travel["bump"] + BEYOND)

    def followed_to(self, end):
        path, step = [(0.0, [float(x) for x in self.design])], numpy.copysign(PATH_STEP, end)
        while path[-1][0] != end and abs(step) > 1e-4:
            bump, last = path[-1]
            goal = end if abs(end - bump) <= abs(step) else bump + step
            guess = last
            if len(path) > 1:
                before, earlier = path[-2]
                guess = add(last, sub(last, earlier), (goal - bump) / (bump - before))
            q = self.found(guess, lambda p: self.bump(p) - goal)
            moved = 9.0 if len(path) == 1 else 0.3  # mm that the answer may lie from the guess
            if q and max(abs(x - y) for x, y in zip(q, guess)) < moved:
                path.append((goal, q))
            else:
                step /= 2
        return path

    def solved(self, drive):
        """The posture on the branch where `drive` is zero, to 40 digits; None when it lies past the end of the path."""
        heights = [drive(q) for _, q in self.path]
        brackets = [k for k in range(len(heights) - 1) if (heights[k] <= 0.0) != (heights[k + 1] <= 0.0)]
        if not brackets:
            return None
        (k,) = brackets  # more than one crossing would be another mechanism than the ones described here
        share = heights[k] / (heights[k] - heights[k + 1])
        (low, q_low), (high, q_high) = self.path[k], self.path[k + 1]
        q = self.refined(self.found(add(q_low, sub(q_high, q_low), share), drive), drive)
        if not low - 1e-6 <= self.bump(q) <= high + 1e-6:
            raise ArithmeticError(f"left the branch between {low} and {high} mm of bump")
        return q

    def at_bump(self, bump):
        return self.solved(lambda q: self.bump(q) - bump)

    def on_road(self, roll_deg, ride_height):
        """The posture at a body roll and ride-height change; None when the wheel would be beyond a stop."""
        roll, roll_fine = float(numpy.radians(roll_deg)), mp.radians(mpf(roll_deg))
        q = self.solved(lambda p: self.above_road(p, roll_fine if isinstance(p[0], mpf) else roll, ride_height))
        if q is None:
            return None
        inside = -self.travel["droop"] - STOP_SLACK <= self.bump(q) <= self.travel["bump"] + STOP_SLACK
        return q if inside else None

    def neighbours(self, q):
        """The two postures a hair below and above q on the wheel's path, for central differences."""
        here = self.bump(q)
        return [self.refined(q, lambda p, at=here + sign * NEAR: self.bump(p) - at) for sign in (-1, 1)]


def read(path):
    """Both corners, the travel in mm, the car and whether the right side is the mirror image."""
    with open(path, "rb") as file:
        table = tomllib.load(file)
    per_unit = {"mm": mpf(1), "in": mpf("25.4")}[table.get("units", "mm")]
    hub = table.get("upright_axes", "car") == "hub"
    travel = {
        key: float(value if "roll" in key else mpf(value) * per_unit) for key, value in table["travel"].items()
    }
    left = corner_points(table, 1, per_unit, hub)
    right = corner_points(table["right"], -1, per_unit, False) if "right" in table else mirror_image(left)
    corners = Corner(left, 1, travel), Corner(right, -1, travel)
    return corners, travel, table.get("car", {}), "right" not in table
