import { type CorrectionResult, correct } from '../../src/correct.js';
import type { StereoRig } from '../../src/rig/stereoRig.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { type FrameRate, frameTimes, parseFrameRate } from '../../src/track/frameRate.js';
import { createTrack } from '../../src/track/orientationTrack.js';
import { fc } from '../seed.js';
import { rotations, SCALES, turnsBy } from '../turns.js';

export const RATE: FrameRate = parseFrameRate('60000/1001');

/** A short walk between the night-blooming beds, corrected; its figures go with every result. */
const walked = (() => {
  const times = frameTimes(RATE, 200);
  const look = (t: number) =>
    quaternionFromHeadingTiltRoll(0.2 * t, 0.02 * Math.sin(12 * t), 0.03 * Math.cos(6 * t));
  const quaternions = Float64Array.from([...times].flatMap((t) => [...look(t)]));
  return correct(createTrack({ times, quaternions, frameRate: RATE }));
})();

/** What a made result shall hold beside its rotations. */
export interface ResultParts {
  /** S and K at every frame. */
  readonly intended: readonly Quaternion[];
  readonly corrections: readonly Quaternion[];
  /** Number of the first frame; default 40, so that frames and indexes are never mixed up. */
  readonly first?: number;
  /** Default {@link RATE}; `none` leaves the exact rate out. */
  readonly rate?: FrameRate | 'none';
  readonly startNs?: bigint;
  readonly rig?: StereoRig;
  readonly mask?: CorrectionResult['mask'];
  /** Default half-equirect. */
  readonly picture?: CorrectionResult['picture'];
  readonly swapEyes?: boolean;
  /** Default: one usable stretch. */
  readonly stretches?: CorrectionResult['stretches'];
}

/** A result with the given rotations, their signs continuous as every result's are. */
export function resultOf(parts: ResultParts): CorrectionResult {
  const { first = 40, rate = RATE, startNs, rig, mask, picture, swapEyes = false } = parts;
  const n = parts.intended.length;
  const track = {
    times: frameTimes(rate === 'none' ? RATE : rate, n),
    frames: Int32Array.from({ length: n }, (_, k) => first + k),
    ...(rate !== 'none' && { frameRate: rate }),
  };
  const quaternions = continuous(parts.corrections);
  const { times } = track;
  const whole = {
    ...{ fromFrame: first, toFrame: first + n - 1, fromSeconds: 0 },
    ...{ toSeconds: (times[n - 1]! * n) / Math.max(1, n - 1), verdict: 'usable' as const },
  };
  return {
    ...walked,
    corrections: { ...track, quaternions },
    intended: {
      ...track,
      quaternions: continuous(parts.intended),
      ...(startNs !== undefined && { startNs }),
      up: 'stated',
      warnings: [],
    },
    swapEyes,
    stretches: parts.stretches ?? [whole],
    ...(mask && { mask }),
    ...(picture && { picture }),
    ...(rig && { rig }),
  };
}

/** Neighbours within 90° of each other in four dimensions, the first with w ≥ 0. */
function continuous(list: readonly Quaternion[]): Float64Array {
  let before: Quaternion = [0, 0, 0, 1];
  return Float64Array.from(
    list.flatMap((q) => {
      const dot = q.reduce((sum, value, i) => sum + value * before[i]!, 0);
      // Zero instead of −0, which no text of numbers keeps.
      before = q.map((value) => (dot < 0 ? -value : value) + 0) as unknown as Quaternion;
      return before;
    }),
  );
}

/** Results of two to nine frames with any rotations at all. */
export const anyResults: fc.Arbitrary<ResultParts> = fc
  .array(fc.tuple(rotations, turnsBy(fc.oneof(SCALES.identity, SCALES.random))), {
    minLength: 2,
    maxLength: 9,
  })
  .map((frames) => ({
    intended: frames.map(([s]) => s),
    corrections: frames.map(([, k]) => k.q),
  }));

/** A matrix of three rows that acts on column vectors. */
export type Rows = readonly (readonly [number, number, number])[];

/** The matrix of a unit quaternion x, y, z, w, from its definition v' = q v q*. */
export function matrixOf([x, y, z, w]: Quaternion): Rows {
  return [
    [w * w + x * x - y * y - z * z, 2 * (x * y - w * z), 2 * (x * z + w * y)],
    [2 * (x * y + w * z), w * w - x * x + y * y - z * z, 2 * (y * z - w * x)],
    [2 * (x * z - w * y), 2 * (y * z + w * x), w * w - x * x - y * y + z * z],
  ];
}

/** The product of matrices, from left to right. */
export function product(...matrices: readonly Rows[]): Rows {
  return matrices.reduce((a, b) =>
    a.map(
      (row) =>
        [0, 1, 2].map((j) => row.reduce((sum, value, k) => sum + value * b[k]![j]!, 0)) as [
          number,
          number,
          number,
        ],
    ),
  );
}

export function transposed(m: Rows): Rows {
  return [0, 1, 2].map((i) => m.map((row) => row[i]!) as unknown as [number, number, number]);
}

/** A vector turned by a matrix. */
export function apply(m: Rows, v: readonly [number, number, number]): [number, number, number] {
  return m.map((row) => row[0] * v[0] + row[1] * v[1] + row[2] * v[2]) as [number, number, number];
}

/** The right-handed turn about one axis of the coordinates, by an angle in radians. */
export function turnAbout(axis: 'x' | 'y' | 'z', angle: number): Rows {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  switch (axis) {
    case 'x':
      return [
        [1, 0, 0],
        [0, c, -s],
        [0, s, c],
      ];
    case 'y':
      return [
        [c, 0, s],
        [0, 1, 0],
        [-s, 0, c],
      ];
    case 'z':
      return [
        [c, -s, 0],
        [s, c, 0],
        [0, 0, 1],
      ];
  }
}
