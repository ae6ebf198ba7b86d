import { describe, expect, test } from 'vitest';
import { isConstant, matchFrames } from '../../src/batch/matchFrames.js';
import type { Movie } from '../../src/files/movie.js';
import { parseFrameRate } from '../../src/track/frameRate.js';
import { resultOf } from '../handoff/results.js';
import { refusal } from '../refusal.js';
import { fc } from '../seed.js';

/** A movie of frames at these seconds, stamped in ticks. */
function movieOf(seconds: readonly number[], tick: number, rate?: string): Movie {
  return {
    path: 'walk.mov',
    stamp: { sizeBytes: 1, changedMs: 1 },
    ...{ stream: 0, widthPx: 128, heightPx: 64, pixelFormat: 'yuv420p', startS: 0, soundCount: 0 },
    tick: { numerator: 1, denominator: tick },
    stamps: Float64Array.from(seconds, (time) => Math.round(time * tick)),
    ...(rate && { rate: parseFrameRate(rate) }),
    tags: {},
    streamTags: {},
  };
}

const even = (rate: string, count: number) => {
  const { numerator, denominator } = parseFrameRate(rate);
  return Array.from({ length: count }, (_, k) => (k * denominator) / numerator);
};

const result = (rate: string, count: number) =>
  resultOf({
    intended: Array.from({ length: count }, () => [0, 0, 0, 1]),
    corrections: Array.from({ length: count }, () => [0, 0, 0, 1]),
    first: 100,
    rate: parseFrameRate(rate),
  });

const RATES = ['24000/1001', '24', '25', '30000/1001', '30', '50', '60000/1001', '60', '120'];

describe('frames and their corrections', () => {
  test('any even rate in any ticks is matched one to one', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...RATES),
        fc.constantFrom(1000, 90_000, 60_000, 24_000, 12_800, 1_000_000),
        fc.integer({ min: 1, max: 400 }),
        (rate, tick, count) => {
          const match = matchFrames(movieOf(even(rate, count), tick, rate), result(rate, count));
          expect(match.constant).toBe(true);
          expect(match.from).toBe(0);
          expect([...match.corrections]).toEqual([...Array(count).keys()]);
        },
      ),
    );
  });

  test('any two rates that differ are told apart, in milliseconds too, where the header states one', () => {
    for (const movie of RATES) {
      for (const corrections of RATES) {
        if (movie === corrections) continue;
        for (const [tick, count] of [
          [1000, 20],
          [90_000, 300],
        ] as const) {
          const call = () =>
            matchFrames(movieOf(even(movie, count), tick, movie), result(corrections, count));
          expect(call, `${movie} for ${corrections}`).toThrow('the rate of the corrections');
        }
      }
    }
  });

  test('a whole clip of coarse stamps tells a thousandth without a header', () => {
    // 1 ms over 119 steps of 16.7 ms are half a thousandth.
    expect(() => matchFrames(movieOf(even('60', 120), 1000), result('60000/1001', 120))).toThrow(
      'expected 60000/1001, the rate of the corrections',
    );
  });

  test('a rate that varies keeps each frame within half a step of its correction', () => {
    const gaps = fc.array(fc.integer({ min: 1, max: 4 }), { minLength: 20, maxLength: 60 });
    fc.assert(
      fc.property(gaps, fc.integer({ min: 0, max: 2 ** 30 }), (steps, seed) => {
        // Mostly single steps, or the middle one would be of another rate.
        const places = [0];
        steps.forEach((step, k) => {
          places.push(places.at(-1)! + ((seed >> (k % 30)) & 1 ? 1 : k % 3 === 0 ? step : 1));
        });
        const count = places.at(-1)! + 1;
        const match = matchFrames(
          movieOf(
            places.map((place) => place / 60),
            90_000,
          ),
          result('60', count),
        );
        expect([...match.corrections]).toEqual(places);
      }),
    );
  });

  test('a part keeps the numbers of the corrections', () => {
    const movie = movieOf(even('25', 50), 12_800, '25');
    const match = matchFrames(movie, result('25', 50), { span: { from: 110, to: 119 } });
    expect([match.from, ...match.corrections]).toEqual([
      10, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19,
    ]);
    const open = matchFrames(movie, result('25', 50), {
      span: { from: 145, to: Number.POSITIVE_INFINITY },
    });
    expect([open.from, ...open.corrections]).toEqual([45, 45, 46, 47, 48, 49]);
  });

  test('a movie that begins elsewhere is counted from there', () => {
    const movie = movieOf(even('25', 50), 12_800, '25');
    const later = matchFrames(movie, result('25', 30), { movieStarts: 90 });
    expect([later.from, later.corrections.length, later.corrections[0]]).toEqual([10, 30, 0]);
    expect(() => matchFrames(movie, result('25', 30), { movieStarts: 85.5 })).toThrow();
    expect(() => matchFrames(movie, result('25', 70), { movieStarts: 110 })).toThrow(
      refusal('movie/unfit', '50 of the 70 frames') as never,
    );
  });

  test('one stamp off by more than its rounding makes a rate that varies', () => {
    const seconds = even('25', 50);
    expect(isConstant(movieOf(seconds, 1000))).toBe(true);
    const off = seconds.map((time, k) => (k === 30 ? time + 0.003 : time));
    expect(isConstant(movieOf(off, 1000))).toBe(false);
  });
});
