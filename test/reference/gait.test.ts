// MacDougall, Moore, "Marching to the beat of the same drummer: the spontaneous tempo of human locomotion", J. Applied Physiology 99(3), 2005: 2.0 steps per second, standard deviation 0.13.
// Moore, Hirasaki, Raphan, Cohen, "The human vestibulo-ocular reflex during linear locomotion",
// Annals of the New York Academy of Sciences 942, 2001: at 100 m/min the head pitches with the step
// and yaws with the stride, both with a peak of about 17 °/s.
import { describe, expect, test } from 'vitest';
import { type Random, seededRandom } from '../../bench/accuracy/random.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { trackStepFrequency } from '../../src/motion/gait.js';

const SAMPLE_RATE = 15;
const SECONDS = 60;
const PEAK = 17 * RADIANS_PER_DEGREE;

/** A sine with this peak rate, and 0.1° of noise. */
function swing(random: Random, peak: number, frequency: number): Float64Array {
  const phase = random.uniform(0, 2 * Math.PI);
  const amplitude = peak / (2 * Math.PI * frequency);
  return Float64Array.from(
    { length: SECONDS * SAMPLE_RATE },
    (_, k) =>
      amplitude * Math.sin((2 * Math.PI * frequency * k) / SAMPLE_RATE + phase) +
      0.1 * RADIANS_PER_DEGREE * random.normal(),
  );
}

function walk(seed: number, steps: number) {
  const random = seededRandom(`head on a walk ${seed}`);
  const tilt = swing(random, PEAK, steps);
  return { tilt, heading: swing(random, PEAK, steps / 2), roll: swing(random, 0, steps / 2) };
}

// A spectrum over 8 s tells lines apart that lie 1/8 Hz from each other: so far the noise of the
// roll, which counts as much as the other two axes, can lead the search astray in one window.
const RESOLUTION = 1 / 8;

describe.each([1.87, 2, 2.13])('a walker of %d steps a second', (steps) => {
  test.each([1, 2, 3, 4, 5])('has this step frequency all the time (noise %d)', (seed) => {
    const { frequency, score } = trackStepFrequency(walk(seed, steps), SAMPLE_RATE);
    const misses = frequency.map((f) => Math.abs(f - steps));
    expect(Math.max(...misses)).toBeLessThan(RESOLUTION);
    // 7.5 windows of 8 s in a minute err independently of each other.
    const mean = frequency.reduce((sum, f) => sum + f, 0) / frequency.length;
    expect(Math.abs(mean - steps)).toBeLessThan(RESOLUTION / Math.sqrt(SECONDS / 8));
    expect(score).toBeGreaterThan(5);
  });
});

test.each([
  ['tilt', 1],
  ['heading', 2],
] as const)('steps show in the %s alone', (axis, steps) => {
  // A stride is two steps: its line tells step frequencies apart only half as finely.
  const random = seededRandom(`one axis ${axis}`);
  const still = () => swing(random, 0, 1);
  const coordinates = { heading: still(), tilt: still(), roll: still() };
  const found = trackStepFrequency(
    { ...coordinates, [axis]: swing(random, PEAK, 2 / steps) },
    SAMPLE_RATE,
  ).frequency;
  const misses = found.map((f) => Math.abs(f - 2));
  expect(Math.max(...misses)).toBeLessThan(steps * RESOLUTION);
});
