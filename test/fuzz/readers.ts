import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { readManifest } from '../../src/batch/manifest.js';
import { readSummary } from '../../src/batch/summary.js';
import { readCorrections, toCsv } from '../../src/handoff/csv.js';
import { readExr, toExr } from '../../src/handoff/exr.js';
import { readGltf, toGlb, toGltf } from '../../src/handoff/gltf.js';
import { toJson } from '../../src/handoff/json.js';
import { toOpenTrackIo } from '../../src/handoff/openTrackIo.js';
import { readResult } from '../../src/handoff/readResult.js';
import { readUsda, toUsda } from '../../src/handoff/usda.js';
import { parseMapping } from '../../src/read/mapping.js';
import { readOpenTrackIo } from '../../src/read/openTrackIo.js';
import { readMotionLog } from '../../src/read/readMotionLog.js';
import { readTrack } from '../../src/read/readTrack.js';
import { decodeText } from '../../src/read/text.js';
import { DEFAULT_RIG, readRig } from '../../src/rig/stereoRig.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { resultOf } from '../handoff/results.js';

/** Something that takes bytes from outside. */
export interface Reader {
  readonly read: (bytes: Uint8Array) => unknown;
  /** Files that it reads, each of another kind. */
  readonly valid: readonly Uint8Array[];
}

/** A reader of a text; bytes that are no UTF-8 become replacement characters, as in the command. */
const ofText = (read: (text: string) => unknown, valid: readonly string[]): Reader => ({
  read: (bytes) => read(decodeText(bytes)),
  valid: valid.map((text) => Buffer.from(text)),
});

const ofBytes = (
  read: (bytes: Uint8Array) => unknown,
  valid: readonly (string | Uint8Array)[],
): Reader => ({ read, valid: valid.map((file) => Buffer.from(file)) });

/** A reader of a file by its path, which is written anew each time. */
const ofFile = (
  path: string,
  read: (path: string) => unknown,
  valid: readonly string[],
): Reader => ({
  read: (bytes) => {
    writeFileSync(path, bytes);
    return read(path);
  },
  valid: valid.map((text) => Buffer.from(text)),
});

const FRAMES = [0, 1, 2, 3, 4];
const result = resultOf({
  intended: FRAMES.map((k) => quaternionFromHeadingTiltRoll(0.1 * k, -0.02 * k, 0)),
  corrections: FRAMES.map((k) => quaternionFromHeadingTiltRoll(0, 0.01 * k, -0.02)),
  startNs: 1_700_000_000_016_683_001n,
  rig: { ...DEFAULT_RIG, lens: { ...DEFAULT_RIG.lens, boundaryDeg: Array(8).fill(94) } },
});

/** The same result with the rig's entries of earlier releases. */
function withFormerRig(text: string): string {
  const { rig, ...others } = JSON.parse(text);
  const { eyes, ...common } = rig;
  const { left, right } = eyes;
  const alignment = { left: left.alignment, right: right.alignment };
  const readouts = { leftReadout: left.readout, rightReadout: right.readout };
  return JSON.stringify({ ...others, rig: { ...common, alignment, ...readouts } });
}

const planes = [0.5, 0.25, 1].map((value) => new Float32Array(6).fill(value));
const map = { widthPx: 3, heightPx: 2, s: planes[0]!, t: planes[1]!, coverage: planes[2]! };

const QUATERNION = `time: column "tc" timecode at 30000/1001 drop
quaternion: w "qw" x "qx" y "qy" z "qz" sense world-to-camera
axes camera: x right, y down, z forward
axes world: x east, y north, z up, up unknown`;
const ANGLES = `table: separator ";" comment "%" skip 1 rows every 2
time: column 1 unit ms
angles: turn heading "yaw" deg about up, then tilt "pitch" deg about right, then roll "roll" rad about forward
axes camera: x right, y up, z forward   # turned over
axes world: x east, y up, z north
mirrored yes`;
const MATRIX = `time: frames at 60000/1001
matrix: rows "r11".."r33" sense camera-to-world
axes camera: x right, y up, z back
axes world: x east, y up, z south`;
const LOG = `time: column "t" unit us
rate: x "gx" y "gy" z "gz" deg/s
accel: x "ax" y "ay" z "az" g at-rest down
axes sensor: x left, y up, z forward`;

const CLIPS = [{ file: 'aisle.csv' }, { file: 'tank.csv', shot: 'pan', limit: 6, name: 'tank' }];
const MANIFEST = JSON.stringify({
  ...{ format: 'twinkeel-shoot', version: 1, clips: CLIPS },
  defaults: { rate: '60000/1001', mapping: 'tracker.txt', rig: 'rig.json', uncovered: 0.5 },
});
const SUMMARY = JSON.stringify({
  ...{ format: 'twinkeel-shoot-summary', version: 1, manifest: 'a7', clipCount: 3 },
  clips: [
    { name: 'tank', file: 'tank.csv', ok: false, code: 'read/empty', message: 'dry', place: 1 },
    {
      ...{ name: 'aisle', file: 'aisle.csv', ok: true, verdict: 'use', shot: 'pan', confidence: 1 },
      ...{ reasons: [{ figure: 'x', value: 1 }], inputs: '00', outputs: { a: '01' }, place: 0 },
    },
  ],
});

const TRACK = 'time_s,x,y,z,w\n3,0,0,0,1\n3.5,0,0.6,0,0.8\n4,0,0.8,0,0.6\n';
const TRACK_JSON = '[{"time_s":0,"x":0,"y":0,"z":0,"w":1},{"time_s":1,"x":0,"y":0,"z":1,"w":0}]';

/**
 * Every reader by its name; a mapping or format of its own makes another reader of a table.
 *
 * @param folder - where those that take a path may write
 */
export const readersIn = (folder: string): Readonly<Record<string, Reader>> => ({
  readTrack: ofBytes(readTrack, [
    TRACK,
    TRACK_JSON,
    '{"time_s":[0,1],"x":[0,0],"y":[0,0],"z":[0,1],"w":[1,0]}',
  ]),
  'readTrack of time code': ofBytes(
    (bytes) => readTrack(bytes, { mapping: QUATERNION }),
    ['tc,qw,qx,qy,qz\n00:00:59;28,1,0,0,0\n00:00:59;29,0,1,0,0\n00:01:00;02,0,0,1,0\n'],
  ),
  'readTrack of angles': ofBytes(
    (bytes) => readTrack(bytes, { mapping: ANGLES }),
    ['night 7\nms;yaw;pitch;roll\n0;10;-5;0.1\n0;0;0;0\n16.5;11;-5;0.2\n0;0;0;0\n33;12;0;1e-3\n'],
  ),
  'readTrack of matrices': ofBytes(
    (bytes) => readTrack(bytes, { mapping: MATRIX }),
    [
      'r11,r12,r13,r21,r22,r23,r31,r32,r33\n1,0,0,0,1,0,0,0,1\n0,-1,0,1,0,0,0,0,1\n',
      JSON.stringify(
        Object.fromEntries(
          [11, 12, 13, 21, 22, 23, 31, 32, 33].map((place) => [
            `r${place}`,
            [1, 1].map((one) => (place % 11 === 0 ? one : 0)),
          ]),
        ),
      ),
    ],
  ),
  'readTrack of tum': ofBytes(
    (bytes) => readTrack(bytes, { format: 'tum' }),
    ['# greenhouse\n1305031102.1758 1 2 3 0 0 0 1\n1305031102.2758 1 2 3 0 1 0 0\n'],
  ),
  readMotionLog: ofBytes(readMotionLog, [
    'time_s,gx,gy,gz,ax,ay,az\n0,0.1,0,0,0,9.8,0\n0.01,0.1,0,0,0,9.8,0\n',
    'time_s,gx,gy,gz\n0,0,0.1,0\n0.01,0,0.1,0\n',
  ]),
  'readMotionLog of another unit': ofBytes(
    (bytes) => readMotionLog(bytes, { mapping: LOG }),
    ['t gx gy gz ax ay az\n100 1 2 3 0 -1 0\n5100 1 2 3 0 -1 0\n'],
  ),
  readRig: ofText(readRig, [
    JSON.stringify(result.rig),
    '{"lens":{"mapping":{"law":"equisolid"}}}',
  ]),
  parseMapping: ofText(parseMapping, [QUATERNION, ANGLES, MATRIX, LOG]),
  readResult: ofText(readResult, [toJson(result), withFormerRig(toJson(result))]),
  readCorrections: ofBytes(readCorrections, [toCsv(result)]),
  'readGltf of text': ofText(readGltf, [toGltf(result)]),
  'readGltf of bytes': ofBytes(readGltf, [toGlb(result)]),
  readUsda: ofText(readUsda, [toUsda(result)]),
  readExr: ofBytes(readExr, [toExr(map)]),
  readOpenTrackIo: ofText(readOpenTrackIo, [
    toOpenTrackIo(result),
    JSON.stringify(
      [0, 1].map((k) => ({
        transforms: [{ rotation: { pan: 10, tilt: 5, roll: k } }],
        timing: {
          sampleTimestamp: { seconds: 1_718_900_000 + k, nanoseconds: 5 },
          synchronization: { offsets: { rotation: 0.01 } },
        },
      })),
    ),
    JSON.stringify(
      [0, 1].map((frames) => ({
        transforms: [{ rotation: { pan: 10, tilt: 5, roll: 1 } }],
        timing: {
          timecode: {
            ...{ hours: 1, minutes: 0, seconds: 59, frames, dropFrame: true },
            frameRate: { num: 30000, denom: 1001 },
          },
        },
      })),
    ),
  ]),
  readManifest: ofFile(join(folder, 'shoot.json'), readManifest, [MANIFEST]),
  readSummary: ofFile(join(folder, 'summary.json'), readSummary, [SUMMARY]),
});
