#!/usr/bin/env python3
"""Outside truth for `hubtrace tolerance`: many built cars of `static-set.toml`, left wheel, solved in another way.

The upright is its wheel centre and three vectors fixed to it, twelve numbers; six equations keep the vectors square and of
length one, five keep the links, one drives the bump travel. All are quadratic, so the Jacobian is exact and simple, and one
call of `numpy.linalg.solve` takes a Newton step of every car. The last bracket is fitted by `scipy.optimize.least_squares`
with differences. Nothing here is taken from the program but the definitions of its figures.

Run it without arguments to write `tolerance.cars.csv`, `tolerance.last.csv` and `tolerance.percentiles.csv` anew (a minute
or two).
"""

import csv
import tomllib
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares

HERE = Path(__file__).parent
SHARED, FITTED, MANY = 200, 100, 40_000
SEED = 20_26
CLOSED = 1e-8  # mm, before the last Newton step; what that leaves is its square
LAST_LINK = "toe link"
GAUGE_SD, WELD_SD = 0.01, 0.5  # deg, mm
PAIRS = [(0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2)]


class Corner:
    def __init__(self, path):
        table = tomllib.loads(path.read_text())
        wheel, travel = table["wheel"], table["travel"]
        self.centre = np.array(wheel["centre"])
        self.names = [link["name"] for link in table["link"]]
        self.chassis = np.array([link["chassis"] for link in table["link"]])
        self.arms = np.array([link["upright"] for link in table["link"]]) - self.centre
        self.lengths = np.linalg.norm(self.centre + self.arms - self.chassis, axis=1)
        toe, camber = np.radians(wheel.get("toe", 0.0)), np.radians(wheel.get("camber", 0.0))
        self.spin = np.array([np.cos(camber) * np.sin(toe), np.cos(camber) * np.cos(toe), -np.sin(camber)])
        step = travel["step"]
        up = np.append(np.arange(0.0, travel["bump"] - 1e-9, step), travel["bump"])
        down = np.append(np.arange(0.0, travel["droop"] - 1e-9, step), travel["droop"])
        self.bump = np.concatenate([-down[:0:-1], up])
        self.design = len(down) - 1

    def built(self, errors, cut):
        """Pickups and lengths of every car; `errors` is cars × 5 links × (chassis, upright) × 3."""
        chassis, arms = self.chassis + errors[:, :, 0], self.arms + errors[:, :, 1]
        own = np.linalg.norm(self.centre + arms - chassis, axis=2)
        return chassis, arms, np.broadcast_to(self.lengths, own.shape) if cut else own

    def closed(self, q, built, bump):
        """Newton on the twelve equations of every car."""
        chassis, arms, lengths = built
        for _ in range(30):
            vectors = q[:, 3:].reshape(-1, 3, 3)  # the upright's own x, y and z in the car, one a row
            along = q[:, None, :3] + np.einsum("nkc,nlk->nlc", vectors, arms) - chassis
            errors = np.empty((len(q), 12))
            jacobian = np.zeros((len(q), 12, 12))
            errors[:, :5] = (np.einsum("nlc,nlc->nl", along, along) - lengths**2) / (2 * lengths)
            unit = along / lengths[:, :, None]
            jacobian[:, :5, :3] = unit
            for k in range(3):
                jacobian[:, :5, 3 + 3 * k : 6 + 3 * k] = unit * arms[:, :, k, None]
            errors[:, 5] = q[:, 2] - self.centre[2] - bump
            jacobian[:, 5, 2] = 1
            for row, (i, j) in enumerate(PAIRS, start=6):
                errors[:, row] = np.einsum("nc,nc->n", vectors[:, i], vectors[:, j]) - (i == j)
                jacobian[:, row, 3 + 3 * i : 6 + 3 * i] += vectors[:, j]
                jacobian[:, row, 3 + 3 * j : 6 + 3 * j] += vectors[:, i]
            step = np.linalg.solve(jacobian, errors[:, :, None])[:, :, 0]
            q = q - step
            if np.abs(step[:, :3]).max() < 1e-9 and np.abs(step[:, 3:]).max() < 1e-12:
                assert np.abs(errors[:, :6]).max() < CLOSED
                return q
        raise ArithmeticError(f"no posture at {bump} mm of bump")

    def curves(self, errors, cut=False):
        """Toe and camber of every car at every travel, deg."""
        built = self.built(errors, cut)
        drawn = np.concatenate([self.centre, np.eye(3).ravel()])
        start = self.closed(np.tile(drawn, (len(errors), 1)), built, 0.0)
        toe, camber = (np.empty((len(errors), len(self.bump))) for _ in range(2))

        def read(row, q):
            s = np.einsum("nkc,k->nc", q[:, 3:].reshape(-1, 3, 3), self.spin)
            toe[:, row] = np.degrees(np.arctan2(s[:, 0], s[:, 1]))
            camber[:, row] = np.degrees(np.arcsin(-s[:, 2]))

        read(self.design, start)
        for rows in (range(self.design + 1, len(self.bump)), range(self.design - 1, -1, -1)):
            here, before, last = start, None, None
            for row in rows:
                guess = here if before is None else here + (here - before) * (self.bump[row] - last[0]) / (last[0] - last[1])
                now = self.closed(guess, built, self.bump[row])
                assert np.abs(now - guess)[:, :2].max() < 4.0  # the branch is that of the design
                previous = last[0] if last else 0.0
                here, before, last = now, here, (self.bump[row], previous)
                read(row, now)
        return toe, camber

    def figures(self, errors, cut=False):
        """Worst bump steer, slope, bow and camber change of every car, from its own values at the drawn wheel height."""
        toe, camber = self.curves(errors, cut)
        toe = toe - toe[:, [self.design]]
        camber = camber - camber[:, [self.design]]
        slope = toe @ self.bump / (self.bump @ self.bump)
        bow = np.abs(toe - slope[:, None] * self.bump).max(axis=1)
        return np.column_stack([np.abs(toe).max(axis=1), slope, bow, np.abs(camber).max(axis=1)])

    def last_move(self, errors, gauge):
        """Outboard and upward move of the last bracket of one car that flattens its gauged curve."""
        link = self.names.index(LAST_LINK)
        seen = np.arange(len(self.bump)) != self.design

        def left(move):
            moved = errors[None].copy()
            moved[0, link, 0, 1:] += move
            toe, _ = self.curves(moved)
            return (toe[0] - toe[0, self.design] + gauge)[seen]

        fit = least_squares(left, [0.0, 0.0], jac="3-point", method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)
        return fit.x


def written(name, header, rows):
    with open(HERE / name, "w", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(header)
        table.writerows([[x if isinstance(x, str) else repr(float(x)) for x in row] for row in rows])


FIGURES = ["worst_deg", "slope_deg_per_mm", "bow_deg", "camber_change_deg"]


def percentiles(scenario, finish, figures):
    """Value and standard error of percentiles; the density at each comes from the order statistics around it."""
    for name, values in zip(FIGURES, np.abs(figures).T):
        for share in (0.5, 0.9, 0.99):
            beside = 0.002 if share == 0.99 else 0.01
            low, high = np.quantile(values, [share - beside, share + beside])
            error = np.sqrt(share * (1 - share) / len(values)) * (high - low) / (2 * beside)
            yield [scenario, finish, name, share, np.quantile(values, share), error, len(values)]


def main():
    corner = Corner(HERE / "static-set.toml")
    random = np.random.default_rng(SEED)
    shared = np.round(random.normal(0.0, WELD_SD, (SHARED, 5, 2, 3)), 3)
    axes = [f"{link}.{end}.{axis}" for link in range(5) for end in ("chassis", "upright") for axis in "xyz"]
    results = np.hstack([corner.figures(shared), corner.figures(shared, cut=True)])
    header = axes + [f"{finish}.{name}" for finish in ("adjusted", "cut") for name in FIGURES]
    written("tolerance.cars.csv", header, np.hstack([shared.reshape(SHARED, 30), results]))

    gauges = np.round(random.normal(0.0, GAUGE_SD, (FITTED, len(corner.bump))), 4)
    moves = [corner.last_move(errors, gauge) for errors, gauge in zip(shared, gauges)]
    header = ["outboard_mm", "up_mm"] + [f"gauge_{bump:g}" for bump in corner.bump]
    written("tolerance.last.csv", header, [[*move, *gauge] for move, gauge in zip(moves, gauges)])

    rows = []
    normal = random.normal(0.0, WELD_SD, (MANY, 5, 2, 3))
    for finish in ("adjusted", "cut"):
        rows += percentiles("normal", finish, corner.figures(normal, cut=finish == "cut"))
    # Uniform errors of 0.4 mm; both lower brackets and that of the toe link sit on a box that is off by 0.8 mm as one.
    box = [corner.names.index(name) for name in ("lower front", "lower rear", LAST_LINK)]
    uniform = random.uniform(-1.0, 1.0, (MANY, 5, 2, 3)) * 0.4 * np.sqrt(3.0)
    uniform[:, box, 0] += random.uniform(-1.0, 1.0, (MANY, 1, 3)) * 0.8 * np.sqrt(3.0)
    rows += percentiles("uniform box", "adjusted", corner.figures(uniform))
    header = ["scenario", "finish", "figure", "share", "value", "standard_error", "cars"]
    written("tolerance.percentiles.csv", header, rows)


if __name__ == "__main__":
    main()
