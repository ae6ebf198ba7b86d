import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { bandNoise } from '../../bench/accuracy/spectralNoise.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import type { Assumptions, Marks } from '../../src/motion/axisConduct.js';
import { trackStepFrequency } from '../../src/motion/gait.js';
import type { Coordinates } from '../../src/motion/pathCoordinates.js';
import { separateStructurally } from '../../src/motion/structuralSeparation.js';
import { largestGap } from '../apart.js';

const deg = RADIANS_PER_DEGREE;
const SAMPLE_RATE = 15;
const SECONDS = 40;
const COUNT = SECONDS * SAMPLE_RATE;
const AXES = ['heading', 'tilt', 'roll'] as const;

const series = (at: (time: number) => number) =>
  Float64Array.from({ length: COUNT }, (_, k) => at(k / SAMPLE_RATE));
const still = series(() => 0);
const plus = (...parts: readonly Float64Array[]) =>
  still.map((_, k) => parts.reduce((sum, part) => sum + part[k]!, 0));
const size = (values: Float64Array) =>
  Math.sqrt(values.reduce((sum, x) => sum + x * x, 0) / values.length) / deg;
const gap = (a: Float64Array, b: Float64Array) => size(a.map((x, k) => x - b[k]!));

/** A turn that starts and ends softly. */
const turn = (start: number, length: number, angleDeg: number) =>
  series((time) => {
    const u = Math.min(Math.max((time - start) / length, 0), 1);
    return angleDeg * deg * u * u * u * (10 - 15 * u + 6 * u * u);
  });

/** A body: sway of 0.5°, steps of 1.5° in tilt and strides of 1.5° in heading and roll, a tracker's noise of 0.03°. */
function body(label: string, walks: boolean) {
  const random = seededRandom(`body ${label}`);
  const axis = (frequency: number) => {
    const phase = random.uniform(0, 2 * Math.PI);
    return {
      sway: bandNoise(random, COUNT, SAMPLE_RATE, { lowHz: 0.1, highHz: 0.5, order: 2 }, 0.5 * deg),
      bob: series((t) => (walks ? 1.5 * deg * Math.sin(2 * Math.PI * frequency * t + phase) : 0)),
      noise: series(() => 0.03 * deg * random.normal()),
    };
  };
  return { heading: axis(0.95), tilt: axis(1.9), roll: axis(0.95) };
}

const meant: Record<string, Coordinates> = {
  'rests on one flower': { heading: still, tilt: still, roll: still },
  'turns once': { heading: turn(15, 3, 80), tilt: still, roll: still },
  'looks up and down again': {
    heading: still,
    tilt: plus(turn(8, 3, 30), turn(25, 3, -30)),
    roll: still,
  },
};

function carried(path: Coordinates, label: string, walks: boolean) {
  const parts = body(label, walks);
  const axis = (name: (typeof AXES)[number]) =>
    plus(path[name], parts[name].sway, parts[name].bob, parts[name].noise);
  const coordinates = { heading: axis('heading'), tilt: axis('tilt'), roll: axis('roll') };
  return { parts, coordinates };
}

const split = (coordinates: Coordinates, assumptions?: Assumptions) =>
  separateStructurally(
    coordinates,
    SAMPLE_RATE,
    trackStepFrequency(coordinates, SAMPLE_RATE),
    assumptions,
  );

const cases = Object.keys(meant).flatMap((what) =>
  [true, false].map((walks) => [walks ? 'walks' : 'stands', what, walks] as const),
);

describe.each(cases)('somebody who %s and %s', (_does, what, walks) => {
  const path = meant[what]!;
  const { parts, coordinates } = carried(path, what, walks);
  const found = split(coordinates);

  test('is known to walk or to stand', () => {
    expect(found.walking).toBe(walks);
  });

  test.each(AXES)('has most of the body taken off the %s', (axis) => {
    const raw = gap(coordinates[axis], path[axis]);
    // What is meant lies within the sway of half a degree, of which at least half is removed.
    expect(gap(found.intended[axis], path[axis])).toBeLessThan(Math.min(0.5 * raw, 0.5));
  });

  test.each(AXES)('has bob and sway of the %s told apart', (axis) => {
    // Both are wrong by less than the smaller of them, the sway, is large; a body that stands has
    // no bob beyond the noise of 0.05° that the model believes in.
    const swayed = size(parts[axis].sway);
    expect(gap(found.bob[axis], parts[axis].bob)).toBeLessThan(walks ? swayed : 0.05);
    expect(gap(found.sway[axis], parts[axis].sway)).toBeLessThan(swayed);
  });

  test('leaves no more than noise and tremor beside travel, sway and bob', () => {
    for (const axis of AXES) {
      const rest = gap(
        coordinates[axis],
        plus(found.intended[axis], found.sway[axis], found.bob[axis]),
      );
      // The model's own white noise has a deviation of 0.05°.
      expect(rest).toBeLessThan(0.05);
    }
  });

  test('conducts the axes so', () => {
    const moving = (axis: (typeof AXES)[number]) => (size(path[axis]) > 0 ? 'moves' : 'rest');
    expect(found.conduct).toEqual({
      heading: moving('heading'),
      tilt: moving('tilt'),
      roll: moving('roll'),
    });
  });
});

test('somebody who stops walking leaves no bob behind', () => {
  const { coordinates, parts } = carried(meant['rests on one flower']!, 'stops', true);
  const stopped = (axis: (typeof AXES)[number]) =>
    coordinates[axis].map((x, k) => (k < COUNT / 2 ? x : x - parts[axis].bob[k]!));
  const found = split({
    heading: stopped('heading'),
    tilt: stopped('tilt'),
    roll: stopped('roll'),
  });
  expect(found.walking).toBe(true);
  // Steps are weighed under windows of 2 s; beyond them there is none above the model's noise.
  for (const axis of AXES) {
    expect(size(found.bob[axis].subarray(COUNT / 2 + 2 * SAMPLE_RATE))).toBeLessThan(0.05);
  }
});

test('a clip without a body is what was meant', () => {
  for (const path of Object.values(meant)) {
    const found = split(path);
    for (const axis of AXES) {
      // The model believes in a noise of 0.05° even where there is none.
      expect(gap(found.intended[axis], path[axis])).toBeLessThan(0.05);
    }
  }
});

test('where a clip begins does not matter to what its body does', () => {
  const { coordinates } = carried(meant['turns once']!, 'anywhere', true);
  const shifted = { ...coordinates, heading: coordinates.heading.map((x) => x + 2) };
  const [here, there] = [split(coordinates), split(shifted)];
  // Filters of poles down to 0.22 Hz of 15, over signals of 4 rad, forward and backward.
  expect(largestGap(here.sway.heading, there.sway.heading)).toBeLessThan(1e-9);
  expect(
    largestGap(
      here.intended.heading.map((x) => x + 2),
      there.intended.heading,
    ),
  ).toBeLessThan(1e-9);
});

test('a clip seen in a mirror is separated as its mirror image', () => {
  const { coordinates } = carried(meant['turns once']!, 'mirror', true);
  const mirrored = {
    ...coordinates,
    heading: coordinates.heading.map((x) => -x),
    roll: coordinates.roll.map((x) => -x),
  };
  expect(split(mirrored).intended.heading).toEqual(
    split(coordinates).intended.heading.map((x) => -x),
  );
});

describe('what the operator says', () => {
  const creep = turn(10, 15, 8);
  const { coordinates } = carried({ heading: creep, tilt: still, roll: still }, 'creep', false);
  const marked = (from: number, to: number, mark: -1 | 1): Marks =>
    new Int8Array(COUNT).fill(mark, from * SAMPLE_RATE, to * SAMPLE_RATE);

  test('a creep of 8° in 15 s that is marked as a move is kept', () => {
    const { intended, conduct } = split(coordinates, { standing: true, marks: marked(9, 26, 1) });
    expect(conduct.heading).toBe('moves');
    // No further off than the sway of half a degree that cannot be told from it.
    expect(gap(intended.heading, creep)).toBeLessThan(0.5);
  });

  test('a turn that is marked as held opens nothing', () => {
    const path = { heading: turn(15, 3, 20), tilt: still, roll: still };
    const turned = carried(path, 'held', false).coordinates;
    const { conduct } = split(turned, { standing: true, marks: marked(0, SECONDS, -1) });
    expect(conduct.heading).toBe('rest');
    expect(split(turned, { standing: true }).conduct.heading).toBe('moves');
  });

  test('within a hold the view rests at its mean, and glides there in two seconds', () => {
    // Somebody who turns steadily, held in the middle of the clip.
    const speed = 0.2 * deg;
    const line = series((time) => speed * (time - (SECONDS - 1 / SAMPLE_RATE) / 2));
    const steady = { heading: line, tilt: still, roll: still };
    const { heading } = split(steady, { standing: true, marks: marked(15, 25, -1) }).intended;
    const [from, to] = [15 * SAMPLE_RATE, 25 * SAMPLE_RATE];
    // A sum of two angles of at most 4°.
    for (const value of heading.subarray(from, to)) {
      expect(Math.abs(value - heading[from]!)).toBeLessThan(4 * deg * Number.EPSILON);
    }
    // What lies the same time before and after it is off its mean by as much, to rounding of the fit;
    // a sample more or less would be a thirtieth of the glide.
    const mean = heading[from]!;
    for (let j = 1; j <= from; j++) {
      const before = heading[from - j]! - mean;
      const after = heading[to - 1 + j]! - mean;
      expect(Math.abs(before + after)).toBeLessThan(1e-3 * deg);
      // Away from the hold nothing but the trend; within two seconds of it less, by a smooth step.
      const u = Math.min(j / (2 * SAMPLE_RATE), 1);
      const share = u * u * u * (10 - 15 * u + 6 * u * u);
      const trend = speed * (5 + (j - 0.5) / SAMPLE_RATE);
      expect(Math.abs(after - share * trend)).toBeLessThan(0.02 * deg);
    }
  });

  test('a move says nothing about the roll', () => {
    const without = split(coordinates, { standing: true });
    const { conduct, intended } = split(coordinates, {
      standing: true,
      marks: marked(9, 26, 1),
    });
    expect(conduct.roll).toBe('rest');
    expect(intended.roll).toEqual(without.intended.roll);
  });
});

test('who stands and pans does not look about', () => {
  const restless = carried(
    {
      heading: series((t) => 20 * deg * Math.sin(0.9 * t) + 9 * deg * Math.sin(1.7 * t)),
      tilt: series((t) => 8 * deg * Math.sin(1.3 * t)),
      roll: still,
    },
    'restless',
    false,
  ).coordinates;
  expect(split(restless).conduct.heading).toBe('looking-about');
  expect(split(restless, { standing: true }).conduct.heading).not.toBe('looking-about');
});
