"""A textbook Kalman filter and RTS smoother: prints the JSON that structuralModel.test.ts reads.

Run with a python3 that has numpy (written with Debian's python3-numpy 1.24.2):

    /usr/bin/python3 test/reference/structural_kalman.py > test/reference/structural_kalman.json
    npx biome format --write test/reference/structural_kalman.json

Four seconds of one angle of a camera carried through a night-blooming greenhouse: a trend whose
noise opens in the middle, sway, and two oscillations that come with steps of changing pace and are
seen more and more. Filter: Kalman 1960; smoother: Rauch, Tung and Striebel 1965; both with whole
matrices, as the textbooks print them. Results have twelve decimals.
"""
import json

import numpy as np

RATE = 15.0
SAMPLES = 60
NOISE = 0.01
START = 10.0  # variance of each unknown of the trend at the first sample
UNSCORED = 3  # innovations that only find the start

random = np.random.default_rng(20240621)
seconds = np.arange(SAMPLES) / RATE
trend_noise = np.where(abs(seconds - 2) < 0.5, 2.0, 0.05)
pace = 2 * np.pi * (1.8 + 0.1 * seconds)
oscillators = [
    {"variance": 0.3, "lifetime": 0.8, "step": np.full(SAMPLES, 2 * np.pi * 0.27 / RATE)},
    {"variance": 0.5, "lifetime": 3.0, "step": pace / 2 / RATE, "weight": seconds / 4},
    {"variance": 0.2, "lifetime": 3.0, "step": pace / RATE, "weight": seconds / 4},
]
signal = np.round(
    3 * np.tanh(2 * (seconds - 2))
    + 0.4 * np.sin(2 * np.pi * 0.3 * seconds)
    + seconds / 4 * np.sin(np.cumsum(pace / RATE))
    + 0.1 * random.standard_normal(SAMPLES),
    6,
)


def system(order):
    """Transition, noise and observation at each sample, and the covariance of the start."""
    size = order + 2 * len(oscillators)
    transitions, noises, rows = [], [], []
    start = np.zeros((size, size))
    start[:order, :order] = START * np.eye(order)
    for t in range(SAMPLES):
        transition, noise, row = np.zeros((size, size)), np.zeros((size, size)), np.zeros(size)
        dt = 1 / RATE
        taylor = [[1, dt, dt * dt / 2], [0, 1, dt], [0, 0, 1]]
        transition[:order, :order] = np.array(taylor)[:order, :order]
        noise[order - 1, order - 1] = trend_noise[t] * dt
        row[0] = 1
        for k, part in enumerate(oscillators):
            at = slice(order + 2 * k, order + 2 * k + 2)
            damping = np.exp(-1 / (RATE * part["lifetime"]))
            c, s = np.cos(part["step"][t]), np.sin(part["step"][t])
            transition[at, at] = damping * np.array([[c, s], [-s, c]])
            noise[at, at] = part["variance"] * (1 - damping**2) * np.eye(2)
            row[order + 2 * k] = part.get("weight", np.ones(SAMPLES))[t]
            start[at, at] = part["variance"] * np.eye(2)
        transitions.append(transition)
        noises.append(noise)
        rows.append(row)
    return transitions, noises, rows, start


def smooth(order):
    transitions, noises, rows, covariance = system(order)
    state = np.zeros(len(covariance))
    state[0] = signal[0]
    likelihood = 0.0
    filtered, predicted = [], []
    for t in range(SAMPLES):
        row = rows[t]
        innovation = signal[t] - row @ state
        variance = row @ covariance @ row + NOISE
        if t >= UNSCORED:
            likelihood -= 0.5 * (np.log(variance) + innovation**2 / variance)
        gain = covariance @ row / variance
        state = state + gain * innovation
        covariance = covariance - np.outer(gain, row @ covariance)
        filtered.append((state, covariance))
        state = transitions[t] @ state
        covariance = transitions[t] @ covariance @ transitions[t].T + noises[t]
        predicted.append((state, covariance))
    state, _ = filtered[-1]
    states = [state]
    for t in range(SAMPLES - 2, -1, -1):
        ahead, spread = predicted[t]
        before, covariance = filtered[t]
        gain = np.linalg.solve(spread, transitions[t] @ covariance).T
        state = before + gain @ (state - ahead)
        states.append(state)
    states = np.array(states[::-1])
    weights = np.array(rows)
    parts = [states[:, k] * weights[:, k] for k in range(order, states.shape[1], 2)]
    written = lambda values: np.round(values, 12).tolist()
    return {
        "order": order,
        "likelihood": round(likelihood, 9),
        "trend": written(states[:, 0]),
        "oscillations": [written(part) for part in parts],
    }


print(
    json.dumps(
        {
            "numpy": np.__version__,
            "sampleRate": RATE,
            "noise": NOISE,
            "signal": signal.tolist(),
            "trendNoise": trend_noise.tolist(),
            "oscillators": [
                {key: value.tolist() if key in ("step", "weight") else value for key, value in part.items()}
                for part in oscillators
            ],
            "smoothed": [smooth(2), smooth(3)],
        }
    )
)
