"""The calmest path within a limit, exactly: prints the JSON that limitOptimum.test.ts reads.

Run with a python3 that has cvxopt (written with Debian's python3-cvxopt 1.3.0):

    /usr/bin/python3 test/reference/limit_cvxopt.py > test/reference/limit_cvxopt.json
    npx biome format --write test/reference/limit_cvxopt.json

Somebody stands in a night-blooming greenhouse and looks about, 20 s at 15 samples a second. Minimises
the shake, the root mean square of the path's rate within 0.6 to 12 Hz, subject to |s - v| <= limit
at every sample, as a quadratic program over second-order cones; and by itself the jerk, the root mean
square of the third difference. Heading alone is exact, since
rotations about one axis add up; heading and tilt add up to within the square of angles. Angles in
degrees, to three decimals.
"""
import json

import cvxopt
import numpy as np

RATE = 15
SAMPLES = 300
LIMITS = [6, 10, 15]


def motion(seed, rms, corner=0.15, power=2.5):
    """A broad spectrum without lines, flat to the corner, Hz, and falling as a power of f up to 6 Hz."""
    random = np.random.default_rng(seed)
    frequencies = np.arange(0.02, 6, 0.02)
    amplitudes = 1 / (1 + (frequencies / corner) ** power)
    phases = random.uniform(0, 2 * np.pi, len(frequencies))
    t = np.arange(SAMPLES) / RATE
    v = (amplitudes * np.cos(2 * np.pi * np.outer(t, frequencies) + phases)).sum(1)
    v -= v.mean()
    return np.round(rms * v / v.std(), 3)


def shake_operator():
    """From positions, degrees, to rates within the band, as bench/accuracy/frontier.ts has it."""
    rates = np.diff(np.eye(SAMPLES), axis=0) * RATE
    n = SAMPLES - 1
    pad = min(n - 1, 4 * RATE)
    size = 2 ** int(np.ceil(np.log2(n + 2 * pad)))
    before = 2 * rates[0] - rates[pad:0:-1]
    after = 2 * rates[-1] - rates[-2 : -2 - pad : -1]
    extended = np.zeros((size, SAMPLES))
    extended[: n + 2 * pad] = np.concatenate([before, rates, after])
    f = np.minimum(np.arange(size), size - np.arange(size)) * RATE / size
    gain = np.zeros(size)
    gain[1:] = 1 / (1 + ((f[1:] ** 2 - 0.6 * 12) / (f[1:] * (12 - 0.6))) ** 8)
    banded = np.fft.ifft(gain[:, None] * np.fft.fft(extended, axis=0), axis=0).real
    return banded[pad : pad + n] / np.sqrt(n)


def jerk_operator():
    return np.diff(np.eye(SAMPLES), 3, axis=0) * RATE**3 / np.sqrt(SAMPLES - 3)


def optimum(v, limit, operator):
    axes = v.shape[1]
    # Unknowns e, sample by sample, so that every cone is one sample.
    A = np.kron(operator, np.eye(axes))
    P = A.T @ A
    q = P @ v.ravel()
    G = np.zeros((SAMPLES * (axes + 1), SAMPLES * axes))
    h = np.zeros(SAMPLES * (axes + 1))
    for k in range(SAMPLES):
        h[k * (axes + 1)] = limit
        for j in range(axes):
            G[k * (axes + 1) + 1 + j, k * axes + j] = -1
    cones = {"l": 0, "q": [axes + 1] * SAMPLES, "s": []}
    m = cvxopt.matrix
    cvxopt.solvers.options.update(show_progress=False, abstol=1e-10, reltol=1e-9, feastol=1e-9)
    found = cvxopt.solvers.coneqp(m(P), m(q), m(G), m(h), cones)
    assert found["status"] == "optimal", found["status"]
    e = np.array(found["x"]).reshape(v.shape)
    assert np.linalg.norm(e, axis=1).max() < limit + 1e-6
    return float(np.sqrt(((operator @ (v + e)) ** 2).sum()))


shake, jerk = shake_operator(), jerk_operator()
CALM = {}
HARD = {"corner": 0.4, "power": 2.5}
HARDER = {"corner": 0.6, "power": 2}
cases = {
    "looking about calmly, heading": (LIMITS, [motion(1, 14, **CALM)]),
    "looking about hard, heading": (LIMITS, [motion(2, 30, **HARD)]),
    "looking about harder, heading": (LIMITS, [motion(3, 30, **HARDER)]),
    # A tenth of such motion within a tenth of the limits.
    "looking about hard, heading and tilt": (
        [limit / 10 for limit in LIMITS],
        [motion(4, 2.5, **HARD), motion(5, 1.5, **HARD)],
    ),
    "looking about harder, heading and tilt": (
        [limit / 10 for limit in LIMITS],
        [motion(6, 2.5, **HARDER), motion(7, 1.5, **HARDER)],
    ),
}
print(
    json.dumps(
        {
            "cvxopt": cvxopt.__version__,
            "sampleRate": RATE,
            "cases": {
                name: {
                    "headingDeg": v[:, 0].tolist(),
                    **({"tiltDeg": v[:, 1].tolist()} if v.shape[1] > 1 else {}),
                    "rawShake": round(float(np.sqrt(((shake @ v) ** 2).sum())), 6),
                    "least": [
                        {
                            "limitDeg": limit,
                            "shake": round(optimum(v, limit, shake), 6),
                            "jerk": round(optimum(v, limit, jerk), 6),
                        }
                        for limit in limits
                    ],
                }
                for name, limits, v in (
                    (name, limits, np.stack(axes, 1)) for name, (limits, axes) in cases.items()
                )
            },
        }
    )
)
