import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { straightStretches } from '../../src/inertial/filledStretches.js';
import { secondsOf } from '../../src/inertial/spans.js';
import { valueRanges } from '../../src/inertial/valueRanges.js';

const COUNT = 1000;
const INTERVAL = 0.005;
const times = Float64Array.from({ length: COUNT }, (_, k) => k * INTERVAL);
const stretchesOf = (vectors: Float64Array, interval = INTERVAL, at = times) =>
  straightStretches(at, vectors, valueRanges(vectors), interval);
/** Noise of 0.1 written with four decimals. */
const written = (decimals = 4, size = 0.1) => {
  const random = seededRandom('sensor');
  return Float64Array.from({ length: 3 * COUNT }, () =>
    Number((size * random.normal()).toFixed(decimals)),
  );
};
/** The same with straight lines from one sample to another, in the named components. */
function lined(vectors: Float64Array, first: number, last: number, axes = [0, 1, 2]) {
  const out = vectors.slice();
  for (const axis of axes) {
    for (let k = first; k <= last; k++) {
      const share = (times[k]! - times[first]!) / (times[last]! - times[first]!);
      const line = vectors[3 * first + axis]! * (1 - share) + vectors[3 * last + axis]! * share;
      out[3 * k + axis] = Number(line.toFixed(4));
    }
  }
  return out;
}

describe('a stretch that was filled in', () => {
  test.each([
    [100, 400],
    [0, 300],
    [700, 999],
  ])('is found from its first sample, %d, to its last, %d', (first, last) => {
    const found = stretchesOf(lined(written(), first, last));
    expect(found).toEqual([{ first, last }]);
    expect(secondsOf(times, found)).toEqual([{ from: times[first], to: times[last] }]);
  });

  test('may stand still as well, and there may be several', () => {
    const vectors = lined(written(), 100, 200);
    for (let k = 500; k < 600; k++) vectors.copyWithin(3 * k, 3 * 499, 3 * 500);
    expect(stretchesOf(vectors)).toEqual([
      { first: 100, last: 200 },
      { first: 499, last: 599 },
    ]);
  });

  test('lasts a quarter of a second at least, and eight samples', () => {
    const of = (samples: number, interval = INTERVAL) =>
      stretchesOf(lined(written(), 100, 100 + samples), interval).length;
    expect([of(49), of(50)]).toEqual([0, 1]);
    // With a quarter of a second from row to row eight samples are what counts.
    expect([of(7, 0.25), of(8, 0.25)]).toEqual([0, 1]);
  });

  test.each([[[0, 1]], [[0, 2]], [[1, 2]]])(
    'is straight in all components, not in %j only',
    (axes) => {
      expect(stretchesOf(lined(written(), 100, 400, axes))).toEqual([]);
    },
  );

  test('does not show where the file hides the noise, or says too little', () => {
    // Steps of 0.1 for noise of 0.1: most neighbours lie on lines.
    expect(stretchesOf(written(1))).toEqual([]);
    expect(stretchesOf(new Float64Array(3 * COUNT))).toEqual([]);
    const short = lined(written(), 0, 14).subarray(0, 45);
    expect(stretchesOf(short, 0.25, times.subarray(0, 15))).toEqual([]);
  });
});
