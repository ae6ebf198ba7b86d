import { describe, expect, test } from 'vitest';
import type { AxisConduct } from '../../src/motion/axisConduct.js';
import { nameShot, type ShotEvidence } from '../../src/motion/shot.js';
import { fc } from '../seed.js';

const still: ShotEvidence = {
  conduct: { heading: 'rest', tilt: 'rest' },
  restlessShare: 0,
  moves: 0,
  walking: false,
  stepFrequency: 2,
  stepClarity: -1,
  duration: 20,
};

describe('the kind of shot is named from what the axes do', () => {
  test.each<[string, Partial<ShotEvidence>, string, RegExp]>([
    ['steps', { walking: true, stepClarity: 1 }, 'travelling', /^steps at 2\.0 per second$/],
    [
      'a view that never rests',
      { conduct: { heading: 'looking-about', tilt: 'rest' }, restlessShare: 0.8 },
      'travelling',
      /never rests for 80 % of the time, though no steps/,
    ],
    [
      'a bend over the whole clip',
      { conduct: { heading: 'travel', tilt: 'rest' } },
      'travelling',
      /turns nearly all the time/,
    ],
    [
      'a move between rests',
      { conduct: { heading: 'moves', tilt: 'rest' }, moves: 1 },
      'pan',
      /^1 move with rests before and after/,
    ],
    ['nothing at all', {}, 'locked-off', /no move beyond the sway of a body/],
  ])('%s', (_, given, shot, because) => {
    const guess = nameShot({ ...still, ...given });
    expect(guess.shot).toBe(shot);
    expect(guess.because).toMatch(because);
  });
});

const conducts = fc.constantFrom<AxisConduct>('rest', 'moves', 'travel', 'looking-about', 'mixed');
const clips = fc.record({
  conduct: fc.record({ heading: conducts, tilt: conducts }),
  restlessShare: fc.double({ min: 0, max: 1, noNaN: true }),
  moves: fc.nat(9),
  walking: fc.boolean(),
  stepFrequency: fc.double({ min: 1, max: 3, noNaN: true }),
  stepClarity: fc.double({ min: -3, max: 3, noNaN: true }),
  duration: fc.integer({ min: 3, max: 60 }),
});

test('confidence is a share, and every kind has a reason', () => {
  fc.assert(
    fc.property(clips, (given) => {
      const { confidence, because } = nameShot(given);
      expect(confidence).toBeGreaterThan(0);
      expect(confidence).toBeLessThanOrEqual(1);
      expect(because.length).toBeGreaterThan(5);
    }),
  );
});

test('a longer clip is named the same, and never with less confidence', () => {
  fc.assert(
    fc.property(clips, fc.nat(60), (given, more) => {
      const [short, long] = [
        nameShot(given),
        nameShot({ ...given, duration: given.duration + more }),
      ];
      expect(long.shot).toBe(short.shot);
      expect(long.confidence).toBeGreaterThanOrEqual(short.confidence);
    }),
  );
});

test('steps neither seen nor excluded leave half of the confidence', () => {
  expect(nameShot({ ...still, walking: true, stepClarity: 0 }).confidence).toBe(0.5);
  expect(nameShot({ ...still, stepClarity: 0 }).confidence).toBe(0.5);
});
