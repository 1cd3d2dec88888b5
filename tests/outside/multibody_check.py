#!/usr/bin/env python3
"""A second opinion on the tables of `sweep_reference.py`, from a general-purpose rigid-body library (Pinocchio).

Here each link is a body of its own on a ball joint in the chassis and the upright is a free body: 21 degrees of
freedom, 15 closures of a link's tip on the upright and the height of the wheel centre; the spins of the five links
stay free, so Newton takes the smallest step. Every row is placed at its bump travel; that its tyre then stands on the
road is what is checked for roll and grid. Velocities come from the library's frame Jacobians.

Run it without arguments after the tables have been made. It prints the largest difference of each file and writes
nothing; it ends with an error when one is above 1e-8 mm, deg or %. Needs `pip install pin==4.1.0 scipy mpmath`.
"""

import csv
import sys
from pathlib import Path

import numpy as np
import pinocchio as pin

from natural_corner import read

HERE = Path(__file__).parent
AGREES = 1e-8
VERTICAL = np.array([0.0, 0.0, 1.0])


def doubles(p):
    return np.array([float(x) for x in p])


class Linkage:
    def __init__(self, corner):
        points = corner.points
        self.side, self.radius = corner.side, float(corner.radius)
        self.centre, self.spin, self.road = doubles(corner.centre), doubles(points["spin"]), float(corner.road_height)
        self.model = pin.Model()
        upright = self.body(pin.JointModelFreeFlyer(), self.centre, "upright")
        self.wheel = self.frame(upright, "wheel centre", np.zeros(3))
        self.ends = []
        for name, chassis, outer in points["links"]:
            chassis, outer = doubles(chassis), doubles(outer)
            link = self.body(pin.JointModelSpherical(), chassis, name)
            tip = self.frame(link, f"{name} tip", outer - chassis)
            self.ends.append((tip, self.frame(upright, name, outer - self.centre)))
        self.data = self.model.createData()
        self.q = pin.neutral(self.model)  # the upright stands on its wheel centre, so q[2] is the bump travel
        self.at_rest = self.contact(0.0)

    def body(self, joint, place, name):
        return self.model.addJoint(0, joint, pin.SE3(np.eye(3), place), name)

    def frame(self, joint, name, place):
        return self.model.addFrame(pin.Frame(name, joint, pin.SE3(np.eye(3), place), pin.FrameType.OP_FRAME))

    def place(self, frame):
        return self.data.oMf[frame].translation

    def moves(self, frame):
        return pin.getFrameJacobian(self.model, self.data, frame, pin.LOCAL_WORLD_ALIGNED)

    def placed(self, bump):
        """Newton with the smallest step, from the posture that was solved last."""
        for _ in range(50):
            pin.computeJointJacobians(self.model, self.data, self.q)
            pin.updateFramePlacements(self.model, self.data)
            gaps = [self.place(tip) - self.place(outer) for tip, outer in self.ends]
            residual = np.concatenate([*gaps, [self.place(self.wheel)[2] - self.centre[2] - bump]])
            self.jacobian = np.vstack(
                [self.moves(tip)[:3] - self.moves(outer)[:3] for tip, outer in self.ends] + [self.moves(self.wheel)[2]]
            )
            if abs(residual).max() < 5e-13:
                return
            step = np.linalg.lstsq(self.jacobian, -residual, rcond=None)[0]
            self.q = pin.integrate(self.model, self.q, step)
        raise ArithmeticError(f"closed to {abs(residual).max()} mm only, at {bump} mm of bump")

    def carried(self, bump):
        """To a bump travel in steps of at most 1 mm, so that the branch of the last posture is kept."""
        start = self.q[2]
        for share in np.linspace(0.0, 1.0, int(abs(bump - start)) + 2)[1:]:
            self.placed(start + share * (bump - start))

    def turn(self):
        return self.data.oMf[self.wheel].rotation

    def contact(self, roll):
        self.placed(self.q[2])
        up, spin = np.array([0.0, np.sin(roll), np.cos(roll)]), self.turn() @ self.spin
        down = spin * (up @ spin) - up
        return self.place(self.wheel) + self.radius * down / np.linalg.norm(down)

    def cells(self, roll_deg, ride_height):
        roll = np.radians(roll_deg)
        contact, wheel = self.contact(roll), self.place(self.wheel)
        spin, tall = self.turn() @ self.spin, self.turn() @ VERTICAL
        drive = np.zeros(16)
        drive[-1] = 1.0
        motion = self.moves(self.wheel) @ np.linalg.lstsq(self.jacobian, drive, rcond=None)[0]
        turning, v = motion[3:], motion[:3] + np.cross(motion[3:], contact - wheel)
        spin_rate = np.cross(turning, spin)
        sideways, toe = self.side * spin[1], np.arctan2(spin[0], self.side * spin[1])
        toe_rate = (spin_rate[0] * sideways - spin[0] * self.side * spin_rate[1]) / (spin[0] ** 2 + spin[1] ** 2)
        y, z = contact[1], contact[2] - self.road
        found = {
            "toe_deg": np.degrees(toe),
            "camber_deg": np.degrees(np.arcsin(-spin[2])),
            "inclination_deg": np.degrees(np.arcsin(-spin[1] * np.sin(roll) - spin[2] * np.cos(roll))),
            "scrub_mm": self.side * (y * np.cos(roll) - z * np.sin(roll) - self.at_rest[1]),
            "ride_height_change_mm": -(y * np.sin(roll) + z * np.cos(roll)),
            "upright_pitch_deg": np.degrees(np.arctan2(tall[0], tall[2])),
            "wheel_centre_path_deg": np.degrees(np.arctan(-motion[0])),
            "bump_steer_gradient_deg_per_mm": np.degrees(toe_rate),
            "camber_gradient_deg_per_mm": np.degrees(-spin_rate[2] / np.sqrt(1.0 - spin[2] ** 2)),
        }
        if ride_height is None:
            found["roll_centre_height_mm"] = y * v[1] / v[2]
        for axis, c, w in zip("xyz", contact, wheel):
            found[f"contact_{axis}_mm"], found[f"wheel_centre_{axis}_mm"] = c, w
        return found


def worst_of(path, study):
    corners = read(path)[0]
    wheels = {name: Linkage(corner) for name, corner in zip(("left", "right"), corners)}
    worst = (0.0, "")
    with open(path.with_suffix(f".{study}.csv")) as file:
        for row in csv.DictReader(file):
            wheel = wheels[row["side"]]
            wheel.carried(float(row["bump_mm"]))
            ride_height = None if study == "heave" else float(row["ride_height_change_mm"])
            for column, value in wheel.cells(float(row["body_roll_deg"]), ride_height).items():
                worst = max(worst, (abs(value - float(row[column])), column))
    return worst


def main():
    largest = 0.0
    for path in sorted(HERE.glob("*.toml")):
        for study in ("heave", "roll", "grid"):
            difference, column = worst_of(path, study)
            largest = max(largest, difference)
            print(f"{path.stem}, {study}: {difference:.1e} ({column})")
    if largest > AGREES:
        sys.exit(f"differs by {largest:.1e}")


if __name__ == "__main__":
    main()
