import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { addOuterProduct, newBandedMatrix } from '../../src/numeric/banded.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { frameTimes } from '../../src/track/frameRate.js';
import { seededRandom } from '../accuracy/random.js';

/** Elements of every list, and rows of the banded matrices: an hour at 60000/1001 and a little. */
export const ELEMENTS = 1_000_000;
export const BANDED_ROWS = 216_000;

/** Weights of the difference penalties: half amplitude at 0.5 Hz, sampled at 60000/1001. */
export const PENALTIES = [2, 3].map((order) => ({
  order,
  penalty: (2 * Math.sin((Math.PI * 0.5 * 1001) / 60000)) ** (-2 * order),
}));

/**
 * Writes the arrays that the three programs of the kernel comparison read, as float64: lists of
 * any rotations `a` and `b`, `vectors`, gyro `rate` and `times` of a walk at 1 kHz, the `track` of
 * a camera that looks about, the times of `frames`, and two banded systems.
 */
export function writeKernelData(folder: string): void {
  const n = ELEMENTS;
  const write = (name: string, values: Float64Array) =>
    writeFileSync(join(folder, `${name}.f64`), new Uint8Array(values.buffer));
  for (const name of ['a', 'b']) write(name, anyRotations(n, seededRandom(`kernels ${name}`)));
  const random = seededRandom('kernels vectors');
  write(
    'vectors',
    Float64Array.from({ length: 3 * n }, () => random.uniform(-1, 1)),
  );
  const times = Float64Array.from({ length: n }, (_, k) => k / 1000);
  write('times', times);
  write('rate', walkingRate(times));
  write('track', lookingAbout(times));
  const frames = frameTimes({ numerator: 60000, denominator: 1001 }, n);
  write(
    'frames',
    frames.filter((time) => time <= times[n - 1]!),
  );
  write(
    'sides',
    Float64Array.from({ length: 3 * BANDED_ROWS }, () => random.uniform(-1, 1)),
  );
  for (const { order, penalty } of PENALTIES) {
    write(`band${order}`, differencePenalty(BANDED_ROWS, order, penalty).band);
  }
}

function anyRotations(n: number, random: ReturnType<typeof seededRandom>): Float64Array {
  const out = new Float64Array(4 * n);
  for (let i = 0; i < out.length; i += 4) {
    const q = [random.normal(), random.normal(), random.normal(), random.normal()];
    const norm = Math.hypot(...q);
    for (let c = 0; c < 4; c++) out[i + c] = q[c]! / norm;
  }
  return out;
}

/** Two steps a second with their harmonics, turns of the body, and the noise of a sensor. */
function walkingRate(times: Float64Array): Float64Array {
  const random = seededRandom('kernels rate');
  const out = new Float64Array(3 * times.length);
  times.forEach((t, k) => {
    out[3 * k] = 0.6 * Math.sin(12.1 * t) + 0.2 * Math.sin(24.2 * t + 1) + 0.01 * random.normal();
    out[3 * k + 1] = 0.8 * Math.sin(0.9 * t) + 0.3 * Math.sin(6.05 * t) + 0.01 * random.normal();
    out[3 * k + 2] = 0.4 * Math.sin(6.05 * t + 2) + 0.1 * Math.sin(18 * t) + 0.01 * random.normal();
  });
  return out;
}

/** Heading all round, tilt within 0.6 rad, roll within 0.2 rad; signs continuous. */
function lookingAbout(times: Float64Array): Float64Array {
  const out = new Float64Array(4 * times.length);
  times.forEach((t, k) => {
    const heading = 2.9 * Math.sin(0.11 * t) + 0.05 * Math.sin(6.05 * t);
    const tilt = 0.5 * Math.sin(0.23 * t) + 0.1 * Math.sin(12.1 * t);
    const roll = 0.2 * Math.sin(6.05 * t + 1);
    out.set(quaternionFromHeadingTiltRoll(heading, tilt, roll), 4 * k);
  });
  return out;
}

/** 1 + penalty · DᵀD with the differences D of an order: the matrix of a penalised spline. */
function differencePenalty(rows: number, order: number, penalty: number) {
  const differences = order === 2 ? [1, -2, 1] : [-1, 3, -3, 1];
  const matrix = newBandedMatrix(rows, order);
  for (let k = 0; k < rows; k++) addOuterProduct(matrix, k, [1], 1);
  for (let k = 0; k + order < rows; k++) addOuterProduct(matrix, k, differences, penalty);
  return matrix;
}
