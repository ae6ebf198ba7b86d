import { halfCosine, halfSineOverAngle } from '../rotation/rotationVector.js';

/** What the smoother needs of the samples: made once per log. */
export interface StrapdownSamples {
  /** Seconds; length n. */
  readonly times: Float64Array;
  /** Rotation vectors from sample to sample for zero bias, rad; length 3(n − 1). */
  readonly increments: Float64Array;
  /** Mean specific force from sample to sample, m/s²; length 3(n − 1). */
  readonly force: Float64Array;
}

/** State and sensitivities carried over one segment; buffers are reused from call to call. */
export interface Segment {
  /** Orientation at the end of the segment, body→world x, y, z, w. */
  readonly end: Float64Array;
  /** Integral of the specific force in the world over the segment, m/s; gravity included. */
  readonly impulse: Float64Array;
  /** d(attitude error)/d(gyro bias), 3 × 3, s. */
  readonly attitudeByGyro: Float64Array;
  /** d(velocity)/d(attitude error at the start), 3 × 3, m/s. */
  readonly velocityByAttitude: Float64Array;
  /** d(velocity)/d(gyro bias), 3 × 3, m. */
  readonly velocityByGyro: Float64Array;
  /** d(velocity)/d(accelerometer bias), 3 × 3, s. */
  readonly velocityByForce: Float64Array;
  /** ∫ |ω|² dt over the segment, rad²/s. */
  turning: number;
}

export function newSegment(): Segment {
  return {
    end: new Float64Array(4),
    impulse: new Float64Array(3),
    attitudeByGyro: new Float64Array(9),
    velocityByAttitude: new Float64Array(9),
    velocityByGyro: new Float64Array(9),
    velocityByForce: new Float64Array(9),
    turning: 0,
  };
}

/**
 * Carries an orientation over the samples [from, to] with the biases taken off, and accumulates
 * what the specific force adds to the velocity and how all of it depends on the errors. The
 * attitude error is a rotation vector in the world, q_true = Exp(θ) q.
 *
 * @param samples - see {@link StrapdownSamples}
 * @param from - first sample of the segment
 * @param to - last sample of the segment
 * @param start - orientation at `from`, body→world
 * @param gyroBias - rad/s
 * @param forceBias - m/s²
 * @param segment - receives the results
 * @param path - receives the orientation at every sample from `from` to `to` (length ≥ 4n), if
 *   given; the sensitivities are then left out
 */
export function propagateSegment(
  samples: StrapdownSamples,
  from: number,
  to: number,
  start: ArrayLike<number>,
  gyroBias: ArrayLike<number>,
  forceBias: ArrayLike<number>,
  segment: Segment,
  path?: Float64Array,
): void {
  const { times, increments, force } = samples;
  const { impulse, attitudeByGyro, velocityByAttitude, velocityByGyro, velocityByForce } = segment;
  impulse.fill(0);
  attitudeByGyro.fill(0);
  velocityByAttitude.fill(0);
  velocityByGyro.fill(0);
  velocityByForce.fill(0);
  const bgx = gyroBias[0]!;
  const bgy = gyroBias[1]!;
  const bgz = gyroBias[2]!;
  const bax = forceBias[0]!;
  const bay = forceBias[1]!;
  const baz = forceBias[2]!;
  let x = start[0]!;
  let y = start[1]!;
  let z = start[2]!;
  let w = start[3]!;
  let turning = 0;
  let sumX = 0;
  let sumY = 0;
  let sumZ = 0;
  if (path) {
    path[4 * from] = x;
    path[4 * from + 1] = y;
    path[4 * from + 2] = z;
    path[4 * from + 3] = w;
  }
  for (let k = from; k < to; k++) {
    const h = times[k + 1]! - times[k]!;
    const i = 3 * k;
    const vx = increments[i]! - bgx * h;
    const vy = increments[i + 1]! - bgy * h;
    const vz = increments[i + 2]! - bgz * h;
    const squared = vx * vx + vy * vy + vz * vz;
    turning += squared / h;
    // Half a step to the middle, where the mean force acts, then the other half.
    const angle = Math.sqrt(squared) / 2;
    const s = 0.5 * halfSineOverAngle(angle, squared / 4);
    const c = halfCosine(angle, squared / 4);
    const dx = vx * s;
    const dy = vy * s;
    const dz = vz * s;
    const mx = w * dx + x * c + y * dz - z * dy;
    const my = w * dy - x * dz + y * c + z * dx;
    const mz = w * dz + x * dy - y * dx + z * c;
    const mw = w * c - x * dx - y * dy - z * dz;
    const nx = mw * dx + mx * c + my * dz - mz * dy;
    const ny = mw * dy - mx * dz + my * c + mz * dx;
    const nz = mw * dz + mx * dy - my * dx + mz * c;
    const nw = mw * c - mx * dx - my * dy - mz * dz;
    const scale = 1.5 - 0.5 * (nx * nx + ny * ny + nz * nz + nw * nw);
    x = nx * scale;
    y = ny * scale;
    z = nz * scale;
    w = nw * scale;
    if (path) {
      const o = 4 * k + 4;
      path[o] = x;
      path[o + 1] = y;
      path[o + 2] = z;
      path[o + 3] = w;
      continue;
    }
    const r00 = 1 - 2 * (my * my + mz * mz);
    const r01 = 2 * (mx * my - mw * mz);
    const r02 = 2 * (mx * mz + mw * my);
    const r10 = 2 * (mx * my + mw * mz);
    const r11 = 1 - 2 * (mx * mx + mz * mz);
    const r12 = 2 * (my * mz - mw * mx);
    const r20 = 2 * (mx * mz - mw * my);
    const r21 = 2 * (my * mz + mw * mx);
    const r22 = 1 - 2 * (mx * mx + my * my);
    const ax = force[i]! - bax;
    const ay = force[i + 1]! - bay;
    const az = force[i + 2]! - baz;
    const fx = (r00 * ax + r01 * ay + r02 * az) * h;
    const fy = (r10 * ax + r11 * ay + r12 * az) * h;
    const fz = (r20 * ax + r21 * ay + r22 * az) * h;
    sumX += fx;
    sumY += fy;
    sumZ += fz;
    // dθ/dbg = −∫R dt, taken at the middle of the step; dv/dbg += (dθ/dbg) × f.
    const g = attitudeByGyro;
    const half = h / 2;
    g[0]! -= r00 * half;
    g[1]! -= r01 * half;
    g[2]! -= r02 * half;
    g[3]! -= r10 * half;
    g[4]! -= r11 * half;
    g[5]! -= r12 * half;
    g[6]! -= r20 * half;
    g[7]! -= r21 * half;
    g[8]! -= r22 * half;
    const u = velocityByGyro;
    u[0]! += g[3]! * fz - g[6]! * fy;
    u[1]! += g[4]! * fz - g[7]! * fy;
    u[2]! += g[5]! * fz - g[8]! * fy;
    u[3]! += g[6]! * fx - g[0]! * fz;
    u[4]! += g[7]! * fx - g[1]! * fz;
    u[5]! += g[8]! * fx - g[2]! * fz;
    u[6]! += g[0]! * fy - g[3]! * fx;
    u[7]! += g[1]! * fy - g[4]! * fx;
    u[8]! += g[2]! * fy - g[5]! * fx;
    g[0]! -= r00 * half;
    g[1]! -= r01 * half;
    g[2]! -= r02 * half;
    g[3]! -= r10 * half;
    g[4]! -= r11 * half;
    g[5]! -= r12 * half;
    g[6]! -= r20 * half;
    g[7]! -= r21 * half;
    g[8]! -= r22 * half;
  }
  segment.end[0] = x;
  segment.end[1] = y;
  segment.end[2] = z;
  segment.end[3] = w;
  segment.turning = turning;
  if (path) return;
  impulse[0] = sumX;
  impulse[1] = sumY;
  impulse[2] = sumZ;
  // dv/dθ = θ × ∫f; dv/dba = −∫R dt, which is dθ/dbg.
  velocityByAttitude[1] = sumZ;
  velocityByAttitude[2] = -sumY;
  velocityByAttitude[3] = -sumZ;
  velocityByAttitude[5] = sumX;
  velocityByAttitude[6] = sumY;
  velocityByAttitude[7] = -sumX;
  velocityByForce.set(attitudeByGyro);
}
