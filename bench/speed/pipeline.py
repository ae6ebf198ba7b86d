"""The steps of pipeline.ts with numpy and scipy: pipeline.py FOLDER reads log.csv and track.csv,
writes scipy.csv and prints JSON: seconds of processor time of each part."""
import json
import math
import sys
import time

import numpy as np
from scipy.ndimage import gaussian_filter1d
from scipy.spatial.transform import Rotation, Slerp

folder = sys.argv[1]
seconds = {}
before = 0.0


def done(part):
    global before
    now = time.process_time()
    seconds[part] = now - before
    before = now


def gaussian_mean(signal, deviation, mirrored):
    """Beyond the ends the signal is held, or point-mirrored."""
    half = math.ceil(4 * deviation)
    padded = np.pad(signal, half, mode='reflect', reflect_type='odd') if mirrored else signal
    mean = gaussian_filter1d(padded, deviation, mode='nearest', radius=half)
    return mean[half:-half] if mirrored else mean


def align_signs(quaternions):
    dots = np.sum(quaternions[1:] * quaternions[:-1], axis=1)
    first = -1.0 if quaternions[0, 3] < 0 else 1.0
    signs = first * np.cumprod(np.concatenate([[1.0], np.where(dots < 0, -1.0, 1.0)]))
    return quaternions * signs[:, None]


done('start')
log = np.loadtxt(f'{folder}/log.csv', delimiter=',', skiprows=1)
log_times, rate = log[:, 0], log[:, 1:4]
done('read the log')
table = np.loadtxt(f'{folder}/track.csv', delimiter=',', skiprows=1)
times, track = table[:, 1], Rotation.from_quat(table[:, 2:])
done('read the track')

h = np.diff(log_times)[:, None]
step = h * rate[1:]
step = step + np.cross(h * rate[:-1], step) / 12
x, y, z, w = 0.0, 0.0, 0.0, 1.0
path = [(x, y, z, w)]
# Python's own floats: a numpy array of four is slower.
for i, j, k, r in Rotation.from_rotvec(step).as_quat().tolist():
    x, y, z, w = (
        w * i + x * r + y * k - z * j,
        w * j - x * k + y * r + z * i,
        w * k + x * j - y * i + z * r,
        w * r - x * i - y * j - z * k,
    )
    norm = math.sqrt(x * x + y * y + z * z + w * w)
    x, y, z, w = x / norm, y / norm, z / norm, w / norm
    path.append((x, y, z, w))
done('integrate')

at_frames = Slerp(log_times, Rotation.from_quat(path))(np.clip(times, 0, log_times[-1]))
done('interpolate')

frame_rate = 60000 / 1001
error = align_signs((track * at_frames.inv()).as_quat())
mean = np.stack([gaussian_mean(component, frame_rate, False) for component in error.T], axis=1)
fused = Rotation.from_quat(mean) * at_frames
done('fuse')

heading, tilt, _ = fused.as_euler('YXZ').T
deviation = math.sqrt(2 * math.log(2)) / (2 * math.pi * 0.5) * frame_rate
smooth_heading = gaussian_mean(np.unwrap(heading), deviation, True)
smooth_tilt = gaussian_mean(tilt, deviation, True)
intended = Rotation.from_euler('YX', np.stack([smooth_heading, smooth_tilt], axis=1))
done('smooth')

corrections = align_signs((intended.inv() * fused).as_quat())
done('correct')
np.savetxt(f'{folder}/scipy.csv', np.column_stack([table[:, 0], times, corrections]),
           delimiter=',', fmt=['%d', '%.9f'] + 4 * ['%.12f'], header='frame,time_s,x,y,z,w', comments='')
done('write')
print(json.dumps(seconds))
