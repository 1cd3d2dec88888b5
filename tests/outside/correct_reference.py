#!/usr/bin/env python3
"""Outside truth for `hubtrace correct`: the most likely car and what is left open, by general-purpose least squares.

The left wheel of `static-set.toml`, built off its drawing, gauged, shimmed and gauged again. The kinematics are those of
`tolerance_reference.py` (twelve quadratic equations), toe is set by the secant rule, derivatives are central differences of
solved cars, `scipy.optimize.least_squares` finds the most likely unknowns, and the covariance is the inverse of JᵀJ. The posterior
itself is sampled besides: cars drawn from that normal distribution are weighted by how likely they are in truth.

Run it without arguments to write `correct/*.toml` anew (a few minutes).
"""

from pathlib import Path

import numpy as np
from scipy.optimize import least_squares

from tolerance_reference import Corner

HERE = Path(__file__).parent
SEED = 7
TOE_LINK = 4
WELD_SD, UPRIGHT_SD = 1.0, 0.1  # mm
STATIC_TOE_SD = 0.5  # deg
# As the noise of the test says; deg and mm.
TOE_SD, CAMBER_SD, DIAL_SD, SPOT_SD = 0.02, 0.05, 0.1, 0.5
TOE_OFFSET_SD, CAMBER_OFFSET_SD, ZERO_SD = 0.05, 0.1, 1.0
DRAWS = 5_000
HEIGHTS = [-50.0, -40.0, -30.0, -20.0, -10.0, 0.0, 10.0, 20.0, 30.0, 40.0, 50.0]


class Car:
    """Many finished cars at once: unknowns in rows."""

    def __init__(self, corner, problem):
        self.corner, self.problem = corner, problem
        self.drawn_toe = np.degrees(np.arctan2(corner.spin[0], corner.spin[1]))

    def built(self, errors, changes):
        """Pickups and lengths with every link but the toe link set."""
        chassis, arms, lengths = self.corner.built(errors, cut=False)
        chassis, arms, lengths = chassis.copy(), arms.copy(), lengths.copy()
        for change in changes:
            if change["what"] == "length":
                lengths[:, change["link"]] += change["by_mm"]
            else:
                points = chassis if change["end"] == "chassis" else arms
                points[:, change["link"]] += np.array(change["along"]) * change["by_mm"]
        return chassis, arms, lengths

    def design(self, built):
        start = np.concatenate([self.corner.centre, np.eye(3).ravel()])
        return self.corner.closed(np.tile(start, (len(built[0]), 1)), built, 0.0)

    def toe(self, q):
        s = np.einsum("nkc,k->nc", q[:, 3:].reshape(-1, 3, 3), self.corner.spin)
        return np.degrees(np.arctan2(s[:, 0], s[:, 1]))

    def camber(self, q):
        s = np.einsum("nkc,k->nc", q[:, 3:].reshape(-1, 3, 3), self.corner.spin)
        return np.degrees(np.arcsin(-s[:, 2]))

    def with_toe_set(self, built, toe):
        chassis, arms, lengths = built

        def off(by):
            turned = lengths.copy()
            turned[:, TOE_LINK] += by
            return self.toe(self.design((chassis, arms, turned))) - toe

        last, here = np.zeros(len(lengths)), np.full(len(lengths), 0.3)
        off_last, off_here = off(last), off(here)
        for _ in range(12):
            slope = (off_here - off_last) / np.where(here == last, 1.0, here - last)
            step = np.where(np.abs(off_here) < 1e-13, 0.0, -off_here / np.where(slope == 0.0, 1.0, slope))
            last, off_last = here, off_here
            here = here + step
            off_here = off(here)
            if np.abs(off_here).max() < 1e-11:
                break
        assert np.abs(off_here).max() < 1e-10
        turned = lengths.copy()
        turned[:, TOE_LINK] += here
        return chassis, arms, turned

    def postures(self, built, bumps):
        """Of every car at its own bump travels, `bumps` cars × heights; walked in steps from design."""
        design = self.design(built)
        out = np.empty((*bumps.shape, 12))
        for column in range(bumps.shape[1]):
            q, steps = design, 4
            for k in range(1, steps + 1):
                q = self.corner.closed(q, built, bumps[:, column] * k / steps)
            out[:, column] = q
        return out


def residuals(car, unknowns):
    """Of many cars: a row each."""
    corner, problem = car.corner, car.problem
    sd = np.where(np.arange(30) % 6 < 3, WELD_SD, UPRIGHT_SD)
    errors = (unknowns[:, :30] * sd).reshape(-1, 5, 2, 3)
    at, columns, changes = 30, [], []
    rounds = problem["round"]
    offsets_at = 30 + 2 * len(rounds)
    for number, of_round in enumerate(rounds):
        zero = unknowns[:, at] * ZERO_SD
        toe_off = unknowns[:, at + 1] * STATIC_TOE_SD
        at += 2
        built = car.with_toe_set(car.built(errors, changes), car.drawn_toe + toe_off)
        heights = np.array([row["bump_mm"] for row in of_round["reading"]])
        q = car.postures(built, np.column_stack([heights[None] + zero[:, None], zero]))
        for index, row in enumerate(of_round["reading"]):
            here = q[:, index]
            toe_offset = unknowns[:, offsets_at + row["toe_offset"]]
            instrument = of_round["instrument"]
            if instrument == "angle":
                columns.append((car.toe(here) + toe_offset * TOE_OFFSET_SD - row["toe_deg"]) / TOE_SD)
                if "camber_deg" in row:
                    offset = unknowns[:, offsets_at + row["camber_offset"]] * CAMBER_OFFSET_SD
                    columns.append((car.camber(here) + offset - row["camber_deg"]) / CAMBER_SD)
            elif instrument == "plate":
                width, dials_sd = of_round["width_mm"], DIAL_SD * np.sqrt(2)
                offset = toe_offset * np.degrees(dials_sd / width)
                shown = width * np.sin(np.radians(car.toe(here) + offset)) - width * np.sin(np.radians(car.toe(q[:, -1])))
                columns.append((shown - (row["rear_mm"] - row["front_mm"])) / dials_sd)
            else:
                place = here[:, :3] - corner.centre
                toe = np.radians(car.toe(here) + toe_offset * TOE_OFFSET_SD)
                # A point on the beam where it meets the plane of the wall.
                direction = np.column_stack([np.cos(toe), -np.sin(toe)])
                reach = (of_round["distance_mm"] - place[:, 0]) / direction[:, 0]
                shown = place[:, 1] + reach * direction[:, 1]
                columns.append((shown - row["wall_mm"]) / SPOT_SD)
        changes = changes + of_round.get("change", [])
    return np.column_stack([*columns, unknowns])


def jacobian(car, unknowns):
    h = 1e-3
    steps = np.eye(len(unknowns)) * h
    near = residuals(car, unknowns + steps) - residuals(car, unknowns - steps)
    far = residuals(car, unknowns + 2 * steps) - residuals(car, unknowns - 2 * steps)
    return ((8 * near - far) / (12 * h)).T


def curves_now(car, unknowns):
    """Toe less toe at design at the rows of bump and droop, of cars as they stand."""
    rounds = car.problem["round"]
    sd = np.where(np.arange(30) % 6 < 3, WELD_SD, UPRIGHT_SD)
    errors = (unknowns[:, :30] * sd).reshape(-1, 5, 2, 3)
    changes = [change for of_round in rounds[:-1] for change in of_round.get("change", [])]
    toe_off = unknowns[:, 30 + 2 * len(rounds) - 1] * STATIC_TOE_SD
    built = car.with_toe_set(car.built(errors, changes), car.drawn_toe + toe_off)
    q = car.postures(built, np.tile(car.corner.bump, (len(unknowns), 1)))
    toe = np.column_stack([car.toe(q[:, k]) for k in range(q.shape[1])])
    return toe - toe[:, [car.corner.design]]


def weighted_percentile(values, weights, share):
    order = np.argsort(values)
    below = np.cumsum(weights[order]) - 0.5 * weights[order]
    return np.interp(share, below, values[order])


def solved(corner, problem, random):
    car = Car(corner, problem)
    count = 30 + 2 * len(problem["round"]) + problem["offsets"]
    found = least_squares(
        lambda u: residuals(car, u[None])[0],
        np.zeros(count),
        jac=lambda u: jacobian(car, u),
        xtol=1e-15,
        ftol=1e-15,
        gtol=1e-13,
    )
    by = jacobian(car, found.x)
    covariance = np.linalg.inv(by.T @ by)
    # The posterior itself: normal draws, weighted.
    root = np.linalg.cholesky(covariance)
    units = random.normal(size=(DRAWS, count))
    draws = found.x + units @ root.T
    least = found.fun @ found.fun
    weights = np.empty(DRAWS)
    worst = np.empty(DRAWS)
    curves = np.empty((DRAWS, len(corner.bump)))
    for part in np.array_split(np.arange(DRAWS), 20):
        square = (residuals(car, draws[part]) ** 2).sum(axis=1) - least
        weights[part] = np.exp(-0.5 * square + 0.5 * (units[part] ** 2).sum(axis=1))
        curves[part] = curves_now(car, draws[part])
        worst[part] = np.abs(curves[part]).max(axis=1)
    weights /= weights.sum()
    mean = weights @ curves
    return {
        "unknowns": found.x,
        "sd": np.sqrt(np.diag(covariance)),
        "curve_mean_deg": mean,
        "curve_sd_deg": np.sqrt(weights @ (curves - mean) ** 2),
        "worst_mean_deg": weights @ worst,
        "worst_p95_deg": weighted_percentile(worst, weights, 0.95),
        "effective_draws": 1 / (weights**2).sum(),
    }


def gauged(corner, problem, truth, random):
    """Fills in what the gauges show of a true car."""
    car = Car(corner, problem)
    for of_round in problem["round"]:
        for row in of_round["reading"]:
            row.update({name: 0.0 for name in of_round["shows"]})
            if of_round["instrument"] == "plate":
                row["front_mm"] = 0.0
    shown = residuals(car, truth[None])[0]
    at = 0
    for of_round in problem["round"]:
        for row in of_round["reading"]:
            for name in of_round["shows"]:
                noisy = shown[at] + random.normal()
                at += 1
                sd = {"toe_deg": TOE_SD, "camber_deg": CAMBER_SD, "rear_mm": DIAL_SD * np.sqrt(2), "wall_mm": SPOT_SD}[name]
                row[name] = round(float(noisy * sd), 4)
            if of_round["instrument"] == "plate":
                row["rear_mm"], row["front_mm"] = round(row["rear_mm"] / 2, 4), -round(row["rear_mm"] / 2, 4)


def readings(sessions, first_toe_offset, camber_offset=None):
    rows = []
    for session in range(sessions):
        for height in HEIGHTS if session == 0 else HEIGHTS[::2]:
            row = {"bump_mm": height, "session": session, "toe_offset": first_toe_offset + session}
            if camber_offset is not None:
                row["camber_offset"] = camber_offset + session
            rows.append(row)
    return rows


def two_rounds():
    shim = {"what": "shim", "link": 2, "end": "chassis", "along": [0.0, 0.0, 1.0], "by_mm": 1.5}
    turn = {"what": "length", "link": 1, "by_mm": 0.625}
    first = {"instrument": "angle", "shows": ["toe_deg", "camber_deg"], "reading": readings(2, 0, 2), "change": [shim, turn]}
    second = {"instrument": "wall", "distance_mm": 3000.0, "shows": ["wall_mm"], "reading": readings(1, 4)}
    return {"round": [first, second], "offsets": 5}


def plate():
    only = {"instrument": "plate", "width_mm": 400.0, "shows": ["rear_mm"], "reading": readings(1, 0)}
    return {"round": [only], "offsets": 1}


def text_of(value):
    if isinstance(value, (list, np.ndarray)):
        return "[" + ", ".join(text_of(item) for item in value) + "]"
    return repr(float(value)) if isinstance(value, (float, np.floating)) else repr(value).replace("'", '"')


def write(path, problem, answer):
    lines = ["# Written by tests/outside/correct_reference.py."]
    lines += [f"{key} = {text_of(value)}" for key, value in answer.items()]
    for of_round in problem["round"]:
        lines += ["", "[[round]]", f'instrument = "{of_round["instrument"]}"']
        lines += [f"{key} = {text_of(of_round[key])}" for key in ("width_mm", "distance_mm") if key in of_round]
        inline = lambda row: "{ " + ", ".join(f"{k} = {text_of(v)}" for k, v in row.items() if "offset" not in k) + " }"
        for name in ("reading", "change"):
            lines.append(f"{name} = [")
            lines += [f"    {inline(row)}," for row in of_round.get(name, [])]
            lines.append("]")
    path.write_text("\n".join(lines) + "\n")


def main():
    corner = Corner(HERE / "static-set.toml")
    for number, (name, problem) in enumerate((("two-rounds", two_rounds()), ("plate", plate()))):
        random = np.random.default_rng([SEED, number])
        count = 30 + 2 * len(problem["round"]) + problem["offsets"]
        gauged(corner, problem, random.normal(size=count) * 0.8, random)
        answer = solved(corner, problem, random)
        print(name, "worst", answer["worst_mean_deg"], answer["worst_p95_deg"], "effective draws", answer["effective_draws"])
        (HERE / "correct").mkdir(exist_ok=True)
        write(HERE / "correct" / f"{name}.toml", problem, answer)


if __name__ == "__main__":
    main()
