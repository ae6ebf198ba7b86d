import { expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { crossCovariances3 } from '../../src/sync/crossCovariance.js';

const random = seededRandom('two vectors over time');
const drawn = (n: number) => Float64Array.from({ length: 3 * n }, () => random.normal());

test.each([
  [40, 100, -30, 120],
  [100, 40, -90, 60],
  [7, 7, 0, 1],
])('products at every lag are the plain sums (%d and %d samples)', (n, m, first, lags) => {
  const v = drawn(n);
  const g = drawn(m);
  const H = crossCovariances3(v, g, first, lags);
  expect(H).toHaveLength(9);
  for (let l = 0; l < lags; l++) {
    for (let e = 0; e < 9; e++) {
      let sum = 0;
      for (let k = 0; k < n; k++) {
        const at = k + first + l;
        if (at >= 0 && at < m) sum += v[3 * k + Math.floor(e / 3)]! * g[3 * at + (e % 3)]!;
      }
      // Rounding of a transform of 256 values of size 1.
      expect(Math.abs(H[e]![l]! - sum)).toBeLessThan(1e-12);
    }
  }
});
