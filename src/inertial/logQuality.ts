import { TwinkeelError, type Warning } from '../error.js';
import { DEGREES_PER_RADIAN, RADIANS_PER_DEGREE } from '../math.js';
import { normalizeQuaternion, rotateVector, type Vector3 } from '../rotation/quaternion.js';
import { quaternionFromRotationVector } from '../rotation/rotationVector.js';
import type { MotionLog } from '../track/motionLog.js';
import { medianInterval, timeGaps } from '../track/times.js';

/** A stretch of a log, seconds from the first sample. */
export interface Span {
  /** Seconds from the first sample. */
  readonly from: number;
  /** Seconds from the first sample; after `from`. */
  readonly to: number;
}

/** Where a log is to be trusted less, and where its camera rests. */
export interface LogQuality {
  /** Stretches in which samples are missing. */
  readonly gaps: readonly Span[];
  /** Stretches in which the gyroscope stands at the end of its range. */
  readonly clippedRate: readonly Span[];
  /** Stretches in which the accelerometer stands at the end of its range. */
  readonly clippedForce: readonly Span[];
  /** Stretches of vibration, which rectifies into false tilt. */
  readonly vibration: readonly Span[];
  /** Stretches in which the camera rests on something still. */
  readonly rests: readonly Span[];
  /** The same in words, one for each kind of trouble. */
  readonly warnings: readonly Warning[];
}

/** Samples in a row at exactly the largest value that make a flat top. */
const FLAT_TOP = 3;
/** Steps of its resolution that a value must be from zero to stand at the end of a range (our judgement). */
const FEWEST_STEPS = 20;
/** Root mean square of the force from sample to sample above which a second counts as vibrating, m/s² (our judgement). */
const VIBRATION = 8;
/** A camera on something still: largest spread of quarter-second means within a rest (our judgement). */
const REST = {
  rate: 0.12 * RADIANS_PER_DEGREE,
  force: 0.04,
  shortest: 1.5,
  bias: 10 * RADIANS_PER_DEGREE,
  biasDrift: 0.5 * RADIANS_PER_DEGREE,
};

/**
 * Looks through a log before it is used: gaps, flat tops, vibration, rests.
 *
 * @throws TwinkeelError `log/units` when the accelerometer's values cannot be m/s²
 */
export function inspectLog(log: MotionLog): LogQuality {
  const gaps = timeGaps(log.times).map(({ after }) => ({
    from: log.times[after]!,
    to: log.times[after + 1]!,
  }));
  const clippedRate = flatTops(log.times, log.rate);
  const clippedForce = log.acceleration ? flatTops(log.times, log.acceleration) : [];
  const vibration = log.acceleration ? shakenSeconds(log.times, log.acceleration) : [];
  const rests = log.acceleration ? findRests(log.times, log.rate, log.acceleration) : [];
  return {
    gaps,
    clippedRate,
    clippedForce,
    vibration,
    rests,
    warnings: [
      ...spanWarning('log/gap', gaps, 'samples are missing; the orientation is bridged there'),
      ...spanWarning(
        'log/clipped',
        clippedRate,
        'the gyroscope is at the end of its range; turns are lost there',
      ),
      ...spanWarning(
        'log/clipped',
        clippedForce,
        'the accelerometer is at the end of its range; the horizon is less sure there',
      ),
      ...spanWarning(
        'log/vibration',
        vibration,
        'the accelerometer vibrates; the horizon is less sure there',
      ),
      ...(log.acceleration ? plausibility(log.times, log.rate, log.acceleration) : []),
    ],
  };
}

function spanWarning(code: string, spans: readonly Span[], what: string): Warning[] {
  if (spans.length === 0) return [];
  const shown = spans.slice(0, 5).map(({ from, to }) => `${from.toFixed(2)}–${to.toFixed(2)} s`);
  const more = spans.length > 5 ? ` and ${spans.length - 5} more` : '';
  return [{ code, timeS: spans[0]!.from, message: `${what}: ${shown.join(', ')}${more}` }];
}

function flatTops(times: Float64Array, vectors: Float64Array): Span[] {
  const n = times.length;
  const clipped = new Uint8Array(n);
  for (let axis = 0; axis < 3; axis++) {
    for (const sign of [1, -1]) {
      let top = 0;
      let quantum = Number.POSITIVE_INFINITY;
      for (let k = 0; k < n; k++) {
        const value = vectors[3 * k + axis]!;
        top = Math.max(top, sign * value);
        const step = k > 0 ? Math.abs(value - vectors[3 * k - 3 + axis]!) : 0;
        if (step > 0) quantum = Math.min(quantum, step);
      }
      // A log of a few values, or of one, is quantised, not clipped.
      if (top < FEWEST_STEPS * quantum) continue;
      let run = 0;
      for (let k = 0; k <= n; k++) {
        if (k < n && top > 0 && sign * vectors[3 * k + axis]! === top) run++;
        else {
          if (run >= FLAT_TOP) clipped.fill(1, k - run, k);
          run = 0;
        }
      }
    }
  }
  return spansWhere(times, (k) => clipped[k] === 1);
}

function shakenSeconds(times: Float64Array, force: Float64Array): Span[] {
  const width = Math.max(1, Math.round(1 / medianInterval(times)));
  const shaken = new Uint8Array(times.length);
  for (let start = 0; start + 1 < times.length; start += width) {
    const end = Math.min(start + width, times.length);
    let sum = 0;
    for (let i = 3 * start + 3; i < 3 * end; i++) sum += (force[i]! - force[i - 3]!) ** 2;
    if (Math.sqrt(sum / Math.max(1, end - start - 1)) > VIBRATION) shaken.fill(1, start, end);
  }
  return spansWhere(times, (k) => shaken[k] === 1);
}

/** Stretches in which quarter-second means of rate and force all stay within a narrow spread. */
function findRests(times: Float64Array, rate: Float64Array, force: Float64Array): Span[] {
  const width = Math.max(1, Math.round(0.25 / medianInterval(times)));
  const count = Math.floor(times.length / width);
  const mean = (vectors: Float64Array, block: number, axis: number) => {
    let sum = 0;
    for (let k = block * width; k < (block + 1) * width; k++) sum += vectors[3 * k + axis]!;
    return sum / width;
  };
  const rests: Span[] = [];
  let from = 0;
  const spreads = () =>
    [0, 1, 2, 3, 4, 5].map(() => [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]);
  let extremes = spreads();
  const close = (to: number) => {
    const start = times[from * width]!;
    const end = times[Math.min(to * width, times.length) - 1]!;
    if (end - start >= REST.shortest) rests.push({ from: start, to: end });
  };
  for (let block = 0; block < count; block++) {
    const values = [0, 1, 2, 3, 4, 5].map((c) => mean(c < 3 ? rate : force, block, c % 3));
    const still = () =>
      extremes.every(([low, high], c) => {
        const spread = Math.max(high!, values[c]!) - Math.min(low!, values[c]!);
        return (
          spread <= (c < 3 ? REST.rate : REST.force) && (c > 2 || Math.abs(values[c]!) < REST.bias)
        );
      });
    if (!still()) {
      close(block);
      from = block;
      extremes = spreads();
    }
    extremes.forEach((extreme, c) => {
      extreme[0] = Math.min(extreme[0]!, values[c]!);
      extreme[1] = Math.max(extreme[1]!, values[c]!);
    });
  }
  close(count);
  return ofOneBias(rests, times, rate);
}

/** The rests whose mean rate is that of the longest: a steady pan between two stands is none. */
function ofOneBias(rests: Span[], times: Float64Array, rate: Float64Array): Span[] {
  const means = rests.map(({ from, to }) => {
    const sum = [0, 0, 0];
    let count = 0;
    for (let k = 0; k < times.length; k++) {
      if (times[k]! < from || times[k]! > to) continue;
      for (let axis = 0; axis < 3; axis++) sum[axis]! += rate[3 * k + axis]!;
      count++;
    }
    return sum.map((x) => x / count);
  });
  const length = (r: number) => rests[r]!.to - rests[r]!.from;
  const longest = means.reduce((best, _, r) => (length(r) > length(best) ? r : best), 0);
  return rests.filter((_, r) =>
    means[r]!.every((mean, axis) => Math.abs(mean - means[longest]![axis]!) < REST.biasDrift),
  );
}

/** Norms of the specific force that a camera can show on average, m/s². */
const PLAUSIBLE_FORCE = { from: 7, to: 13 };
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
 * turn the force the way it turns. Nothing is converted; the message says what would fit.
 */
function plausibility(times: Float64Array, rate: Float64Array, force: Float64Array): Warning[] {
  const norm = medianNorm(force);
  if (norm < PLAUSIBLE_FORCE.from || norm > PLAUSIBLE_FORCE.to) {
    const inG = norm > 0.6 && norm < 1.5;
    throw new TwinkeelError('log/units', {
      column: 'acceleration',
      found: `a median force of ${norm.toPrecision(3)} m/s²`,
      expected: 'about 9.8 m/s²',
      remedy: inG
        ? 'the values look like multiples of gravity: write "g" instead of "m/s2" in the mapping'
        : 'check the unit and the columns of the accelerometer in the mapping',
    });
  }
  const misfit = (scale: number) => turningMisfit(times, rate, force, scale, norm);
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
  force: Float64Array,
  scale: number,
  gravity: number,
): number {
  const width = Math.max(2, Math.round(COMPARE / medianInterval(times)));
  const angles: number[] = [];
  const blocks = Math.floor(times.length / width);
  const stride = Math.max(1, Math.floor(blocks / 2000));
  for (let block = 0; block + 1 < blocks; block += stride) {
    const from = block * width;
    const turn: [number, number, number] = [0, 0, 0];
    const before = [0, 0, 0];
    const after = [0, 0, 0];
    for (let k = 0; k < width; k++) {
      const h = times[from + k + 1]! - times[from + k]!;
      for (let axis = 0; axis < 3; axis++) {
        // From the middle of one block to the middle of the next.
        const shifted = 3 * (from + k + (width >> 1)) + axis;
        turn[axis]! += scale * h * (rate[shifted] ?? 0);
        before[axis]! += force[3 * (from + k) + axis]!;
        after[axis]! += force[3 * (from + width + k) + axis]!;
      }
    }
    const accelerated = [before, after].some(
      (force) => Math.abs(Math.hypot(...force) / width - gravity) > UNACCELERATED,
    );
    if (accelerated) continue;
    // In the camera a fixed direction turns the opposite way.
    const q = normalizeQuaternion(quaternionFromRotationVector([-turn[0], -turn[1], -turn[2]]));
    const expected = rotateVector(q, before as unknown as Vector3);
    angles.push(angleBetween(expected, after as unknown as Vector3));
  }
  return angles.length < FEWEST_COMPARED ? 0 : angles.sort((a, b) => a - b)[angles.length >> 1]!;
}

function angleBetween(a: Vector3, b: Vector3): number {
  const cross = Math.hypot(
    a[1] * b[2] - a[2] * b[1],
    a[2] * b[0] - a[0] * b[2],
    a[0] * b[1] - a[1] * b[0],
  );
  return Math.atan2(cross, a[0] * b[0] + a[1] * b[1] + a[2] * b[2]);
}

function medianNorm(vectors: Float64Array): number {
  const n = vectors.length / 3;
  const stride = Math.max(1, Math.floor(n / 20000));
  const norms = Float64Array.from({ length: Math.ceil(n / stride) }, (_, k) => {
    const i = 3 * k * stride;
    return Math.hypot(vectors[i]!, vectors[i + 1]!, vectors[i + 2]!);
  }).sort();
  return norms[norms.length >> 1]!;
}

function spansWhere(times: Float64Array, holds: (sample: number) => boolean): Span[] {
  const spans: Span[] = [];
  let from = -1;
  for (let k = 0; k <= times.length; k++) {
    const on = k < times.length && holds(k);
    if (on && from < 0) from = k;
    if (!on && from >= 0) {
      spans.push({ from: times[from]!, to: times[k - 1]! });
      from = -1;
    }
  }
  return spans;
}
