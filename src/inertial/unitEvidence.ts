import { TwinkeelError, type Warning } from '../error.js';
import { DEGREES_PER_RADIAN, RADIANS_PER_DEGREE } from '../math.js';
import { median } from '../numeric/quantile.js';
import { rotateVectors } from '../rotation/arrays.js';
import {
  IDENTITY,
  normalizeQuaternion,
  rotateVector,
  type Vector3,
} from '../rotation/quaternion.js';
import { quaternionFromRotationVector } from '../rotation/rotationVector.js';
import { turnBySteps } from '../track/integrate.js';
import { lowerBound } from '../track/times.js';

/** Norms of the specific force that a camera can show on average, m/s². */
const PLAUSIBLE_ACCELERATION = { from: 7, to: 13 };
/** Seconds over which rate and force are compared. */
const COMPARE = 0.25;
/** How much better another unit must explain the force before it is mentioned. */
const CLEARLY_BETTER = 3;
/** Fewer comparisons say nothing. */
const FEWEST_COMPARED = 20;
/** Only stretches whose mean force has about the size of gravity show its direction, m/s². */
const UNACCELERATED = 1.5;

/**
 * Whether units and signs can be right: the force must measure about 9.8 m/s², and the rates must
 * turn the force the way it turns. Nothing is converted; the message says what would fit. A log is
 * never refused for how its camera moves: steps and jolts average out over two seconds, units do not.
 *
 * @throws TwinkeelError `log/units` when the accelerometer's values cannot be m/s²
 */
export function unitWarnings(
  times: Float64Array,
  rate: Float64Array,
  acceleration: Float64Array,
  interval: number,
): Warning[] {
  const norm = averagedAcceleration(times, rate, acceleration);
  // A run shakes the norm but not its average; a spin shakes the average but not the norm.
  const implausible = [norm, medianNorm(acceleration)].every(
    (size) => size < PLAUSIBLE_ACCELERATION.from || size > PLAUSIBLE_ACCELERATION.to,
  );
  if (implausible) {
    const inG = norm > 0.6 && norm < 1.5;
    throw new TwinkeelError('log/units', {
      column: 'acceleration',
      found: `a force of ${norm.toPrecision(3)} m/s² on average`,
      expected: 'about 9.8 m/s²',
      remedy: inG
        ? 'the values look like multiples of gravity: write "g" instead of "m/s2" in the mapping'
        : 'check the unit and the columns of the accelerometer in the mapping',
    });
  }
  const misfit = (scale: number) => turningMisfit(times, rate, acceleration, scale, norm, interval);
  const asGiven = misfit(1);
  if (asGiven < 2 * RADIANS_PER_DEGREE) return [];
  const candidates = [
    { scale: RADIANS_PER_DEGREE, words: 'degrees per second: write "deg/s" in the mapping' },
    { scale: DEGREES_PER_RADIAN, words: 'radians per second: write "rad/s" in the mapping' },
    {
      scale: -1,
      words: 'the opposite sense of turning: check the sensor axes, or "at-rest" up and down',
    },
  ].map((candidate) => ({ ...candidate, misfit: misfit(candidate.scale) }));
  const best = candidates.reduce((a, b) => (b.misfit < a.misfit ? b : a));
  if (best.misfit * CLEARLY_BETTER > asGiven) return [];
  return [
    {
      code: 'log/units',
      message: `the rates do not turn gravity the way the accelerometer sees it (${(asGiven * DEGREES_PER_RADIAN).toFixed(1)}° off in ${COMPARE} s); they fit ${(asGiven / best.misfit).toFixed(0)} times better as ${best.words}`,
    },
  ];
}

/** Median angle between the turned and the later mean force, rad; 0 where too little can be compared. */
function turningMisfit(
  times: Float64Array,
  rate: Float64Array,
  acceleration: Float64Array,
  scale: number,
  gravity: number,
  interval: number,
): number {
  const width = Math.max(2, Math.round(COMPARE / interval));
  const angles: number[] = [];
  const blocks = Math.floor(times.length / width);
  const stride = Math.max(1, Math.floor(blocks / 500));
  for (let block = 0; block + 1 < blocks; block += stride) {
    const from = block * width;
    const before = sumOf(acceleration, from, from + width);
    const after = sumOf(acceleration, from + width, from + 2 * width);
    const accelerated = [before, after].some(
      (sum) => Math.abs(Math.hypot(...sum) / width - gravity) > UNACCELERATED,
    );
    if (accelerated) continue;
    const [x, y, z] = turnOf(times, rate, from, width);
    // In the camera a fixed direction turns the opposite way.
    const turn = quaternionFromRotationVector([-scale * x, -scale * y, -scale * z]);
    angles.push(angleBetween(rotateVector(normalizeQuaternion(turn), before), after));
  }
  return angles.length < FEWEST_COMPARED ? 0 : median(angles);
}

/** How far the rates turn from the middle of one block of samples to the middle of the next, rad. */
function turnOf(times: Float64Array, rate: Float64Array, from: number, width: number): Vector3 {
  let x = 0;
  let y = 0;
  let z = 0;
  const shift = width >> 1;
  for (let k = from; k < from + width; k++) {
    const h = times[k + 1]! - times[k]!;
    const i = 3 * (k + shift);
    x += h * rate[i]!;
    y += h * rate[i + 1]!;
    z += h * rate[i + 2]!;
  }
  return [x, y, z];
}

/** Sum of the vectors from…to − 1. */
function sumOf(vectors: Float64Array, from: number, to: number): Vector3 {
  let x = 0;
  let y = 0;
  let z = 0;
  for (let i = 3 * from; i < 3 * to; i += 3) {
    x += vectors[i]!;
    y += vectors[i + 1]!;
    z += vectors[i + 2]!;
  }
  return [x, y, z];
}

function angleBetween(a: Vector3, b: Vector3): number {
  const cross = Math.hypot(
    a[1] * b[2] - a[2] * b[1],
    a[2] * b[0] - a[0] * b[2],
    a[0] * b[1] - a[1] * b[0],
  );
  return Math.atan2(cross, a[0] * b[0] + a[1] * b[1] + a[2] * b[2]);
}

/** Seconds over which steps and jolts average out. */
const AVERAGED = 2;

/**
 * Median over stretches of two seconds of the size of the mean force, m/s²: along the sensor's axes, or
 * turned with the gyroscope where that leaves more.
 */
function averagedAcceleration(
  times: Float64Array,
  rate: Float64Array,
  acceleration: Float64Array,
): number {
  const n = times.length;
  const windows: { from: number; to: number }[] = [];
  const span = Math.min(AVERAGED, times[n - 1]!);
  const stride = Math.max(1, Math.floor(times[n - 1]! / span / 200));
  let from = 0;
  for (let window = 0; from + 1 < n; window++) {
    const to = lowerBound(times, times[from]! + span);
    if (to === from) break;
    if (window % stride === 0) windows.push({ from, to });
    from = to;
  }
  const room = roomFor(Math.max(...windows.map(({ from, to }) => to - from)));
  return median(windows.map(({ from, to }) => meanSize(times, rate, acceleration, from, to, room)));
}

/** Memory for a stretch of samples, used again: hundreds of them would be as much as half a log. */
interface Room {
  readonly steps: Float64Array;
  readonly path: Float64Array;
  readonly turned: Float64Array;
}

function roomFor(count: number): Room {
  return {
    steps: new Float64Array(3 * count),
    path: new Float64Array(4 * count),
    turned: new Float64Array(3 * count),
  };
}

/** Size of the mean force over samples from…to − 1: along the sensor's axes or turned, what is larger. */
function meanSize(
  times: Float64Array,
  rate: Float64Array,
  acceleration: Float64Array,
  from: number,
  to: number,
  { steps, path, turned }: Room,
): number {
  const count = to - from;
  for (let k = 0; k + 1 < count; k++) {
    const h = times[from + k + 1]! - times[from + k]!;
    for (let i = 3 * k; i < 3 * k + 3; i++) steps[i] = rate[3 * from + i]! * h;
  }
  path.set(IDENTITY);
  turnBySteps(steps, count - 1, path, 0);
  const fixed = acceleration.subarray(3 * from, 3 * to);
  rotateVectors(path.subarray(0, 4 * count), fixed, turned.subarray(0, 3 * count));
  return Math.max(...[fixed, turned].map((v) => Math.hypot(...sumOf(v, 0, count)) / count));
}

function medianNorm(vectors: Float64Array): number {
  const n = vectors.length / 3;
  const stride = Math.max(1, Math.floor(n / 20000));
  return median(
    Float64Array.from({ length: Math.ceil(n / stride) }, (_, k) => {
      const i = 3 * k * stride;
      return Math.hypot(vectors[i]!, vectors[i + 1]!, vectors[i + 2]!);
    }),
  );
}
