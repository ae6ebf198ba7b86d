import { turnBySteps } from '../track/integrate.js';
import { PART, STATE_NUMBERS } from './motionState.js';
import { BLOCK, type Segment, type Stretch } from './segment.js';
import { addImpulse, addSensitivities } from './segmentImpulse.js';
import { type StrapdownSamples, stepsWithoutBias } from './strapdownSamples.js';

/**
 * Carries an orientation over a stretch with the biases taken off, and accumulates what the specific
 * force adds to the velocity and how all of it depends on the errors. The attitude error is a
 * rotation vector in the world, q_true = Exp(θ) q; at the start it turns the whole impulse, dv = θ × ∫f.
 *
 * @param segment - receives the results
 * @see Forster, Carlone, Dellaert, Scaramuzza, "On-manifold preintegration for real-time visual–inertial
 *   odometry", IEEE Trans. Robotics 33(1), 2017, on preintegrated measurements; here with errors
 *   in the world, not in the body, and held by numerical differences (test/inertial/strapdown.test.ts)
 */
export function propagateSegment(
  samples: StrapdownSamples,
  stretch: Stretch,
  segment: Segment,
): void {
  const { from, to } = stretch;
  const { attitudeByGyro, velocityByGyro } = segment;
  begin(stretch, segment);
  for (let i = 0; i < 9; i++) {
    attitudeByGyro[i] = 0;
    velocityByGyro[i] = 0;
  }
  for (let first = from; first < to; first += BLOCK) {
    const count = Math.min(BLOCK, to - first);
    carryOver(samples, first, count, stretch, segment);
    // Not in a loop: the compiler would take all three into it and run out of registers.
    addSensitivities(segment, count, 0);
    addSensitivities(segment, count, 1);
    addSensitivities(segment, count, 2);
  }
}

/** The same without the sensitivities: orientation at the end, impulse and turning only. */
export function carrySegment(samples: StrapdownSamples, stretch: Stretch, segment: Segment): void {
  begin(stretch, segment);
  for (let first = stretch.from; first < stretch.to; first += BLOCK) {
    carryOver(samples, first, Math.min(BLOCK, stretch.to - first), stretch, segment);
  }
}

function begin({ states, k }: Stretch, segment: Segment): void {
  const { end, impulse } = segment;
  for (let i = 0; i < 4; i++) end[i] = states[STATE_NUMBERS * k + PART.orientation + i]!;
  for (let i = 0; i < 3; i++) impulse[i] = 0;
  segment.turning = 0;
}

/** Orientation, impulse and turning over the intervals at hand. */
function carryOver(
  samples: StrapdownSamples,
  first: number,
  count: number,
  stretch: Stretch,
  segment: Segment,
): void {
  const { end, intervals } = segment;
  const { steps, path } = intervals;
  segment.turning += stepsWithoutBias(samples, first, count, stretch, steps);
  for (let i = 0; i < 4; i++) path[i] = end[i]!;
  turnBySteps(steps, count, path, 0);
  for (let i = 0; i < 4; i++) end[i] = path[4 * count + i]!;
  addImpulse(samples, first, count, stretch, segment);
}

/**
 * Writes the orientation at every sample of a stretch.
 *
 * @param path - orientations of the whole log, body→world; length 4n
 * @param segment - receives the orientation at the end
 */
export function carryPath(
  samples: StrapdownSamples,
  stretch: Stretch,
  segment: Segment,
  path: Float64Array,
): void {
  const { end, intervals } = segment;
  const { from, to } = stretch;
  begin(stretch, segment);
  for (let i = 0; i < 4; i++) path[4 * from + i] = end[i]!;
  for (let first = from; first < to; first += BLOCK) {
    const count = Math.min(BLOCK, to - first);
    stepsWithoutBias(samples, first, count, stretch, intervals.steps);
    turnBySteps(intervals.steps, count, path, first);
  }
  for (let i = 0; i < 4; i++) end[i] = path[4 * to + i]!;
}
