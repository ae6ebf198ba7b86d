/** Results that were written before the two eyes of a rig stood together. */
import { describe, expect, test } from 'vitest';
import { withEyes } from '../../src/handoff/formerRig.js';
import { toJson } from '../../src/handoff/json.js';
import { readResult } from '../../src/handoff/readResult.js';
import { DEFAULT_RIG, type StereoRig } from '../../src/rig/stereoRig.js';
import { complaint } from '../complaint.js';
import { turn } from '../turns.js';
import { resultOf } from './results.js';

const LEVEL = [0, 0, 0, 1] as const;
const [left, right] = [turn([0, 1, 0], 0.013).q, turn([1, 0, 0], 0.02).q];
const [leftReadout, rightReadout] = [
  { startMs: -8.25, firstRow: 'top' },
  { startMs: 3, firstRow: 'bottom' },
] as const;
const rig: StereoRig = {
  ...DEFAULT_RIG,
  readoutMs: 16,
  eyes: {
    left: { alignment: left, readout: leftReadout },
    right: { alignment: right, readout: rightReadout },
  },
};
const { eyes: _, ...common } = rig;
const result = resultOf({ intended: [LEVEL, LEVEL], corrections: [LEVEL, LEVEL], rig });

/** The text of the result with another rig in it. */
const written = (other: unknown) => JSON.stringify({ ...JSON.parse(toJson(result)), rig: other });
const readBack = (other: unknown) => readResult(written(other)).rig;

describe('a result with the former entries of a rig', () => {
  test('is read to the last bit as the one with eyes', () => {
    const former = { ...common, alignment: { left, right }, leftReadout, rightReadout };
    expect(readBack(former)).toEqual(rig);
    expect(readBack(former)).toEqual(readBack(rig));
    expect(toJson(readResult(written(former)))).toBe(toJson(readResult(written(rig))));
  });

  test.each([
    ['one eye', { alignment: { right } }, { eyes: { left: {}, right: { alignment: right } } }],
    ['one readout', { rightReadout }, { eyes: { left: {}, right: { readout: rightReadout } } }],
    [
      'both kinds',
      { alignment: { left }, leftReadout },
      { eyes: { left: { alignment: left, readout: leftReadout }, right: {} } },
    ],
  ])('may hold %s only', (_name, former, now) => {
    expect(withEyes({ readoutMs: 9, ...former })).toEqual({ readoutMs: 9, ...now });
  });

  test.each([
    ['an eye that there is not', { alignment: { left, right, middle: left } }, '"eyes.middle"'],
    ['an alignment that is none', { alignment: { left: 'straight' } }, '"eyes.left.alignment"'],
    ['alignments that are no object', { alignment: [left, right], leftReadout }, '"alignment"'],
    ['a readout that is none', { rightReadout: null }, '"eyes.right.readout"'],
    ['eyes as well', { leftReadout, eyes: {} }, '"leftReadout"'],
  ])('is refused with %s', (_name, former, column) => {
    expect(() => readBack({ ...common, ...former })).toThrow(
      complaint('rig/invalid', `column ${column}: `),
    );
  });
});

test.each([[{}], [{ eyes: { left: {} } }], [null], ['a rig'], [[]]])(
  'a rig without former entries is left as it is: %j',
  (given) => {
    expect(withEyes(given)).toBe(given);
  },
);
