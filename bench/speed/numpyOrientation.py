"""Orients a log as orientLog does, with numpy and dense matrices: an error-state filter forward on
nodes of 50 ms, the Rauch-Tung-Striebel recursion backward, two passes. Whatever does not depend on
the filter runs over all nodes at once; what does is a loop over nodes.

numpyOrientation.py LOG OUT reads rows t, gx, gy, gz, ax, ay, az (float64; each row the mean over the
interval that ends at its time), writes quaternions x, y, z, w and prints seconds per row. Gaps,
rests, clipped and shaken stretches are not looked for: the log must have none.
"""
import sys
import time

import numpy as np

STANDARD_GRAVITY = 9.80665
SPACING = 0.05
GYRO_BIAS, FORCE_BIAS = np.radians(3), 0.015
RATE_NOISE, RATE_NOISE_PER_RATE, BIAS_WALK = 2e-5, 0.00147, 1.3e-4
START = np.r_[0.5, 1e-4, 0.5, np.ones(3), np.full(3, GYRO_BIAS), np.full(3, FORCE_BIAS)]
FIRST, RATIO, LEAST, MOST, WINDOW = 1.4, 0.7, 0.06, 20, 15


def multiply(a, b):
    x, y, z, w = np.moveaxis(a, -1, 0)
    i, j, k, r = np.moveaxis(b, -1, 0)
    return np.stack([
        w * i + x * r + y * k - z * j,
        w * j - x * k + y * r + z * i,
        w * k + x * j - y * i + z * r,
        w * r - x * i - y * j - z * k,
    ], axis=-1)


def conjugate(q):
    return q * [-1, -1, -1, 1]


def exponential(v):
    half = 0.5 * np.linalg.norm(v, axis=-1, keepdims=True)
    return np.concatenate([0.5 * v * np.sinc(half / np.pi), np.cos(half)], axis=-1)


def logarithm(q):
    q = np.where(q[..., 3:] < 0, -q, q)
    sine = np.linalg.norm(q[..., :3], axis=-1, keepdims=True)
    angle = 2 * np.arctan2(sine, q[..., 3:])
    return q[..., :3] * np.where(sine > 1e-12, angle / np.maximum(sine, 1e-12), 2)


def matrix(q):
    x, y, z, w = np.moveaxis(q, -1, 0)
    return np.stack([
        1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y),
        2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x),
        2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y),
    ], axis=-1).reshape(*q.shape[:-1], 3, 3)


def skew(v):
    x, y, z = np.moveaxis(v, -1, 0)
    o = np.zeros_like(x)
    return np.stack([o, -z, y, z, o, -x, -y, x, o], axis=-1).reshape(*v.shape[:-1], 3, 3)


def nodes_of(times):
    nodes, due, last = [0], SPACING, len(times) - 1
    for k in range(1, last):
        if times[k] >= due - 1e-9:
            nodes.append(k)
            due = max(due + SPACING, times[k] + SPACING / 2)
    return np.array(nodes + [last])


class Log:
    """Steps between samples, laid out as nodes × steps; short segments end in steps of no length."""

    def __init__(self, rows):
        self.times, rate, force = rows[:, 0], rows[:, 1:4], rows[:, 4:7]
        h = np.diff(self.times)[:, None]
        turn = h * rate[1:]
        turn[:] += np.cross(h * rate[:-1], turn) / 12
        self.nodes = nodes_of(self.times)
        lengths = np.diff(self.nodes)
        self.at = np.minimum(self.nodes[:-1, None] + np.arange(lengths.max()), len(h) - 1)
        self.real = np.arange(lengths.max()) < lengths[:, None]
        self.h = np.where(self.real, h[self.at, 0], 0)
        self.turn = np.where(self.real[..., None], turn[self.at], 0)
        self.force = force[1:][self.at]
        self.span = np.diff(self.times[self.nodes])
        squares = np.sum(turn * turn, axis=-1) / h[:, 0]
        self.squares = np.add.reduceat(squares, self.nodes[:-1])
        self.turns = self.turn.sum(axis=1)
        count = np.searchsorted(self.times, 0.5)
        x, y, z = np.sort(force[:count], axis=0)[count // 2]
        start = np.array([-z, 0, x, np.hypot(np.hypot(x, z), y) + y])
        self.start = start / np.linalg.norm(start)

    def segments(self, gyro_bias, force_bias):
        """Turn, velocity and their sensitivities over each segment, in the camera at its start."""
        count = len(self.span)
        q = np.tile([0.0, 0, 0, 1], (count, 1))
        velocity = np.zeros((count, 3))
        by_gyro, velocity_by_gyro = np.zeros((count, 3, 3)), np.zeros((count, 3, 3))
        for step in range(self.h.shape[1]):
            h = self.h[:, step, None]
            half = exponential(0.5 * (self.turn[:, step] - gyro_bias * h))
            q = multiply(q, half)
            R = matrix(q) * h[..., None]
            force = np.einsum('kij,kj->ki', R, self.force[:, step] - force_bias)
            velocity += force
            by_gyro -= 0.5 * R
            velocity_by_gyro -= skew(force) @ by_gyro
            by_gyro -= 0.5 * R
            q = multiply(q, half)
        return q, velocity, by_gyro, velocity_by_gyro

    def path(self, nodes, gyro_bias):
        """Orientation at every sample, the gap at each next node spread evenly."""
        out = np.empty((len(self.times), 4))
        out[0] = nodes[0]
        q, steps = nodes[:-1], []
        for step in range(self.h.shape[1]):
            q = multiply(q, exponential(self.turn[:, step] - gyro_bias[:-1] * self.h[:, step, None]))
            steps.append(q)
        gap = logarithm(multiply(nodes[1:], conjugate(q)))
        share = np.cumsum(self.h, axis=1) / self.span[:, None]
        closed = multiply(exponential(share[..., None] * gap[:, None]), np.stack(steps, axis=1))
        out[self.at[self.real] + 1] = closed[self.real]
        return out / np.linalg.norm(out, axis=-1, keepdims=True)


def smooth(log, start, deviation, gravity, gyro_bias, force_bias):
    """One pass; the segments are linear in the biases around those given for each node."""
    turn, impulse, by_gyro, velocity_by_gyro = log.segments(gyro_bias[:-1], force_bias[:-1])
    count = len(log.nodes)
    I = np.eye(12)
    q, x, P = start, np.zeros(9), np.diag(START**2)
    Q, X, predicted_q, predicted_x = (np.empty((count, n)) for n in (4, 9, 4, 9))
    filtered, predicted, gains = (np.empty((count, 12, 12)) for _ in range(3))
    F = I.copy()
    noise = np.zeros(12)
    velocity_rows = slice(3, 6)
    for k in range(count):
        if k > 0:
            i, dt = k - 1, log.span[k - 1]
            dg, da = x[3:6] - gyro_bias[i], x[6:9] - force_bias[i]
            R = matrix(q)
            gained = R @ (impulse[i] + velocity_by_gyro[i] @ dg + by_gyro[i] @ da)
            F[0:3, 6:9] = F[3:6, 9:12] = R @ by_gyro[i]
            F[3:6, 0:3] = -skew(gained)
            F[3:6, 6:9] = R @ velocity_by_gyro[i]
            q = multiply(multiply(q, exponential(by_gyro[i] @ dg)), turn[i])
            x = x.copy()
            x[:3] += gained - [0, gravity * dt, 0]
            bg = x[3:6]
            turning = log.squares[i] - 2 * bg @ log.turns[i] + bg @ bg * dt
            noise[0:3] = RATE_NOISE**2 * dt + RATE_NOISE_PER_RATE**2 * turning
            noise[6:9] = BIAS_WALK**2 * dt
            FP = F @ P
            P = FP @ F.T
            P = 0.5 * (P + P.T) + np.diag(noise)
            gains[k] = np.linalg.solve(P, FP).T
        predicted[k], predicted_q[k], predicted_x[k] = P, q, x
        S = P[velocity_rows, velocity_rows] + deviation[k] ** 2 * np.eye(3)
        K = np.linalg.solve(S, P[velocity_rows]).T
        change = K @ -x[:3]
        P = P - K @ P[velocity_rows]
        P = 0.5 * (P + P.T)
        q = multiply(exponential(change[:3]), q)
        q = q / np.linalg.norm(q)
        x = x + change[3:]
        Q[k], X[k], filtered[k] = q, x, P
    for k in range(count - 2, -1, -1):
        G = gains[k + 1]
        ahead = logarithm(multiply(Q[k + 1], conjugate(predicted_q[k + 1])))
        change = G @ np.r_[ahead, X[k + 1] - predicted_x[k + 1]]
        Q[k] = multiply(exponential(change[:3]), Q[k])
        Q[k] /= np.linalg.norm(Q[k])
        X[k] += change[3:]
        P = filtered[k] + G @ (P - predicted[k + 1]) @ G.T
        filtered[k] = P
    _, impulse, _, _ = log.segments(X[:-1, 3:6], X[:-1, 6:9])
    vertical = np.einsum('ki,ki->', matrix(Q[:-1])[:, 1], impulse)
    return Q, X, vertical / (log.times[-1] - log.times[0])


def adapted(velocity, duration, node_rate):
    count = len(velocity)
    half = int(max(1, min(np.floor(WINDOW * (count - 1) / duration + 0.5), count - 1)))
    window = 0.5 - 0.5 * np.cos(np.pi * np.arange(2 * half + 1) / half)
    squares = np.pad(np.mean(velocity**2, axis=1), half, mode='reflect')
    mean = np.convolve(squares, window, mode='valid') / window.sum()
    return np.clip(RATIO * np.sqrt(mean), LEAST, MOST) * node_rate


def orient(rows):
    log = Log(rows)
    count = len(log.nodes)
    duration = log.times[-1] - log.times[0]
    node_rate = np.sqrt((count - 1) / duration)
    none = np.zeros((count, 3))
    Q, X, vertical = smooth(
        log, log.start, np.full(count, FIRST * node_rate), STANDARD_GRAVITY, none, none)
    deviation = adapted(X[:, :3], duration, node_rate)
    Q, X, _ = smooth(log, Q[0], deviation, vertical, X[:, 3:6], X[:, 6:9])
    return log.path(Q, X[:, 3:6])


data = np.fromfile(sys.argv[1]).reshape(-1, 7)
begin = time.process_time()
quaternions = orient(data)
print((time.process_time() - begin) / len(data))
quaternions.tofile(sys.argv[2])
