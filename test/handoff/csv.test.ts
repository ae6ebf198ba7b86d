import { describe, expect, test } from 'vitest';
import {
  readCorrections,
  toCsv,
  toCsvBytes,
  trackToCsv,
  trackToCsvBytes,
} from '../../src/handoff/csv.js';
import { readTrack } from '../../src/read/readTrack.js';
import { alignSigns, quaternionAt } from '../../src/rotation/arrays.js';
import type { Corrections } from '../../src/track/corrections.js';
import { createTrack } from '../../src/track/orientationTrack.js';
import { apart } from '../apart.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { rotations } from '../turns.js';

const lists = fc.array(rotations, { minLength: 2, maxLength: 9 });

const correctionsOf = (list: readonly (readonly number[])[]) => ({
  times: Float64Array.from(list, (_, k) => (k * 1001) / 60000),
  quaternions: alignSigns(Float64Array.from(list.flat())),
  frames: Int32Array.from(list, (_, k) => 40 + k),
});

/** Four components off by half a unit of the twelfth decimal: √4 · 5e-13 of chord, twice the angle. */
const TURNED = 2e-12;
/** Half a unit of the ninth decimal, and the rounding of times below 2 s. */
const DELAYED = 5e-10 + 2 * Number.EPSILON;

function expectNear(back: Corrections, written: Corrections): void {
  expect(back.frames).toEqual(written.frames);
  expect(back.times).toHaveLength(written.times.length);
  written.times.forEach((time, k) => {
    expect(Math.abs(back.times[k]! - time)).toBeLessThanOrEqual(DELAYED);
    const q = quaternionAt(back.quaternions, k);
    expect(apart(q, quaternionAt(written.quaternions, k))).toBeLessThan(
      TURNED + 8 * Number.EPSILON,
    );
    // What misses unit norm by less is taken as computed and stays as it is written.
    expect(Math.abs(Math.hypot(...q) - 1)).toBeLessThan(1e-12 + 4 * Number.EPSILON);
  });
}

describe('corrections as CSV', () => {
  test('they come back to the decimals that are written, and unit', () => {
    fc.assert(
      fc.property(lists, (list) => {
        const corrections = correctionsOf(list);
        const text = toCsv({ corrections });
        expectNear(readCorrections(text), corrections);
        expectNear(readCorrections(toCsvBytes({ corrections })), corrections);
      }),
    );
  });

  test('each frame is a row: time with nine decimals, components with twelve', () => {
    const corrections = correctionsOf([
      [0, 0, 0, 1],
      [0, 0.6, 0, 0.8],
    ]);
    expect(toCsv({ corrections })).toBe(
      [
        'frame,time_s,x,y,z,w',
        '40,0.000000000,0.000000000000,0.000000000000,0.000000000000,1.000000000000',
        '41,0.016683333,0.000000000000,0.600000000000,0.000000000000,0.800000000000',
        '',
      ].join('\n'),
    );
  });

  test('rows are counted from zero where no frame numbers are known', () => {
    const { frames: _, ...corrections } = correctionsOf([
      [0, 0, 0, 1],
      [0, 0, 0, 1],
    ]);
    expect(readCorrections(toCsv({ corrections })).frames).toEqual(Int32Array.of(0, 1));
  });

  test.each([
    [
      'time_s,x,y,z,w\n0,0,0,0,1\n',
      'read/unknown-layout',
      'the header time_s,x,y,z,w, expected frame',
    ],
    ['0,0,0,0,0,1\n', 'read/unknown-layout', 'found no header, expected frame,time_s,x,y,z,w'],
    ['frame,time_s,x,y,z,w\n0,0,0,0,0\n', 'read/row-length', 'row 2: found 5 cells'],
    ['frame,time_s,x,y,z,w\n0,0,0,0,0,one\n', 'read/cell', 'row 2, column "w": found "one"'],
    [
      'frame,time_s,x,y,z,w\n0,0,0,0,0,0.98\n',
      'track/not-unit',
      'row 2: found a quaternion of norm',
    ],
    ['frame,time_s,x,y,z,w\n0.5,0,0,0,0,1\n', 'read/cell', 'row 2, column "frame": found 0.5'],
  ] as const)('%j is refused', (text, code, words) => {
    expect(() => readCorrections(text)).toThrow(complaint(code, words));
  });
});

describe('a track as CSV', () => {
  test('it reads back without a mapping, with its frames where it has them', () => {
    fc.assert(
      fc.property(lists, fc.boolean(), (list, framed) => {
        const { frames, ...parts } = correctionsOf(list);
        const track = createTrack({ ...parts, ...(framed && { frames }) });
        const back = readTrack(trackToCsv(track));
        expect(back.frames).toEqual(track.frames);
        expectNear(back, track);
        expect(new TextDecoder().decode(trackToCsvBytes(track))).toBe(trackToCsv(track));
      }),
    );
  });
});
