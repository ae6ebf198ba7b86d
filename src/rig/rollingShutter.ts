import { quaternionAt } from '../rotation/arrays.js';
import {
  invertQuaternion,
  multiplyQuaternions,
  type Quaternion,
  rotateVector,
  type Vector3,
} from '../rotation/quaternion.js';
import {
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from '../rotation/rotationVector.js';
import { angularRate } from '../track/angularRate.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { interpolateTrack } from '../track/resample.js';
import { imageRadius } from './lens.js';
import type { EyeReadout, StereoRig } from './stereoRig.js';

/**
 * Corrective rotations of the rows of one frame, in bands from the top: while the sensor is read
 * the camera turns on, so each row has its own K(y) = S⁻¹ C(t + start + y · readout) L, L the eye's alignment. S is one for the
 * frame: the view stands still while the rows differ.
 *
 * @param measured - C over the clip
 * @param intended - S at the frame
 * @param frame - index of the frame
 * @param rig - states readout and alignment
 * @param eye - whose rows
 * @param bands - how many; 8 keep the error of a band below a tenth of the whole skew
 * @returns unit quaternions from the top band to the bottom one, length 4 · bands
 * @example
 * const intended = quaternionAt(result.intended.quaternions, 100);
 * const bands = rowCorrections(track, intended, 100, rig, 'left');
 * angularDistance(quaternionAt(bands, 0), quaternionAt(bands, 7)); // 0.006 rad
 */
export function rowCorrections(
  measured: OrientationTrack,
  intended: Quaternion,
  frame: number,
  rig: StereoRig,
  eye: 'left' | 'right',
  bands = 8,
): Float64Array {
  const { alignment, readout } = rig.eyes[eye];
  const times = Float64Array.from(
    { length: bands },
    (_, band) => measured.times[frame]! + rowDelay((band + 0.5) / bands, readout, rig.readoutMs),
  );
  // Interpolation wants rising times; rows read from the bottom come in falling order.
  const order = Array.from(times.keys()).sort((a, b) => times[a]! - times[b]!);
  const at = betweenFrames(
    measured,
    Float64Array.from(order, (band) => times[band]!),
  );
  const inverse = invertQuaternion(intended);
  const out = new Float64Array(4 * bands);
  order.forEach((band, k) => {
    out.set(
      multiplyQuaternions(multiplyQuaternions(inverse, quaternionAt(at, k)), alignment),
      4 * band,
    );
  });
  return out;
}

/**
 * C between the frames of a clip, by the spherical quadrangle: a straight line from frame to frame
 * cuts the corners that the steps of a walk make, worst in the rows halfway between frames.
 *
 * Only the samples around the asked times take part. Before the first and after the last frame the
 * camera is taken to turn on for two frames, and then to stand; its rate there is bounded.
 *
 * @param times - s, rising
 * @returns unit quaternions x, y, z, w; length 4 · times
 */
export function betweenFrames(measured: OrientationTrack, times: Float64Array): Float64Array {
  const own = measured.times;
  const last = own.length - 1;
  if (last < 1) {
    const held = quaternionAt(measured.quaternions, 0);
    return Float64Array.from([...times].flatMap(() => [...held]));
  }
  const from = Math.max(0, lastBefore(own, times[0]!) - 2);
  const to = Math.min(last, lastBefore(own, times[times.length - 1]!) + 3);
  const none = { times: [], quaternions: [] };
  const before = from === 0 ? turnedOn(measured, 1, 0) : none;
  const after = to === last ? turnedOn(measured, last - 1, last) : none;
  const inside = measured.quaternions.subarray(4 * from, 4 * to + 4);
  const around = {
    times: joined([...before.times].reverse(), own.subarray(from, to + 1), after.times),
    quaternions: joined(
      [...before.quaternions].reverse().flat(),
      inside,
      [...after.quaternions].flat(),
    ),
    // Only its rotations are asked for.
    ...{ up: 'unknown' as const, warnings: [] },
  };
  return interpolateTrack(around, times, 'squad');
}

/**
 * Two samples beyond an end of the clip, in steps of as much time: the rate goes on changing as it
 * did between the last two stretches, but grows no larger than either.
 *
 * @param next - index of the neighbour of the end's sample
 * @param end - index of the end's sample, the first or the last
 */
function turnedOn(
  { times, quaternions }: OrientationTrack,
  next: number,
  end: number,
): { times: number[]; quaternions: Quaternion[] } {
  const q = (k: number) => quaternionAt(quaternions, k);
  const turn = (from: number, to: number) =>
    rotationVectorFromQuaternion(multiplyQuaternions(invertQuaternion(q(from)), q(to)));
  const interval = times[end]! - times[next]!;
  const last = turn(next, end);
  const further = 2 * next - end;
  const before =
    further >= 0 && further < times.length
      ? turn(further, next).map((x) => (x * interval) / (times[next]! - times[further]!))
      : last;
  const wanted = last.map((x, i) => 2 * x - before[i]!);
  const most = Math.max(Math.hypot(...last), Math.hypot(...before));
  const scale = Math.min(1, most / Math.max(Math.hypot(...wanted), Number.MIN_VALUE));
  const step = quaternionFromRotationVector(wanted.map((x) => scale * x) as unknown as Vector3);
  const first = multiplyQuaternions(q(end), step);
  return {
    times: [times[end]! + interval, times[end]! + 2 * interval],
    quaternions: [first, multiplyQuaternions(first, step)],
  };
}

function joined(...parts: readonly ArrayLike<number>[]): Float64Array {
  const out = new Float64Array(parts.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

/** Index of the last sample at or before a time; the first where there is none. */
function lastBefore(times: Float64Array, time: number): number {
  let [low, high] = [0, times.length];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (times[middle]! <= time) low = middle;
    else high = middle;
  }
  return low;
}

/** The rows, from the top edge 0 to the bottom edge 1, by which a whole readout is described. */
export const DESCRIBED_ROWS: readonly number[] = [0, 0.25, 0.5, 0.75, 1];

/**
 * Where the camera pointed while each of {@link DESCRIBED_ROWS} of an eye was read, at every frame.
 *
 * @param measured - C over the clip; n frames
 * @param rig - states the readout
 * @param eye - whose rows
 * @returns C of each of those rows, length 4n each; nothing where all rows are read at the frame's
 *   own time
 */
export function orientationsOfRows(
  measured: OrientationTrack,
  rig: StereoRig,
  eye: 'left' | 'right',
): Float64Array[] {
  if (furthestRowMs(rig) === 0 || measured.times.length < 2) return [];
  const { readout } = rig.eyes[eye];
  return DESCRIBED_ROWS.map((row) => {
    const delay = rowDelay(row, readout, rig.readoutMs);
    return betweenFrames(
      measured,
      measured.times.map((time) => time + delay),
    );
  });
}

/** Seconds after the frame's time at which a row is read; `row` 0 at the top, 1 at the bottom. */
function rowDelay(row: number, { startMs, firstRow }: EyeReadout, readoutMs: number): number {
  return (startMs + (firstRow === 'top' ? row : 1 - row) * readoutMs) / 1000;
}

/** Steps of the fixed point; the error shrinks each time by rate · readout / field, about 1 %. */
const FIXED_POINT_STEPS = 2;

/**
 * Where the camera saw a direction of the corrected view, with the shutter rolling: the direction
 * decides the row, the row the time, and the time the direction. Two rounds suffice below 100 °/s.
 *
 * @param measured - C over the clip
 * @param intended - S at the frame
 * @param frame - index of the frame
 * @param view - direction in the corrected view
 * @param rig - states readout, lens and alignment
 * @param eye - whose picture
 * @returns direction in the eye's own axes
 * @example
 * const intended = quaternionAt(result.intended.quaternions, 100);
 * const seen = sourceDirection(track, intended, 100, [0, 0, -1], rig, 'left');
 * seen; // [0.015, 0.001, -1.000]
 */
export function sourceDirection(
  measured: OrientationTrack,
  intended: Quaternion,
  frame: number,
  view: Vector3,
  rig: StereoRig,
  eye: 'left' | 'right',
): Vector3 {
  const { alignment, readout } = rig.eyes[eye];
  const world = rotateVector(intended, view);
  const toEye = invertQuaternion(alignment);
  let row = 0.5;
  let seen: Vector3 = view;
  for (let step = 0; step <= FIXED_POINT_STEPS; step++) {
    const time = measured.times[frame]! + rowDelay(row, readout, rig.readoutMs);
    const c = quaternionAt(betweenFrames(measured, Float64Array.of(time)), 0);
    seen = rotateVector(toEye, rotateVector(invertQuaternion(c), world));
    row = rowOfDirection(seen, rig);
  }
  return seen;
}

/**
 * Height of a direction in an eye's picture, 0 at the top edge of the image circle, 1 at the bottom.
 *
 * @param direction - in the eye's own axes
 * @param rig - states the lens
 * @returns 0 to 1, without unit; beyond for directions outside the field
 * @example
 * rowOfDirection([0, 0, -1], DEFAULT_RIG); // 0.5, the middle row
 */
export function rowOfDirection([x, y, z]: Vector3, { lens }: StereoRig): number {
  const across = Math.hypot(x, y);
  const radius = imageRadius(lens.mapping, Math.atan2(across, -z));
  const edge = imageRadius(lens.mapping, (lens.fieldDeg * Math.PI) / 360);
  return 0.5 - (across === 0 ? 0 : (0.5 * radius * (y / across)) / edge);
}

/** How far from the frame's time its furthest row is read in either eye, ms. */
export function furthestRowMs({ readoutMs, eyes }: StereoRig): number {
  return Math.max(
    ...[eyes.left.readout, eyes.right.readout].flatMap(({ startMs }) => [
      Math.abs(startMs),
      Math.abs(startMs + readoutMs),
    ]),
  );
}

/**
 * Largest error in the view, arcmin, of every frame if the rolling of the shutter is ignored and the
 * frame's time taken for all rows: the turn until the row read furthest from it, at 90° of 95° from
 * the middle of an equidistant picture.
 *
 * @param measured - C over the clip; n samples
 * @param rig - states readout and fields
 * @returns arcmin, length n; 0 for a global shutter whose rows are read at the frame's time
 * @example
 * ignoredReadoutArcmin(track, rig)[100]; // 23.0 arcmin
 */
export function ignoredReadoutArcmin(measured: OrientationTrack, rig: StereoRig): Float64Array {
  const rates = angularRate(measured, 'camera');
  const edge = Math.min(1, rig.outputFieldDeg / rig.lens.fieldDeg);
  const factor = ((furthestRowMs(rig) / 1000) * edge * 180 * 60) / Math.PI;
  return Float64Array.from(
    { length: measured.times.length },
    (_, k) => factor * Math.hypot(rates[3 * k]!, rates[3 * k + 1]!, rates[3 * k + 2]!),
  );
}
