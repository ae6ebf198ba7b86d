import { describe, expect, test } from 'vitest';
import { checkPicture, type EyeSource, type StMap, toStMap } from '../../src/handoff/stMap.js';
import type { LensMapping } from '../../src/rig/lens.js';
import { rowOfDirection, sourceDirection } from '../../src/rig/rollingShutter.js';
import { DEFAULT_RIG, type StereoRig } from '../../src/rig/stereoRig.js';
import { composeQuaternions, quaternionAt } from '../../src/rotation/arrays.js';
import type { Quaternion, Vector3 } from '../../src/rotation/quaternion.js';
import { createTrack } from '../../src/track/orientationTrack.js';
import { complaint } from '../complaint.js';
import { eyesWith } from '../rig/eyes.js';
import { fc } from '../seed.js';
import { turn, turnsBy } from '../turns.js';
import { apply, matrixOf, RATE, resultOf, transposed } from './results.js';

const LEVEL: Quaternion = [0, 0, 0, 1];
const degrees = Math.PI / 180;
const HALF: EyeSource = { projection: 'half-equirect' };
/** A place from 0 to 1 as a 32-bit float is off by at most 2⁻²⁵; our own scalar sum by far less. */
const FLOAT = 2 ** -25 + 1e-12;
/** The same for places beyond the picture, where the steps of a float grow with it. */
const float = (place: number) => 2 ** -24 * Math.max(0.5, Math.abs(place)) + 1e-12;

/** Two frames with one correction, K. */
const corrected = (k: Quaternion, more: Partial<Parameters<typeof resultOf>[0]> = {}) =>
  resultOf({ intended: [LEVEL, LEVEL], corrections: [k, k], ...more });

/** The direction of a pixel's middle in a half-equirect view, by longitude and latitude. */
function directionOf(i: number, j: number, width: number, height: number): Vector3 {
  const lon = (((i + 0.5) / width) * 180 - 90) * degrees;
  const lat = (90 - ((j + 0.5) / height) * 180) * degrees;
  return [Math.cos(lat) * Math.sin(lon), Math.sin(lat), -Math.cos(lat) * Math.cos(lon)];
}

/** Distance from the middle of the picture in focal lengths, as textbooks give the five laws. */
function radiusOf(mapping: LensMapping, theta: number): number {
  switch (mapping.law) {
    case 'equidistant':
      return theta;
    case 'equisolid':
      return 2 * Math.sin(theta / 2);
    case 'stereographic':
      return 2 * Math.tan(theta / 2);
    case 'orthographic':
      return Math.sin(theta);
    case 'polynomial':
      return mapping.coefficients.reduce((sum, c, k) => sum + c * theta ** (2 * k + 3), theta);
  }
}

const LAWS: readonly LensMapping[] = [
  { law: 'equidistant' },
  { law: 'equisolid' },
  { law: 'stereographic' },
  { law: 'orthographic' },
  { law: 'polynomial', coefficients: [-0.02, 0.001] },
];

const sizes = fc.tuple(fc.integer({ min: 1, max: 9 }), fc.integer({ min: 1, max: 9 }));
const small = turnsBy(fc.integer({ min: 0, max: 400 }).map((k) => (k / 10) * degrees));

describe('where a pixel of the view is found in the source', () => {
  test('a half-equirect source: direction, turned back by K, by longitude and latitude', () => {
    fc.assert(
      fc.property(small, sizes, ({ q }, [widthPx, heightPx]) => {
        const map = toStMap(corrected(q), 1, { eye: 'left', widthPx, heightPx, source: HALF });
        const back = transposed(matrixOf(q));
        for (let j = 0, at = 0; j < heightPx; j++) {
          for (let i = 0; i < widthPx; i++, at++) {
            const [x, y, z] = apply(back, directionOf(i, j, widthPx, heightPx));
            const s = 0.5 + Math.atan2(x, -z) / Math.PI;
            const t = 0.5 + Math.asin(Math.max(-1, Math.min(1, y))) / Math.PI;
            // The arc sine loses half its digits at the poles.
            expect(Math.abs(map.s[at]! - s)).toBeLessThan(2 * FLOAT);
            expect(Math.abs(map.t[at]! - t)).toBeLessThan(FLOAT + 1e-8);
            expect(map.coverage[at]).toBe(s >= 0 && s <= 1 ? 1 : 0);
          }
        }
      }),
    );
  });

  test.each(LAWS)('a fisheye source of the law $law', (mapping) => {
    const fieldDeg = mapping.law === 'orthographic' ? 180 : 200;
    const rig: StereoRig = { ...DEFAULT_RIG, lens: { fieldDeg, mapping } };
    const source: EyeSource = {
      projection: 'fisheye',
      widthPx: 300,
      heightPx: 200,
      circle: { centrePx: [160, 90], diameterPx: 170 },
    };
    const half = (fieldDeg / 2) * degrees;
    const scale = 85 / radiusOf(mapping, half);
    fc.assert(
      fc.property(small, sizes, ({ q }, [widthPx, heightPx]) => {
        const result = corrected(q, { rig });
        const map = toStMap(result, 0, { eye: 'right', widthPx, heightPx, source });
        const back = transposed(matrixOf(q));
        for (let j = 0, at = 0; j < heightPx; j++) {
          for (let i = 0; i < widthPx; i++, at++) {
            const [x, y, z] = apply(back, directionOf(i, j, widthPx, heightPx));
            const theta = Math.atan2(Math.hypot(x, y), -z);
            const phi = Math.atan2(y, x);
            const r = scale * radiusOf(mapping, theta);
            const s = (160 + r * Math.cos(phi)) / 300;
            const t = 1 - (90 - r * Math.sin(phi)) / 200;
            expect(Math.abs(map.s[at]! - s)).toBeLessThan(float(s));
            expect(Math.abs(map.t[at]! - t)).toBeLessThan(float(t));
            if (Math.abs(theta - half) < 1e-6) continue;
            const inside = theta < half && s >= 0 && s <= 1 && t >= 0 && t <= 1;
            expect(map.coverage[at]).toBe(inside ? 1 : 0);
          }
        }
      }),
    );
  });

  // Half-equirect 4096 × 4096 to an equidistant circle of 180° and 4096 px, centre (2048, 2048),
  // counted from the edges of pixels from the top left: computed outside the project.
  test.each([
    [2048, 2048, 2048.4999999755, 2048.5000000123],
    [3071, 1023, 2835.6710183, 932.7824954],
    [4095, 2048, 4095.4998495, 2048.7852064],
  ])('pixel (%d, %d) of 4096 lies at (%d, %d)', (i, j, across, down) => {
    const lens = { fieldDeg: 180, mapping: { law: 'equidistant' } } as const;
    const rig = { ...DEFAULT_RIG, lens };
    // A map of one pixel looks straight ahead; the turn brings that to where the pixel looks.
    const lon = ((i + 0.5) / 4096 - 0.5) * Math.PI;
    const lat = (0.5 - (j + 0.5) / 4096) * Math.PI;
    const [nod, swing] = [turn([1, 0, 0], -lat).q, turn([0, 1, 0], lon).q];
    const k = composeQuaternions(Float64Array.from(nod), swing);
    const map = toStMap(corrected(quaternionAt(k, 0), { rig }), 0, {
      eye: 'left',
      widthPx: 1,
      heightPx: 1,
      source: { projection: 'fisheye', widthPx: 4096, heightPx: 4096 },
      origin: 'top-left',
    });
    // Half a step of a float below 1, in pixels, and the digits that the numbers are given to.
    expect(Math.abs(4096 * map.s[0]! - across)).toBeLessThan(4096 * FLOAT + 1e-7);
    expect(Math.abs(4096 * map.t[0]! - down)).toBeLessThan(4096 * FLOAT + 1e-7);
  });

  test('each eye has its own alignment in its map', () => {
    const alignment = { left: turn([0, 0, 1], 0.02).q, right: turn([1, 0, 0], -0.03).q };
    const result = corrected(turn([0, 1, 0], 0.1).q, {
      rig: { ...DEFAULT_RIG, eyes: eyesWith({ alignment }) },
    });
    for (const eye of ['left', 'right'] as const) {
      const map = toStMap(result, 0, { eye, widthPx: 3, heightPx: 3, source: HALF });
      const back = transposed(matrixOf(alignment[eye]));
      const seen = apply(back, apply(transposed(matrixOf(turn([0, 1, 0], 0.1).q)), [0, 0, -1]));
      expect(Math.abs(map.s[4]! - 0.5 - Math.atan2(seen[0], -seen[2]) / Math.PI)).toBeLessThan(
        FLOAT,
      );
      expect(Math.abs(map.t[4]! - 0.5 - Math.asin(seen[1]) / Math.PI)).toBeLessThan(FLOAT);
    }
  });

  test('places count from the bottom left, or from the top left where it is said', () => {
    const options = { eye: 'left', widthPx: 4, heightPx: 4, source: HALF } as const;
    const result = corrected(turn([1, 0, 0], 0.2).q);
    const below = toStMap(result, 0, options);
    const above = toStMap(result, 0, { ...options, origin: 'top-left' });
    expect(above.s).toEqual(below.s);
    below.t.forEach((t, at) => {
      expect(Math.abs(above.t[at]! + t - 1)).toBeLessThanOrEqual(2 ** -24);
    });
    // The view's middle was seen 0.2 rad lower, K having lifted it.
    const centre = toStMap(result, 0, { ...options, widthPx: 1, heightPx: 1 });
    expect(Math.abs(centre.t[0]! - (0.5 - 0.2 / Math.PI))).toBeLessThan(FLOAT);
  });
});

describe('coverage', () => {
  test('a mask fades from its clear part to its edge by 3u² − 2u³', () => {
    const centre: Vector3 = [Math.sin(0.1), 0, -Math.cos(0.1)];
    const mask = { centre, opaqueFrom: 1.2, clearUpTo: 0.9 };
    const [widthPx, heightPx] = [61, 61];
    const options = { eye: 'left', widthPx, heightPx, source: HALF } as const;
    const { coverage } = toStMap(corrected(LEVEL, { mask }), 0, options);
    let soft = 0;
    for (let j = 0, at = 0; j < heightPx; j++) {
      for (let i = 0; i < widthPx; i++, at++) {
        const view = directionOf(i, j, widthPx, heightPx);
        const dot = view.reduce((sum, value, axis) => sum + value * centre[axis]!, 0);
        const angle = Math.acos(Math.min(1, dot));
        const u = Math.max(0, Math.min(1, (1.2 - angle) / 0.3));
        if (u > 0 && u < 1) soft++;
        // The arc cosine is off by 1e-8 rad near the middle, where the slope is zero; a float by 2⁻²⁵.
        expect(Math.abs(coverage[at]! - (3 * u ** 2 - 2 * u ** 3))).toBeLessThan(1e-7);
      }
    }
    expect(soft).toBeGreaterThan(100);
  });

  test('a mask without a soft edge ends at once', () => {
    const mask = { centre: [0, 0, -1], opaqueFrom: 1, clearUpTo: 1 } as const;
    const options = { eye: 'left', widthPx: 40, heightPx: 40, source: HALF } as const;
    const { coverage } = toStMap(corrected(LEVEL, { mask }), 0, options);
    for (let j = 0, at = 0; j < 40; j++) {
      for (let i = 0; i < 40; i++, at++) {
        const angle = Math.acos(-directionOf(i, j, 40, 40)[2]);
        expect(coverage[at]).toBe(angle < 1 ? 1 : 0);
      }
    }
  });

  test('an image that is no circle covers what its boundary surely holds', () => {
    // Eight samples of 80°: a chord between two of them comes as close as 80° cos 22.5°.
    const boundaryDeg = Array(8).fill(80);
    const lens = { ...DEFAULT_RIG.lens, fieldDeg: 200, boundaryDeg };
    const source = { projection: 'fisheye', widthPx: 100, heightPx: 100 } as const;
    const options = { eye: 'left', widthPx: 90, heightPx: 1, source } as const;
    const result = corrected(LEVEL, { rig: { ...DEFAULT_RIG, lens } });
    const { coverage } = toStMap(result, 0, options);
    coverage.forEach((share, i) => {
      const angle = Math.abs(((i + 0.5) / 90) * 180 - 90);
      expect(share).toBe(angle < 80 * Math.cos(Math.PI / 8) ? 1 : 0);
    });
  });
});

describe('a rolling shutter', () => {
  /** A walk that turns at up to some 60 °/s, sampled at every frame. */
  const omega = 2 * Math.PI * 2;
  const amplitude = (60 * degrees) / omega;
  const times = Float64Array.from({ length: 12 }, (_, k) => (k * 1001) / 60000);
  const look = (t: number) => turn([0.6, 0.64, 0.48], amplitude * Math.sin(omega * t)).q;
  const measured = createTrack({
    times,
    quaternions: Float64Array.from([...times].flatMap((t) => [...look(t)])),
    frameRate: RATE,
  });
  // S stands still, so K = C.
  const walk = Array.from(times, (_, k) => quaternionAt(measured.quaternions, k));
  const still = walk.map(() => LEVEL);

  test.each([
    ['top', 0, 190],
    ['bottom', 0, 190],
    ['top', -12, 190],
    ['top', 3, 180],
  ] as const)(
    'rows read from the %s, %d ms after the frame, field %d°: each pixel by its own row’s time',
    (firstRow, startMs, fieldDeg) => {
      const readout = { startMs, firstRow };
      const rig: StereoRig = {
        ...DEFAULT_RIG,
        lens: { fieldDeg, mapping: { law: 'equidistant' } },
        readoutMs: 14,
        eyes: eyesWith({
          alignment: { left: turn([0, 0, 1], 0.01).q, right: LEVEL },
          readout: { left: readout, right: { startMs: 1, firstRow: 'bottom' } },
        }),
      };
      const result = resultOf({ intended: still, corrections: walk, first: 0, rig });
      const [widthPx, heightPx] = [15, 15];
      const source = { projection: 'fisheye', widthPx: 1000, heightPx: 1000 } as const;
      const map = toStMap(result, 5, { eye: 'left', widthPx, heightPx, source });
      const middle = (500 * 2) / (fieldDeg * degrees);
      // One band lasts 14/32 ms: 0.026° at 60 °/s. Within a band the straight line misses by less
      // than the change of rate between the two frames it may straddle, amplitude · ω² · 1001/60000
      // (12.6 °/s), over half a band: 0.0028°. Beyond the middles of the outermost bands the row's own
      // rotation is held for up to half a band: 0.013°, where the lens's field ends with the view.
      const straddled = (amplitude * omega ** 2 * (1001 / 60000) * 0.014) / 64;
      const held = (60 * degrees * 0.014) / 64;
      let skew = 0;
      for (let j = 0, at = 0; j < heightPx; j++) {
        for (let i = 0; i < widthPx; i++, at++) {
          const view = directionOf(i, j, widthPx, heightPx);
          const [x, y, z] = sourceDirection(measured, LEVEL, 5, view, rig, 'left');
          const row = rowOfDirection([x, y, z], rig);
          const outermost = row < 1 / 64 || row > 63 / 64;
          const theta = Math.atan2(Math.hypot(x, y), -z);
          if (theta < 1e-9) continue;
          const place = [x, y].map((part) => (middle * theta * part) / Math.hypot(x, y));
          const miss = Math.hypot(
            1000 * map.s[at]! - (500 + place[0]!),
            1000 * map.t[at]! - (500 + place[1]!),
          );
          // A turn by an angle moves a place by up to θ/sin θ ≤ 1.7 of it at 95° from the axis.
          const bound = 1.7 * middle * (outermost ? straddled + held : straddled);
          // sourceDirection looks for the row in three rounds, from at most half a picture off; each
          // shrinks that by the turn during the readout over the field.
          const turned = 60 * 0.014;
          const rounds = 1.7 * middle * degrees * 0.5 * (turned / fieldDeg) ** 2 * turned;
          expect(miss).toBeLessThan(bound + rounds + 1000 * FLOAT);
          const middleRow = placeWithoutRows(view);
          skew = Math.max(skew, Math.hypot(place[0]! - middleRow[0], place[1]! - middleRow[1]));
        }
      }
      // Without the rows' own times it would miss by far more than any bound above.
      expect(skew).toBeGreaterThan(3 * 1.7 * middle * (straddled + held));

      function placeWithoutRows(view: Vector3): [number, number] {
        const eye = transposed(matrixOf(rig.eyes.left.alignment));
        const [x, y, z] = apply(eye, apply(transposed(matrixOf(walk[5]!)), view));
        const theta = Math.atan2(Math.hypot(x, y), -z);
        const r = (middle * theta) / Math.hypot(x, y);
        return [r * x, r * y];
      }
    },
  );

  test('a single frame has no rows of its own: its map is that of its K', () => {
    const one = { intended: [LEVEL], corrections: [walk[5]!] };
    const options = { eye: 'left', widthPx: 5, heightPx: 5, source: HALF } as const;
    const rolling = resultOf({ ...one, rig: { ...DEFAULT_RIG, readoutMs: 14 } });
    const whole = resultOf({ ...one, rig: DEFAULT_RIG });
    expect(toStMap(rolling, 0, options)).toEqual(toStMap(whole, 0, options));
  });
});

describe('the pictures to try a map with', () => {
  const SIZE = 360;

  /** The picture's colour at a place (s, t) by its nearest pixel. */
  const nearest = (picture: StMap, s: number, t: number) => {
    const i = Math.min(SIZE - 1, Math.floor(s * SIZE));
    const j = Math.min(SIZE - 1, Math.floor((1 - t) * SIZE));
    return at(picture, j * SIZE + i);
  };
  const at = (picture: StMap, i: number) => [picture.s[i], picture.t[i], picture.coverage[i]];
  /** Degrees from the nearest multiple of 15°. */
  const off = (angle: number) => Math.abs(angle - 15 * Math.round(angle / 15));

  test('the plain one looked up through the map is the corrected one', () => {
    const k = turn([0.48, 0.6, 0.64], 0.35).q;
    const plain = checkPicture(SIZE);
    const wanted = checkPicture(SIZE, k);
    const options = { eye: 'left', widthPx: SIZE, heightPx: SIZE, source: HALF } as const;
    const map = toStMap(corrected(k), 0, options);
    const back = transposed(matrixOf(k));
    const wrong: number[] = [];
    let compared = 0;
    let marks = 0;
    for (let i = 0; i < SIZE * SIZE; i++) {
      const view = directionOf(i % SIZE, Math.floor(i / SIZE), SIZE, SIZE);
      const [x, y, z] = apply(back, view);
      const lon = Math.atan2(x, -z) / degrees;
      const lat = Math.asin(y) / degrees;
      // The nearest pixel is off by up to a quarter of a degree; a mark ends 0.573° (0.01 rad) from
      // its line, along the parallel. Nearer to an edge either colour is right.
      const edge = Math.abs(off(lat) - 0.573);
      const along = Math.abs(off(lon) * Math.cos(lat * degrees) - 0.573);
      if (Math.abs(90 - Math.abs(lon)) < 0.3 || edge < 0.27 || Math.abs(lat) > 80) continue;
      if (along < 0.27 && off(lat) > 0.573) continue;
      compared++;
      if (wanted.s[i] === 1) marks++;
      const found = map.coverage[i] === 0 ? [0, 0, 0] : nearest(plain, map.s[i]!, map.t[i]!);
      if (found.some((value, plane) => value !== at(wanted, i)[plane])) wrong.push(i);
    }
    expect(wrong).toEqual([]);
    expect(compared).toBeGreaterThan(0.7 * SIZE * SIZE);
    expect(marks).toBeGreaterThan(0.02 * SIZE * SIZE);
  });

  test('its four quarters differ, and it is brighter above and on the left', () => {
    const quarter = (s: number, t: number) => nearest(checkPicture(SIZE), s, t);
    expect([quarter(0.46, 0.54), quarter(0.54, 0.54)].map((c) => c.map(tenths))).toEqual([
      [0.5, 0.5, 0.2],
      [0.1, 0.5, 0.2],
    ]);
    expect([quarter(0.46, 0.46), quarter(0.54, 0.46)].map((c) => c.map(tenths))).toEqual([
      [0.5, 0.1, 0.2],
      [0.1, 0.1, 0.2],
    ]);
  });
});

const tenths = (value: number | undefined) => Math.round(10 * value!) / 10;

describe('toStMap refuses', () => {
  const options = { eye: 'left', widthPx: 2, heightPx: 2, source: HALF } as const;
  const result = corrected(LEVEL);

  test.each([2, -1, 0.5, Number.NaN])('frame index %d of two frames', (k) => {
    expect(() => toStMap(result, k, options)).toThrow(
      complaint('argument/invalid', `found the frame index ${k}, expected 0 to 1`),
    );
  });

  test.each([
    [0, 4],
    [4, Number.NaN],
    [20000, 20000],
  ])('a map of %d × %d', (widthPx, heightPx) => {
    expect(() => toStMap(result, 0, { ...options, widthPx, heightPx })).toThrow(
      complaint('argument/invalid', `found a map of ${widthPx} × ${heightPx}`),
    );
  });

  test('a fisheye source where no rig says what lens it was', () => {
    const source = { projection: 'fisheye', widthPx: 8, heightPx: 8 } as const;
    expect(() => toStMap(result, 0, { ...options, source })).toThrow(
      complaint('argument/invalid', 'found a fisheye source and no rig'),
    );
  });
});
