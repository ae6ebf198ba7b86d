import { describe, expect, test } from 'vitest';
import { makeHandheldLog, type SensorErrors } from '../../bench/accuracy/handheldLog.js';
import { inclinationRms } from '../../bench/accuracy/inclination.js';
import type { WalkKind } from '../../bench/accuracy/walks.js';
import { type OrientedLog, orientLog } from '../../src/inertial/orientLog.js';
import {
  composeQuaternions,
  invertQuaternions,
  quaternionAt,
  rotateVectors,
} from '../../src/rotation/arrays.js';
import { quaternionFromEuler } from '../../src/rotation/euler.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import {
  IDENTITY,
  invertQuaternion,
  multiplyQuaternions,
  type Quaternion,
  rotateVector,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { integrateRate } from '../../src/track/integrate.js';
import { createMotionLog, type MotionLog } from '../../src/track/motionLog.js';
import { largestGap } from '../apart.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { rotations } from '../turns.js';

const GRAVITY = 9.80665;
const DEGREE = Math.PI / 180;

/** A motion in closed form: orientation camera→world and rate about the camera axes. */
interface Motion {
  readonly orientation: (t: number) => Quaternion;
  readonly rate: (t: number) => Vector3;
  /** Norms of the rate, rad/s, of its first derivative and of its second. */
  readonly norms: readonly [number, number, number];
}

/** An axis that runs round a cone of 5° once a second, as in the published tests of coning. */
const CONE = 5 * DEGREE;
const ROUND = 2 * Math.PI;
const coning: Motion = {
  orientation: (t) => {
    const half = Math.sin(CONE / 2);
    return [half * Math.cos(ROUND * t), half * Math.sin(ROUND * t), 0, Math.cos(CONE / 2)];
  },
  rate: (t) => {
    const across = ROUND * Math.sin(CONE);
    return [
      -across * Math.sin(ROUND * t),
      across * Math.cos(ROUND * t),
      -ROUND * (1 - Math.cos(CONE)),
    ];
  },
  norms: [1, 2, 3].map((n) => (n === 1 ? 2 * Math.sin(CONE / 2) : Math.sin(CONE)) * ROUND ** n) as [
    number,
    number,
    number,
  ],
};

/** The torque-free symmetric top with moments 1, 1 and 1.8: it tumbles through every direction. */
const START = quaternionFromEuler('ZYX', [30 * DEGREE, 20 * DEGREE, 10 * DEGREE], 'intrinsic');
const MOMENTUM: Vector3 = rotateVector(START, [0.5, 0, 1.8 * 1.2]);
const top: Motion = {
  orientation: (t) => {
    const turned = quaternionFromRotationVector([
      MOMENTUM[0] * t,
      MOMENTUM[1] * t,
      MOMENTUM[2] * t,
    ]);
    const spun = quaternionFromRotationVector([0, 0, -0.96 * t]);
    return multiplyQuaternions(multiplyQuaternions(turned, START), spun);
  },
  rate: (t) => [0.5 * Math.cos(0.96 * t), 0.5 * Math.sin(0.96 * t), 1.2],
  norms: [1.3, 0.48, 0.4608],
};

const evenly = (perSecond: number, seconds: number) =>
  Float64Array.from({ length: perSecond * seconds + 1 }, (_, k) => k / perSecond);

/** What sensors on this motion log that see nothing but gravity, each late by its delay. */
function logOf({ orientation, rate }: Motion, times: Float64Array, late = { rate: 0, force: 0 }) {
  return createMotionLog({
    times,
    rate: Float64Array.from([...times].flatMap((t) => [...rate(t - late.rate)])),
    acceleration: Float64Array.from(
      [...times].flatMap((t) => [
        ...rotateVector(invertQuaternion(orientation(t - late.force)), [0, GRAVITY, 0]),
      ]),
    ),
  });
}

const pathOf = ({ orientation }: Motion, times: Float64Array) =>
  Float64Array.from([...times].flatMap((t) => [...orientation(t)]));

/** Largest tilt, and largest turn about the vertical since the first, between two paths, rad. */
function off(estimate: Float64Array, truth: Float64Array) {
  const errors = composeQuaternions(estimate, invertQuaternions(truth));
  const n = errors.length / 4;
  const tilts = Array.from({ length: n }, (_, k) => {
    const [x, , z] = quaternionAt(errors, k);
    return 2 * Math.asin(Math.min(1, Math.hypot(x, z)));
  });
  const first = invertQuaternion(quaternionAt(errors, 0));
  const turns = tilts.map((_, k) => {
    const [, y, , w] = multiplyQuaternions(quaternionAt(errors, k), first);
    return 2 * Math.abs(Math.atan(y / w));
  });
  return { tilts, tilt: Math.max(...tilts), heading: Math.max(...turns) };
}

/**
 * How far gravity is off between two samples: the mean of two vectors that lie a turn φ apart is
 * shorter across its axis by 1 − cos(φ/2) ≤ φ²/8, which turns it by half of that at most.
 */
const chord = ({ norms }: Motion, step: number) => (norms[0] * step) ** 2 / 16;

const MOTIONS: [string, Motion][] = [
  ['coning', coning],
  ['a symmetric top', top],
];
const INSTANT = { sampling: 'instant' } as const;

describe.each(MOTIONS)('a log of %s under gravity alone', (_name, motion) => {
  test.each([25, 50, 100])('is oriented to a chord at %d samples a second', (perSecond) => {
    const times = evenly(perSecond, 10);
    const { track } = orientLog(logOf(motion, times), INSTANT);
    const { tilt, heading } = off(track.quaternions, pathOf(motion, times));
    // Zero velocity and no bias are the truth, so that nothing else pulls; a false tilt that comes
    // and goes makes a false bias, but none that turns the heading further than the tilt.
    expect(tilt).toBeLessThan(chord(motion, 1 / perSecond));
    expect(heading).toBeLessThan(chord(motion, 1 / perSecond));
    expect(track.up).toBe('gravity');
    // Nothing rests here, so nothing tells the heading's part of the gyro's error.
    expect(track.warnings.map(({ code }) => code)).toEqual(['log/heading-drift']);
  });

  test('run backwards with the rates negated gives the same orientations backwards', () => {
    const times = evenly(100, 10);
    const forward = logOf(motion, times);
    const reversed = (vectors: Float64Array, sign: number) =>
      vectors.map((_, i) => sign * vectors[vectors.length - 3 - i + 2 * (i % 3)]!);
    const backward = createMotionLog({
      times,
      rate: reversed(forward.rate, -1),
      acceleration: reversed(forward.acceleration!, 1),
    });
    const path = orientLog(backward, INSTANT).track.quaternions;
    const again = path.map((_, i) => path[path.length - 4 - i + 2 * (i % 4)]!);
    const { tilt, heading } = off(again, orientLog(forward, INSTANT).track.quaternions);
    // Each is within a chord of the truth.
    expect(tilt).toBeLessThan(2 * chord(motion, 0.01));
    expect(heading).toBeLessThan(2 * chord(motion, 0.01));
  });
});

test('samples at uneven times are oriented to second order in their distance', () => {
  const step = 0.01;
  const jittered = evenly(100, 10).map(
    (t, k) => t + (k > 0 && k < 1000 ? 0.3 * step * Math.sin(13 * k) : 0),
  );
  const steps = [...jittered].slice(1).map((t, k) => t - jittered[k]!);
  const { track } = orientLog(logOf(top, jittered), INSTANT);
  const { tilt, heading } = off(track.quaternions, pathOf(top, jittered));
  // The trapezoid leaves out h³/12 ω″ of each step, which at worst add up.
  const trapezoid = steps.reduce((sum, h) => sum + (h ** 3 / 12) * top.norms[2], 0);
  const bound = trapezoid + chord(top, Math.max(...steps));
  expect(tilt).toBeLessThan(bound);
  expect(heading).toBeLessThan(bound);
});

describe('delays', () => {
  const times = evenly(200, 10);
  const step = 0.005;
  /** Errors where both the stamps and what they describe lie inside the log. */
  const inside = (log: OrientedLog) => {
    const within = (path: Float64Array) => path.subarray(4 * 10, path.length - 4 * 10);
    return off(within(log.track.quaternions), within(pathOf(top, times)));
  };

  test.each([0.004, 0.02, -0.013])(
    'stamps that are %d s late against the motion are read as much earlier',
    (delay) => {
      const log = logOf(top, times, { rate: delay, force: delay });
      const { tilt, heading } = inside(orientLog(log, { ...INSTANT, sensorDelay: delay }));
      // A steady rate between two samples leaves out h²/8 of its change.
      const bound = chord(top, step) + (step ** 2 / 8) * top.norms[1];
      expect(tilt).toBeLessThan(bound);
      expect(heading).toBeLessThan(bound);
      // Otherwise everything is off by what the top turns in the meantime.
      expect(inside(orientLog(log, INSTANT)).tilt).toBeGreaterThan(
        Math.abs(delay) * (top.norms[0] - 0.1),
      );
    },
  );

  test.each([0.004, 0.02, -0.013])(
    'forces that are %d s late against the rates are read as much earlier',
    (delay) => {
      const log = logOf(top, times, { rate: 0, force: delay });
      const corrected = inside(orientLog(log, { ...INSTANT, accelerationDelay: delay }));
      // The straight line between two samples is another chord. At one end the force is held for
      // the length of the delay: off by |ω| d at last, it adds |ω| d²/2 to the velocity in units
      // of gravity, which the model's tilts spread over the second before.
      const bound = 2 * chord(top, step) + (top.norms[0] * delay ** 2) / 2;
      expect(corrected.tilt).toBeLessThan(bound);
      expect(inside(orientLog(log, INSTANT)).tilt).toBeGreaterThan(10 * bound);
    },
  );
});

describe('a camera at rest', () => {
  /** Twenty seconds on a flower table, 200 samples a second. */
  const times = evenly(200, 20);
  const resting = (q: Quaternion, bias: Vector3) =>
    logOf({ orientation: () => q, rate: () => bias, norms: [0, 0, 0] }, times);

  test('shows the bias of its gyroscope', () => {
    const bias: Vector3 = [0.03, -0.02, 0.05];
    const { gyroBias, quality } = orientLog(resting(START, bias));
    expect(quality.rests).toHaveLength(1);
    gyroBias.value.forEach((value, i) => {
      // The prior of 3 °/s around zero weighs as much less as its variance is larger.
      const pull = (gyroBias.deviation[i]! / (3 * DEGREE)) ** 2 * Math.abs(bias[i]!);
      expect(Math.abs(value - bias[i]!)).toBeLessThan(pull);
    });
  });

  test('is level, with the heading of the shortest turn upwards', () => {
    const horizontal = fc
      .tuple(fc.integer({ min: -300, max: 300 }), fc.integer({ min: -300, max: 300 }))
      .map(([x, z]): Quaternion => quaternionFromRotationVector([x / 100, 0, z / 100]));
    fc.assert(
      fc.property(horizontal, (q) => {
        const { track } = orientLog(resting(q, [0, 0, 0]));
        const truth = pathOf(
          { orientation: () => q, rate: () => [0, 0, 0], norms: [0, 0, 0] },
          times,
        );
        const errors = composeQuaternions(track.quaternions, invertQuaternions(truth));
        expect(Math.abs(Math.asin(quaternionAt(errors, 0)[1]))).toBeLessThan(1e-9);
        // Nothing moves; what is left is rounding of a thousand nodes.
        expect(off(track.quaternions, truth).tilt).toBeLessThan(1e-9);
      }),
      { numRuns: 5 },
    );
  });

  test('hanging straight down is level too', () => {
    const { track } = orientLog(resting([0, 0, 1, 0], [0, 0, 0]));
    const [x, , z] = rotateVector(quaternionAt(track.quaternions, 2000), [0, -1, 0]);
    expect(Math.hypot(x, z)).toBeLessThan(1e-9);
  });
});

test('a constant spin about the vertical turns the heading at its rate', () => {
  const spin: Motion = {
    orientation: (t) => quaternionFromHeadingTiltRoll(0.5 * t, 0, 0),
    rate: () => [0, 0.5, 0],
    norms: [0.5, 0, 0],
  };
  const times = evenly(100, 20);
  for (const sampling of ['instant', 'interval'] as const) {
    const { tilt, heading } = off(
      orientLog(logOf(spin, times), { sampling }).track.quaternions,
      pathOf(spin, times),
    );
    // Level and still all along: only products of 8 epsilons, three for each sample.
    expect(tilt).toBeLessThan(2000 * 24 * Number.EPSILON);
    expect(heading).toBeLessThan(2000 * 24 * Number.EPSILON);
  }
});

describe('a hand-held walk between the beds', () => {
  const SECONDS = 30;
  const WALKS: [WalkKind, number][] = [
    ['roaming', 11],
    ['scurve', 12],
    ['turn90', 13],
    ['panhold', 14],
    ['locked', 15],
    ['tilt', 16],
  ];
  /** As the model takes them together: 0.04 m/s² on each axis where the gyroscope is off by 1 °/s. */
  const CALIBRATED: SensorErrors = { gyroBiasDegPerS: 1, accelBias: 0.04 * Math.sqrt(3) };

  test.each(WALKS)('%s %d: the horizon is off by less than 1°', (kind, seed) => {
    const { log, truth } = makeHandheldLog(kind, seed, SECONDS);
    const { track } = orientLog(log);
    // The constant error of this accelerometer, 0.15 m/s², alone tilts gravity by 0.88°, and
    // nothing in a walk tells it from a tilt; 0.45° are left for footsteps, pace and gyroscope.
    expect(inclinationRms(track, log.times, truth, 0)).toBeLessThan(1);
  });

  test('the stated deviation of the horizon is within a factor of three of the errors', () => {
    // The model takes the velocity for white; that of steps and pace is not, and goes on for seconds.
    const shares = WALKS.flatMap(([kind, seed]) => {
      const { log, truth } = makeHandheldLog(kind, seed, SECONDS, CALIBRATED);
      const { track, quality } = orientLog(log);
      const { tilts } = off(track.quaternions, truth);
      return Array.from(
        quality.tiltDeviation,
        (deviation, k) => tilts[Math.round(quality.times[k]! * 200)]! / deviation,
      );
    });
    const rms = Math.sqrt(shares.reduce((sum, share) => sum + share ** 2, 0) / shares.length);
    expect(rms).toBeGreaterThan(1 / 3);
    expect(rms).toBeLessThan(3);
  });

  const turnedSensor = (log: MotionLog, q: Quaternion) => ({
    ...log,
    rate: rotateVectors(q, log.rate),
    acceleration: rotateVectors(q, log.acceleration!),
  });

  test('it does not matter which way the sensor sits in the camera when its axes are renamed', () => {
    const third: Quaternion = [0.5, 0.5, 0.5, 0.5];
    for (const [kind, seed] of WALKS) {
      const { log } = makeHandheldLog(kind, seed, SECONDS);
      const upright = orientLog(log).track.quaternions;
      const { track } = orientLog(turnedSensor(log, third));
      // The same sums in another order, 6000 samples and 600 nodes in two passes of two directions:
      // 1e-16 times 1e4 operations, times the 1e3 between the largest and the smallest deviation.
      const { tilt, heading } = off(composeQuaternions(track.quaternions, third), upright);
      expect(tilt).toBeLessThan(1e-9);
      expect(heading).toBeLessThan(1e-9);
    }
  });

  test('a sensor that sits in the camera at any angle finds the same horizon', () => {
    const { log } = makeHandheldLog('roaming', 11, SECONDS);
    const upright = orientLog(log);
    fc.assert(
      fc.property(rotations, (q) => {
        const { track } = orientLog(turnedSensor(log, q));
        const { tilts } = off(composeQuaternions(track.quaternions, q), upright.track.quaternions);
        // Only the median of the first force depends on the axes. It is worth a deviation of 0.5
        // rad against a few thousandths at the end, less than a hundredth of what is found.
        upright.quality.tiltDeviation.forEach((deviation, k) => {
          const sample = Math.round(upright.quality.times[k]! * 200);
          expect(tilts[sample]).toBeLessThan(deviation / 100);
        });
      }),
      { numRuns: 5 },
    );
  });

  const without = (log: MotionLog, from: number, to: number): MotionLog => {
    const kept = [...log.times.keys()].filter((k) => !(log.times[k]! > from && log.times[k]! < to));
    const pick = (values: Float64Array, width: number) =>
      Float64Array.from(kept.flatMap((k) => [...values.subarray(width * k, width * (k + 1))]));
    return createMotionLog({
      times: pick(log.times, 1),
      rate: pick(log.rate, 3),
      acceleration: pick(log.acceleration!, 3),
    });
  };
  /** Largest stated deviation of the horizon within a second of a time. */
  const deviationAround = ({ quality }: OrientedLog, time: number) =>
    Math.max(...quality.tiltDeviation.filter((_, k) => Math.abs(quality.times[k]! - time) < 1));

  test('a gap is bridged, named, and known to be less sure', () => {
    const { log, truth } = makeHandheldLog('roaming', 11, SECONDS);
    // What may hide in the accelerometer would hide what the gap costs.
    const known = { accelBiasDeviation: 0.015 };
    const whole = orientLog(log, known);
    const gappy = without(log, 12, 12.3);
    const bridged = orientLog(gappy, known);
    expect(bridged.track.times).toEqual(gappy.times);
    expect(bridged.track.warnings).toContainEqual(
      expect.objectContaining({ code: 'log/gap', timeS: 12 }),
    );
    // A camera may turn by 0.5 rad/s unseen; the horizon beside the gap keeps what the coloured
    // velocity of a walk costs, so that the doubt grows by less than it did for a white one.
    expect(deviationAround(bridged, 12.15)).toBeGreaterThan(1.5 * deviationAround(whole, 12.15));
    // 0.3 s of a walk that turns by 0.4 rad/s at most nine tenths of the time are soon made good.
    expect(inclinationRms(bridged.track, log.times, truth, 0)).toBeLessThan(1);
  });

  /** The log with one kind of values held within a range that some of them leave. */
  const held = (log: MotionLog, name: 'rate' | 'acceleration', limit: number): MotionLog => ({
    ...log,
    [name]: log[name]!.map((x) => Math.min(Math.max(x, -limit), limit)),
  });

  test.each([
    ['rate', 0.72, 'gyroscope'],
    ['acceleration', 11.5, 'accelerometer'],
  ] as const)(
    'where the %s is at the end of its range the horizon is known to be less sure',
    (name, limit, who) => {
      const { log } = makeHandheldLog('roaming', 11, SECONDS);
      const clipped = orientLog(held(log, name, limit));
      expect(clipped.track.warnings).toContainEqual(
        expect.objectContaining({
          code: 'log/clipped',
          message: expect.stringContaining(`the ${who} is at the end of its range`),
        }),
      );
      const sum = ({ quality }: OrientedLog) => quality.tiltDeviation.reduce((a, b) => a + b, 0);
      expect(sum(clipped)).toBeGreaterThan(sum(orientLog(log)));
    },
  );
});

test('without an accelerometer the rates are integrated, and the horizon is unknown', () => {
  const { acceleration: _, ...log } = makeHandheldLog('scurve', 11, 10).log;
  const { track, gyroBias, accelBias, quality } = orientLog(log);
  const integrated = integrateRate(log.times, log.rate, IDENTITY, 'interval');
  // Normalised once more.
  expect(largestGap(track.quaternions, integrated)).toBeLessThan(2 * Number.EPSILON);
  expect(track.up).toBe('unknown');
  expect(track.warnings.map(({ code }) => code)).toEqual(['log/no-accelerometer']);
  const nothing = { value: [0, 0, 0], deviation: new Array(3).fill(Number.POSITIVE_INFINITY) };
  expect([gyroBias, accelBias]).toEqual([nothing, nothing]);
  expect(new Set(quality.tiltDeviation)).toEqual(new Set([Number.POSITIVE_INFINITY]));
});

test('two samples make a level track of two orientations', () => {
  const log = logOf(
    { orientation: () => START, rate: () => [0, 0, 0], norms: [0, 0, 0] },
    Float64Array.of(0, 0.01),
  );
  const { track, quality } = orientLog(log);
  expect(track.quaternions).toHaveLength(8);
  const truth = Float64Array.of(...START, ...START);
  // The first force is turned upwards to rounding, and nothing moves.
  expect(off(track.quaternions, truth).tilt).toBeLessThan(100 * Number.EPSILON);
  expect(quality.tiltDeviation.every((deviation) => deviation > 0)).toBe(true);
});

test('a single sample is no log', () => {
  const one = { times: Float64Array.of(0), rate: new Float64Array(3) };
  expect(() => orientLog(createMotionLog(one))).toThrow(complaint('log/too-short', '1 sample'));
});

test('the log that comes in is left as it was, and its start and its warnings go on', () => {
  const { log } = makeHandheldLog('scurve', 11, 5);
  const given = {
    ...log,
    startNs: 7n,
    warnings: [{ code: 'log/stamps', message: 'moth on the lens' } as const],
  };
  const copy = structuredClone(given);
  const { track } = orientLog(given, { accelerationDelay: 0.002, sensorDelay: 0.001 });
  expect(given).toEqual(copy);
  expect(track.startNs).toBe(7n);
  expect(track.warnings).toContainEqual(given.warnings[0]);
});
