"""The calmest corrections within a limit by a general solver: prints the JSON that
limitSolver.test.ts reads.

Run with a python3 that has scipy (written with Debian's python3-scipy 1.10.1):

    /usr/bin/python3 test/reference/limit_scipy.py > test/reference/limit_scipy.json
    npx biome format --write test/reference/limit_scipy.json

A camera carried through a night-blooming greenhouse, eight samples a second. Minimises
sum |e - E|^2 + w sum |D3 (e - E)|^2, w putting half of the amplitude at 1 Hz, subject to |e| and
|e_i| within limits, by sequential least squares with exact gradients; every sample is free. Angles
in radians.
"""
import json

import numpy as np
import scipy
from scipy import optimize

RATE = 8
PENALTY = (2 * np.sin(np.pi / RATE)) ** -6

random = np.random.default_rng(20240621)


def wandering(samples, size):
    rough = random.standard_normal((samples + 8, 3)).cumsum(axis=0)
    smooth = np.stack([np.convolve(column, np.hanning(9), "valid") for column in rough.T], 1)
    return np.round(size * (smooth - smooth.mean(axis=0)) / smooth.std(), 6)


def jolt(samples):
    bell = np.exp(-(((np.arange(samples) - samples // 2) / 2) ** 2))
    return np.round(np.outer(0.02 + bell, [0.1, -0.2, 0.06]), 6)


def calmest(wanted, total, axes=None):
    samples = len(wanted)
    shares = np.linalg.norm(wanted, axis=1) / total
    if axes is not None:
        shares = np.maximum(shares, (abs(wanted) / axes).max(axis=1))
    differences = np.diff(np.eye(samples), 3, axis=0)
    matrix = np.eye(samples) + PENALTY * differences.T @ differences
    shape = wanted.shape

    def cost(x):
        deviation = x.reshape(shape) - wanted
        gradient = matrix @ deviation
        return np.sum(deviation * gradient), 2 * gradient.ravel()

    def slack(x):
        return total**2 - np.sum(x.reshape(shape) ** 2, axis=1)

    def slopes(x):
        rows = np.zeros((samples, x.size))
        for k, e in enumerate(x.reshape(shape)):
            rows[k, 3 * k : 3 * k + 3] = -2 * e
        return rows

    bounds = None if axes is None else [(-most, most) for most in axes.ravel()]
    result = optimize.minimize(
        cost,
        0.5 * wanted.ravel() / max(1, shares.max()),
        jac=True,
        bounds=bounds,
        constraints={"type": "ineq", "fun": slack, "jac": slopes},
        method="SLSQP",
        options={"ftol": 1e-11, "maxiter": 1000},
    )
    assert result.success, result.message
    written = lambda values: np.round(values, 9).ravel().tolist()
    return {
        "wanted": written(wanted),
        "total": written(total),
        **({} if axes is None else {"axes": written(axes)}),
        "cost": round(result.fun, 12),
        "corrections": written(result.x),
    }


def falling(samples):
    return np.round(np.linspace(0.09, 0.05, samples), 6)


print(
    json.dumps(
        {
            "scipy": scipy.__version__,
            "sampleRate": RATE,
            "penalty": PENALTY,
            "cases": {
                "one angle for all samples": calmest(wandering(12, 0.06), np.full(12, 0.06)),
                "an angle for each sample": calmest(wandering(16, 0.06), falling(16)),
                "one for each axis as well": calmest(
                    wandering(12, 0.06), falling(12), np.outer(falling(12), [0.3, 0.9, 0.6])
                ),
                "a jolt between two long rests": calmest(jolt(64), np.full(64, 0.1)),
            },
        }
    )
)
