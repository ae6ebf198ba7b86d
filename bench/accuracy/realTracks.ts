/**
 * Hand-held camera motion that nobody generated, where it lies beside the project: TUM text,
 * `time x y z qx qy qz qw`, body→world with world z up. Licences in the README of their folder.
 */
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { composeQuaternions } from '../../src/rotation/arrays.js';
import { quaternionFromMatrix } from '../../src/rotation/matrix.js';
import type { Quaternion, Vector3 } from '../../src/rotation/quaternion.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { resampleToFrames } from '../../src/track/resample.js';

export const HANDHELD_FOLDER = join(import.meta.dirname, '../../../shared/data/handheld');

/** Up and forward of the camera in the axes of the tracked body, by name of the file. */
const BODIES: Readonly<Record<string, { readonly up: Vector3; readonly forward: Vector3 }>> = {
  walk_gore: { up: [0, 1, 0], forward: [0, 0, 1] },
  tumrgbd_freiburg1_xyz: { up: [0, -1, 0], forward: [0, 0, 1] },
  tumvi_room1: { up: [0, 0, 1], forward: [0, -1, 0] },
  tumvi_room3: { up: [0, 0, 1], forward: [0, -1, 0] },
  tumvi_room5: { up: [0, 0, 1], forward: [0, -1, 0] },
};

/** Names of the recordings that are here; none where the folder is not. */
export function realTrackNames(folder = HANDHELD_FOLDER): string[] {
  return Object.keys(BODIES).filter((name) => existsSync(join(folder, `${name}.txt`)));
}

/** The longest stretch of a recording without a gap, in our axes at 60000/1001 frames per second. */
export function readRealTrack(name: string, folder = HANDHELD_FOLDER): OrientationTrack {
  const body = BODIES[name]!;
  return trackFromTum(readFileSync(join(folder, `${name}.txt`), 'utf8'), body.up, body.forward);
}

/** A sample missing for longer ends a stretch, s. */
const LONGEST_GAP = 0.3;

/** A TUM trajectory as a track of a camera whose up and forward are given in body axes. */
export function trackFromTum(text: string, up: Vector3, forward: Vector3): OrientationTrack {
  const rows: number[][] = [];
  for (const line of text.split('\n')) {
    if (line.startsWith('#') || line.trim() === '') continue;
    const row = line.trim().split(/\s+/).map(Number);
    const last = rows[rows.length - 1];
    if (!last || row[0]! - last[0]! > 1e-5) rows.push(row);
  }
  let best = { from: 0, to: 0 };
  for (let from = 0, k = 1; k <= rows.length; k++) {
    if (k < rows.length && rows[k]![0]! - rows[k - 1]![0]! <= LONGEST_GAP) continue;
    if (
      rows[k - 1]![0]! - rows[from]![0]! >
      rows[Math.max(best.to - 1, 0)]![0]! - rows[best.from]![0]!
    ) {
      best = { from, to: k };
    }
    from = k;
  }
  const part = rows.slice(best.from, best.to);
  const start = part[0]![0]!;
  const recorded = Float64Array.from(part.flatMap((row) => row.slice(4, 8)));
  const right: Vector3 = [
    forward[1] * up[2] - forward[2] * up[1],
    forward[2] * up[0] - forward[0] * up[2],
    forward[0] * up[1] - forward[1] * up[0],
  ];
  // Columns: the camera's x, y, z axis in the body.
  const cameraInBody = quaternionFromMatrix([
    right[0],
    up[0],
    -forward[0],
    right[1],
    up[1],
    -forward[1],
    right[2],
    up[2],
    -forward[2],
  ]);
  const track = createTrack({
    times: Float64Array.from(part, (row) => row[0]! - start),
    quaternions: composeQuaternions(composeQuaternions(Z_UP_TO_Y_UP, recorded), cameraInBody),
    up: 'stated',
  });
  return resampleToFrames(track, { numerator: 60000, denominator: 1001 }).track;
}

/** World z up to world y up: −90° about x. */
const Z_UP_TO_Y_UP: Quaternion = [-Math.SQRT1_2, 0, 0, Math.SQRT1_2];
