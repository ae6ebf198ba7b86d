import { describe, expect, test } from 'vitest';
import { type Mapping, parseMapping } from '../../src/read/mapping.js';
import { complaint } from '../complaint.js';

const DEGREE = Math.PI / 180;
const quaternion = { kind: 'quaternion', columns: ['qx', 'qy', 'qz', 'qw'] };
const matrix = {
  kind: 'matrix',
  columns: ['r11', 'r12', 'r13', 'r21', 'r22', 'r23', 'r31', 'r32', 'r33'],
};
const turns = [
  { column: 'yaw', radiansPerUnit: DEGREE, axis: [0, 1, 0] },
  { column: 'pitch', radiansPerUnit: DEGREE, axis: [1, 0, 0] },
  { column: 'roll', radiansPerUnit: DEGREE, axis: [0, 0, -1] },
];

describe('parseMapping', () => {
  test.each<[string, object]>([
    ['table: separator ","', { layout: { separator: ',' } }],
    ['table: separator tab', { layout: { separator: 'tab' } }],
    ['table: separator space comment "//"', { layout: { separator: 'space', comment: '//' } }],
    [
      'table: separator ";" comment "#" skip 3 rows every 2',
      { layout: { separator: ';', comment: '#', skip: 3, every: 2 } },
    ],
    ['table: skip 0', { layout: { skip: 0 } }],
    ['time: column "t" unit s', { time: { kind: 'stamp', column: 't', secondsPerUnit: 1 } }],
    ['time: column "t" unit ms', { time: { secondsPerUnit: 1e-3 } }],
    ['time: column "t" unit us', { time: { secondsPerUnit: 1e-6 } }],
    ['time: column 1 unit ns', { time: { column: 1, secondsPerUnit: 1e-9 } }],
    [
      'time: frames at 60000/1001',
      { time: { kind: 'frames', rate: { numerator: 60000, denominator: 1001 } } },
    ],
    ['time: column "row" frames at 25', { time: { kind: 'frames', column: 'row' } }],
    [
      'time: column "tc" timecode at 25',
      { time: { kind: 'timecode', column: 'tc', dropFrame: false } },
    ],
    [
      'time: column "tc" timecode at 30000/1001 drop',
      { time: { dropFrame: true, rate: { numerator: 30000, denominator: 1001 } } },
    ],
    [
      'angles: turn heading "yaw" deg about up, then tilt "pitch" deg about right, then roll "roll" deg about forward',
      { orientation: { kind: 'angles', fixed: false, sense: 'camera-to-world' } },
    ],
    [
      'angles: turn heading "yaw" deg about up, then tilt "pitch" deg about right, then roll "roll" deg about forward sense world-to-camera',
      { orientation: { sense: 'world-to-camera' } },
    ],
    [
      'angles: "yaw" deg about fixed up, then "pitch" deg about fixed right, then "roll" deg about fixed forward',
      { orientation: { kind: 'angles', fixed: true } },
    ],
    [
      'angles: turn 2 rad about z, then 3 deg about x, then 2 rad about z',
      {
        orientation: {
          turns: [
            { column: 2, radiansPerUnit: 1, axis: 'z' },
            { column: 3, radiansPerUnit: DEGREE, axis: 'x' },
            { column: 2, radiansPerUnit: 1, axis: 'z' },
          ],
        },
      },
    ],
    [
      'quaternion: w "qw" x "qx" y "qy" z "qz" sense camera-to-world',
      { orientation: { ...quaternion, sense: 'camera-to-world' } },
    ],
    [
      'quaternion: x "qx" y "qy" z "qz" w "qw"   sense world-to-camera',
      { orientation: { ...quaternion, sense: 'world-to-camera' } },
    ],
    [
      'quaternion: z 4 x 2 w 1 y 3 sense camera-to-world',
      { orientation: { ...quaternion, columns: [2, 3, 4, 1] } },
    ],
    [
      'matrix: rows "r11".."r33" sense camera-to-world',
      { orientation: { ...matrix, sense: 'camera-to-world' } },
    ],
    [
      'matrix: rows "r11" "r12" "r13" "r21" "r22" "r23" "r31" "r32" "r33" sense world-to-camera',
      { orientation: { ...matrix, sense: 'world-to-camera' } },
    ],
    [
      'matrix: rows 1 2 3 5 6 7 9 10 11 sense camera-to-world',
      { orientation: { columns: [1, 2, 3, 5, 6, 7, 9, 10, 11] } },
    ],
    [
      'matrix: rows 5..13 sense camera-to-world',
      { orientation: { columns: [5, 6, 7, 8, 9, 10, 11, 12, 13] } },
    ],
    [
      'matrix: rows "m0" .. "m8" sense camera-to-world',
      { orientation: { columns: ['m0', 'm1', 'm2', 'm3', 'm4', 'm5', 'm6', 'm7', 'm8'] } },
    ],
    [
      'rate: x "gx" y "gy" z "gz" rad/s',
      { rate: { columns: ['gx', 'gy', 'gz'], factor: 1, unit: 'rad/s' } },
    ],
    ['rate: x 2 y 3 z 4 deg/s', { rate: { columns: [2, 3, 4], factor: DEGREE, unit: 'deg/s' } }],
    [
      'accel: x "ax" y "ay" z "az" m/s2 at-rest up',
      { acceleration: { columns: ['ax', 'ay', 'az'], factor: 1 } },
    ],
    ['accel: x "ax" y "ay" z "az" m/s² at-rest down', { acceleration: { factor: -1 } }],
    ['accel: x "ax" y "ay" z "az" g at-rest up', { acceleration: { factor: 9.80665 } }],
    ['accel: x "ax" y "ay" z "az" g at-rest down', { acceleration: { factor: -9.80665 } }],
    ['axes camera: x right, y down, z forward', { cameraAxes: { mirrored: false } }],
    ['axes sensor: x forward, y left, z up', { sensorAxes: { mirrored: false } }],
    ['axes world: x east, y north, z up', { worldAxes: { mirrored: false }, upKnown: true }],
    ['axes world: x right, y up, z back, up unknown', { worldAxes: {}, upKnown: false }],
    ['axes camera: x right, y back, z up\nmirrored yes', { cameraAxes: { mirrored: true } }],
  ])('understands %s', (sentence, meaning) => {
    expect(parseMapping(sentence)).toMatchObject(meaning as Partial<Mapping>);
  });

  test('the words of the turns name columns, units and axes in their order', () => {
    const sentence =
      'angles: turn heading "yaw" deg about up, then tilt "pitch" deg about right, then roll "roll" deg about forward';
    expect(parseMapping(sentence).orientation).toMatchObject({ turns });
    // The names heading, tilt and roll are for the reader only.
    const bare = sentence.replace(/turn heading|tilt(?= ")|roll(?= ")/g, '').replace(/ +/g, ' ');
    expect(parseMapping(bare)).toEqual(parseMapping(sentence));
  });

  test('blanks, empty lines, remarks and either line ending do not matter', () => {
    const plain = 'time: column "t #1" unit s\nmirrored yes';
    const loose =
      '\uFEFF# the night walk\r\n\r\n   time :  column   "t #1"  unit s # since power on\r\n mirrored  yes ';
    expect(parseMapping(loose)).toEqual(parseMapping(plain));
    expect(parseMapping(loose).time).toMatchObject({ column: 't #1' });
  });

  test.each([
    ['time: column "t" unit s', 'time: column "t" unit seconds'],
    ['time: column "t" unit us', 'time: column "t" unit microseconds'],
    [
      'angles: turn "a" deg about up, then "b" rad about right, then "c" deg about back',
      'angles: turn "a" degrees about up, then "b" radians about right, then "c" ° about back',
    ],
    ['rate: x 1 y 2 z 3 deg/s', 'rate: x 1 y 2 z 3 degrees/s'],
    ['rate: x 1 y 2 z 3 counts of 0.1 deg/s', 'rate: x 1 y 2 z 3 counts of 0.1 dps'],
    ['rate: x 1 y 2 z 3 rad/s', 'rate: x 1 y 2 z 3 radians/s'],
    ['accel: x 1 y 2 z 3 m/s2 at-rest up', 'accel: x 1 y 2 z 3 m/s^2 at-rest up'],
  ])('%s may be written %s', (short, long) => {
    expect(parseMapping(long)).toEqual(parseMapping(short));
  });

  test('nothing said is nothing known, but a world is level unless the file says otherwise', () => {
    expect(parseMapping('')).toEqual({ layout: {}, upKnown: true });
  });

  describe('refuses, with the line, its words and the sentence to write', () => {
    const QUATERNION = 'quaternion: w "qw" x "qx" y "qy" z "qz" sense camera-to-world';
    const ANGLES = 'angles: turn heading "yaw" deg about up, then';
    const MATRIX = 'matrix: rows "r11" "r12" "r13"';
    const TIME = 'time: column "stamp" unit s';
    const TABLE = 'table: separator "," comment "#" skip 1 rows every 1';
    const RATE = 'rate: x "gx" y "gy" z "gz" rad/s';
    const ACCEL = 'accel: x "ax" y "ay" z "az" m/s2 at-rest up';

    test.each([
      ['table:', TABLE],
      ['table: separator ,', TABLE],
      ['table: rows every 0', TABLE],
      ['table: skip one', TABLE],
      ['time: column t unit s', TIME],
      ['time: column "t"', TIME],
      ['time: column "t" unit min', TIME],
      ['time: "t" frames at 25', TIME],
      ['time: column "tc" timecode', TIME],
      ['quaternion: x "x" y "y" z "z" w "w"', QUATERNION],
      ['quaternion: x "x" y "y" z "z" z "w" sense camera-to-world', QUATERNION],
      ['quaternion: x "x" y "y" z "z" sense camera-to-world', QUATERNION],
      ['quaternion: x "x" y "y" z "z" w "w" sense upwards', QUATERNION],
      ['matrix: rows "r11".."r33"', MATRIX],
      ['matrix: rows "a11".."b33" sense camera-to-world', MATRIX],
      ['matrix: rows 1 2 3 4 5 6 7 8 sense camera-to-world', MATRIX],
      ['matrix: rows 5..12 sense camera-to-world', MATRIX],
      ['matrix: rows 0..8 sense camera-to-world', MATRIX],
      ['matrix: rows "m0".."n8" sense camera-to-world', MATRIX],
      ['matrix: rows "m0"..8 sense camera-to-world', MATRIX],
      ['angles: turn "a" deg about up, then "b" deg about right', ANGLES],
      ['angles: turn "a" about up, then "b" deg about right, then "c" deg about back', ANGLES],
      ['angles: turn "a" deg about above, then "b" deg about x, then "c" deg about z', ANGLES],
      [
        'angles: turn "a" deg about fixed up, then "b" deg about right, then "c" deg about back',
        ANGLES,
      ],
      ['rate: x "gx" y "gy" z "gz"', RATE],
      ['rate: x "gx" z "gz" y "gy" rad/s', RATE],
      ['rate: x "gx" y "gy" z "gz" rpm', RATE],
      ['accel: x "ax" y "ay" z "az" g', ACCEL],
      ['accel: x "ax" y "ay" z "az" ft/s2 at-rest up', ACCEL],
      ['accel: x "ax" y "ay" z "az" g at-rest sideways', ACCEL],
    ])('%s', (sentence, shown) => {
      const parse = () => parseMapping(`# the night walk\n\n${sentence}\n`);
      expect(parse).toThrow(complaint('mapping/syntax', `row 3: found "${sentence}`));
      expect(parse).toThrow(complaint('mapping/syntax', shown));
    });

    test.each([
      ['time: column "t" unit milisecond', 'write "millisecond" if that was meant'],
      ['time: colum "t" unit s', 'write "column" if that was meant'],
      ['rate: x "gx" y "gy" z "gz" degres/s', 'write "degree/s" if that was meant'],
      ['angels: turn "a" deg about up', 'write "angles" if that was meant'],
      ['quaternion: w "a" x "b" y "c" z "d" sense camera-to-word', 'write "camera-to-world" if'],
    ])('%s, and says what was meant', (sentence, words) => {
      expect(() => parseMapping(sentence)).toThrow(complaint('mapping/syntax', words));
      expect(() => parseMapping(sentence)).toThrow('write it like\n');
    });

    test('a sentence of a million characters costs no more than to look at it', () => {
      const long = 3 * 2 ** 18;
      for (const words of ['1'.repeat(long), 'colum '.repeat(long / 6), '"'.repeat(long)]) {
        expect(() => parseMapping(`matrix: rows ${words}`)).toThrow(
          complaint('mapping/syntax', ''),
        );
      }
    });

    test('capitals of a subject do not matter', () => {
      expect(parseMapping('Time: column "t" unit s')).toEqual(
        parseMapping('time: column "t" unit s'),
      );
    });

    test.each(['time column "t" unit s', 'mirrored no', 'speed: 3'])(
      '%s, which is no subject, shows all sentences',
      (sentence) => {
        for (const shown of [
          TABLE,
          TIME,
          QUATERNION,
          MATRIX,
          ANGLES,
          RATE,
          ACCEL,
          'mirrored yes',
        ]) {
          expect(() => parseMapping(sentence)).toThrow(complaint('mapping/syntax', shown));
        }
      },
    );

    test('every sentence that an error shows is itself understood', () => {
      let sentences: string[] = [];
      try {
        parseMapping('help');
      } catch (error) {
        const { remedy } = error as { remedy: string };
        sentences = remedy.split('\n').slice(1);
      }
      expect(sentences).toHaveLength(11);
      for (const sentence of sentences) {
        expect(() => parseMapping(sentence.replace(/ {3}\(.*\)$/, ''))).not.toThrow();
      }
    });

    test.each(['time: frames at 59.94', 'time: column "tc" timecode at 29.97'])(
      '%s',
      (sentence) => {
        expect(() => parseMapping(sentence)).toThrow(
          complaint('argument/invalid', '29.97 as 30000/1001, 59.94 as 60000/1001'),
        );
      },
    );

    test.each(['camera', 'sensor', 'world'])('left-handed %s axes, until mirrored yes', (whose) => {
      const line = `axes ${whose}: x right, y back, z up`;
      expect(() => parseMapping(line)).toThrow(
        complaint('mapping/axes', `found left-handed axes (${line}), expected right-handed axes`),
      );
      expect(() => parseMapping(line)).toThrow('add the line "mirrored yes"');
      expect(() => parseMapping(`mirrored yes\n${line}`)).not.toThrow();
    });

    test.each(['time: frames at 59.94', 'axes camera: x right, y right, z up'])(
      'the line of %s is named',
      (sentence) => {
        expect(() => parseMapping(`\n\n${sentence}`)).toThrow('row 3');
      },
    );

    test.each([
      'time: column "t" unit s\ntime: column "u" unit ms',
      'quaternion: w 1 x 2 y 3 z 4 sense camera-to-world\nmatrix: rows 1 2 3 4 5 6 7 8 9 sense camera-to-world',
      'axes camera: x right, y up, z back\naxes camera: x right, y down, z forward',
    ])('two answers to one question: %j', (sentences) => {
      expect(() => parseMapping(sentences)).toThrow('row 2');
    });

    test('turns about words and about letters of the file in one sentence', () => {
      const mixed = 'angles: turn "a" deg about up, then "b" deg about x, then "c" deg about z';
      expect(() => parseMapping(mixed)).toThrow(complaint('mapping/syntax', ANGLES));
    });
  });
});
