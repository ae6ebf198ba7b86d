/**
 * The library's side of the kernel comparison: `kernels.ts FOLDER` reads the seeded arrays and
 * prints JSON: nanoseconds of processor time per element, the least of several runs, and a checksum
 * of each result.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { factorBanded, solveFactored } from '../../src/numeric/banded.js';
import {
  composeQuaternions,
  headingTiltRollFromQuaternions,
  quaternionsFromRotationVectors,
  rotateVectors,
  rotationVectorsFromQuaternions,
} from '../../src/rotation/arrays.js';
import { integrateRate } from '../../src/track/integrate.js';
import { interpolateTrack } from '../../src/track/resample.js';

const folder = process.argv[2]!;
const load = (name: string) =>
  new Float64Array(new Uint8Array(readFileSync(join(folder, `${name}.f64`))).buffer);

const results: Record<string, { nanoseconds: number; checksum: number }> = {};

/** The first runs also serve the compiler; `numbersOf` is not timed. */
function measure<Result>(
  name: string,
  elements: number,
  runs: number,
  work: () => Result,
  numbersOf: (result: Result) => Float64Array,
): void {
  let least = Number.POSITIVE_INFINITY;
  for (let run = 0; run < runs; run++) {
    const start = process.cpuUsage();
    work();
    const { user, system } = process.cpuUsage(start);
    least = Math.min(least, user + system);
  }
  results[name] = { nanoseconds: (1e3 * least) / elements, checksum: checksum(numbersOf(work())) };
}

/** Weights 1 to 7 in turn, so that an exchange shows; Neumaier's sum, so that the order does not. */
function checksum(values: Float64Array): number {
  let sum = 0;
  let lost = 0;
  for (let i = 0; i < values.length; i++) {
    const term = values[i]! * (1 + (i % 7));
    const next = sum + term;
    lost += Math.abs(sum) >= Math.abs(term) ? sum - next + term : term - next + sum;
    sum = next;
  }
  return sum + lost;
}

const itself = (result: Float64Array) => result;
const [a, b, track] = [load('a'), load('b'), load('track')];
const [vectors, rate] = [load('vectors'), load('rate')];
const [times, frames, sides] = [load('times'), load('frames'), load('sides')];
const n = times.length;
const size = sides.length / 3;

measure('compose', n, 30, () => composeQuaternions(a, b), itself);
measure('rotate', n, 30, () => rotateVectors(a, vectors), itself);
const [products, turned] = [new Float64Array(4 * n), new Float64Array(3 * n)];
measure('compose, place given', n, 30, () => composeQuaternions(a, b, products), itself);
measure('rotate, place given', n, 30, () => rotateVectors(a, vectors, turned), itself);
measure('logarithm', n, 15, () => rotationVectorsFromQuaternions(a), itself);
measure('exponential', n, 15, () => quaternionsFromRotationVectors(vectors), itself);
measure('integrate', n, 15, () => integrateRate(times, rate, undefined, 'interval'), itself);
const keys = { times, quaternions: track, up: 'stated', warnings: [] } as const;
measure('slerp', frames.length, 30, () => interpolateTrack(keys, frames, 'slerp'), itself);
measure(
  'heading, tilt, roll',
  n,
  9,
  () => headingTiltRollFromQuaternions(track),
  ({ heading, tilt, roll }) =>
    Float64Array.from({ length: 3 * n }, (_, i) => [heading, tilt, roll][i % 3]![(i / 3) | 0]!),
);
for (const width of [2, 3]) {
  const given = load(`band${width}`);
  measure(
    `banded, width ${width}`,
    size,
    30,
    () => {
      const matrix = { size, width, band: given.slice() };
      factorBanded(matrix);
      const out = sides.slice();
      for (let side = 0; side < 3; side++) {
        solveFactored(matrix, out.subarray(side * size, (side + 1) * size));
      }
      return out;
    },
    itself,
  );
}
console.log(JSON.stringify(results));
