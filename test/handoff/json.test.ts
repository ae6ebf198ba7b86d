import { describe, expect, test } from 'vitest';
import { correct } from '../../src/correct.js';
import { toJson } from '../../src/handoff/json.js';
import { readResult } from '../../src/handoff/readResult.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { frameTimes, parseFrameRate } from '../../src/track/frameRate.js';
import { createTrack, type TrackParts } from '../../src/track/orientationTrack.js';
import { complaint } from '../complaint.js';

const RATE = parseFrameRate('30000/1001');
const times = frameTimes(RATE, 150);

/** Five seconds of a slow look about with a nod at every step. */
const walk = (more: Partial<TrackParts> = {}) =>
  correct(
    createTrack({
      times,
      quaternions: Float64Array.from(
        [...times].flatMap((t) => [
          ...quaternionFromHeadingTiltRoll(
            0.2 * t,
            0.02 * Math.sin(12 * t),
            0.03 * Math.cos(6 * t),
          ),
        ]),
      ),
      frameRate: RATE,
      ...more,
    }),
  );

const result = walk({ startNs: 1700000000016683001n });
const file = () => JSON.parse(toJson(result)) as Record<string, unknown>;
const changed = (change: object) => JSON.stringify({ ...file(), ...change });

describe('a result as JSON', () => {
  test('it comes back to the last bit', () => {
    const back = readResult(toJson(result));
    // What was noticed about the track stands among the warnings of the result.
    expect(back).toEqual({ ...result, intended: { ...result.intended, warnings: [] } });
    expect(toJson(back)).toBe(toJson(result));
  });

  test('a vertical that was estimated comes back with its uncertainty', () => {
    const estimated = walk({ up: 'unknown' });
    const { intended } = readResult(toJson(estimated));
    expect(intended.up).toBe('estimated');
    expect(intended.upDeviation).toBe(estimated.intended.upDeviation);
  });

  test('it says what its numbers mean', () => {
    expect(file()).toMatchObject({
      format: 'twinkeel-result',
      version: 1,
      frameRate: '30000/1001',
      startNs: '1700000000016683001',
      conventions: expect.stringContaining('x right, y up, z back'),
    });
  });
});

test('a rotation that is off unit by a hundredth is made one, with a note; the others keep their bits', () => {
  const corrections = [...result.corrections.quaternions];
  for (let j = 40; j < 44; j++) corrections[j]! *= 1.009;
  const back = readResult(changed({ corrections }));
  back.corrections.quaternions.forEach((value, i) => {
    if (i < 40 || i > 43) expect(value).toBe(result.corrections.quaternions[i]);
    else expect(value).toBeCloseTo(result.corrections.quaternions[i]!, 14);
  });
  expect(back.warnings).toContainEqual(
    expect.objectContaining({
      code: 'result/renormalised',
      message: expect.stringContaining('"corrections" missed 1 by up to 9.0e-3'),
    }),
  );
});

describe('readResult refuses', () => {
  test('a newer version, naming both', () => {
    expect(() => readResult(changed({ version: 2 }))).toThrow(
      complaint('read/json', 'found a result of version 2, expected version 1 or older'),
    );
  });

  test.each([
    ['times', []],
    ['corrections', [0, 0, 0, 1]],
    ['intended', undefined],
    ['frames', [0, 1, 2]],
    ['corrections', Array(600).fill(null)],
    ['times', 'soon'],
  ])('a file with too little or no numbers under %s', (name, values) => {
    const count = Array.isArray(values) ? `${values.length} entries` : 'nothing';
    expect(() => readResult(changed({ [name]: values }))).toThrow(
      complaint('read/json', `found ${count} under "${name}"`),
    );
  });

  test.each([{ format: 'greenhouse' }, { version: 'one' }, { version: undefined }])(
    'JSON of another kind: %j',
    (change) => {
      expect(() => readResult(changed(change))).toThrow(
        complaint('read/json', 'expected a file with "format": "twinkeel-result"'),
      );
    },
  );

  test.each(['null', '[]', '7', '"result"'])('%s', (text) => {
    expect(() => readResult(text)).toThrow(complaint('read/json', 'found JSON of another kind'));
  });

  test('a file that breaks off', () => {
    expect(() => readResult(toJson(result).slice(0, 2000))).toThrow(
      complaint('read/json', 'found text that is not JSON'),
    );
  });

  test.each([{ up: 'estimated' }, { up: 'stated', upDeviation: 0.02 }])(
    'a vertical %o: an estimate has a deviation, and nothing else',
    (vertical) => {
      expect(() => readResult(changed(vertical))).toThrow(
        complaint('read/json', 'no proper "upDeviation"'),
      );
    },
  );

  test.each(['startNs', 'gait', 'assessment', 'shot', 'up'])('nonsense under %s', (name) => {
    expect(() => readResult(changed({ [name]: 'moonflower' }))).toThrow(
      complaint('read/json', name),
    );
  });
});
