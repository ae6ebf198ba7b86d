import { expect, test } from 'vitest';
import type { AxisConduct } from '../../src/motion/axisConduct.js';
import { nameShot } from '../../src/motion/shot.js';
import { fc } from '../seed.js';

const gait = (score: number) => ({ frequency: Float64Array.of(2), score });
const RESTLESS: readonly AxisConduct[] = ['travel', 'looking-about', 'mixed'];
const conducts = fc.constantFrom<AxisConduct>('rest', 'moves', ...RESTLESS);
const clips = fc.record({
  heading: conducts,
  tilt: conducts,
  walking: fc.boolean(),
  score: fc.integer({ min: 0, max: 140 }).map((k) => k / 10),
  duration: fc.integer({ min: 3, max: 300 }),
});
type Clip = typeof clips extends fc.Arbitrary<infer T> ? T : never;
const named = ({ heading, tilt, walking, score, duration }: Clip) =>
  nameShot({ heading, tilt }, walking, gait(score), duration);
const clip: Clip = { heading: 'rest', tilt: 'rest', walking: false, score: 1, duration: 30 };

test.each([
  ['nothing moves and nobody walks', clip, 'locked-off'],
  ['the heading moves now and then', { ...clip, heading: 'moves' }, 'pan'],
  ['the tilt moves now and then', { ...clip, tilt: 'moves' }, 'pan'],
  ['somebody clearly walks', { ...clip, walking: true, score: 9 }, 'travelling'],
  [
    'somebody walks and turns corners',
    { ...clip, heading: 'moves', walking: true, score: 9 },
    'travelling',
  ],
  ['steps are suspected only', { ...clip, walking: true, score: 3 }, 'locked-off'],
  ...RESTLESS.map((tilt) => [`the tilt shows ${tilt}`, { ...clip, tilt }, 'travelling'] as const),
] as [string, Clip, string][])('where %s the shot is named for it', (_what, given, shot) => {
  expect(named(given).shot).toBe(shot);
});

test('confidence lies between 0 and 1', () => {
  fc.assert(
    fc.property(clips, (given) => {
      const { confidence } = named(given);
      expect(confidence).toBeGreaterThan(0);
      expect(confidence).toBeLessThanOrEqual(1);
    }),
  );
});

test('a longer clip is named the same, and never with less confidence', () => {
  fc.assert(
    fc.property(clips, fc.nat(60), (given, more) => {
      const [short, long] = [named(given), named({ ...given, duration: given.duration + more })];
      expect(long.shot).toBe(short.shot);
      expect(long.confidence).toBeGreaterThanOrEqual(short.confidence);
    }),
  );
});

test('steps neither seen nor excluded leave half of the confidence', () => {
  expect(named({ ...clip, score: 3.3 }).confidence).toBe(0.5);
  expect(named({ ...clip, score: 1 }).confidence).toBe(1);
  expect(named({ ...clip, walking: true, score: 9 }).confidence).toBe(1);
});
