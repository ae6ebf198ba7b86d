import { describe, expect, test } from 'vitest';
import { createTrack, type TrackParts, withQuaternions } from '../../src/track/orientationTrack.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { rotations } from '../turns.js';

/** A still camera at the given times. */
const still = (times: readonly number[], more: Partial<TrackParts> = {}): TrackParts => ({
  times: Float64Array.from(times),
  quaternions: Float64Array.from({ length: 4 * times.length }, (_, i) => (i % 4 === 3 ? 1 : 0)),
  ...more,
});

const atRate = (fps: number, frames: readonly number[]) => frames.map((frame) => frame / fps);

describe('createTrack', () => {
  test('time starts at zero, and the arrays that were passed stay as they are', () => {
    const parts = still([100.5, 100.75, 101]);
    const before = { times: parts.times.slice(), quaternions: parts.quaternions.slice() };
    const track = createTrack(parts);
    expect([...track.times]).toEqual([0, 0.25, 0.5]);
    expect(parts).toEqual(before);
    expect(track.times.buffer).not.toBe(parts.times.buffer);
    expect(track.quaternions.buffer).not.toBe(parts.quaternions.buffer);
  });

  test('what the vertical rests on is kept, and is "stated" when nothing is said', () => {
    expect(createTrack(still([0, 1])).up).toBe('stated');
    expect(createTrack(still([0, 1], { up: 'estimated', upDeviation: 0.01 }))).toMatchObject({
      up: 'estimated',
      upDeviation: 0.01,
    });
  });

  test.each([
    [{ up: 'estimated' }, 'found a vertical that is estimated, with no deviation'],
    [{ up: 'gravity', upDeviation: 0.01 }, 'found a vertical that is gravity, with a deviation'],
    [{ upDeviation: 0.01 }, 'found a vertical that is stated, with a deviation'],
  ] as const)('a vertical %o is refused: only an estimate has a deviation', (vertical, words) => {
    expect(() => createTrack(still([0, 1], vertical))).toThrow(words);
  });

  test('signs are continuous and start with w ≥ 0, whatever signs come in', () => {
    const lists = fc.array(fc.tuple(rotations, fc.constantFrom(1, -1)), {
      minLength: 2,
      maxLength: 6,
    });
    fc.assert(
      fc.property(lists, (list) => {
        const quaternions = Float64Array.from(list.flatMap(([q, sign]) => q.map((x) => sign * x)));
        const times = Float64Array.from(list, (_, k) => k);
        const { quaternions: q } = createTrack({ times, quaternions });
        expect(q[3]).toBeGreaterThanOrEqual(0);
        for (let i = 4; i < q.length; i += 4) {
          const dot = [0, 1, 2, 3].reduce((sum, c) => sum + q[i - 4 + c]! * q[i + c]!, 0);
          expect(dot).toBeGreaterThanOrEqual(0);
        }
      }),
    );
  });

  test('norms that miss 1 by rounding are mended, and a note says by how much', () => {
    const rounded = still([0, 1], { quaternions: Float64Array.of(0, 0, 0, 1, 0.6, 0, 0, 0.805) });
    const { quaternions, warnings } = createTrack(rounded);
    expect(Math.hypot(...quaternions.subarray(4))).toBeCloseTo(1, 15);
    expect(warnings).toEqual([
      {
        code: 'track/renormalised',
        message: 'quaternion norms missed 1 by up to 4.0e-3; all were renormalised',
      },
    ]);
  });

  test('seven printed decimals need no note', () => {
    const quaternions = Float64Array.of(0, 0, 0, 1, 0.0087262, 0.1305262, 0.0010618, 0.9914058);
    expect(createTrack(still([0, 1], { quaternions })).warnings).toEqual([]);
  });

  describe('refuses, naming the sample or, where it is known, the row', () => {
    const withSample = (...q: number[]) => ({ quaternions: Float64Array.of(0, 0, 0, 1, ...q) });

    test.each<[string, TrackParts, string, string]>([
      ['a time that is no number', still([0, Number.NaN]), 'time', 'the time NaN'],
      ['a time without end', still([0, Number.POSITIVE_INFINITY]), 'time', 'the time Infinity'],
      ['a time twice', still([0, 0]), 'time', 'the time 0 s twice'],
      ['time that runs back', still([0.5, 0.25]), 'time', '0.25 s after 0.5 s'],
      [
        'a frame twice',
        still([0, 1], { frames: Int32Array.of(7, 7) }),
        'frame',
        'frame 7 a second time',
      ],
      [
        'frames that run back',
        still([0, 1], { frames: Int32Array.of(7, 6) }),
        'frame',
        'frame 6 after 7',
      ],
      [
        'a component that is no number',
        still([0, 1], withSample(0, Number.NaN, 0, 1)),
        '',
        'the quaternion (0, NaN, 0, 1)',
      ],
      [
        'a zero quaternion',
        still([0, 1], withSample(0, 0, 0, 0)),
        '',
        'a quaternion of norm 0.00000',
      ],
      [
        'a norm far from 1',
        still([0, 1], withSample(0, 0, 0, 1.02)),
        '',
        'a quaternion of norm 1.02000',
      ],
    ])('%s', (_, parts, column, found) => {
      expect(() => createTrack(parts)).toThrow(`frame 1: found ${found}`);
      const inFile = () => createTrack({ ...parts, lineOf: (sample) => sample + 40 });
      const place = column === '' ? 'row 41' : `row 41, column ${column}`;
      expect(inFile).toThrow(`${place}: found ${found}`);
    });

    test.each([
      [[], 'found 0 samples'],
      [[3], 'found 1 sample,'],
    ])('a track of times %j', (times, found) => {
      expect(() => createTrack(still(times))).toThrow(complaint('track/too-short', found));
    });

    test('arrays whose lengths do not fit', () => {
      const words = 'found 2 times and 4 quaternion components';
      const short = still([0, 1], { quaternions: Float64Array.of(0, 0, 0, 1) });
      expect(() => createTrack(short)).toThrow(complaint('argument/shape', words));
      const frames = still([0, 1], { frames: Int32Array.of(1) });
      expect(() => createTrack(frames)).toThrow(complaint('argument/shape', 'one frame number'));
    });
  });

  describe('frames of a clip', () => {
    const frameRate = { numerator: 60000, denominator: 1001 };

    test('stamps rounded to a millisecond are recognised as frames, missing ones noticed', () => {
      const frames = [0, 1, 2, 5, 6, 8];
      const stamps = atRate(60000 / 1001, frames).map((time) => Math.round(1000 * time) / 1000);
      const track = createTrack(still(stamps, { frameRate }));
      expect([...track.frames!]).toEqual(frames);
      expect(track.warnings).toEqual([
        { code: 'track/missing-frames', message: '3 frames are missing: 3–4, 7' },
      ]);
    });

    test('samples between the frames are not taken for frames', () => {
      const track = createTrack(still(atRate(200, [0, 1, 2, 3]), { frameRate }));
      expect(track.frames).toBeUndefined();
    });

    test('many missing frames are counted, and the first eight places listed', () => {
      const frames = Int32Array.from({ length: 12 }, (_, k) => 2 * k);
      const track = createTrack(still([...frames], { frames }));
      expect(track.warnings[0]!.message).toBe(
        '11 frames are missing: 1, 3, 5, 7, 9, 11, 13, 15 and 3 more',
      );
    });

    test('without a frame rate, a gap is noticed by the usual interval', () => {
      const track = createTrack(still([0, 0.1, 0.2, 0.9, 1]));
      expect(track.warnings).toEqual([
        {
          code: 'track/gap',
          message: 'samples usually 100.00 ms apart leave 1 gap: 0.700 s at 0.200 s',
        },
      ]);
    });
  });
});

describe('frames, rate and times that say three different things', () => {
  const rate = { numerator: 25, denominator: 1 };
  const framed = (times: readonly number[]) =>
    still(times, { frames: Int32Array.of(100, 101, 110), frameRate: rate });

  test('are refused, with the frame, its time and what the rate says', () => {
    expect(() => createTrack(framed([0, 0.04, 0.3]))).toThrow(
      complaint(
        'track/contradiction',
        'frame 2: found frame 110 at 0.3000 s from the first sample, expected 0.4000 s, as 25 frames per second say',
      ),
    );
  });

  test('pass where a clock beside the frames strays by less than one of them', () => {
    expect(createTrack(framed([7, 7.041, 7.4 - 0.039])).frames).toEqual(
      Int32Array.of(100, 101, 110),
    );
  });
});

describe('withQuaternions', () => {
  test('only the orientations change', () => {
    const track = createTrack(still([0, 1], { frames: Int32Array.of(3, 4), startNs: 5n }));
    const turned = withQuaternions(track, Float64Array.of(0, 0, 0, -1, 0, 1, 0, 0));
    expect(turned).toEqual({ ...track, quaternions: Float64Array.of(0, 0, 0, 1, 0, 1, 0, 0) });
  });
});
