import { describe, expect, test } from 'vitest';
import { type ReadTrackOptions, readTrack } from '../../src/read/readTrack.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import { rotateVector, type Vector3 } from '../../src/rotation/quaternion.js';
import { frameTime, parseFrameRate } from '../../src/track/frameRate.js';
import type { OrientationTrack } from '../../src/track/orientationTrack.js';
import { largestGap } from '../apart.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { rodrigues, type Turn, turn, turns } from '../turns.js';
import {
  type AxisWords,
  DIRECTION,
  inOurs,
  leftHanded,
  rightHanded,
  sentence,
  WORDS,
} from './fileAxes.js';

const EPSILON = Number.EPSILON;
const DEGREE = Math.PI / 180;
const BASIS: readonly Vector3[] = [
  [1, 0, 0],
  [0, 1, 0],
  [0, 0, 1],
];
const senses = fc.constantFrom('camera-to-world' as const, 'world-to-camera' as const);
type Sense = 'camera-to-world' | 'world-to-camera';

const opposite = ({ axis, angle }: Turn): Turn => turn(axis, -angle);

/** Reads the same row at two moments. */
const readRow = (cells: readonly unknown[], mapping: string): OrientationTrack =>
  readTrack([0, 1].map((time) => [time, ...cells].join(' ')).join('\n'), {
    mapping: `time: column 1 unit s\n${mapping}`,
  });

const axesLines = (camera: AxisWords, world: AxisWords) =>
  `axes camera: ${sentence(camera)}\naxes world: ${sentence(world, true)}`;

/**
 * The camera's directions in the world as the track has them, against those of a turn that takes
 * components along the file's camera axes to components along its world axes.
 */
function expectTurn(
  track: OrientationTrack,
  camera: AxisWords,
  world: AxisWords,
  turned: (v: Vector3) => Vector3,
): void {
  for (const v of BASIS) {
    const direction = rotateVector(quaternionAt(track.quaternions, 0), inOurs(camera, v));
    // Up to four products of quaternions and one of a vector, some 10 epsilons each.
    expect(largestGap(direction, inOurs(world, turned(v)))).toBeLessThan(60 * EPSILON);
  }
}

describe('quaternions', () => {
  const orders = fc.shuffledSubarray(['x', 'y', 'z', 'w'] as const, { minLength: 4 });

  /** How the file's components are written in a given order of columns. */
  const written = ({ q }: Turn, order: readonly string[], sense: Sense) => ({
    cells: order.map((name) => q['xyzw'.indexOf(name)]),
    line: `quaternion: ${order.map((name, k) => `${name} ${k + 2}`).join(' ')} sense ${sense}`,
  });

  test.each([
    ['right-handed', rightHanded, ''],
    ['left-handed', leftHanded, '\nmirrored yes'],
  ] as const)('any order of components, either sense, any %s axes', (_, axes, remark) => {
    fc.assert(
      fc.property(turns, orders, axes, axes, senses, (drawn, order, camera, world, sense) => {
        const inFile = sense === 'camera-to-world' ? drawn : opposite(drawn);
        const { cells, line } = written(inFile, order, sense);
        const track = readRow(cells, `${line}\n${axesLines(camera, world)}${remark}`);
        expectTurn(track, camera, world, (v) => rodrigues(drawn, v));
      }),
      { numRuns: 300 },
    );
  });

  test('camera and world axes of different hands are refused', () => {
    fc.assert(
      fc.property(rightHanded, leftHanded, (camera, world) => {
        const mapping = `quaternion: x 2 y 3 z 4 w 5 sense camera-to-world\n${axesLines(camera, world)}\nmirrored yes`;
        expect(() => readRow([0, 0, 0, 1], mapping)).toThrow(
          complaint('mapping/axes', 'expected camera and world axes of the same hand'),
        );
      }),
    );
  });
});

describe('matrices', () => {
  /** Row by row, the columns being the turned axes. */
  const cellsOf = (drawn: Turn) => {
    const columns = BASIS.map((v) => rodrigues(drawn, v));
    return [0, 1, 2].flatMap((row) => columns.map((column) => column[row]!));
  };

  test('any matrix, either sense, any axes', () => {
    fc.assert(
      fc.property(turns, rightHanded, rightHanded, senses, (drawn, camera, world, sense) => {
        const inFile = sense === 'camera-to-world' ? drawn : opposite(drawn);
        const mapping = `matrix: rows 2 3 4 5 6 7 8 9 10 sense ${sense}\n${axesLines(camera, world)}`;
        const track = readRow(cellsOf(inFile), mapping);
        expectTurn(track, camera, world, (v) => rodrigues(drawn, v));
      }),
    );
  });

  const names = [11, 12, 13, 21, 22, 23, 31, 32, 33].map((place) => `m${place}`);
  const OWN_AXES = axesLines(['right', 'up', 'back'], ['right', 'up', 'back']);
  const named = (rows: readonly (readonly number[])[]) =>
    readTrack(
      `t,${names.join(',')}\n${rows.map((cells, k) => `${k},${cells.join(',')}`).join('\n')}`,
      {
        mapping: `time: column "t" unit s\nmatrix: rows "m11".."m33" sense camera-to-world\n${OWN_AXES}`,
      },
    );

  test('three printed decimals are repaired to a rotation', () => {
    const drawn = turn([0.6, 0, 0.8], 1.1);
    const cells = cellsOf(drawn).map((cell) => Number(cell.toFixed(3)));
    const q = quaternionAt(named([cells, cells]).quaternions, 0);
    expect(Math.hypot(...q)).toBeCloseTo(1, 15);
    for (const v of BASIS) {
      expect(largestGap(rotateVector(q, v), rodrigues(drawn, v))).toBeLessThan(1e-3);
    }
  });

  test('a matrix that mirrors or scales is refused by its row', () => {
    const unit = [1, 0, 0, 0, 1, 0, 0, 0, 1];
    expect(() => named([unit, [1, 0, 0, 0, 1, 0, 0, 0, -1]])).toThrow(
      complaint('rotation/not-a-rotation', 'row 3: found a matrix with determinant -1.0000'),
    );
    expect(() => named([unit, unit, unit.map((cell) => 2 * cell)])).toThrow('row 4: found');
  });
});

describe('angles', () => {
  const degrees = fc.integer({ min: -720_000, max: 720_000 }).map((k) => k / 1000);
  const unit = fc.constantFrom('deg' as const, 'rad' as const);
  const three = <T>(each: fc.Arbitrary<T>) => fc.tuple(each, each, each);

  /** Moving axes: the last turn acts on the camera first. Fixed axes: the first does. */
  const successive = (list: readonly Turn[], fixed: boolean) => (v: Vector3) =>
    (fixed ? list : [...list].reverse()).reduce((turned, each) => rodrigues(each, turned), v);

  const line = (axes: readonly string[], units: readonly string[], fixed: boolean) =>
    `angles: turn ${axes
      .map((axis, k) => `${k + 2} ${units[k]} about ${fixed ? 'fixed ' : ''}${axis}`)
      .join(', then ')}`;

  const cell = (angle: number, unit: 'deg' | 'rad') => (unit === 'deg' ? angle : angle * DEGREE);
  const OURS: AxisWords = ['right', 'up', 'back'];

  test('three turns about words for directions, moving or fixed, in degrees or radians', () => {
    fc.assert(
      fc.property(
        three(degrees),
        three(fc.constantFrom(...WORDS)),
        three(unit),
        fc.boolean(),
        (angles, axes, units, fixed) => {
          const list = angles.map((angle, k) => turn(DIRECTION[axes[k]!], angle * DEGREE));
          const cells = angles.map((angle, k) => cell(angle, units[k]!));
          const track = readRow(cells, line(axes, units, fixed));
          expectTurn(track, OURS, OURS, successive(list, fixed));
        },
      ),
      { numRuns: 300 },
    );
  });

  test("three turns about letters of the file's own axes", () => {
    const letters = fc.constantFrom('x', 'y', 'z');
    fc.assert(
      fc.property(
        three(degrees),
        three(letters),
        rightHanded,
        rightHanded,
        fc.boolean(),
        (angles, axes, camera, world, fixed) => {
          const list = angles.map((angle, k) =>
            turn(BASIS['xyz'.indexOf(axes[k]!)]!, angle * DEGREE),
          );
          const mapping = `${line(axes, ['deg', 'deg', 'deg'], fixed)}\n${axesLines(camera, world)}`;
          expectTurn(readRow(angles, mapping), camera, world, successive(list, fixed));
        },
      ),
    );
  });

  test('angles that take the world to the camera are turned round', () => {
    fc.assert(
      fc.property(three(degrees), three(fc.constantFrom(...WORDS)), (angles, axes) => {
        const sentences = `${line(axes, ['deg', 'deg', 'deg'], false)} sense world-to-camera`;
        const list = angles.map((angle, k) => turn(DIRECTION[axes[k]!], -angle * DEGREE));
        expectTurn(readRow(angles, sentences), OURS, OURS, successive(list, true));
      }),
    );
  });

  test('heading about up, tilt about right and roll about forward look where their words say', () => {
    const track = readRow(
      [90, 30, 0],
      line(['up', 'right', 'forward'], ['deg', 'deg', 'deg'], false),
    );
    const ahead = rotateVector(quaternionAt(track.quaternions, 0), [0, 0, -1]);
    // A quarter turn to the left looks west, a nod of 30° half way up.
    expect(largestGap(ahead, [-Math.cos(30 * DEGREE), 0.5, 0])).toBeLessThan(8 * EPSILON);
  });

  test('angles that count in hundreds are no radians, and a note says so', () => {
    const track = readRow([90, 0, 0], line(['up', 'right', 'back'], ['rad', 'rad', 'rad'], false));
    expect(track.warnings).toEqual([
      {
        code: 'read/units',
        column: '2',
        message:
          'column 2 reaches 90.0 rad, which looks like degrees; if so, write "deg" in the mapping',
      },
    ]);
    const turning = readRow(
      [18, 0, 0],
      line(['up', 'right', 'back'], ['rad', 'rad', 'rad'], false),
    );
    expect(turning.warnings).toEqual([]);
  });
});

describe('time', () => {
  const ANGLES = 'angles: turn 2 deg about up, then 3 deg about right, then 3 deg about back';
  const rate = parseFrameRate('60000/1001');
  const read = (text: string, time: string, options: ReadTrackOptions = {}) =>
    readTrack(text, { ...options, mapping: `${time}\n${ANGLES}` });

  test('rows are frames at an exact rate, from the mapping or from the call', () => {
    const text = '0 1 0\n0 2 0\n0 3 0\n';
    for (const track of [
      read(text, 'time: frames at 60000/1001'),
      read(text, '', { frameRate: rate }),
    ]) {
      expect([...track.times]).toEqual([0, 1, 2].map((frame) => frameTime(rate, frame)));
      expect(track).toMatchObject({ frames: Int32Array.of(0, 1, 2), frameRate: rate });
    }
  });

  test('frame numbers keep their count and show what is missing', () => {
    const track = read('41 1 0\n42 2 0\n45 3 0\n', 'time: column 1 frames at 60000/1001');
    expect([...track.frames!]).toEqual([41, 42, 45]);
    expect(track.times[2]).toBeCloseTo(frameTime(rate, 4), 15);
    expect(track.warnings[0]!.message).toBe('2 frames are missing: 43–44');
  });

  test('time code counts over the labels that dropping leaves out', () => {
    const text = 'tc a b\n00:00:59;28 1 0\n00:00:59;29 2 0\n00:01:00;02 3 0\n';
    const track = read(text, 'table: separator space\ntime: column 1 timecode at 30000/1001 drop');
    expect([...track.frames!]).toEqual([0, 1, 2]);
    expect(track.warnings).toEqual([]);
  });

  test('stamps in nanoseconds keep the absolute time of the first row', () => {
    const track = read(
      '1700000000016683001 1 0\n1700000000033366001 2 0\n',
      'time: column 1 unit ns',
    );
    expect(track.startNs).toBe(1700000000016683001n);
    expect(track.times[1]).toBe(16_683_000 * 1e-9);
  });

  test('without a word about time or a frame rate the file is refused', () => {
    expect(() => read('0 1 0\n0 2 0\n', '')).toThrow(
      complaint('track/no-time', 'expected a time column or a frame rate'),
    );
  });

  test('the line to add is shown as it is to be written', () => {
    expect(() => read('0 1 0\n0 2 0\n', '')).toThrow('time: column "t" unit s');
  });

  test('a drop-frame label in a table with commas needs no word about the separator', () => {
    const text = 'tc,a,b\n00:00:59;28,1,0\n00:00:59;29,2,0\n';
    expect(read(text, 'time: column 1 timecode at 30000/1001 drop').times).toHaveLength(2);
  });
});

describe('our own formats', () => {
  test('a track with our header needs no mapping', () => {
    const track = readTrack('time_s,x,y,z,w\n5,0,0,0,1\n5.25,0,0.6,0,0.8\n');
    expect([...track.times]).toEqual([0, 0.25]);
    expect([...track.quaternions]).toEqual([0, 0, 0, 1, 0, 0.6, 0, 0.8]);
    expect(track).toMatchObject({ up: 'stated', startNs: 5_000_000_000n, warnings: [] });
  });

  test('its frame numbers are kept', () => {
    const text = 'frame,time_s,x,y,z,w\n12,0,0,0,0,1\n13,0.04,0,0,0,1\n';
    expect(readTrack(text).frames).toEqual(Int32Array.of(12, 13));
  });

  test('bytes, text and JSON say the same', () => {
    const text = 'time_s,x,y,z,w\n0,0,0,0,1\n1,0,0.6,0,0.8\n';
    const json = '{"time_s":[0,1],"x":[0,0],"y":[0,0.6],"z":[0,0],"w":[1,0.8]}';
    const track = readTrack(text);
    for (const input of [new TextEncoder().encode(text), json, `\uFEFF${json}`, `\uFEFF${text}`]) {
      expect(readTrack(input)).toEqual(track);
    }
  });
});

describe('what a mapping leaves open is refused', () => {
  const text = 't,x,y,z,w\n0,0,0,0,1\n1,0,0,0,1\n';
  const QUATERNION = 'quaternion: x "x" y "y" z "z" w "w" sense camera-to-world';
  const TIME = 'time: column "t" unit s';

  test.each([
    [[TIME], 'expected an orientation track: a line "quaternion: …", "matrix: …" or "angles: …"'],
    [[TIME, QUATERNION], 'expected a line like "axes camera: x right, y up, z back"'],
    [
      [TIME, QUATERNION, 'axes camera: x right, y up, z back'],
      'expected a line like "axes world: x east, y north, z up"',
    ],
    [[TIME, 'rate: x "x" y "y" z "z" rad/s'], 'found a motion log (angular rates)'],
  ])('after %j the next line is asked for', (lines, words) => {
    expect(() => readTrack(text, { mapping: lines.join('\n') })).toThrow(
      complaint('mapping/missing', words),
    );
  });

  test('a column that does not exist is refused by name', () => {
    const mapping = `${TIME}\n${QUATERNION.replace('"w"', '"q0"')}\n${axesLines(['right', 'up', 'back'], ['right', 'up', 'back'])}`;
    expect(() => readTrack(text, { mapping })).toThrow(
      complaint(
        'mapping/column',
        'found the columns "t", "x", "y", "z", "w", expected the column "q0" that the mapping names',
      ),
    );
  });

  test('a world that is not level is said to be unknown', () => {
    const mapping = `${TIME}\n${QUATERNION}\naxes camera: x right, y up, z back\naxes world: x right, y up, z back, up unknown`;
    expect(readTrack(text, { mapping }).up).toBe('unknown');
  });

  test('a first row that starts with a time code is a row, not a header', () => {
    const mapping =
      'time: column 1 timecode at 25\nangles: turn 2 deg about up, then 3 deg about right, then 3 deg about back';
    const track = readTrack('00:00:01:00 1 0\n00:00:01:01 2 0\n00:00:01:02 3 0\n', { mapping });
    expect(track.times).toHaveLength(3);
  });

  test('a first row with a cell that is no number is refused, not taken for a header', () => {
    const mapping = `time: column 1 unit s\nquaternion: x 2 y 3 z 4 w 5 sense camera-to-world\n${axesLines(['right', 'up', 'back'], ['right', 'up', 'back'])}`;
    expect(() => readTrack('0,0,NaN,0,1\n1,0,0,0,1\n2,0,0,0,1\n', { mapping })).toThrow('row 1');
  });
});
