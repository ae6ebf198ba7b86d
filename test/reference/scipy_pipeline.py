"""A walk steadied by numpy and scipy alone: prints the JSON that scipyPipeline.test.ts reads.

Run with a python3 that has scipy (written with Debian's python3-scipy 1.10.1):

    /usr/bin/python3 test/reference/scipy_pipeline.py > test/reference/scipy_pipeline.json
    npx biome format --write test/reference/scipy_pipeline.json

Twenty seconds through a night-blooming greenhouse at 60000/1001 frames per second. Heading, tilt
and roll are each a straight line and a sum of sines (amplitude in radians, frequency in Hz,
phase), so that another program can walk the same way. Results are kept for every tenth frame,
with twelve decimals. Quaternions are x, y, z, w.
"""
import json

import numpy as np
import scipy
from scipy import linalg, signal
from scipy.spatial.transform import Rotation

RATE = 60000 / 1001
FRAMES = 1199
EVERY = 10
CUTOFF = 1.0  # Hz at which half of the amplitude is left

random = np.random.default_rng(20240621)
phase = lambda: random.uniform(0, 2 * np.pi)
degrees = np.pi / 180


def disturbance(step, amplitude):
    """Bob or sway with its first harmonic, and tremor from 3 to 9 Hz."""
    sines = [[amplitude, step, phase()], [0.3 * amplitude, 2 * step, phase()]]
    sines += [[0.05 * degrees, random.uniform(3, 9), phase()] for _ in range(8)]
    return sines


def walk():
    step = random.uniform(1.7, 2.1)
    return {
        "heading": {
            "start": 2.9,  # passes 180° early on
            "rate": 9 * degrees,
            "sines": [[20 * degrees, 0.07, phase()]] + disturbance(step / 2, 2.7 * degrees),
        },
        "tilt": {
            "start": -5 * degrees,
            "rate": 1 * degrees,
            "sines": [[12 * degrees, 0.11, phase()]] + disturbance(step, 1.35 * degrees),
        },
        "roll": {
            "start": 2 * degrees,
            "rate": 0,
            "sines": [[3 * degrees, 0.05, phase()]] + disturbance(step / 2, 1.5 * degrees),
        },
    }


def angle(parts, times):
    sines = [a * np.sin(2 * np.pi * f * times + p) for a, f, p in parts["sines"]]
    return parts["start"] + parts["rate"] * times + np.sum(sines, axis=0)


def mirrored(values, count):
    """Point-mirrored in both ends."""
    before = 2 * values[0] - values[count:0:-1]
    after = 2 * values[-1] - values[-2 : -count - 2 : -1]
    return np.concatenate([before, values, after])


def gaussian(values):
    """Half of exp(-2 pi^2 s^2 f^2) at the cut-off, four deviations to either side."""
    deviation = np.sqrt(np.log(2) / 2) / (np.pi * CUTOFF) * RATE
    half = int(np.ceil(4 * deviation))
    kernel = signal.windows.gaussian(2 * half + 1, deviation)
    return signal.convolve(mirrored(values, half), kernel / kernel.sum(), "valid", "direct")


def butterworth(values):
    """Order 2 forward and backward: half of the power each, over three mirrored periods."""
    b, a = signal.butter(2, CUTOFF, fs=RATE)
    return signal.filtfilt(b, a, values, padtype="odd", padlen=round(3 * RATE / CUTOFF))


def savitzky_golay(values):
    """A parabola in the window whose gain at the cut-off is nearest to one half."""

    def miss(half):
        k = np.arange(-half, half + 1)
        weights = signal.savgol_coeffs(2 * half + 1, 2)
        return abs(weights @ np.cos(2 * np.pi * CUTOFF / RATE * k) - 0.5)

    half = min(range(2, int(0.9 * RATE / CUTOFF)), key=miss)
    weights = signal.savgol_coeffs(2 * half + 1, 2)
    return signal.convolve(mirrored(values, half), weights, "valid", "direct")


def spline(values):
    """Least squares of the departure plus a penalty on the third differences."""
    penalty = (2 * np.sin(np.pi * CUTOFF / RATE)) ** -6
    differences = np.diff(np.eye(len(values)), 3, axis=0)
    matrix = np.eye(len(values)) + penalty * differences.T @ differences
    bands = [np.append(np.diagonal(matrix, -d), np.zeros(d)) for d in range(4)]
    return linalg.solveh_banded(np.array(bands), values, lower=True)


def kept(values):
    return np.round(values[::EVERY], 12).tolist()


parts = walk()
times = np.arange(FRAMES) / RATE
measured = Rotation.from_euler("YXZ", np.stack([angle(parts[axis], times) for axis in parts], 1))
angles = np.unwrap(measured.as_euler("YXZ"), axis=0)


def steadied(smooth):
    intended = np.stack([smooth(column) for column in angles.T], 1)
    correction = Rotation.from_euler("YXZ", intended).inv() * measured
    return {
        **dict(zip(parts, map(kept, intended.T))),
        "correction": kept(correction.as_quat()),
    }


print(
    json.dumps(
        {
            "scipy": scipy.__version__,
            "frames": FRAMES,
            "every": EVERY,
            "cutoff": CUTOFF,
            "walk": parts,
            "angles": dict(zip(parts, map(kept, angles.T))),
            "filters": {
                "gaussian": steadied(gaussian),
                "butterworth": steadied(butterworth),
                "savitzky-golay": steadied(savitzky_golay),
                "spline": steadied(spline),
            },
        }
    )
)
