import { describe, expect, test } from 'vitest';
import { orientationsOf } from '../../src/handoff/poses.js';
import { toTum } from '../../src/handoff/tum.js';
import { readTrack } from '../../src/read/readTrack.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';
import { turn } from '../turns.js';
import { anyResults, matrixOf, product, type Rows, resultOf, transposed } from './results.js';

/** From the format's camera axes (x right, y down, z forward) to ours (x right, y up, z back). */
const AXES: Rows = [
  [1, 0, 0],
  [0, -1, 0],
  [0, 0, -1],
];
/** Twelve decimals round a component by at most 5e-13, a quaternion by 1e-12, an entry by twice that. */
const DECIMALS = 2e-12;

const rowsOf = (text: string) =>
  text
    .trimEnd()
    .split('\n')
    .slice(1)
    .map((row) => row.split(' '));
const quaternionOf = (row: readonly string[]) => row.slice(4).map(Number) as unknown as Quaternion;

describe('a trajectory of the TUM benchmark', () => {
  // Sturm et al., IROS 2012: "timestamp tx ty tz qx qy qz qw", one pose per line, '#' before remarks.
  test('eight columns per frame; a camera at rest that looks ahead is half a turn about x', () => {
    const level: Quaternion = [0, 0, 0, 1];
    const left = turn([0, 1, 0], Math.PI / 2).q;
    const text = toTum(resultOf({ intended: [level, left], corrections: [level, level] }));
    // Looking left, the camera's right is the world's −z, its down −y, its forward −x (world y up):
    // the half turn about (1, 0, −1)/√2.
    expect(text.split('\n')).toEqual([
      '# timestamp tx ty tz qx qy qz qw',
      '0.000000000 0 0 0 1.000000000000 0.000000000000 0.000000000000 0.000000000000',
      '0.016683333 0 0 0 0.707106781187 0.000000000000 -0.707106781187 0.000000000000',
      '',
    ]);
    expect(
      matrixOf(quaternionOf(rowsOf(text)[1]!)).map((row) =>
        row.map((entry) => Math.round(entry) + 0),
      ),
    ).toEqual([
      [0, 0, -1],
      [0, -1, 0],
      [-1, 0, 0],
    ]);
  });

  test('it holds the camera’s axes in the world’s, whichever motion is asked for', () => {
    fc.assert(
      fc.property(anyResults, fc.constantFrom('intended', 'measured'), (parts, motion) => {
        rowsOf(toTum(resultOf(parts), motion)).forEach((row, k) => {
          const s = matrixOf(parts.intended[k]!);
          const ours = motion === 'intended' ? s : product(s, matrixOf(parts.corrections[k]!));
          const wanted = product(ours, AXES).flat();
          expect(largestGap(matrixOf(quaternionOf(row)).flat(), wanted)).toBeLessThan(DECIMALS);
        });
      }),
    );
  });

  test('K is turned into the format’s axes on both sides', () => {
    fc.assert(
      fc.property(anyResults, (parts) => {
        rowsOf(toTum(resultOf(parts), 'correction')).forEach((row, k) => {
          const wanted = product(transposed(AXES), matrixOf(parts.corrections[k]!), AXES).flat();
          expect(largestGap(matrixOf(quaternionOf(row)).flat(), wanted)).toBeLessThan(DECIMALS);
        });
      }),
    );
  });

  test.each([
    [1_700_000_000_123_456_789n, '1700000000.123456789', '1700000000.140140122'],
    [-1n, '-0.000000001', '0.016683332'],
    [7n, '0.000000007', '0.016683340'],
  ])('stamps that begin at %d ns keep every nanosecond', (startNs, first, second) => {
    const still: Quaternion[] = [
      [0, 0, 0, 1],
      [0, 0, 0, 1],
    ];
    const text = toTum(resultOf({ intended: still, corrections: still, startNs }));
    expect(rowsOf(text).map(([stamp]) => stamp)).toEqual([first, second]);
  });

  test('it reads back as a track in our own axes', () => {
    const lines = 'axes world: x east, y up, z south';
    fc.assert(
      fc.property(anyResults, (parts) => {
        const result = resultOf(parts);
        const back = readTrack(toTum(result), { format: 'tum', mapping: lines });
        // Stamps are rounded to a nanosecond.
        expect(largestGap(back.times, result.corrections.times)).toBeLessThanOrEqual(1e-9);
        parts.intended.forEach((s, k) => {
          const read = matrixOf(quaternionAt(back.quaternions, k)).flat();
          expect(largestGap(read, matrixOf(s).flat())).toBeLessThan(DECIMALS);
        });
        expect(orientationsOf(result, 'intended')).toBe(result.intended.quaternions);
      }),
    );
  });
});
