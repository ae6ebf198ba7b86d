// Where a walking camera points while its rows are read, between the frames of its track: against the motion itself.
import { describe, expect, test } from 'vitest';
import { measuredGreenhouseWalk } from '../../src/demo/greenhouseWalk.js';
import { rowCorrections } from '../../src/rig/rollingShutter.js';
import { DEFAULT_RIG, type StereoRig } from '../../src/rig/stereoRig.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { multiplyQuaternions, type Quaternion } from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { createTrack } from '../../src/track/orientationTrack.js';
import { interpolateTrack } from '../../src/track/resample.js';
import { apart } from '../apart.js';

const deg = Math.PI / 180;
const ARCMIN = 60 / deg;

/**
 * Running: 2.7 steps per second with the harmonics of a hard footfall, 40 to 60 °/s at the peak, and
 * a hand tremor (our judgement of a camera carried at a run).
 */
function running(time: number): Quaternion {
  const step = 2 * Math.PI * 2.7 * time;
  const tremor = 2 * Math.PI * 8 * time;
  const shake = [
    1.6 * Math.sin(step) + 0.5 * Math.sin(2 * step + 1) + 0.15 * Math.sin(3 * step),
    2.2 * Math.sin(step / 2 + 0.7) + 0.5 * Math.sin(1.5 * step) + 0.06 * Math.sin(tremor),
    1.8 * Math.sin(step / 2 + 2.1) + 0.4 * Math.sin(step),
  ].map((angle) => angle * deg) as unknown as [number, number, number];
  const path = quaternionFromHeadingTiltRoll(0.3 * Math.sin(0.4 * time), 0, 0);
  return multiplyQuaternions(path, quaternionFromRotationVector(shake));
}

/** The whole frame is read, top to bottom, so that rows fall everywhere between two frames. */
function worstArcmin(motion: (time: number) => Quaternion, rate: number, how: 'rows' | 'slerp') {
  const n = 10 * rate;
  const times = Float64Array.from({ length: n }, (_, k) => k / rate);
  const quaternions = Float64Array.from([...times].flatMap((time) => [...motion(time)]));
  const track = createTrack({ times, quaternions });
  const rig: StereoRig = { ...DEFAULT_RIG, readoutMs: 1000 / rate };
  const worst = { inside: 0, ends: 0 };
  for (let frame = 0; frame < n; frame++) {
    const part = frame < 1 || frame >= n - 2 ? 'ends' : 'inside';
    const at = Float64Array.from({ length: 8 }, (_, band) => (frame + (band + 0.5) / 8) / rate);
    const found =
      how === 'rows'
        ? rowCorrections(track, [0, 0, 0, 1], frame, rig, 'left', 8)
        : interpolateTrack(track, at);
    at.forEach((time, band) => {
      worst[part] = Math.max(worst[part], apart(quaternionAt(found, band), motion(time)) * ARCMIN);
    });
  }
  return worst;
}

/** Sines that a motion is made of: Hz and degrees, for each axis. */
const WALK = [
  [1.9, 1.3, 3.8, 0.3, 7.3, 0.06],
  [0.95, 1.6, 2.85, 0.3, 8.1, 0.05],
  [0.95, 1.1, 1.9, 0.2],
];
const RUN = [
  [2.7, 1.6, 5.4, 0.5, 8.1, 0.15],
  [1.35, 2.2, 4.05, 0.5, 8, 0.06],
  [1.35, 1.8, 2.7, 0.4],
];

/**
 * What a quadrangle through four samples h apart leaves of a sine of amplitude a, x = ωh: its rates at
 * the two samples are central differences, off by a x³/6, which makes a x³/6 · t(1 − t)(1 − 2t), at
 * most 0.0160 a x³; halfway it is 9/16 of two samples less 1/16 of the next two, off by 3/8 a (x/2)⁴.
 * The two are a quarter of a period apart.
 */
function quadrangleArcmin(axes: readonly (readonly number[])[], rate: number): number {
  const perAxis = axes.map((sines) => {
    let sum = 0;
    for (let k = 0; k < sines.length; k += 2) {
      const x = (2 * Math.PI * sines[k]!) / rate;
      sum += sines[k + 1]! * Math.hypot(0.016 * x ** 3, 0.375 * (x / 2) ** 4);
    }
    return sum * 60;
  });
  return Math.hypot(...perAxis);
}

describe('rows between the frames of', () => {
  // Measured, arcmin: 0.066, 0.74 and 0.22, and 4.0, 17 and 3.6 up to a frame beyond the last one; by
  // straight lines from frame to frame, and standing after the last, 1.07, 4.0 and 2.5, and 25, 45 and 53.
  test.each([
    ['a walk at 60 per second', measuredGreenhouseWalk, WALK, 60, 0.07],
    ['a walk at 30 per second', measuredGreenhouseWalk, WALK, 30, 0.75],
    ['a run at 60 per second', running, RUN, 60, 0.23],
  ] as const)('%s are as near as four samples tell', (_, motion, sines, rate, measured) => {
    const rows = worstArcmin(motion, rate, 'rows');
    const straight = worstArcmin(motion, rate, 'slerp');
    // Steps come up to 2 % faster than their mean, x⁴ grows by 8 %.
    expect(rows.inside).toBeLessThan(1.08 * quadrangleArcmin(sines, rate));
    expect(rows.inside).toBeLessThan(measured);
    expect(rows.inside).toBeLessThan(straight.inside / 5);
    // Beyond the last frame nothing but the rates before it is known.
    expect(rows.ends).toBeLessThan(straight.ends / 2);
  });

  test('a camera that jerks at the end of its clip turn on no faster than it did', () => {
    // Still, then 1° from one frame to the next: a parabola would go on by 2°, 3°, …
    const still = [0, 0, 0, 0, 0, 1].map((angle) => angle * deg);
    const quaternions = Float64Array.from(
      still.flatMap((angle) => [...quaternionFromRotationVector([0, angle, 0])]),
    );
    const times = Float64Array.from(still, (_, k) => k / 50);
    const track = createTrack({ times, quaternions });
    const rig: StereoRig = { ...DEFAULT_RIG, readoutMs: 20 };
    const rows = rowCorrections(track, [0, 0, 0, 1], 5, rig, 'left', 8);
    // The bottom row is read 15/16 of a frame after the last one.
    const bottom = quaternionAt(rows, 7);
    expect(2 * Math.atan2(bottom[1], bottom[3])).toBeLessThan((1 + 15 / 16 + 0.1) * deg);
    expect(2 * Math.atan2(bottom[1], bottom[3])).toBeGreaterThan(1.5 * deg);
  });
});
