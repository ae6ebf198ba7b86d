import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { calmPath } from '../../src/motion/calmPath.js';
import { splineFilter } from '../../src/motion/classicFilters.js';
import { largestGap } from '../apart.js';
import { fading, SAMPLE_RATE } from './fading.js';

const deg = RADIANS_PER_DEGREE;
const COUNT = 60 * SAMPLE_RATE;
const still = new Float64Array(COUNT);
const signalOf = (at: (time: number) => number) =>
  Float64Array.from({ length: COUNT }, (_, k) => at(k / SAMPLE_RATE) * deg);

interface Choice {
  readonly shortestMove: number;
  readonly cutoff?: number;
  readonly held?: Float64Array;
}

/** The path of a heading of which the model takes everything for the body's. */
function pathOf(measured: Float64Array, { shortestMove, cutoff, held }: Choice): Float64Array {
  const cutoffs = still.map(() => cutoff ?? 1 / shortestMove);
  return calmPath({
    measured: { heading: measured, tilt: still, roll: still },
    modelled: { heading: still, tilt: still, roll: still },
    cutoffs: { heading: cutoffs, tilt: cutoffs, roll: cutoffs },
    sampleRate: SAMPLE_RATE,
    shortestMove,
    ...(held && { held }),
  }).heading;
}

describe.each([
  // 0.8° for every second of the shortest move squared, and 3.3° at most.
  [0.5, 0.2],
  [1, 0.8],
  [2, 3.2],
  [4, 3.3],
])('to somebody whose moves last %d s a body leans by at most %d°', (shortestMove, most) => {
  // A constant goes through every filter: only its size decides. From two thirds of the most it is
  // followed in part. A spline of λ up to 10⁷ keeps a constant to 64 λ epsilons.
  test.each([
    [0.3, 0],
    [2 / 3, 0],
    [5 / 6, 0.5],
    [11 / 12, 0.75],
    [1, 1],
    [5, 1],
  ])('%d of that is followed to a share of %d', (part, share) => {
    for (const lean of [part * most, -part * most]) {
      const followed = signalOf(() => share * lean);
      const found = pathOf(
        signalOf(() => lean),
        { shortestMove },
      );
      expect(largestGap(found, followed)).toBeLessThan(1e-7 * most);
    }
  });

  test('unless the view is held', () => {
    const lean = signalOf(() => 5 * most);
    expect(pathOf(lean, { shortestMove, held: still.map(() => 1) })).toEqual(still);
    expect(largestGap(pathOf(lean, { shortestMove, held: still }), lean)).toBeLessThan(1e-7 * most);
  });
});

test('what is larger than any sway is followed without what is faster than the shortest move', () => {
  const wide = signalOf((time) => 30 * Math.sin(0.6 * time) + 0.2 * Math.sin(12 * time));
  const found = pathOf(wide, { shortestMove: 2 });
  expect(largestGap(found, splineFilter(wide, SAMPLE_RATE, 0.5))).toBeLessThan(1e-9);
});

test('the view changes over from what is meant to what the model says as a Hann window of 1.5 s', () => {
  const ripple = signalOf((time) => 0.05 * Math.sin(2 * Math.PI * 1.5 * time));
  const lean = signalOf((time) => (time < 30 ? 60 : 0));
  // A ripple that is too fast to count shows what share of the measured path is taken.
  const path = (sign: number) =>
    pathOf(
      lean.map((value, k) => value + sign * ripple[k]!),
      { shortestMove: 2, cutoff: 3.5 },
    );
  const [plus, minus] = [path(1), path(-1)];
  const crests = Array.from({ length: 50 }, (_, i) => 30 * SAMPLE_RATE + i).filter(
    (k) => Math.abs(ripple[k]!) > 0.9 * 0.05 * deg,
  );
  // The open spline keeps 1/(1 + (1.5/3.5)^6) of the ripple.
  const kept = 1 + (Math.sin((Math.PI * 1.5) / 15) / Math.sin((Math.PI * 3.5) / 15)) ** 6;
  const shares = crests.map((k) => (kept * (plus[k]! - minus[k]!)) / (2 * ripple[k]!));
  // 60° squared under a window of 3 s fall below (2.7°)² where the cube of the time to its end, in
  // windows of 3.2 s, is 3/(2π²) of 0.002: 0.21 s before it. The path that is looked at is a spline
  // with 0.5 Hz, which moves that by a sample or two.
  const middle = 30 + 1.6 - 0.21;
  const shifts = Array.from({ length: 17 }, (_, i) => (i - 8) / 4 / SAMPLE_RATE);
  const gaps = shifts.map((shift) =>
    largestGap(
      shares,
      crests.map((k) => fading(k / SAMPLE_RATE - middle - shift, 1.5)),
    ),
  );
  // Shifts are an eighth of a sample off, at 2/24 of the fade per sample; the way from 3.2° to 2.1°
  // takes a sample, which widens the fade by a thousandth; the ripple's own spline sees half a period
  // of the fade as its envelope, to (0.6 Hz/3.5 Hz)² of it.
  expect(Math.min(...gaps)).toBeLessThan(1 / 8 / 12 + (0.6 / 3.5) ** 2);
});
