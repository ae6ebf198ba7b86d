import { describe, expect, test } from 'vitest';
import { toOpenTrackIo } from '../../src/handoff/openTrackIo.js';
import type { AngleSigns } from '../../src/read/openTrackIo.js';
import { readTrack } from '../../src/read/readTrack.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { parseFrameRate } from '../../src/track/frameRate.js';
import { largestGap } from '../apart.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { turn } from '../turns.js';
import { anyResults, matrixOf, product, resultOf } from './results.js';

const LEVEL: Quaternion = [0, 0, 0, 1];
const degrees = Math.PI / 180;

const samplesOf = (text: string) =>
  text
    .trimEnd()
    .split('\n')
    .map((line) => JSON.parse(line));
const anglesOf = (q: Quaternion, signs?: AngleSigns) => {
  const result = resultOf({ intended: [q, q], corrections: [LEVEL, LEVEL] });
  const [sample] = samplesOf(toOpenTrackIo(result, signs ? { signs } : {}));
  return sample.transforms[0].rotation;
};

/**
 * Two conversions to angles and back lose up to 100 roundings, a matrix entry 4 more; towards the
 * zenith heading and roll lose digits as 1/cos(tilt), which the draws keep below 1000.
 */
const ANGLES = 1e5 * Number.EPSILON;

describe('OpenTrackIO samples', () => {
  // Structure after the published samples of OpenTrackIO (SMPTE RIS OSVP, version 1.0, from memory).
  test('one object per frame, timed by its number over the exact rate', () => {
    const { corrections } = resultOf({ intended: [LEVEL, LEVEL], corrections: [LEVEL, LEVEL] });
    expect(corrections.frames).toEqual(Int32Array.of(40, 41));
    const text = toOpenTrackIo(resultOf({ intended: [LEVEL, LEVEL], corrections: [LEVEL, LEVEL] }));
    expect(samplesOf(text)).toEqual(
      [40, 41].map((sequenceNumber) => ({
        protocol: { name: 'OpenTrackIO', version: [1, 0, 0] },
        timing: {
          mode: 'internal',
          sequenceNumber,
          sampleRate: { num: 60000, denom: 1001 },
        },
        transforms: [
          {
            id: 'rig',
            translation: { x: 0, y: 0, z: 0 },
            rotation: { pan: 0, tilt: 0, roll: expect.closeTo(0, 15) },
          },
        ],
      })),
    );
  });

  // z up: the right hand about it turns the look to the left; about x (right) it lifts the look;
  // about y (forward) it lowers the right side. Ours counts roll about the axis that points back.
  test.each<[string, Quaternion, object]>([
    ['to the left', turn([0, 1, 0], 0.5).q, { pan: 0.5 / degrees, tilt: 0, roll: 0 }],
    ['upwards', turn([1, 0, 0], 0.5).q, { pan: 0, tilt: 0.5 / degrees, roll: 0 }],
    ['right side down', turn([0, 0, -1], 0.5).q, { pan: 0, tilt: 0, roll: 0.5 / degrees }],
  ])('a turn %s counts positive', (_words, q, angles) => {
    const close = Object.entries(angles).map(([name, value]) => [name, expect.closeTo(value, 10)]);
    expect(anglesOf(q)).toEqual(Object.fromEntries(close));
  });

  test('each sign turns its own angle round', () => {
    const q = turn([0.48, 0.6, 0.64], 0.4).q;
    const { pan, tilt, roll } = anglesOf(q);
    expect(anglesOf(q, { pan: -1 })).toEqual({ pan: -pan, tilt, roll });
    expect(anglesOf(q, { tilt: -1 })).toEqual({ pan, tilt: -tilt, roll });
    expect(anglesOf(q, { roll: -1 })).toEqual({ pan, tilt, roll: -roll });
  });

  test('they read back as the motion that was asked for, with the same signs', () => {
    const sign = fc.constantFrom<(1 | -1)[]>(1, -1);
    const signsOf = fc.record({ pan: sign, tilt: sign, roll: sign });
    const motions = fc.constantFrom('intended' as const, 'measured' as const);
    fc.assert(
      fc.property(anyResults, signsOf, motions, (parts, signs, motion) => {
        const wanted = parts.intended.map((s, k) =>
          motion === 'intended'
            ? matrixOf(s)
            : product(matrixOf(s), matrixOf(parts.corrections[k]!)),
        );
        // The camera's back axis is the third column; upright it is the zenith.
        fc.pre(wanted.every((m) => Math.hypot(m[0]![2], m[2]![2]) > 1e-3));
        const text = toOpenTrackIo(resultOf(parts), { motion, signs });
        const back = readTrack(text, { format: 'opentrackio', signs });
        expect(back.frames).toEqual(Int32Array.from(wanted, (_, k) => 40 + k));
        expect(back.frameRate).toEqual(parseFrameRate('60000/1001'));
        wanted.forEach((m, k) => {
          const read = matrixOf(quaternionAt(back.quaternions, k));
          expect(largestGap(read.flat(), m.flat())).toBeLessThan(ANGLES);
        });
      }),
    );
  });

  test('without an exact rate, or from a negative frame on, nothing is written', () => {
    const still = { intended: [LEVEL, LEVEL], corrections: [LEVEL, LEVEL] };
    expect(() => toOpenTrackIo(resultOf({ ...still, rate: 'none' }))).toThrow(
      complaint('argument/invalid', 'found a result without an exact frame rate'),
    );
    expect(() => toOpenTrackIo(resultOf({ ...still, first: -1 }))).toThrow(
      complaint('argument/invalid', 'frame -1: found a negative frame number'),
    );
  });
});
