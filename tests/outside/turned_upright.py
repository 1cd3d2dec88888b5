"""Where a corner binds whose upright makes more than half a turn: the values of tests/kinematics/walking.rs.

Another way than the program's: a unit quaternion for the rotation, steps along the arc of the curve instead of bump
travel, the Jacobian by central differences. A bind is where the wheel centre stops rising; it is found by bisection.
Run: python3 tests/outside/turned_upright.py (numpy 2.4.6).
"""

import numpy as np

CENTRE = np.array([0.0, 760.0, 300.0])
CHASSIS = np.array([[43, 154, 171], [-243, 332, 70], [-58, 526, 549], [11, 402, 414], [-64, 422, 150]], float)
UPRIGHT = np.array([[89, 661, 206], [-156, 844, 86], [12, 817, 296], [-82, 579, 282], [-21, 745, 260]], float)
LENGTH = np.linalg.norm(UPRIGHT - CHASSIS, axis=1)
STEP = 0.2  # along the arc, quaternion times 100 mm


def rotation(q):
    w, x, y, z = q / np.linalg.norm(q)
    return np.array([
        [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
        [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
        [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
    ])


def equations(state):
    moved = CENTRE + state[:3] + (UPRIGHT - CENTRE) @ rotation(state[3:]).T
    q = state[3:] / 100
    return np.append(np.linalg.norm(moved - CHASSIS, axis=1) - LENGTH, 50 * (q @ q - 1))


def jacobian(state):
    return np.array([(equations(state + 1e-6 * v) - equations(state - 1e-6 * v)) / 2e-6 for v in np.eye(7)]).T


def tangent(state, along):
    null = np.linalg.svd(jacobian(state))[2][-1]
    return null * np.sign(null @ along)


def step(start, along, length):
    state = start + length * along
    for _ in range(8):
        residual = np.append(equations(state), along @ (state - start) - length)
        state = state - np.linalg.solve(np.vstack([jacobian(state), along]), residual)
    return state


def bind(way):
    state = np.array([0, 0, 0, 100.0, 0, 0, 0])
    along = tangent(state, np.array([0, 0, way, 0, 0, 0, 0.0]))
    while True:
        beyond = step(state, along, STEP)
        if tangent(beyond, along)[2] * way > 0:
            state, along = beyond, tangent(beyond, along)
            continue
        low, high = 0.0, STEP
        for _ in range(40):
            middle = 0.5 * (low + high)
            rises = tangent(step(state, along, middle), along)[2] * way > 0
            low, high = (middle, high) if rises else (low, middle)
        last = step(state, along, low)
        return last[2], 2 * np.degrees(np.arccos(np.clip(last[3] / np.linalg.norm(last[3:]), -1, 1)))


for name, way in (("droop", -1), ("bump", 1)):
    print("%s: binds at %.6f mm of bump travel, turned by %.1f deg" % ((name,) + bind(way)))
