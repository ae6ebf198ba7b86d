import { describe, expect, test } from 'vitest';
import { quaternionAt } from '../../src/rotation/arrays.js';
import { slerp } from '../../src/rotation/interpolate.js';
import {
  multiplyQuaternions,
  type Quaternion,
  quaternionFromAxisAngle,
} from '../../src/rotation/quaternion.js';
import { frameTimes, parseFrameRate } from '../../src/track/frameRate.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { interpolateTrack, resampleToFrames } from '../../src/track/resample.js';
import { apart } from '../apart.js';
import { complaint } from '../complaint.js';
import { PRODUCT } from '../laws.js';
import { fc } from '../seed.js';
import { DECADES, directions, rotations, turn } from '../turns.js';

const RATE = parseFrameRate('60000/1001');
const EPSILON = Number.EPSILON;

/** A camera that turns at a constant rate, 0.7 rad/s, about a slanted axis. */
const spin = (time: number): Quaternion => quaternionFromAxisAngle([1, 2, -0.5], 0.7 * time);

const spinning = (times: readonly number[], frames?: readonly number[]): OrientationTrack =>
  createTrack({
    times: Float64Array.from(times),
    quaternions: Float64Array.from(times.flatMap((time) => [...spin(time)])),
    ...(frames && { frames: Int32Array.from(frames), frameRate: RATE }),
  });

const steps = fc.integer({ min: 1, max: 50 });

/** Tracks of two to eight samples at uneven times. */
const tracks = fc
  .array(fc.tuple(rotations, steps), { minLength: 2, maxLength: 8 })
  .map((samples) => {
    let time = 0;
    return createTrack({
      times: Float64Array.from(samples, ([, step]) => (time += step / 60)),
      quaternions: Float64Array.from(samples.flatMap(([q]) => [...q])),
    });
  });

describe.each(['slerp', 'squad'] as const)('interpolateTrack by %s', (interpolation) => {
  test('at the times of the samples every bit is kept', () => {
    fc.assert(
      fc.property(tracks, (track) => {
        const same = interpolateTrack(track, track.times, interpolation);
        expect(same).toEqual(track.quaternions);
      }),
    );
  });

  test('before the first and after the last sample the nearest is held', () => {
    fc.assert(
      fc.property(tracks, (track) => {
        const last = track.times.length - 1;
        const outside = Float64Array.of(-1, track.times[last]! + 1);
        const held = interpolateTrack(track, outside, interpolation);
        expect(apart(quaternionAt(held, 0), quaternionAt(track.quaternions, 0))).toBe(0);
        expect(apart(quaternionAt(held, 1), quaternionAt(track.quaternions, last))).toBe(0);
      }),
    );
  });

  test('a constant turn is met exactly between its samples', () => {
    const track = spinning([0, 1, 2, 3, 4, 5].map((k) => k / 4));
    const times = Float64Array.from({ length: 126 }, (_, k) => k / 100);
    const between = interpolateTrack(track, times, interpolation);
    times.forEach((time, m) => {
      // Samples and result round by a few epsilons each; squad joins three slerps.
      expect(apart(quaternionAt(between, m), spin(time))).toBeLessThan(40 * EPSILON);
    });
  });
});

/** From exactly 180° both ways are as short, so the two formulas may go different ways. */
const APART = [...DECADES.filter((angle) => angle < Math.PI - 1e-10), 0.19, 0.2, 0.5];

test.each(APART)('between samples %d rad apart it is the single slerp to rounding', (angle) => {
  const shares = fc.integer({ min: 1, max: 999 }).map((k) => k / 1000);
  fc.assert(
    fc.property(rotations, directions, shares, (a, axis, t) => {
      const b = multiplyQuaternions(a, turn(axis, angle).q);
      const track = createTrack({
        times: Float64Array.of(0, 1),
        quaternions: Float64Array.of(...a, ...b),
      });
      const [p, q] = [0, 1].map((k) => quaternionAt(track.quaternions, k)) as [
        Quaternion,
        Quaternion,
      ];
      const between = quaternionAt(interpolateTrack(track, Float64Array.of(t)), 0);
      // The single one: two products, a conversion to and fro. Here: two weights of 4 epsilons, their
      // sum and the norm of 2 make a chord of 10 and an angle of 20.
      const tolerance = (2 * PRODUCT + 2 * 10 + 20) * EPSILON;
      expect(apart(between, slerp(p, q, t))).toBeLessThan(tolerance);
      expect(Math.abs(Math.hypot(...between) - 1)).toBeLessThan(3 * EPSILON);
    }),
  );
});

test('every time finds its stretch, however unevenly the samples are spaced', () => {
  const gaps = fc.array(fc.constantFrom(0.001, 0.002, 0.1, 3), { minLength: 2, maxLength: 60 });
  const shares = fc.array(fc.integer({ min: 0, max: 1000 }), { minLength: 1, maxLength: 40 });
  fc.assert(
    fc.property(gaps, shares, (steps, wanted) => {
      let time = 0;
      const own = [0, ...steps.map((step) => (time += step))];
      // Sample k points 0.01 k rad to the left: the angle tells between which two samples it lies.
      const heading = (k: number) => turn([0, 1, 0], 0.01 * k).q;
      const track = createTrack({
        times: Float64Array.from(own),
        quaternions: Float64Array.from(own.flatMap((_, k) => [...heading(k)])),
      });
      const at = Float64Array.from(wanted, (share) => (share / 1000) * time).sort();
      const found = interpolateTrack(track, at);
      at.forEach((t, m) => {
        const k = Math.min(own.filter((stamp) => stamp <= t).length - 1, own.length - 2);
        const expected = heading(k + (t - own[k]!) / (own[k + 1]! - own[k]!));
        expect(apart(quaternionAt(found, m), expected)).toBeLessThan(40 * EPSILON);
      });
    }),
  );
});

test('a time that is not a number is refused', () => {
  const track = spinning([0, 1, 2]);
  expect(() => interpolateTrack(track, Float64Array.of(0.5, Number.NaN))).toThrow(
    complaint('argument/invalid', 'found the time NaN at position 1'),
  );
});

test('squad follows an even acceleration exactly, however unevenly it is sampled', () => {
  const angle = (t: number) => 0.3 * t + 0.8 * t * t;
  const at = [0, 0.1, 0.15, 0.27, 0.3, 0.41, 0.5, 0.55];
  const turnAt = (t: number) => quaternionFromAxisAngle([0.6, 0, 0.8], angle(t));
  const track = createTrack({
    times: Float64Array.from(at),
    quaternions: Float64Array.from(at.flatMap((t) => [...turnAt(t)])),
  });
  const times = Float64Array.from({ length: 81 }, (_, k) => 0.1 + k * 0.005);
  const found = interpolateTrack(track, times, 'squad');
  times.forEach((t, m) => {
    // Three slerps of 34 epsilons and the controls' quotients of steps, up to four times as much.
    expect(apart(quaternionAt(found, m), turnAt(t))).toBeLessThan(250 * Number.EPSILON);
  });
});

test('next to a gap squad keeps to slerp, whose path needs no even spacing', () => {
  const wobble = (time: number) => quaternionFromAxisAngle([0, 1, 0], Math.sin(3 * time));
  const times = [0, 0.1, 0.2, 0.3, 0.9, 1, 1.1, 1.2];
  const track = createTrack({
    times: Float64Array.from(times),
    quaternions: Float64Array.from(times.flatMap((time) => [...wobble(time)])),
  });
  const ways = (time: number) =>
    (['slerp', 'squad'] as const).map((way) =>
      quaternionAt(interpolateTrack(track, Float64Array.of(time), way), 0),
    ) as [Quaternion, Quaternion];
  for (const time of [0.25, 0.6, 0.95]) expect(apart(...ways(time))).toBe(0);
  expect(apart(...ways(0.15))).toBeGreaterThan(1e-4);
});

describe('resampleToFrames', () => {
  test('frames of the file keep every bit, and only missing ones are interpolated', () => {
    const missing = fc.uniqueArray(fc.integer({ min: 101, max: 139 }), { maxLength: 12 });
    fc.assert(
      fc.property(missing, (gone) => {
        const all = Array.from({ length: 41 }, (_, k) => 100 + k);
        const own = all.filter((frame) => !gone.includes(frame));
        const sampled = own.map((frame) => ((frame - 100) * 1001) / 60000);
        const track = spinning(sampled, own);
        const { track: framed, bridged } = resampleToFrames(track);
        expect([...bridged]).toEqual(gone.sort((a, b) => a - b));
        expect([...framed.frames!]).toEqual(all);
        expect(framed.times).toEqual(frameTimes(RATE, 41));
        all.forEach((frame, k) => {
          const q = quaternionAt(framed.quaternions, k);
          const sample = own.indexOf(frame);
          if (sample >= 0) expect(q).toEqual(quaternionAt(track.quaternions, sample));
          else expect(apart(q, spin(framed.times[k]!))).toBeLessThan(40 * EPSILON);
        });
      }),
    );
  });

  test('without a frame rate, missing frames stand between the times of their neighbours', () => {
    const times = [0, 0.025, 0.1, 0.125];
    const track = { ...spinning(times), frames: Int32Array.of(10, 11, 14, 15) };
    const { track: framed, bridged } = resampleToFrames(track);
    expect([...framed.frames!]).toEqual([10, 11, 12, 13, 14, 15]);
    expect([...bridged]).toEqual([12, 13]);
    expect(framed.times[2]).toBeCloseTo(0.05, 15);
    expect(framed.times[3]).toBeCloseTo(0.075, 15);
  });

  test('another sampling is interpolated at the frames, up to the last sample', () => {
    const log = spinning(Array.from({ length: 401 }, (_, k) => k / 200));
    const { track, bridged } = resampleToFrames(log, RATE);
    expect(track.times).toEqual(frameTimes(RATE, 120));
    expect(track.frames).toEqual(Int32Array.from({ length: 120 }, (_, k) => k));
    expect(track.frameRate).toEqual(RATE);
    expect(bridged).toHaveLength(0);
    track.times.forEach((time, k) => {
      expect(apart(quaternionAt(track.quaternions, k), spin(time))).toBeLessThan(40 * EPSILON);
    });
  });

  test('a last frame that rounding puts a hair behind the last sample still counts', () => {
    const track = spinning([0, 0.05, 0.1 - 1e-10]);
    expect(resampleToFrames(track, parseFrameRate('20')).track.times).toHaveLength(3);
  });

  test('frames at 50/2 are frames at 25', () => {
    const track = createTrack({ ...spinning([0, 0.04, 0.08]), frameRate: parseFrameRate('50/2') });
    const { track: framed } = resampleToFrames(track, parseFrameRate('25'));
    expect(framed.quaternions).toEqual(track.quaternions);
  });

  test('a track without frames and without a rate stays as it is', () => {
    const track = spinning([0, 0.013, 0.02]);
    expect(resampleToFrames(track).track).toBe(track);
  });

  test('more than two seconds without a sample are refused, naming the moment', () => {
    /** Ten samples a second for a second, and three seconds more of them after some time. */
    const around = (gap: number) =>
      spinning(Array.from({ length: 41 }, (_, k) => k / 10 + (k > 10 ? gap - 0.1 : 0)));
    expect(() => resampleToFrames(around(2.25), RATE)).toThrow(
      complaint('track/gap', 'at 1 s: found 2.25 s without a sample'),
    );
    // 5.9 s at 59.94 frames per second: frames 0 to 353.
    expect(resampleToFrames(around(1.99), RATE).track.times).toHaveLength(354);
  });
});

describe('a rate that is wished for does not make up for samples that are missing', () => {
  const FAST = parseFrameRate('1000');
  const every = (interval: number, count: number) =>
    spinning(Array.from({ length: count }, (_, k) => k * interval));

  test.each([
    ['one to nine samples a second', 0.2, '5.0 samples per second'],
    ['milliseconds read as seconds', 16.7, '0.060 samples per second'],
  ])('%s are refused', (_, interval, found) => {
    expect(() => resampleToFrames(every(interval, 60), RATE)).toThrow(
      complaint('track/too-sparse', found),
    );
  });

  test('so are frames of which most are missing', () => {
    const frames = Array.from({ length: 20 }, (_, k) => 100 * k);
    const times = frames.map((frame) => (frame * 1001) / 60000);
    expect(() => resampleToFrames(spinning(times, frames))).toThrow(
      complaint('track/too-sparse', '0.6 samples per second'),
    );
  });

  test('more frames than fit are refused before any is made', () => {
    const times = Float64Array.from({ length: 170_000 }, (_, k) => k / 10);
    const quaternions = Float64Array.from({ length: 4 * 170_000 }, (_, i) => Number(i % 4 === 3));
    expect(() => resampleToFrames(createTrack({ times, quaternions }), FAST)).toThrow(
      complaint('track/too-long', '16999901 frames'),
    );
  });
});
