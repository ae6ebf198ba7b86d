import { describe, expect, test } from 'vitest';
import {
  formatFrameRate,
  framesPerSecond,
  frameTime,
  frameTimes,
  parseFrameRate,
} from '../../src/track/frameRate.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';

const rates = fc
  .tuple(fc.integer({ min: 1, max: 9_999_999 }), fc.integer({ min: 1, max: 99_999 }))
  .map(([numerator, denominator]) => ({ numerator, denominator }))
  .filter(({ numerator, denominator }) => {
    const perSecond = numerator / denominator;
    return perSecond >= 1 && perSecond <= 1000;
  });

describe('parseFrameRate', () => {
  test.each([
    ['60000/1001', 60000, 1001],
    ['25', 25, 1],
    ['24/1', 24, 1],
    [' 30000 / 1001 ', 30000, 1001],
  ])('"%s" is %d frames in %d seconds', (text, numerator, denominator) => {
    expect(parseFrameRate(text)).toEqual({ numerator, denominator });
  });

  test('a rate reads back from its own words', () => {
    fc.assert(
      fc.property(rates, (rate) => {
        expect(parseFrameRate(formatFrameRate(rate))).toEqual(rate);
      }),
    );
  });

  test.each(['59.94', '23,976', '0', '0/1', '60/0', '-25', '25/', '1e3', '', 'fast'])(
    '"%s" is refused, and the fractions to write are shown',
    (text) => {
      expect(() => parseFrameRate(text)).toThrow(
        complaint('argument/invalid', `found the frame rate "${text}"`),
      );
      expect(() => parseFrameRate(text)).toThrow('write 23.976 as 24000/1001');
    },
  );
});

describe('frameTime', () => {
  test('frame numbers come back from times over a whole day', () => {
    fc.assert(
      fc.property(
        fc.constantFrom('24000/1001', '25', '60000/1001', '120000/1001').map(parseFrameRate),
        fc.integer({ min: 0, max: 120 * 86_400 }),
        (rate, frame) => {
          expect(Math.round(frameTime(rate, frame) * framesPerSecond(rate))).toBe(frame);
        },
      ),
    );
  });

  test('hours do not drift: 60000 frames at 60000/1001 last 1001 s to the last bit', () => {
    const rate = parseFrameRate('60000/1001');
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 1000 }), (k) => {
        expect(frameTime(rate, 60_000 * k)).toBe(1001 * k);
      }),
    );
  });

  test('the times of a clip are the times of its frames', () => {
    const rate = parseFrameRate('30000/1001');
    expect([...frameTimes(rate, 4)]).toEqual([0, 1, 2, 3].map((k) => frameTime(rate, k)));
  });
});
