// SciPy 1.10, scipy.signal, scipy.linalg and scipy.spatial.transform (Virtanen et al., "SciPy 1.0", Nature Methods 17, 2020).
// A whole walk steadied by scipy_pipeline.py, independent of this project, into scipy_pipeline.json.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { wrapAngle } from '../../src/math.js';
import { CLASSIC_FILTERS, type ClassicFilterName } from '../../src/motion/classicFilters.js';
import { composeQuaternions, invertQuaternions, quaternionAt } from '../../src/rotation/arrays.js';
import {
  headingTiltRollFromQuaternion,
  quaternionFromHeadingTiltRoll,
} from '../../src/rotation/headingTiltRoll.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { apart, largestGap } from '../apart.js';

const AXES = ['heading', 'tilt', 'roll'] as const;
type PerAxis<T> = Record<(typeof AXES)[number], T>;
type Sine = [amplitude: number, frequency: number, phase: number];

const scipy: {
  frames: number;
  every: number;
  cutoff: number;
  walk: PerAxis<{ start: number; rate: number; sines: Sine[] }>;
  angles: PerAxis<number[]>;
  filters: Record<ClassicFilterName, PerAxis<number[]> & { correction: Quaternion[] }>;
} = JSON.parse(readFileSync(new URL('./scipy_pipeline.json', import.meta.url), 'utf8'));

const EPSILON = Number.EPSILON;
/** Half a unit of the twelfth decimal, the last one written. */
const HALF_UNIT = 0.5e-12;
const FRAME_RATE = 60000 / 1001;

const fromAngles = (angles: PerAxis<Float64Array>) =>
  Float64Array.from(
    [...angles.heading].flatMap((heading, k) => [
      ...quaternionFromHeadingTiltRoll(heading, angles.tilt[k]!, angles.roll[k]!),
    ]),
  );
const kept = (signal: Float64Array) => signal.filter((_, k) => k % scipy.every === 0);
const mapAxes = <T>(make: (axis: (typeof AXES)[number]) => T) =>
  Object.fromEntries(AXES.map((axis) => [axis, make(axis)])) as PerAxis<T>;

const measured = fromAngles(
  mapAxes((axis) => {
    const { start, rate, sines } = scipy.walk[axis];
    return Float64Array.from({ length: scipy.frames }, (_, k) => {
      const t = k / FRAME_RATE;
      return sines.reduce(
        (sum, [amplitude, frequency, phase]) =>
          sum + amplitude * Math.sin(2 * Math.PI * frequency * t + phase),
        start + rate * t,
      );
    });
  }),
);

const angles = mapAxes((axis) => {
  let turned = 0;
  return Float64Array.from({ length: scipy.frames }, (_, k) => {
    const angle = headingTiltRollFromQuaternion(quaternionAt(measured, k))[axis];
    turned += wrapAngle(angle - turned);
    return turned;
  });
});

test('heading, tilt and roll of every frame are those of scipy', () => {
  // Phases up to 1000 rad and twelve sines on either side, an angle written and read: 60 epsilons
  // of at most 6 rad.
  for (const axis of AXES) {
    const gap = largestGap(kept(angles[axis]), scipy.angles[axis]);
    expect(gap).toBeLessThan(HALF_UNIT + 2 * 60 * 6 * EPSILON);
  }
});

const warped = Math.tan((Math.PI * scipy.cutoff) / FRAME_RATE);
const penalty = (2 * Math.sin((Math.PI * scipy.cutoff) / FRAME_RATE)) ** -6;

/**
 * Rounding of a signal of 6 rad on both sides. Kernels: sums of up to 125 products, with weights of
 * Savitzky and Golay from normal equations of condition 12. Butterworth: 10 epsilons a step and
 * pass, which the recursion sums up to 1/(4 tan²) times as much. Spline: 8 epsilons of the norm
 * 64 λ of the matrix, times the norm of the signal.
 */
const ROUNDING: Record<ClassicFilterName, number> = {
  gaussian: 2 * 6 * 125 * EPSILON,
  'savitzky-golay': 2 * 6 * 125 * 12 * EPSILON,
  butterworth: (2 * 6 * 20 * EPSILON) / (4 * warped ** 2),
  spline: 2 * 6 * Math.sqrt(scipy.frames) * 8 * 64 * penalty * EPSILON,
};

describe.each(Object.entries(scipy.filters))('steadied by %s', (key, expected) => {
  const name = key as ClassicFilterName;
  const smooth = mapAxes((axis) => CLASSIC_FILTERS[name](angles[axis], FRAME_RATE, scipy.cutoff));
  const tolerance = HALF_UNIT + 2 * 60 * 6 * EPSILON + ROUNDING[name];

  test.each(AXES)('the intended %s is that of scipy', (axis) => {
    expect(largestGap(kept(smooth[axis]), expected[axis])).toBeLessThan(tolerance);
  });

  test('the corrective rotation is that of scipy', () => {
    const correction = composeQuaternions(invertQuaternions(fromAngles(smooth)), measured);
    expected.correction.forEach((q, k) => {
      // Three angles, and four components off by half a unit each: a chord of one, an angle of two.
      const gap = apart(quaternionAt(correction, k * scipy.every), q);
      expect(gap).toBeLessThan(3 * tolerance + 2 * HALF_UNIT);
    });
  });
});
