import { describe, expect, test } from 'vitest';
import { parseMapping } from '../../src/read/mapping.js';
import { mappingOfFormat, OPEN_FORMAT_NAMES, OPEN_FORMATS } from '../../src/read/openFormats.js';
import { readMotionLog } from '../../src/read/readMotionLog.js';
import { readTrack, resolveMapping } from '../../src/read/readTrack.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import { parseFrameRate } from '../../src/track/frameRate.js';
import { largestGap } from '../apart.js';
import { complaint } from '../complaint.js';
import { matrixOf } from '../handoff/results.js';

const R = Math.SQRT1_2;

/** Columns of the matrix of the first sample: where the camera's right, up and back point to. */
const axesOf = (quaternions: Float64Array, k = 0) => {
  const m = matrixOf(quaternionAt(quaternions, k));
  return [0, 1, 2].map((column) => m.map((row) => Math.round(1e9 * row[column]!) / 1e9 + 0));
};
const EAST = [1, 0, 0];
const UP = [0, 1, 0];
const SOUTH = [0, 0, 1];
const WEST = [-1, 0, 0];

describe('each format is read as its authors describe it', () => {
  // Sturm et al., IROS 2012: t tx ty tz qx qy qz qw; camera x right, y down, z forward.
  test('tum: eight columns, w last; at rest the camera’s z points along the world’s', () => {
    const text = [
      '# ground truth of the moonflower bed',
      '1305031098.6659 1.3563 0.6305 1.6380 0 0 0 1',
      '1305031098.6758 1.3543 0.6306 1.6360 -0.70710678 0 0 0.70710678',
      '',
    ].join('\n');
    const track = readTrack(text, { format: 'tum' });
    expect(track.times[1]).toBeCloseTo(0.0099, 6);
    expect(track.up).toBe('unknown');
    // Forward is the world's z, up in our words; right its x, east; down its y, north.
    expect(axesOf(track.quaternions)).toEqual([EAST, SOUTH, [0, -1, 0]]);
    // A right-handed quarter turn back about x: z comes to y (north) and y to −z: level, upright.
    expect(axesOf(track.quaternions, 1)).toEqual([EAST, UP, SOUTH]);
  });

  // Burri et al., IJRR 35(10), 2016: timestamp [ns], p_x p_y p_z, q_w q_x q_y q_z, v, b_w, b_a.
  const euroc = (w: number, x: number, y: number, z: number, ns: string) =>
    `${ns},4.688,-1.786,0.783,${w},${x},${y},${z},-0.027,0.033,0.800,-0.003,0.021,0.076,-0.012,0.104,0.0933`;

  test('euroc-pose: nanoseconds, w first, world z up', () => {
    const text = [
      '#timestamp, p_RS_R_x [m], p_RS_R_y [m], p_RS_R_z [m], q_RS_w [], q_RS_x [], …',
      euroc(R, -R, 0, 0, '1403636580838555648'),
      euroc(1, 0, 0, 0, '1403636580843555328'),
    ].join('\n');
    const track = readTrack(text, { format: 'euroc-pose' });
    expect(track.startNs).toBe(1403636580838555648n);
    expect(track.times[1]).toBeCloseTo(0.00499968, 12);
    expect(track.up).toBe('stated');
    expect(axesOf(track.quaternions)).toEqual([EAST, UP, SOUTH]);
    expect(axesOf(track.quaternions, 1)).toEqual([EAST, SOUTH, [0, -1, 0]]);
  });

  test('euroc-pose: a quaternion read with w last would be another', () => {
    const rows = ['0', '5000000'].map((ns) => euroc(0.5, -0.5, 0.5, -0.5, ns)).join('\n');
    const { quaternions } = readTrack(rows, { format: 'euroc-pose' });
    // (w, x, y, z) = (½, −½, ½, −½) sends x to −y (south), y to −z and z to x (east). So the camera
    // looks east, its right is south, its down is the world's down: upright.
    expect(axesOf(quaternions)).toEqual([SOUTH, UP, WEST]);
  });

  test('euroc-imu: rad/s and m/s², both about x right, y down, z forward', () => {
    const text = [
      '#timestamp [ns],w_RS_S_x [rad s^-1],…,a_RS_S_z [m s^-2]',
      '1403636579758555392,0.1,0.2,0.3,0,-9.81,0.5',
      '1403636579763555584,0.1,0.2,0.3,0,-9.81,0.5',
    ].join('\n');
    const log = readMotionLog(text, { format: 'euroc-imu' });
    expect(log.times[1]).toBeCloseTo(0.005000192, 12);
    expect(largestGap(log.rate.subarray(0, 3), [0.1, -0.2, -0.3])).toBeLessThan(1e-15);
    // At rest the accelerometer feels what holds it, upwards: our +y.
    expect(largestGap(log.acceleration!.subarray(0, 3), [0, 9.81, -0.5])).toBeLessThan(1e-14);
  });

  // Geiger et al., CVPR 2012, development kit: each row the first three rows of a 4 × 4 matrix.
  test('kitti: the rotation in a row of twelve, the place left out, at a frame rate', () => {
    const text = [
      '1.000000e+00 0.000000e+00 0.000000e+00 1.1 0.000000e+00 1.000000e+00 0.000000e+00 2.2 0.000000e+00 0.000000e+00 1.000000e+00 3.3',
      '0.000000e+00 0.000000e+00 1.000000e+00 1.2 0.000000e+00 1.000000e+00 0.000000e+00 2.2 -1.000000e+00 0.000000e+00 0.000000e+00 3.4',
    ].join('\n');
    const track = readTrack(text, { format: 'kitti', frameRate: parseFrameRate('10') });
    expect(track.times).toEqual(Float64Array.of(0, 0.1));
    expect(track.up).toBe('unknown');
    expect(axesOf(track.quaternions)).toEqual([EAST, UP, SOUTH]);
    // Second row: z (forward) goes to x, the right; x goes to −z, the back.
    expect(axesOf(track.quaternions, 1)).toEqual([SOUTH, UP, WEST]);
    expect(() => readTrack(text, { format: 'kitti' })).toThrow(
      complaint('track/no-time', 'found no line about time'),
    );
  });
});

describe('a mapping’s lines take the place of the format’s', () => {
  const tum = '0 0 0 0 0 0 0 1\n1 0 0 0 0 0 0 1\n';

  test('one line replaces one line, the others stay', () => {
    const own = parseMapping('axes camera: x right, y up, z back');
    const mapping = mappingOfFormat('tum', own);
    const format = mappingOfFormat('tum', undefined);
    expect(mapping.cameraAxes).not.toEqual(format.cameraAxes);
    expect(mapping.cameraAxes).toEqual(own.cameraAxes);
    expect({ ...mapping, cameraAxes: 0 }).toMatchObject({
      orientation: format.orientation,
      time: format.time,
      worldAxes: format.worldAxes,
      upKnown: false,
    });
  });

  test('the separator and the remarks of the format stay too', () => {
    const commented = `# row of the trellis\n${tum}`;
    const track = readTrack(commented, { format: 'tum', mapping: 'time: column 1 unit ms' });
    expect(track.times).toEqual(Float64Array.of(0, 0.001));
  });

  test('what is said of the world decides whether the vertical is known', () => {
    const level = readTrack(tum, { format: 'tum', mapping: 'axes world: x east, y north, z up' });
    expect(level.up).toBe('stated');
    const mapping = 'axes world: x east, y north, z up, up unknown';
    const unknown = readTrack('0,0,0,0,1,0,0,0\n9000000,0,0,0,1,0,0,0\n', {
      format: 'euroc-pose',
      mapping,
    });
    expect(unknown.up).toBe('unknown');
  });

  test('without a format a mapping stands alone', () => {
    const own = parseMapping('time: column 1 unit s');
    expect(resolveMapping(own, undefined)).toBe(own);
    expect(resolveMapping(undefined, undefined)).toBeUndefined();
    expect(resolveMapping(own, 'opentrackio')).toBe(own);
  });
});

test('every format but the JSON one is a readable mapping with a layout', () => {
  const names = Object.keys(OPEN_FORMATS) as (keyof typeof OPEN_FORMATS)[];
  expect(OPEN_FORMAT_NAMES).toEqual([...names, 'opentrackio']);
  for (const name of names) {
    const mapping = mappingOfFormat(name, undefined);
    expect(mapping.layout.separator).toBeDefined();
    expect(mapping.orientation === undefined).toBe(mapping.rate !== undefined);
  }
});
