import { describe, expect, test } from 'vitest';
import { type AngleSigns, readOpenTrackIo } from '../../src/read/openTrackIo.js';
import { readTrack } from '../../src/read/readTrack.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import { largestGap } from '../apart.js';
import { complaint } from '../complaint.js';
import { matrixOf, product, type Rows, transposed, turnAbout } from '../handoff/results.js';

const degrees = Math.PI / 180;

/**
 * The published definition (SMPTE RIS OSVP, OpenTrackIO, "transforms", from memory): right-handed,
 * z up; at zero the camera looks along +y with x to its right; pan about z, then tilt about x, then
 * roll about y, each about the axes as turned so far.
 */
const published = (pan: number, tilt: number, roll: number): Rows =>
  product(
    turnAbout('z', pan * degrees),
    turnAbout('x', tilt * degrees),
    turnAbout('y', roll * degrees),
  );

/** From the format's axes (x right or east, y forward or north, z up) to ours (y up, z back). */
const OURS: Rows = [
  [1, 0, 0],
  [0, 0, 1],
  [0, -1, 0],
];
const inOurs = (m: Rows) => product(OURS, m, transposed(OURS));

const rotation = (pan: number, tilt: number, roll: number) => ({
  translation: { x: 1, y: 2, z: 1.5 },
  rotation: { pan, tilt, roll },
});
const sample = (transforms: object[], timing: object) => ({ transforms, timing });
const RATE = { num: 25, denom: 1 };
const turned = [rotation(30, 20, 10)];
const numbered = [7, 8, 10].map((sequenceNumber) =>
  sample(turned, { sequenceNumber, sampleRate: RATE }),
);
const listed = (samples: unknown) => JSON.stringify(samples);
const firstMatrix = (text: string, signs: AngleSigns = {}) =>
  matrixOf(quaternionAt(readOpenTrackIo(text, signs).quaternions, 0)).flat();
/** Three half angles, four products and a matrix: below 20 roundings. */
const ROUNDING = 20 * Number.EPSILON;

describe('the rotation of a sample', () => {
  test('is pan, tilt and roll multiplied out as published', () => {
    const ours = inOurs(published(30, 20, 10)).flat();
    expect(largestGap(firstMatrix(listed(numbered)), ours)).toBeLessThan(ROUNDING);
    // By hand: the look, +y turned, is (−cos 20° sin 30°, cos 20° cos 30°, sin 20°) in the format's
    // world. Ours is its x, z and −y; the camera's back axis is the opposite of its look.
    const back = [0.469846, -0.34202, 0.813798];
    const found = firstMatrix(listed(numbered));
    expect(largestGap([found[2]!, found[5]!, found[8]!], back)).toBeLessThan(5.1e-7);
  });

  test('a positive roll lowers the right side of the camera', () => {
    const text = listed(numbered.map((each) => ({ ...each, transforms: [rotation(0, 0, 10)] })));
    // First column: the camera's right axis; its y is up in our world.
    expect(firstMatrix(text)[3]).toBeCloseTo(-Math.sin(10 * degrees), 12);
  });

  test('signs turn single angles round', () => {
    for (const [signs, [pan, tilt, roll]] of [
      [{ pan: -1 }, [-30, 20, 10]],
      [{ tilt: -1 }, [30, -20, 10]],
      [{ roll: -1 }, [30, 20, -10]],
    ] as const) {
      const ours = inOurs(published(pan, tilt, roll)).flat();
      expect(largestGap(firstMatrix(listed(numbered), signs), ours)).toBeLessThan(ROUNDING);
    }
  });

  test('several transforms follow each other from the world to the camera', () => {
    const transforms = [rotation(40, 0, 0), rotation(-5, 25, 0), rotation(1, 2, 3)];
    const text = listed(numbered.map((each) => ({ ...each, transforms })));
    const chain = product(published(40, 0, 0), published(-5, 25, 0), published(1, 2, 3));
    expect(largestGap(firstMatrix(text), inOurs(chain).flat())).toBeLessThan(2 * ROUNDING);
  });
});

describe('the time of samples', () => {
  const timed = (...timings: object[]) =>
    readOpenTrackIo(listed(timings.map((each) => sample(turned, each))));
  const stamp = (seconds: number, nanoseconds: number) => ({
    sampleTimestamp: { seconds, nanoseconds },
  });
  const code = (minutes: number, seconds: number, frames: number, dropFrame?: boolean) => ({
    timecode: {
      hours: 10,
      minutes,
      seconds,
      frames,
      frameRate: { num: 30000, denom: 1001 },
      ...(dropFrame !== undefined && { dropFrame }),
    },
  });
  const number = (sequenceNumber: number) => ({ sequenceNumber, sampleRate: RATE });

  test('stamps go before time code and sequence number, and keep every nanosecond', () => {
    const track = timed(
      { ...stamp(1_700_000_000, 999_999_999), ...code(0, 0, 0), ...number(5) },
      { ...stamp(1_700_000_001, 20_000_000), ...code(0, 9, 0), ...number(9) },
    );
    expect(track.startNs).toBe(1_700_000_000_999_999_999n);
    expect(track.times).toEqual(Float64Array.of(0, 0.020000001));
    expect(track.frames).toBeUndefined();
  });

  test('time code goes before the sequence number', () => {
    const track = timed({ ...code(0, 0, 0), ...number(5) }, { ...code(0, 0, 3), ...number(9) });
    expect(track.frameRate).toEqual({ numerator: 30000, denominator: 1001 });
    // Ten hours of 30 labels a second: 10 × 3600 × 30.
    expect(track.frames).toEqual(Int32Array.of(1_080_000, 1_080_003));
    expect(track.times[1]).toBeCloseTo(0.1001, 12);
  });

  test('a time code without a rate of its own takes the sample’s', () => {
    const { frameRate: _, ...bare } = code(0, 0, 0).timecode;
    const timing = (frames: number) => ({ timecode: { ...bare, frames }, sampleRate: RATE });
    expect(timed(timing(1), timing(2)).frames).toEqual(Int32Array.of(900_001, 900_002));
  });

  // SMPTE ST 12-1: two labels are left out each minute but every tenth: 18 of 18000 in ten minutes.
  test('a time code that drops leaves out labels, no frames', () => {
    const dropped = timed(code(0, 59, 29, true), code(1, 0, 2, true));
    expect(dropped.frames).toEqual(Int32Array.of(1_080_000 - 1080 + 1799, 1_080_000 - 1080 + 1800));
    const kept = timed(code(0, 59, 29, false), code(1, 0, 2, false));
    expect(kept.frames).toEqual(Int32Array.of(1_081_799, 1_081_802));
  });

  test('a label that dropping leaves out is refused', () => {
    expect(() => timed(code(0, 59, 29, true), code(1, 0, 0, true))).toThrow(
      complaint('timecode/invalid', 'found the time code "10:01:00;00"'),
    );
  });

  test('the sequence number over the exact rate comes last', () => {
    const track = readOpenTrackIo(listed(numbered));
    expect(track.frames).toEqual(Int32Array.of(7, 8, 10));
    expect(track.times).toEqual(Float64Array.of(0, 0.04, 0.12));
    expect(track.warnings).toContainEqual(
      expect.objectContaining({ code: 'track/missing-frames' }),
    );
  });

  test('a rotation offset is said and not applied', () => {
    const offset = { synchronization: { offsets: { rotation: 0.011 } } };
    const { warnings, times } = timed({ ...number(0), ...offset }, { ...number(1), ...offset });
    expect(warnings).toEqual([
      {
        code: 'read/offset',
        message: expect.stringContaining('a rotation offset of 0.011 s'),
      },
    ]);
    expect(times).toEqual(Float64Array.of(0, 0.04));
    expect(timed(number(0), number(1)).warnings).toEqual([]);
  });
});

describe('samples that cannot be used', () => {
  const broken = (change: object) => listed([numbered[0], { ...numbered[1], ...change }]);
  const angles = (given: object) => ({ transforms: [{ rotation: given }] });

  test.each([
    ['no transforms', broken({ transforms: [] }), 'row 2, column "transforms"'],
    [
      'no rotation',
      broken({ transforms: [rotation(1, 2, 3), {}] }),
      'row 2, column "transforms.1.rotation.pan"',
    ],
    [
      'an angle missing',
      broken(angles({ pan: 1, tilt: 2 })),
      'row 2, column "transforms.0.rotation.roll"',
    ],
    [
      'an angle in words',
      broken(angles({ pan: 1, tilt: 'up', roll: 3 })),
      'row 2, column "transforms.0.rotation.tilt"',
    ],
    ['no timing', broken({ timing: {} }), 'row 2, column "timing.sequenceNumber"'],
    [
      'half a frame',
      broken({ timing: { sequenceNumber: 8.5, sampleRate: RATE } }),
      'row 2, column "timing.sequenceNumber"',
    ],
    [
      'no rate',
      listed([sample(turned, { sequenceNumber: 1 }), numbered[1]]),
      'row 1, column "timing.sampleRate"',
    ],
    [
      'a stamp in the first sample only',
      listed([sample(turned, { sampleTimestamp: { seconds: 1, nanoseconds: 0 } }), numbered[1]]),
      'row 2, column "timing.sampleTimestamp.seconds"',
    ],
    [
      'a time code without seconds',
      listed([
        sample(turned, { timecode: { hours: 1, minutes: 2, frames: 3, frameRate: RATE } }),
        numbered[1],
      ]),
      'row 1, column "timing.timecode.seconds"',
    ],
    ['a sample that is null', listed([numbered[0], null]), 'row 2, column "transforms"'],
  ])('%s: the message names sample and entry', (_title, text, words) => {
    expect(() => readOpenTrackIo(text)).toThrow(complaint('read/json', words));
  });

  test('a sequence number twice', () => {
    expect(() => readOpenTrackIo(listed([numbered[0], numbered[0]]))).toThrow(
      complaint('track/time-order', 'row 2'),
    );
  });
});

describe('one object per line, a list, or a list with another name', () => {
  const lines = numbered.map((each) => JSON.stringify(each)).join('\n');

  test.each([
    ['lines', `${lines}\n`],
    ['lines that end as on other systems', lines.replaceAll('\n', '\r\n')],
    ['lines with empty ones between', lines.replaceAll('\n', '\n\n')],
    ['a list over several lines', JSON.stringify(numbered, undefined, 2)],
    ['a mark of byte order before the lines', `\uFEFF${lines}`],
  ])('%s', (_title, text) => {
    const wanted = readOpenTrackIo(listed(numbered));
    expect(readTrack(text, { format: 'opentrackio' })).toEqual(wanted);
    expect(readTrack(new TextEncoder().encode(text), { format: 'opentrackio' })).toEqual(wanted);
  });

  test('a line that is no JSON is named', () => {
    const text = `${lines}\n{"transforms":\n`;
    expect(() => readOpenTrackIo(text)).toThrow(complaint('read/json', 'row 4: found text'));
  });

  test('a single sample is no track', () => {
    expect(() => readOpenTrackIo(JSON.stringify(numbered[0]))).toThrow(
      complaint('track/too-short', 'found 1 sample'),
    );
  });
});
