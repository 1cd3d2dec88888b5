#!/usr/bin/env python3
"""Outside truth for tuning: the same problems, solved by general-purpose optimisers on kinematics of their own.

Every problem is a geometry in `tune/`, or the first cut in `geometries/`: the free coordinates are moved inside their
boxes until the worst change of toe over bump and droop is as small as it gets, the limits of the file held. From each
start `scipy.optimize` goes two ways: sequential quadratic programs straight on the worst value (SLSQP, the worst value
as one more unknown), and bounded least squares first (trust-region reflective), then the same programs. After that
differential evolution looks over the whole box on its own and its best is polished too.

Kinematics: a rotation matrix turned by Cayley's rational map, Newton on all postures of a car at once in complex
numbers, so that derivatives are complex steps through the whole solution and no formula for one is written down. The
answers are checked at the end with `natural_corner.py`, which knows neither rotations nor these lines.

Run without arguments to write `tune/expected.toml` anew (a few minutes).
"""

import os
import platform
import sys
import tomllib
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the matrices are 6×6: more threads only wait for each other
import numpy as np
import scipy
from scipy.optimize import differential_evolution, least_squares, minimize

HERE = Path(__file__).parent
STARTS = 8  # the drawn car and seven seeded ones
SEED = 20250307
TOE = 0.01  # deg: what one unit of the programs stands for
TINY = 1e-30
BEYOND = 1e3  # price of a broken limit for the methods that know no constraints
OUT_OF_REACH = 1e6


def free_axes(link, end):
    return [(axis, link["free"][end][axis]) for axis in "xyz" if axis in link.get("free", {}).get(end, {})]


class Problem:
    def __init__(self, name, path):
        self.name = name
        table = tomllib.loads(path.read_text())
        wheel, travel = table["wheel"], table["travel"]
        self.centre, self.radius = np.array(wheel["centre"]), wheel["tyre_radius"]
        toe, camber = np.radians(wheel.get("toe", 0.0)), np.radians(wheel.get("camber", 0.0))
        self.spin = np.array([np.cos(camber) * np.sin(toe), np.cos(camber) * np.cos(toe), -np.sin(camber)])
        self.chassis = np.array([link["chassis"] for link in table["link"]])
        self.upright = np.array([link["upright"] for link in table["link"]])
        self.tubes = {tube["name"]: (np.array(tube["from"]), np.array(tube["to"])) for tube in table.get("tube", [])}
        self.limits, self.car = table.get("limits", {}), table.get("car", {})
        steps = np.arange(travel["step"], travel["bump"] + 1e-9, travel["step"])
        assert travel["bump"] == travel["droop"] == steps[-1]
        self.bumps = np.concatenate([-steps[::-1], [0.0], steps])
        self.design = len(steps)
        self.list_freedoms(table)
        self.walk()

    def list_freedoms(self, table):
        """One mover of the points for each free number, in the order in which the file gives them."""
        self.names, self.boxes, self.movers = [], [], []

        def add(name, box, mover):
            self.names.append(name), self.boxes.append(box[:2]), self.movers.append(mover)

        for k, link in enumerate(table["link"]):
            for axis, box in free_axes(link, "chassis"):
                add(f"{link['name']} chassis {axis}", box, ("chassis", k, "xyz".index(axis)))
            for way in ("slide", "stand_off", "turn"):
                if way in link.get("free", {}).get("chassis", {}):
                    tube = self.tubes[link["chassis_tube"]]
                    add(f"{link['name']} {way}", link["free"]["chassis"][way], (way, k, tube))
            for axis, box in free_axes(link, "upright"):
                add(f"{link['name']} upright {axis}", box, ("upright", k, "xyz".index(axis)))
        if "clock" in table["wheel"]:
            add("clock", table["wheel"]["clock"], ("clock", None, None))
        self.low, self.high = np.array(self.boxes, dtype=float).T

    def points(self, x):
        """Chassis and upright points of many cars: x has one row a car. On a tube: slide, then off it, then round it."""
        chassis = np.repeat(self.chassis[None].astype(x.dtype), len(x), axis=0)
        upright = np.repeat(self.upright[None].astype(x.dtype), len(x), axis=0)
        on_tube = {}
        for (what, k, where), by in zip(self.movers, x.T):
            if what == "chassis":
                chassis[:, k, where] += by
            elif what == "upright":
                upright[:, k, where] += by
            elif what == "clock":
                upright = self.centre + turned(upright - self.centre, self.spin, by[:, None])
            else:
                on_tube.setdefault(k, (where, {}))[1][what] = by
        for k, ((start, end), ways) in on_tube.items():
            along = (end - start) / np.linalg.norm(end - start)
            foot = start + along * (along @ (self.chassis[k] - start))
            arm = self.chassis[k] - foot
            still = np.zeros(len(x))
            off = arm * (1 + ways.get("stand_off", still)[:, None] / np.linalg.norm(arm))
            chassis[:, k] = foot + along * ways.get("slide", still)[:, None] + turned(off, along, ways.get("turn", still))
        return chassis, upright

    def walk(self):
        """Postures of the drawn car in 5 mm steps from the design: where the others start from."""
        self.known = [(np.eye(3), np.zeros(3))] * len(self.bumps)
        points = self.points(np.zeros((1, len(self.movers))))
        for outward in (range(self.design + 1, len(self.bumps)), range(self.design - 1, -1, -1)):
            turn, place = np.eye(3)[None], np.zeros((1, 3))
            for at in outward:
                turn, place, closed = self.newton(points, turn, place, self.bumps[at : at + 1])
                assert closed.all()
                self.known[at] = (turn[0], place[0])

    def newton(self, points, turn, place, bumps):
        """Postures: a point p of the upright stands at centre + place + turn (p - centre)."""
        chassis, upright = points
        arms = upright - self.centre
        lengths_squared = ((upright - chassis) ** 2).sum(-1)
        for _ in range(12):
            carried = np.einsum("bij,bkj->bki", turn, arms)
            along = self.centre + place[:, None] + carried - chassis
            error = np.concatenate([((along**2).sum(-1) - lengths_squared) / 2, (place[:, 2] - bumps)[:, None]], axis=1)
            jacobian = np.zeros((len(place), 6, 6), dtype=turn.dtype)
            jacobian[:, :5, :3], jacobian[:, :5, 3:] = along, np.cross(carried, along)
            jacobian[:, 5, 2] = 1.0
            step = np.linalg.solve(jacobian, -error[..., None])[..., 0]
            place, turn = place + step[:, :3], cayley(step[:, 3:]) @ turn
            if np.abs(step).max() < 1e-10:  # the next one is at rounding, in the complex part too
                break
        # The velocity per mm of bump, by the same matrix.
        rate = np.linalg.solve(jacobian, np.eye(6)[None, :, 5:].astype(turn.dtype))[..., 0]
        self.rate = rate
        return turn, place, np.abs(error).max(axis=1) < 1e-7

    def measured(self, x):
        """Changes of toe, camber, scrub and recession over the stations; roll-centre height and anti-squat at design."""
        cars, stations = len(x), len(self.bumps)
        chassis, upright = (np.repeat(p, stations, axis=0) for p in self.points(x))
        turn = np.tile(np.array([t for t, _ in self.known]).astype(x.dtype), (cars, 1, 1))
        place = np.tile(np.array([p for _, p in self.known]).astype(x.dtype), (cars, 1))
        turn, place, closed = self.newton((chassis, upright), turn, place, np.tile(self.bumps, cars))
        spin = turn @ self.spin
        toe = np.degrees(1) * np.arctan(spin[:, 0] / spin[:, 1])
        camber = -np.degrees(1) * np.arcsin(spin[:, 2])
        down = spin * spin[:, 2:] - np.array([0.0, 0.0, 1.0])
        arm = self.radius * down / np.sqrt((down**2).sum(-1))[:, None]
        contact = self.centre + place + arm
        velocity = self.rate[:, :3] + np.cross(self.rate[:, 3:], arm)
        roll_centre = contact[:, 1] * velocity[:, 1] / velocity[:, 2]
        over_travel = (values.reshape(cars, stations) for values in (toe, camber, contact[:, 1], -place[:, 0]))
        changes = [values - values[:, [self.design]] for values in over_travel]
        share = self.car["wheelbase"] / self.car["cg_height"] * self.car["rear_drive_share"]
        at_design = [roll_centre[self.design :: stations], -100 * share * self.rate[self.design :: stations, 0]]
        return changes, at_design, closed.reshape(cars, stations).all(axis=1)

    def figures(self, x):
        """The toe changes in units of TOE, and the room that every limit leaves (none may be negative); of many cars."""
        changes, at_design, closed = self.measured(x)
        rooms = [np.zeros((len(x), 0))]
        for values, key in zip(changes[1:], ("camber_change", "scrub", "recession")):
            if size := self.limits.get(key):
                rooms += [(size - values) / (0.01 * size), (size + values) / (0.01 * size)]
        for values, key in zip(at_design, ("roll_centre_height", "anti_squat")):
            if band := self.limits.get(key):
                low, high = band
                rooms += [np.stack([values - low, high - values], axis=1) / (0.01 * (high - low))]
        toe = np.delete(changes[0], self.design, axis=1) / TOE
        return toe, np.concatenate(rooms, axis=1), closed

    def with_slopes(self, u):
        """Toe changes and rooms of one car, with their derivatives; u runs from 0 to 1 in each box. Kept for one call."""
        if getattr(self, "last", None) is None or not np.array_equal(self.last[0], u):
            span = self.high - self.low
            stepped = (self.low + u * span)[None] + 1j * TINY * np.diag(span)
            toe, rooms, _ = self.figures(stepped)
            self.last = (u.copy(), toe[0].real, toe.imag.T / TINY, rooms[0].real, rooms.imag.T / TINY)
        return self.last[1:]

    def worst(self, x):
        """The worst toe change of each car, deg; out of reach when a limit is broken by more than a millionth of its width."""
        toe, rooms, closed = self.figures(np.atleast_2d(x))
        held = (rooms.min(axis=1, initial=np.inf) >= -1e-4) & closed
        return np.where(held, np.abs(toe).max(axis=1) * TOE, OUT_OF_REACH)

    def setting(self, u):
        return np.clip(self.low + u * (self.high - self.low), self.low, self.high)


def cayley(w):
    """The rotation by about |w| radians about w: rational, so it takes complex numbers."""
    w = w / 2
    square = (w**2).sum(-1)[:, None, None]
    skew = np.zeros((len(w), 3, 3), dtype=w.dtype)
    skew[:, 0, 1], skew[:, 0, 2], skew[:, 1, 2] = -w[:, 2], w[:, 1], -w[:, 0]
    skew -= skew.transpose(0, 2, 1)
    return np.eye(3) + 2 * (skew + skew @ skew) / (1 + square)


def turned(v, axis, deg):
    """Rodrigues: right-hand about a unit axis."""
    angle = np.radians(1) * deg[..., None]
    return v * np.cos(angle) + np.cross(axis, v) * np.sin(angle) + axis * (v @ axis)[..., None] * (1 - np.cos(angle))


# The optimisers ---------------------------------------------------------------------------------------------------


def lowest_worst(problem, u):
    """SLSQP on the worst value itself, begun again from its own answer until that helps no more."""
    n, best = len(u), (np.inf, u)
    for _ in range(3):
        toe, _, rooms, _ = problem.with_slopes(u)
        begin = np.append(u, np.abs(toe).max())

        def constraints(v):
            toe, _, rooms, _ = problem.with_slopes(v[:n])
            return np.concatenate([v[n] - toe, v[n] + toe, rooms])

        def slopes(v):
            _, toe, _, rooms = problem.with_slopes(v[:n])
            one = np.ones((len(toe), 1))
            return np.block([[-toe, one], [toe, one], [rooms, np.zeros((len(rooms), 1))]])

        answer = minimize(
            lambda v: v[n],
            begin,
            jac=lambda v: np.append(np.zeros(n), 1.0),
            bounds=[(0.0, 1.0)] * n + [(0.0, None)],
            constraints={"type": "ineq", "fun": constraints, "jac": slopes},
            method="SLSQP",
            options={"maxiter": 100, "ftol": 1e-9},
        )
        u = np.clip(answer.x[:n], 0.0, 1.0)
        value = problem.worst(problem.setting(u))[0]
        if not value < best[0] * (1 - 1e-6):
            break
        best = (value, u)
    return best


def least_mean(problem, u):
    """Bounded least squares, broken limits priced."""

    def misses(v):
        toe, _, rooms, _ = problem.with_slopes(v)
        return np.concatenate([toe, BEYOND * np.minimum(rooms, 0.0)])

    def slopes(v):
        _, toe, rooms, by = problem.with_slopes(v)
        return np.concatenate([toe, BEYOND * by * (rooms < 0.0)[:, None]])

    inside = np.clip(u, 1e-6, 1 - 1e-6)
    return np.clip(least_squares(misses, inside, jac=slopes, bounds=(0.0, 1.0), max_nfev=40).x, 0.0, 1.0)


def over_the_box(problem):
    """Differential evolution, whole generations at a time."""

    def merit(columns):
        toe, rooms, closed = problem.figures(problem.low + columns.T * (problem.high - problem.low))
        broken = np.maximum(-rooms, 0.0).max(axis=1, initial=0.0)
        return np.where(closed, np.abs(toe).max(axis=1) + BEYOND * broken, OUT_OF_REACH)

    bounds = [(0.0, 1.0)] * len(problem.low)
    found = differential_evolution(
        merit, bounds, rng=SEED, vectorized=True, updating="deferred", maxiter=80, popsize=10, tol=1e-8, polish=False
    )
    return found.x


def solved(problem):
    random = np.random.default_rng(SEED)
    starts = [np.zeros(len(problem.low))]
    starts += [np.round(random.uniform(problem.low, problem.high), 3) for _ in range(STARTS - 1)]
    from_starts = []
    for start in starts:
        u = (start - problem.low) / (problem.high - problem.low)
        ends = [lowest_worst(problem, u), lowest_worst(problem, least_mean(problem, u))]
        from_starts.append(min(ends, key=lambda end: end[0]))
    best = min(from_starts, key=lambda end: end[0])
    anywhere = min([best, lowest_worst(problem, over_the_box(problem))], key=lambda end: end[0])
    return starts, from_starts, best, anywhere


def confirmed(path, problem, setting, worst):
    """The same worst value from natural coordinates, at the drawn car and at the answer."""
    import natural_corner as natural

    with open(path, "rb") as file:
        table = tomllib.load(file)
    drawn = natural.corner_points(table, 1, natural.mpf(1), False)
    chassis, upright = (points[0] for points in problem.points(setting[None]))
    links = [(name, natural.exact(c), natural.exact(u)) for (name, _, _), c, u in zip(drawn["links"], chassis, upright)]
    corner = natural.Corner(dict(drawn, links=links), 1, table["travel"])
    toe = [float(toe_deg(natural, corner.at_bump(bump))) for bump in problem.bumps]
    other = max(abs(t - toe[problem.design]) for t in toe)
    assert abs(other - worst) < 1e-9, (problem.name, other, worst)


def toe_deg(natural, q):
    spin = natural.sub(q[3:6], q[0:3])
    return natural.mp.degrees(natural.mp.atan2(spin[0], spin[1]))


def row(numbers):
    return "[" + ", ".join(repr(float(x)) for x in numbers) + "]"


def main(names):
    paths = {path.stem: path for path in sorted((HERE / "tune").glob("*.toml")) if path.stem != "expected"}
    paths["first-cut"] = HERE / "../../geometries/first-cut.toml"
    text = ["# Written by `tune_reference.py`; README.md says how. Worst changes of toe in deg, settings in mm and deg."]
    versions = {"Python": platform.python_version(), "numpy": np.__version__, "scipy": scipy.__version__}
    text.append("[versions]\n" + "\n".join(f'{name} = "{number}"' for name, number in versions.items()))
    for name, path in paths.items():
        if names and name not in names:
            continue
        problem = Problem(name, path)
        drawn = np.abs(problem.figures(np.zeros((1, len(problem.low))))[0]).max() * TOE
        starts, from_starts, best, anywhere = solved(problem)
        ends = [end[0] for end in from_starts]
        print(name, f"drawn {drawn:.5f} from starts {best[0]:.7f} anywhere {anywhere[0]:.7f}", flush=True)
        print("   ", " ".join(f"{end:.5f}" for end in ends), np.round(problem.setting(anywhere[1]), 2), flush=True)
        for value, u in (best, anywhere):
            confirmed(path, problem, problem.setting(u), value)
        lines = [f'[[problem]]\nname = "{name}"\nfree = {problem.names!r}'.replace("'", '"')]
        lines += [f"drawn = {drawn!r}", f"best_from_starts = {best[0]!r}", f"best_anywhere = {anywhere[0]!r}"]
        lines.append("best_setting = " + row(problem.setting(anywhere[1])))
        lines.append("starts = [\n" + "".join(f"    {row(start)},\n" for start in starts) + "]")
        lines.append("reached = " + row(ends))
        text.append("\n".join(lines).replace("np.float64(", "").replace(")", ""))
    if not names:
        (HERE / "tune" / "expected.toml").write_text("\n\n".join(text) + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
