"""Integrates seeded rates by rotation-vector steps with numpy; prints seconds per row."""
import sys
import time

import numpy as np


def multiply(a, b):
    x, y, z, w = a
    i, j, k, r = b
    return np.array([
        w * i + x * r + y * k - z * j,
        w * j - x * k + y * r + z * i,
        w * k + x * j - y * i + z * r,
        w * r - x * i - y * j - z * k,
    ])


rows = int(sys.argv[1]) // 20
rates = np.random.default_rng(1).standard_normal((rows, 3)) * 0.3
q = np.array([0.0, 0.0, 0.0, 1.0])
start = time.process_time()
for rate in rates * 1e-3:
    angle = np.linalg.norm(rate)
    q = multiply(q, np.append(rate * (np.sin(angle / 2) / angle), np.cos(angle / 2)))
    q /= np.linalg.norm(q)
print((time.process_time() - start) / rows)
