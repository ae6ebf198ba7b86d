"""Rotations by scipy, to compare with: prints the JSON that scipyRotations.test.ts reads.

Run with a python3 that has scipy (written with Debian's python3-scipy 1.10.1):

    /usr/bin/python3 test/reference/scipy_rotations.py > test/reference/scipy_rotations.json
    npx biome format --write test/reference/scipy_rotations.json

Angles are radians, quaternions x, y, z, w. The middle angle of every Euler triple stays 0.2 rad
away from the singular ones.
"""
import itertools
import json

import numpy as np
import scipy
from scipy.spatial.transform import Rotation, Slerp

random = np.random.default_rng(20240621)


def euler():
    for axes in itertools.product("XYZ", repeat=3):
        if axes[0] == axes[1] or axes[1] == axes[2]:
            continue
        sequence = "".join(axes)
        start = 0 if axes[0] == axes[2] else -np.pi / 2
        for frame in ("intrinsic", "extrinsic"):
            first, third = random.uniform(-3.1, 3.1, 2)
            angles = [first, start + random.uniform(0.2, np.pi - 0.2), third]
            name = sequence if frame == "intrinsic" else sequence.lower()
            quaternion = Rotation.from_euler(name, angles).as_quat()
            yield {
                "sequence": sequence,
                "frame": frame,
                "angles": list(angles),
                "quaternion": quaternion.tolist(),
            }


def rotation_vectors():
    for length in (1e-9, 1e-6, 1e-3, 0.1, 0.7, 1.5, 2.4, 3.0, 3.14, np.pi - 1e-9):
        axis = random.normal(size=3)
        rotation = Rotation.from_rotvec(axis / np.linalg.norm(axis) * length)
        yield {
            "rotationVector": rotation.as_rotvec().tolist(),
            "quaternion": rotation.as_quat().tolist(),
            "matrix": rotation.as_matrix().ravel().tolist(),
        }


def slerps():
    for _ in range(4):
        ends = Rotation.random(2, random_state=int(random.integers(2**31)))
        times = [0.1, 0.37, 0.5, 0.9]
        yield {
            "from": ends[0].as_quat().tolist(),
            "to": ends[1].as_quat().tolist(),
            "times": times,
            "quaternions": Slerp([0, 1], ends)(times).as_quat().tolist(),
        }


def means():
    for count in (2, 3, 5, 8):
        middle = Rotation.random(random_state=int(random.integers(2**31)))
        rotations = middle * Rotation.from_rotvec(random.uniform(-0.5, 0.5, (count, 3)))
        weights = random.uniform(0.5, 3, count)
        yield {
            "quaternions": rotations.as_quat().tolist(),
            "weights": weights.tolist(),
            "mean": rotations.mean(weights).as_quat().tolist(),
        }


print(
    json.dumps(
        {
            "scipy": scipy.__version__,
            "euler": list(euler()),
            "rotationVectors": list(rotation_vectors()),
            "slerps": list(slerps()),
            "means": list(means()),
        },
        indent=2,
    )
)
