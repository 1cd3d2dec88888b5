"""A survey of one corner, adjusted by scipy.optimize.least_squares: taped distances with a hook, plumbed heights, offsets and
places, datums known exactly and to half a millimetre, points taped from one another, and a part seated on four of them.

Writes survey/corner.toml, the survey as a builder would have it, and survey/corner.points.csv, where every point is with its
standard deviations. No reading is misread. Derivatives are complex steps through the residuals; standard deviations are the
roots of the diagonal of the inverse of JᵀJ. The part is fitted by a rotation vector and a shift, weighted with the joint
covariance of its mounting points and its own errors.
"""

import csv
import pathlib

import numpy as np
from scipy.linalg import cholesky, solve_triangular
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

HERE = pathlib.Path(__file__).parent / "survey"
TAPE_SD_MM, DATUM_SD_MM, PART_SD_MM, HOOK_MM = 1.0, 0.5, 0.3, 2.0

rng = np.random.default_rng(19)
datums = {
    "A": [-500.0, 0.0, 0.0],
    "B": [500.0, 0.0, 0.0],
    "C": [-500.0, 900.0, 0.0],
    "D": [500.0, 900.0, 0.0],
    "E": [-300.0, 300.0, 700.0],
    "F": [400.0, 300.0, 700.0],
}
uncertain = ["E", "F"]
truth = {
    "toe link upright": [-105.0, 668.0, 270.0],
    "upper front upright": [45.0, 640.0, 440.0],
    "upper rear upright": [-60.0, 645.0, 432.0],
    "lower front upright": [38.0, 684.0, 160.0],
    "toe link chassis": [-150.0, 380.0, 255.0],
    "halfshaft inner": [5.0, 205.0, 312.0],
}
carried = {"halfshaft outer": [0.0, 655.0, 305.0], "wheel centre": [0.0, 745.0, 308.0]}
mounting = list(truth)[:4]

place = {name: np.array(at) for name, at in (datums | truth | carried).items()}
given = {name: place[name] + (DATUM_SD_MM * rng.standard_normal(3) if name in uncertain else 0.0) for name in datums}
given = {name: np.round(at, 1) for name, at in given.items()}

distances, plumbed = [], []
for name in truth:
    for datum in datums:
        if rng.random() < 0.9:
            distances.append((datum, name))
    for axis in range(3):
        if rng.random() < 0.5:
            plumbed.append((axis, name))
names = list(truth)
distances += [(names[i], names[j]) for i in range(len(names)) for j in range(i) if rng.random() < 0.4]
read_d = [
    round(float(np.linalg.norm(place[a] - place[b]) + TAPE_SD_MM * rng.standard_normal() - HOOK_MM), 1)
    for a, b in distances
]
read_p = [round(float(place[name][axis] + TAPE_SD_MM * rng.standard_normal()), 1) for axis, name in plumbed]

turn = Rotation.from_euler("zyx", [25.0, -40.0, 170.0], degrees=True)
on_bench = {
    name: np.round(turn.inv().apply(place[name] - np.array([10.0, 600.0, 300.0])) + PART_SD_MM * rng.standard_normal(3), 2)
    for name in [*mounting, *carried]
}

sought = [*uncertain, *truth]
column = {name: 3 * k for k, name in enumerate(sought)}


def at(flat, name):
    return flat[column[name] : column[name] + 3] if name in column else given[name]


def residuals(flat):
    left = []
    for (a, b), read in zip(distances, read_d):
        between = at(flat, a) - at(flat, b)
        left.append((np.sqrt((between * between).sum()) - HOOK_MM - read) / TAPE_SD_MM)
    for (axis, name), read in zip(plumbed, read_p):
        left.append((at(flat, name)[axis] - read) / TAPE_SD_MM)
    for name in uncertain:
        left.extend((at(flat, name) - given[name]) / DATUM_SD_MM)
    return np.array(left)


def complex_steps(of):
    def jacobian(flat):
        steps = np.eye(len(flat)) * 1e-30
        return np.stack([of(flat + 1j * step).imag / 1e-30 for step in steps], axis=1)

    return jacobian


start = np.concatenate([(given | truth)[name] if name in given else np.round(truth[name], -1) for name in sought])
fit = least_squares(residuals, start.astype(float), jac=complex_steps(residuals), xtol=1e-15, ftol=1e-15, gtol=1e-15)
J = complex_steps(residuals)(fit.x)
covariance = np.linalg.inv(J.T @ J)

held = np.concatenate([np.arange(column[name], column[name] + 3) for name in mounting])
joint = covariance[np.ix_(held, held)] + PART_SD_MM**2 * np.eye(len(held))
lower = cholesky(joint, lower=True)
bench = np.stack([on_bench[name] for name in mounting])
in_car = np.stack([at(fit.x, name) for name in mounting])


def rotated(vector, points):
    """Rodrigues' formula, which complex steps go through."""
    angle = np.sqrt((vector * vector).sum())
    axis = vector / angle
    cross = np.stack([
        axis[1] * points[:, 2] - axis[2] * points[:, 1],
        axis[2] * points[:, 0] - axis[0] * points[:, 2],
        axis[0] * points[:, 1] - axis[1] * points[:, 0],
    ], axis=1)
    return points * np.cos(angle) + cross * np.sin(angle) + np.outer(points @ axis, axis) * (1 - np.cos(angle))


def seat_residuals(seat):
    left = (rotated(seat[3:], bench) + seat[:3] - in_car).ravel()
    return solve_triangular(lower, left, lower=True)


first, _ = Rotation.align_vectors(in_car - in_car.mean(0), bench - bench.mean(0))
seat = np.concatenate([in_car.mean(0) - first.apply(bench.mean(0)), first.as_rotvec()])
seat = least_squares(seat_residuals, seat, jac=complex_steps(seat_residuals), xtol=1e-15, ftol=1e-15, gtol=1e-15)
J = complex_steps(seat_residuals)(seat.x)
of_seat = np.linalg.inv(J.T @ J)

rows = []
for name in truth:
    sd = np.sqrt(np.diag(covariance)[column[name] : column[name] + 3])
    rows.append([name, *at(fit.x, name).tolist(), *sd.tolist()])
for name in carried:
    def seated(flat, name=name):
        return rotated(flat[3:], on_bench[name][None, :])[0] + flat[:3]

    by = complex_steps(seated)(seat.x)
    sd = np.sqrt(np.diag(by @ of_seat @ by.T) + PART_SD_MM**2)
    rows.append([name, *seated(seat.x).tolist(), *sd.tolist()])

HERE.mkdir(exist_ok=True)
with open(HERE / "corner.points.csv", "w", newline="") as out:
    table = csv.writer(out, lineterminator="\n")
    table.writerow(["point", "x_mm", "y_mm", "z_mm", "sd_x_mm", "sd_y_mm", "sd_z_mm"])
    table.writerows(rows)

lines = ["# Made by survey_reference.py.", "schema = 1", 'units = "mm"', "", "[tape]", f"sd = {TAPE_SD_MM}", f"hook = {HOOK_MM}"]
for name, at_mm in given.items():
    lines += ["", "[[datum]]", f'name = "{name}"', f"at = {at_mm.tolist()}"]
    lines += [f"sd = {DATUM_SD_MM}"] if name in uncertain else []
for name in truth:
    lines += ["", "[[point]]", f'name = "{name}"']
for (a, b), read in zip(distances, read_d):
    lines += ["", "[[distance]]", f'between = ["{a}", "{b}"]', f"read = {read}"]
for (axis, name), read in zip(plumbed, read_p):
    lines += ["", f"[[{['fore_aft', 'offset', 'height'][axis]}]]", f'of = "{name}"', f"read = {read}"]
lines += ["", "[[part]]", 'name = "upright"', f"sd = {PART_SD_MM}"]
for name, at_mm in on_bench.items():
    lines += ["", "[[part.point]]", f'name = "{name}"', f"at = {at_mm.tolist()}"]
(HERE / "corner.toml").write_text("\n".join(lines) + "\n")
