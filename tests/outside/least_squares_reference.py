"""A network of taped distances, adjusted by scipy.optimize.least_squares: 20 points in space, eight of them datums known to
half a millimetre, the others taped from datums and from one another with an error of 1 mm.

Every coordinate is unknown (60); a datum's known place is one more reading of each of its coordinates. Derivatives are
complex steps through the residuals; standard deviations are the roots of the diagonal of the inverse of JᵀJ.

Writes network.points.csv (known or first guess, its sd or empty, fitted place and its sd) and network.readings.csv.
"""

import csv
import pathlib

import numpy as np
from scipy.optimize import least_squares

HERE = pathlib.Path(__file__).parent
DATUMS, POINTS = 8, 20
DATUM_SD_MM, TAPE_SD_MM = 0.5, 1.0

rng = np.random.default_rng(3)
low, high = np.array([-600.0, -900.0, 50.0]), np.array([700.0, 900.0, 900.0])
truth = rng.uniform(low, high, (POINTS, 3))
known = truth[:DATUMS] + DATUM_SD_MM * rng.standard_normal((DATUMS, 3))
guess = truth[DATUMS:] + 40.0 * rng.standard_normal((POINTS - DATUMS, 3))
start = np.round(np.vstack([known, guess]), 1)

pairs = [(i, j) for j in range(DATUMS, POINTS) for i in range(j) if rng.random() < 0.85]
first, second = (np.array(column) for column in zip(*pairs))
distances = np.linalg.norm(truth[first] - truth[second], axis=1)
read = np.round(distances + TAPE_SD_MM * rng.standard_normal(len(pairs)), 1)


def residuals(flat):
    places = flat.reshape(POINTS, 3)
    between = places[first] - places[second]
    taped = np.sqrt((between * between).sum(axis=1)) - read
    return np.concatenate([taped / TAPE_SD_MM, ((places - start)[:DATUMS] / DATUM_SD_MM).ravel()])


fit = least_squares(residuals, start.ravel(), jac="cs", xtol=1e-15, ftol=1e-15, gtol=1e-13)
assert fit.success, fit.message
sd = np.sqrt(np.diag(np.linalg.inv(fit.jac.T @ fit.jac))).reshape(POINTS, 3)
places = fit.x.reshape(POINTS, 3)
print(len(pairs), "readings, sum of squares", 2.0 * fit.cost, "gradient", np.abs(fit.grad).max())

with open(HERE / "network.points.csv", "w", newline="") as out:
    table = csv.writer(out, lineterminator="\n")
    axes = "xyz"
    table.writerow(
        ["known_sd_mm"]
        + [f"start_{a}_mm" for a in axes] + [f"fitted_{a}_mm" for a in axes] + [f"sd_{a}_mm" for a in axes]
    )
    for k in range(POINTS):
        known_sd = DATUM_SD_MM if k < DATUMS else ""
        table.writerow([known_sd, *start[k].tolist(), *places[k].tolist(), *sd[k].tolist()])

with open(HERE / "network.readings.csv", "w", newline="") as out:
    table = csv.writer(out, lineterminator="\n")
    table.writerow(["from", "to", "read_mm", "sd_mm"])
    table.writerows([i, j, mm, TAPE_SD_MM] for (i, j), mm in zip(pairs, read.tolist()))
