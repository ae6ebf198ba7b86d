"""The operations of kernels.ts with numpy and scipy. kernels.py FOLDER reads the seeded arrays
(float64) and prints JSON: nanoseconds of processor time per element, the least of several runs, and
a checksum of each result."""
import json
import math
import sys
import time

import numpy as np
from scipy.linalg import solveh_banded
from scipy.spatial.transform import Rotation, Slerp

folder = sys.argv[1]


def load(name, width=1):
    values = np.fromfile(f'{folder}/{name}.f64')
    return values.reshape(-1, width) if width > 1 else values


def checksum(values):
    """Weights 1 to 7 in turn, so that an exchange shows; added without rounding."""
    flat = np.ravel(values)
    return math.fsum(flat * (1 + np.arange(len(flat)) % 7))


results = {}


def measure(name, elements, runs, work, numbers=lambda result: result):
    least = math.inf
    for _ in range(runs):
        start = time.process_time()
        result = work()
        least = min(least, time.process_time() - start)
    results[name] = {'nanoseconds': 1e9 * least / elements, 'checksum': checksum(numbers(result))}


def quaternions_of(rotations):
    return rotations.as_quat()


def same_sign(quaternions, like):
    """scipy may return either sign of a quaternion."""
    sign = np.where(np.sum(quaternions * like, axis=1) < 0, -1.0, 1.0)
    return quaternions * sign[:, None]


def integrate():
    """Steps in numpy, the running product in Python's own floats: a numpy array of four is slower."""
    h = np.diff(times)[:, None]
    step = h * rate[1:]
    step = step + np.cross(h * rate[:-1], step) / 12
    x, y, z, w = 0.0, 0.0, 0.0, 1.0
    out = [(x, y, z, w)]
    for i, j, k, r in Rotation.from_rotvec(step).as_quat().tolist():
        x, y, z, w = (
            w * i + x * r + y * k - z * j,
            w * j - x * k + y * r + z * i,
            w * k + x * j - y * i + z * r,
            w * r - x * i - y * j - z * k,
        )
        norm = math.sqrt(x * x + y * y + z * z + w * w)
        x, y, z, w = x / norm, y / norm, z / norm, w / norm
        out.append((x, y, z, w))
    return np.array(out)


def banded(matrix):
    """solveh_banded wants diagonal d of the lower band in row d, from its first column."""
    width = matrix.shape[1] - 1
    lower = np.zeros((width + 1, len(matrix)))
    for d in range(width + 1):
        lower[d, :len(matrix) - d] = matrix[d:, d]
    return lambda: solveh_banded(lower, sides.T, lower=True).T


a, b, track = load('a', 4), load('b', 4), load('track', 4)
vectors, rate = load('vectors', 3), load('rate', 3)
times, frames = load('times'), load('frames')
sides = load('sides').reshape(3, -1)
n = len(a)
A, B = Rotation.from_quat(a), Rotation.from_quat(b)
T = Rotation.from_quat(track)

# The single products give the sign; they are not part of what is timed.
x, y, z, w = a.T
i, j, k, r = b.T
product = np.stack([
    w * i + x * r + y * k - z * j,
    w * j - x * k + y * r + z * i,
    w * k + x * j - y * i + z * r,
    w * r - x * i - y * j - z * k,
], axis=1)
measure('compose', n, 5, lambda: A * B, lambda result: same_sign(quaternions_of(result), product))
measure('rotate', n, 5, lambda: A.apply(vectors))
measure('logarithm', n, 5, A.as_rotvec)
measure('exponential', n, 5, lambda: Rotation.from_rotvec(vectors), quaternions_of)
measure('integrate', n, 2, integrate)
nearest = track[np.minimum(np.searchsorted(times, frames), n - 1)]
measure('slerp', len(frames), 2, lambda: Slerp(times, T)(frames),
        lambda result: same_sign(quaternions_of(result), nearest))
measure('heading, tilt, roll', n, 2, lambda: T.as_euler('YXZ'))
for width in (2, 3):
    measure(f'banded, width {width}', sides.shape[1], 5, banded(load(f'band{width}', width + 1)))
print(json.dumps(results))
