import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  betweenFrames,
  ignoredReadoutArcmin,
  rowCorrections,
  rowOfDirection,
  sourceDirection,
} from '../../src/rig/rollingShutter.js';
import { DEFAULT_RIG, type StereoRig } from '../../src/rig/stereoRig.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import {
  angularDistance,
  invertQuaternion,
  multiplyQuaternions,
  type Quaternion,
  rotateVector,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { apart } from '../apart.js';
import { fc } from '../seed.js';
import { directions, rodrigues, turn, turnsBy } from '../turns.js';
import { eyesWith } from './eyes.js';

const deg = RADIANS_PER_DEGREE;
const FRAME = 10;
const FRAMES = 21;
const FPS = 50;

const rigOf = (readoutMs: number, parts: Partial<StereoRig> = {}): StereoRig => ({
  ...DEFAULT_RIG,
  readoutMs,
  ...parts,
});

/** A camera that turns about one axis, by the same rate all the time. */
const spinning = (axis: Vector3, rate: number): OrientationTrack =>
  createTrack({
    times: Float64Array.from({ length: FRAMES }, (_, k) => k / FPS),
    quaternions: Float64Array.from(
      Array.from({ length: FRAMES }, (_, k) => turn(axis, (rate * (k - FRAME)) / FPS).q).flat(),
    ),
  });

const apartBy = (a: Vector3, b: Vector3) => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

/** Height of a direction in an equidistant picture of 190°, 0 at the top, 1 at the bottom. */
const rowOf = ([x, y, z]: Vector3): number =>
  0.5 - (y * Math.atan2(Math.hypot(x, y), -z)) / Math.hypot(x, y) / (190 * deg);

/**
 * Where a spinning camera sees a direction of the view: the row is narrowed down until the camera,
 * at the time at which that row is read, sees the direction on it.
 */
function rayCast(axis: Vector3, rate: number, view: Vector3, delay: (row: number) => number) {
  const seenAt = (row: number) =>
    rodrigues({ axis, angle: -rate * delay(row), q: [0, 0, 0, 1] }, view);
  let [low, high] = [-0.5, 1.5];
  for (let step = 0; step < 60; step++) {
    const middle = (low + high) / 2;
    if (middle < rowOf(seenAt(middle))) low = middle;
    else high = middle;
  }
  return seenAt(low);
}

/** Directions within 90° of the middle of the view. */
const views = directions.map(([x, y, z]): Vector3 => [x, y, -Math.abs(z)]);
const rates = (max: number) => fc.integer({ min: 1, max }).map((rate) => rate * deg);
const readouts = fc.constantFrom(8, 16, 20);
const IDENTITY: Quaternion = [0, 0, 0, 1];

/**
 * Each round takes the angle that is left times rate · readout / field, and the row of a direction
 * 95° off the axis moves up to θ/sin θ = 1.67 times as fast as the direction. At first half a
 * readout is open; two rounds follow.
 */
const leftOver = (rate: number, readoutMs: number) => {
  const readout = readoutMs / 1000;
  return ((rate * readout) / 2) * ((1.67 * rate * readout) / (190 * deg)) ** 2;
};

describe('where the camera saw a direction while its rows were read', () => {
  test('is where casting rays row by row finds it', () => {
    fc.assert(
      fc.property(directions, rates(400), readouts, views, (axis, rate, readoutMs, view) => {
        const found = sourceDirection(
          spinning(axis, rate),
          IDENTITY,
          FRAME,
          view,
          rigOf(readoutMs),
          'left',
        );
        const cast = rayCast(axis, rate, view, (row) => (row * readoutMs) / 1000);
        expect(apartBy(found, cast)).toBeLessThan(leftOver(rate, readoutMs) + 1e-14);
      }),
      { numRuns: 1000 },
    );
  });

  test.each([
    [40, 8e-5],
    [100, 1e-3],
    [400, 0.08],
  ])('is met at %d°/s to %d of 4096 rows', (rate, rows) => {
    // Over 16 ms, the largest over the view under nodding. The one digit that is printed belongs to
    // some grid of directions, so half of it either way.
    let worst = 0;
    const track = spinning([1, 0, 0], rate * deg);
    for (let elevation = -89; elevation < 90; elevation++) {
      const view: Vector3 = [0, Math.sin(elevation * deg), -Math.cos(elevation * deg)];
      const found = sourceDirection(track, IDENTITY, FRAME, view, rigOf(16), 'left');
      const cast = rayCast([1, 0, 0], rate * deg, view, (row) => 0.016 * row);
      worst = Math.max(worst, 4096 * Math.abs(rowOf(found) - rowOf(cast)));
    }
    expect(worst).toBeLessThan(1.5 * rows);
    expect(worst).toBeGreaterThan(0.5 * rows);
  });

  test('with rows read from the bottom, and each eye from its own start', () => {
    const rig = rigOf(16, {
      eyes: eyesWith({
        readout: {
          left: { startMs: -8, firstRow: 'bottom' },
          right: { startMs: 3, firstRow: 'top' },
        },
      }),
    });
    fc.assert(
      fc.property(directions, rates(100), views, (axis, rate, view) => {
        const track = spinning(axis, rate);
        const [left, right] = (['left', 'right'] as const).map((eye) =>
          sourceDirection(track, IDENTITY, FRAME, view, rig, eye),
        );
        const castLeft = rayCast(axis, rate, view, (row) => -0.008 + 0.016 * (1 - row));
        const castRight = rayCast(axis, rate, view, (row) => 0.003 + 0.016 * row);
        // The right eye's rows run on by half a readout more than the left eye's.
        expect(apartBy(left!, castLeft)).toBeLessThan(leftOver(rate, 16) + 1e-14);
        expect(apartBy(right!, castRight)).toBeLessThan(leftOver(rate, 16) + 1e-14);
      }),
    );
  });

  test('with a global shutter it is K⁻¹ of the direction', () => {
    fc.assert(
      fc.property(directions, turnsBy(fc.constant(0.2)), views, (axis, intended, view) => {
        const track = spinning(axis, 1);
        const found = sourceDirection(track, intended.q, FRAME + 3, view, rigOf(0), 'right');
        const c = quaternionAt(track.quaternions, FRAME + 3);
        const k = multiplyQuaternions(invertQuaternion(intended.q), c);
        expect(apartBy(found, rotateVector(invertQuaternion(k), view))).toBeLessThan(1e-14);
      }),
    );
  });

  test('is in the axes of the eye, whose own alignment counts', () => {
    const left = turn([0, 0, 1], 2 * deg).q;
    const rig = rigOf(0, { eyes: eyesWith({ alignment: { left, right: IDENTITY } }) });
    const view: Vector3 = [0.6, 0, -0.8];
    const found = sourceDirection(spinning([0, 1, 0], 0.1), IDENTITY, FRAME, view, rig, 'left');
    expect(apartBy(found, rotateVector(invertQuaternion(left), view))).toBeLessThan(1e-14);
  });
});

describe('the corrections of the bands of a frame', () => {
  const rigs = fc.record({
    readoutMs: readouts,
    startMs: fc.integer({ min: -10, max: 10 }),
    firstRow: fc.constantFrom('top' as const, 'bottom' as const),
  });

  test('agree with the direction that was seen on the middle row of each', () => {
    const drawn = fc.tuple(directions, rates(100), rigs, turnsBy(fc.constant(0.1)));
    const place = fc.record({ band: fc.nat(7), across: fc.integer({ min: -60, max: 60 }) });
    fc.assert(
      fc.property(drawn, place, ([axis, rate, parts, intended], { band, across }) => {
        const { readoutMs, startMs, firstRow } = parts;
        const rig = rigOf(readoutMs, {
          eyes: eyesWith({ readout: { right: { startMs, firstRow } } }),
        });
        const track = spinning(axis, rate);
        const rows = rowCorrections(track, intended.q, FRAME, rig, 'right');
        // A direction on the middle row of the band: the picture is equidistant.
        const up = (0.5 - (band + 0.5) / 8) * 190 * deg;
        const off = Math.hypot(up, across * deg);
        const s = Math.sin(off) / off;
        const seen: Vector3 = [s * across * deg, s * up, -Math.cos(off)];
        const view = rotateVector(quaternionAt(rows, band), seen);
        const found = sourceDirection(track, intended.q, FRAME, view, rig, 'right');
        expect(apartBy(found, seen)).toBeLessThan(leftOver(rate, readoutMs) + 1e-14);
      }),
    );
  });

  test('read from the bottom they come in the order of the picture, not of time', () => {
    const track = spinning([0, 1, 0], 1);
    const top = rowCorrections(track, IDENTITY, FRAME, rigOf(16), 'left', 4);
    const rig = rigOf(16, {
      eyes: eyesWith({ readout: { left: { startMs: 0, firstRow: 'bottom' } } }),
    });
    const bottom = rowCorrections(track, IDENTITY, FRAME, rig, 'left', 4);
    for (let band = 0; band < 4; band++) {
      const here = quaternionAt(top, band);
      expect(apart(here, quaternionAt(bottom, 3 - band))).toBeLessThan(1e-15);
      expect(apart(here, turn([0, 1, 0], 0.004 * (band + 0.5)).q)).toBeLessThan(1e-14);
    }
  });

  test('follow the clock of each eye', () => {
    const rig = rigOf(16, {
      eyes: eyesWith({ readout: { right: { startMs: 1, firstRow: 'top' } } }),
    });
    const track = spinning([1, 0, 0], 20 * deg);
    const [left, right] = (['left', 'right'] as const).map((eye) =>
      rowCorrections(track, IDENTITY, FRAME, rig, eye),
    );
    for (let band = 0; band < 8; band++) {
      // 1 ms at 20 °/s is 1.2 arcmin.
      const late = angularDistance(quaternionAt(left!, band), quaternionAt(right!, band));
      expect((late / deg) * 60).toBeCloseTo(1.2, 10);
    }
  });
});

describe('the row of a direction', () => {
  test('runs from the top edge of the image circle to the bottom one', () => {
    const at = (elevation: number): Vector3 => [
      0,
      Math.sin(elevation * deg),
      -Math.cos(elevation * deg),
    ];
    expect(rowOfDirection(at(95), DEFAULT_RIG)).toBeCloseTo(0, 14);
    expect(rowOfDirection(at(0), DEFAULT_RIG)).toBe(0.5);
    expect(rowOfDirection(at(-95), DEFAULT_RIG)).toBeCloseTo(1, 14);
    expect(rowOfDirection([1, 0, 0], DEFAULT_RIG)).toBe(0.5);
  });

  test('is that of an equidistant picture', () => {
    fc.assert(
      fc.property(views, (view) => {
        fc.pre(Math.hypot(view[0], view[1]) > 1e-6);
        expect(rowOfDirection(view, DEFAULT_RIG)).toBeCloseTo(rowOf(view), 14);
      }),
    );
  });
});

describe('what is lost if the rolling of the shutter is ignored', () => {
  test.each([
    [2, 8, 0.45],
    [2, 16, 0.9],
    [2, 20, 1.1],
    [10, 8, 2.2],
    [10, 16, 4.5],
    [10, 20, 5.6],
    [20, 8, 4.5],
    [20, 16, 9.0],
    [20, 20, 11],
    [40, 8, 9.0],
    [40, 16, 18],
    [40, 20, 22],
    [100, 8, 22],
    [100, 16, 45],
    [100, 20, 56],
  ])('%d°/s over %d ms are up to %d arcmin', (rate, readoutMs, printed) => {
    // The printed values take the middle row's time for the frame's.
    const middle = { startMs: -readoutMs / 2, firstRow: 'top' } as const;
    const rig = rigOf(readoutMs, { eyes: eyesWith({ readout: { left: middle, right: middle } }) });
    const found = ignoredReadoutArcmin(spinning([1, 0, 0], rate * deg), rig);
    // Two digits are printed, of the largest error that sampling the view met: a unit below at most.
    const unit = 10 ** (Math.floor(Math.log10(printed)) - 1);
    for (const arcmin of found) {
      expect(Math.abs(arcmin - printed)).toBeLessThan(unit);
      expect(arcmin / rate / readoutMs).toBeCloseTo(0.0284, 4);
    }
  });

  test('is twice as much where the frame bears the time of its first row', () => {
    const first = { startMs: 0, firstRow: 'top' } as const;
    const rig = rigOf(16, { eyes: eyesWith({ readout: { left: first, right: first } }) });
    const [found] = ignoredReadoutArcmin(spinning([1, 0, 0], 20 * deg), rig);
    expect(found).toBeCloseTo(20 * 60 * 0.016 * (90 / 95), 6);
  });

  test('is nothing with a global shutter', () => {
    expect(Math.max(...ignoredReadoutArcmin(spinning([1, 0, 0], 1), rigOf(0)))).toBe(0);
  });
});

describe('between and beyond the frames of a clip', () => {
  const framesOf = (angles: readonly number[]) =>
    createTrack({
      times: Float64Array.from(angles, (_, k) => k / FPS),
      quaternions: Float64Array.from(angles.flatMap((angle) => [...turn([0, 1, 0], angle).q])),
    });
  const angleAt = (track: OrientationTrack, frames: number) => {
    const q = quaternionAt(betweenFrames(track, Float64Array.of(frames / FPS)), 0);
    return 2 * Math.atan2(q[1], q[3]);
  };

  test('a clip of one frame stands still', () => {
    const one: OrientationTrack = {
      times: Float64Array.of(0),
      quaternions: Float64Array.from(turn([0, 1, 0], 0.3).q),
      up: 'stated',
      warnings: [],
    };
    for (const frames of [-0.5, 0, 0.7]) expect(angleAt(one, frames)).toBeCloseTo(0.3, 14);
  });

  test('a clip of two frames turns on as it does between them', () => {
    const two = framesOf([0.1, 0.14]);
    for (const frames of [-2, -1, -0.3, 0.5, 1.6, 2, 3]) {
      expect(angleAt(two, frames)).toBeCloseTo(0.1 + 0.04 * frames, 12);
    }
  });

  test('a camera that slows down towards an end slows down as much beyond it', () => {
    // Turns of 5, 3 and 1 hundredths: the next is one of −1; seen from its other end it goes faster,
    // and its turn of 5 is held.
    const slowing = framesOf([0, 0.05, 0.08, 0.09]);
    expect(angleAt(slowing, 4)).toBeCloseTo(0.08, 12);
    expect(angleAt(slowing, -1)).toBeCloseTo(-0.05, 12);
    const mirrored = framesOf([0.09, 0.08, 0.05, 0]);
    expect(angleAt(mirrored, -1)).toBeCloseTo(0.08, 12);
    expect(angleAt(mirrored, 4)).toBeCloseTo(-0.05, 12);
  });

  test('only the frames around a time have a say', () => {
    const walk = Array.from(
      { length: 40 },
      (_, k) => 0.05 * Math.sin(0.9 * k) + 0.02 * Math.sin(2 * k),
    );
    const times = Float64Array.from({ length: 390 }, (_, k) => (k + 0.5) / 10 / FPS);
    const whole = betweenFrames(framesOf(walk), times);
    times.forEach((time, k) => {
      const alone = betweenFrames(framesOf(walk), Float64Array.of(time));
      // The same four frames, in arrays of another length.
      expect(apart(quaternionAt(alone, 0), quaternionAt(whole, k))).toBeLessThan(1e-14);
    });
  });
});
