// What of a view stays black: rays cast through both lenses, one by one, with matrices and nothing of the library.
import { describe, expect, test } from 'vitest';
import { makeWalk, type WalkKind } from '../../bench/accuracy/walks.js';
import { type CorrectionResult, correct } from '../../src/correct.js';
import { toStMap } from '../../src/handoff/stMap.js';
import { clipCoverage } from '../../src/rig/clipCoverage.js';
import type { LensMapping } from '../../src/rig/lens.js';
import type { Projection } from '../../src/rig/picture.js';
import { DEFAULT_RIG, type StereoRig } from '../../src/rig/stereoRig.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import type { Quaternion, Vector3 } from '../../src/rotation/quaternion.js';
import { frameTimes } from '../../src/track/frameRate.js';
import { createTrack } from '../../src/track/orientationTrack.js';
import { apply, matrixOf, product, resultOf, transposed } from '../handoff/results.js';
import { eyesWith } from '../rig/eyes.js';
import { fc } from '../seed.js';
import { rotations, turn, turnsBy } from '../turns.js';

const deg = Math.PI / 180;
const EYES = ['left', 'right'] as const;
/** Whole clips and pictures: a single case takes longer than most properties. */
const LONG = { interruptAfterTimeLimit: 40_000 };

const degrees = (min: number, max: number) =>
  fc.integer({ min: 100 * min, max: 100 * max }).map((k) => (k / 100) * deg);
const alignments = turnsBy(degrees(0, 3)).map(({ q }) => q);
const laws: readonly LensMapping[] = [
  { law: 'equidistant' },
  { law: 'equisolid' },
  { law: 'stereographic' },
  { law: 'polynomial', coefficients: [-0.02, 0.001] },
];
const pictures = fc.constantFrom<Projection[]>('half-equirect', 'fisheye');
const rigs: fc.Arbitrary<StereoRig> = fc
  .record({
    fieldDeg: fc.integer({ min: 170, max: 215 }),
    mapping: fc.constantFrom(...laws),
    left: alignments,
    right: alignments,
    outputFieldDeg: fc.constantFrom(180, 180, 160, 120),
  })
  .map(({ fieldDeg, mapping, left, right, outputFieldDeg }) => ({
    ...DEFAULT_RIG,
    lens: { fieldDeg, mapping },
    eyes: eyesWith({ alignment: { left, right } }),
    outputFieldDeg,
  }));

/** What the eye sees in a direction of its own axes: whether its picture holds it. */
function holds(picture: Projection, { lens }: StereoRig, [x, y, z]: Vector3): boolean {
  const seen = Math.acos(Math.max(-1, Math.min(1, -z))) <= (lens.fieldDeg / 2) * deg;
  // A half-equirect runs over longitudes from −90° to 90°.
  return seen && (picture === 'fisheye' || Math.abs(Math.atan2(x, -z)) <= 90 * deg || y === 1);
}

/** Evenly spread directions of a view, on a golden spiral. */
function viewRays(fieldDeg: number, count: number): Vector3[] {
  const golden = Math.PI * (3 - Math.sqrt(5));
  const whole = 1 - Math.cos((fieldDeg / 2) * deg);
  return Array.from({ length: count }, (_, k) => {
    const forward = 1 - (whole * (k + 0.5)) / count;
    const across = Math.sqrt(1 - forward * forward);
    return [across * Math.cos(golden * k), across * Math.sin(golden * k), -forward];
  });
}

/** Rays of the view that an eye's picture does not hold, at a frame whose rows are read at once. */
function blackRays(
  result: CorrectionResult,
  rig: StereoRig,
  picture: Projection,
  eye: 'left' | 'right',
  frame: number,
  rays: readonly Vector3[],
): Vector3[] {
  const k = matrixOf(quaternionAt(result.corrections.quaternions, frame));
  const toEye = transposed(product(k, matrixOf(rig.eyes[eye].alignment)));
  return rays.filter((ray) => !holds(picture, rig, apply(toEye, ray)));
}

const clips = fc
  .array(fc.tuple(rotations, turnsBy(degrees(0, 14))), { minLength: 1, maxLength: 4 })
  .map((frames) => ({
    intended: frames.map(([s]) => s),
    corrections: frames.map(([, k]) => k.q),
  }));

const angle = (a: Vector3, b: readonly number[]) =>
  Math.acos(Math.max(-1, Math.min(1, a[0] * b[0]! + a[1] * b[1]! + a[2] * b[2]!)));

describe('what each eye’s picture leaves black', () => {
  const RAYS = 20_000;

  test('is what casting rays finds, frame by frame, for any rig, alignment and picture', () => {
    fc.assert(
      fc.property(clips, rigs, pictures, (parts, rig, picture) => {
        const result = resultOf({ ...parts, rig, picture });
        const stated = clipCoverage(result, rig, picture);
        const rays = viewRays(rig.outputFieldDeg, RAYS);
        for (const eye of EYES) {
          parts.corrections.forEach((_, frame) => {
            const black = blackRays(result, rig, picture, eye, frame, rays);
            // Points on a golden spiral count caps to N^(−3/4) (Aistleitner, Brauchart, Dick, "Point
            // sets on the sphere with small spherical cap discrepancy", 2012, from memory).
            const gap = black.length / RAYS - stated[eye].uncovered[frame]!;
            expect(Math.abs(gap)).toBeLessThan(RAYS ** -0.75);
          });
        }
      }),
      { numRuns: 40, ...LONG },
    );
  });

  test('is all behind the one mask of both eyes, and without a mask there is none', () => {
    fc.assert(
      fc.property(clips, rigs, pictures, (parts, rig, picture) => {
        const result = resultOf({ ...parts, rig, picture });
        const { mask } = clipCoverage(result, rig, picture);
        const rays = viewRays(rig.outputFieldDeg, 5000);
        for (const eye of EYES) {
          parts.corrections.forEach((_, frame) => {
            for (const ray of blackRays(result, rig, picture, eye, frame, rays)) {
              expect(mask).toBeDefined();
              // The arc cosine loses half its digits at the poles.
              expect(angle(ray, mask!.centre)).toBeGreaterThan(mask!.opaqueFrom - 1e-7);
            }
          });
        }
      }),
      { numRuns: 40, ...LONG },
    );
  });
});

describe('rows that are read while the camera pans', () => {
  test.each([
    [100, 0, 'top'],
    [100, -10, 'top'],
    [-60, 4, 'bottom'],
  ] as const)(
    'at %d °/s, from %d ms, %s first: black is what rays row by row find',
    (rate, startMs, firstRow) => {
      const readoutMs = 20;
      const readout = { startMs, firstRow };
      const rig: StereoRig = {
        ...DEFAULT_RIG,
        readoutMs,
        eyes: eyesWith({ readout: { left: readout, right: readout } }),
      };
      // The view looks where the camera looks at the frame's own time: K is nothing, and so is the black.
      const pan = (time: number) => turn([0, 1, 0], rate * deg * time).q;
      const frames = Array.from({ length: 12 }, (_, k) => pan(k / (60000 / 1001)));
      const result = resultOf({
        intended: frames,
        corrections: frames.map(() => [0, 0, 0, 1]),
        rig,
      });
      const { left } = clipCoverage(result, rig, 'half-equirect');
      // Where the camera saw a ray: it turns on until the ray's row is read.
      const seen = ([x, y, z]: Vector3): Vector3 => {
        let found: Vector3 = [x, y, z];
        for (let round = 0; round < 8; round++) {
          const across = Math.hypot(found[0], found[1]);
          const off = Math.atan2(across, -found[2]);
          const row = 0.5 - (across === 0 ? 0 : (0.5 * off * (found[1] / across)) / (95 * deg));
          const delay = (startMs + (firstRow === 'top' ? row : 1 - row) * readoutMs) / 1000;
          const angle = -rate * deg * delay;
          found = [
            x * Math.cos(angle) + z * Math.sin(angle),
            y,
            z * Math.cos(angle) - x * Math.sin(angle),
          ];
        }
        return found;
      };
      const RAYS = 50_000;
      const black = viewRays(180, RAYS).filter((ray) => !holds('half-equirect', rig, seen(ray)));
      expect(black.length / RAYS).toBeGreaterThan(0.001);
      for (const share of left.uncovered.slice(2, -2)) {
        expect(Math.abs(share - black.length / RAYS)).toBeLessThan(RAYS ** -0.75);
      }
      expect(largestOf(left.swings)).toBeLessThan(1e-9);
    },
  );
});

const largestOf = (values: Float64Array) => values.reduce((a, b) => Math.max(a, b), 0);

const FRAME_RATE = { numerator: 30000, denominator: 1001 };

function walk([kind, seed]: readonly [WalkKind, number]) {
  const { measured } = makeWalk(kind, seed, { duration: 8, frameRate: 30000 / 1001 });
  const times = frameTimes(FRAME_RATE, measured.length / 4);
  return createTrack({ times, quaternions: measured, frameRate: FRAME_RATE, up: 'stated' });
}
const walks = fc.tuple(
  fc.constantFrom<WalkKind[]>('scurve', 'turn90', 'tilt', 'roaming'),
  fc.integer({ min: 1, max: 99 }),
);
const readouts = fc.constantFrom(
  { readoutMs: 0, startMs: 0 },
  { readoutMs: 16, startMs: 0 },
  { readoutMs: 24, startMs: -12 },
);

/** A corrected walk of a rig with lenses askew, rows that are read in time, either way up. */
const corrected = fc
  .tuple(walks, rigs, pictures, readouts, fc.constantFrom('upright' as const, 'inverted' as const))
  .map(([drawn, base, picture, { readoutMs, startMs }, mount]) => {
    const rig: StereoRig = {
      ...base,
      mount,
      readoutMs,
      eyes: {
        left: { ...base.eyes.left, readout: { startMs, firstRow: 'top' } },
        right: { ...base.eyes.right, readout: { startMs, firstRow: 'bottom' } },
      },
    };
    const track = walk(drawn);
    const limits = { verticalDisparityArcmin: Number.POSITIVE_INFINITY };
    const aim = [{ time: 4, heading: 0.1, tilt: 0.05 }];
    const options = { shot: 'travelling', filter: 'spline', limits, aim } as const;
    return { rig, picture, result: correct(track, { ...options, rig, picture }) };
  });

describe('what the maps of a hand-over leave black', () => {
  const SIZE = 160;
  const inView = (outputFieldDeg: number) =>
    Array.from({ length: SIZE * SIZE }, (_, at) => {
      const lon = (((at % SIZE) + 0.5) / SIZE - 0.5) * Math.PI;
      const lat = (0.5 - (Math.floor(at / SIZE) + 0.5) / SIZE) * Math.PI;
      const ray: Vector3 = [
        Math.cos(lat) * Math.sin(lon),
        Math.sin(lat),
        -Math.cos(lat) * Math.cos(lon),
      ];
      return { ray, area: Math.cos(lat), inside: -ray[2] > Math.cos((outputFieldDeg / 2) * deg) };
    });
  /**
   * An edge crosses the view once at most down and once up: some 2 · 160 pixels, of which it takes any
   * part, off from a half by 1/√12 of a pixel each; four of those sums of the view's 2/π · 160² pixels.
   */
  const GRID = (4 * Math.sqrt(2 * SIZE)) / Math.sqrt(12) / ((2 / Math.PI) * SIZE * SIZE);

  test('is what the result states, per eye and frame, and nothing of it shows within the mask', () => {
    fc.assert(
      fc.property(corrected, fc.nat(), ({ rig, picture, result }, pick) => {
        const stated = clipCoverage(result, rig, picture);
        const n = result.corrections.times.length;
        // The worst frame of either eye, and any other.
        for (const eye of EYES) {
          const { uncovered } = stated[eye];
          const worst = uncovered.reduce((best, x, k) => (x > uncovered[best]! ? k : best), 0);
          for (const frame of [worst, pick % n]) {
            const source =
              picture === 'half-equirect'
                ? ({ projection: 'half-equirect' } as const)
                : ({ projection: 'fisheye', widthPx: 500, heightPx: 500 } as const);
            const { mask, ...bare } = result;
            const options = { eye, widthPx: SIZE, heightPx: SIZE, source };
            const { coverage } = toStMap(bare, frame, options);
            let [black, whole] = [0, 0];
            inView(rig.outputFieldDeg).forEach(({ ray, area, inside }, at) => {
              if (!inside) return;
              whole += area;
              if (coverage[at] === 1) return;
              black += area;
              expect(mask).toBeDefined();
              expect(angle(ray, mask!.centre)).toBeGreaterThan(mask!.opaqueFrom - 1e-6);
            });
            expect(Math.abs(black / whole - uncovered[frame]!)).toBeLessThan(
              // A narrower view has fewer pixels.
              GRID / (1 - Math.cos((rig.outputFieldDeg / 2) * deg)),
            );
            expect(result.rigAssessment!.uncoveredShare).toBeGreaterThanOrEqual(uncovered[frame]!);
          }
        }
      }),
      { numRuns: 6, ...LONG },
    );
  });
});

describe('a correction within what the pictures hold', () => {
  test('brings no edge into the view of either eye, in any frame or row', () => {
    fc.assert(
      fc.property(corrected, ({ rig, picture, result }) => {
        fc.pre(!result.warnings.some(({ code }) => code === 'rig/no-margin'));
        expect(result.mask).toBeUndefined();
        expect(result.rigAssessment!.uncoveredShare).toBe(0);
        const rim = Array.from({ length: 36 }, (_, k): Vector3 => {
          const half = (rig.outputFieldDeg / 2) * deg - 1e-9;
          const across = Math.sin(half);
          return [
            across * Math.cos(10 * k * deg),
            across * Math.sin(10 * k * deg),
            -Math.cos(half),
          ];
        });
        for (const eye of EYES) {
          for (let k = 0; k < result.corrections.times.length; k++) {
            expect(blackRays(result, rig, picture, eye, k, rim)).toEqual([]);
          }
        }
      }),
      { numRuns: 25, ...LONG },
    );
  });

  const one: Quaternion = [0, 0, 0, 1];
  const turned = (axis: 0 | 1, degreesOff: number): Quaternion => {
    const q = [0, 0, 0, Math.cos((degreesOff / 2) * deg)];
    q[axis] = Math.sin((degreesOff / 2) * deg);
    return q as unknown as Quaternion;
  };

  // 95° of a fisheye less 90° of view; lenses that look apart by 1° to either side leave 4° between.
  test.each<[string, Quaternion, Quaternion, number]>([
    ['lenses that look the same way', one, one, 5],
    ['lenses 1° apart to the left and right', turned(1, 1), turned(1, -1), 5],
    ['lenses that both look up by 3°', turned(0, 3), turned(0, 3), 5],
  ])('uses the room of %s', (_, left, right, room) => {
    const rig: StereoRig = { ...DEFAULT_RIG, eyes: eyesWith({ alignment: { left, right } }) };
    const result = correct(walk(['scurve', 3]), {
      ...{ shot: 'travelling', filter: 'spline', picture: 'fisheye', rig },
      limits: { verticalDisparityArcmin: Number.POSITIVE_INFINITY },
      aim: [{ time: 4, heading: 0.2, tilt: -0.3 }],
    });
    const { largestSwingDeg } = result.rigAssessment!;
    expect(largestSwingDeg).toBeLessThan(room);
    // The roll of this walk, below 7°, makes an axis 3° off start sideways by 3° sin 3.5° = 0.19°.
    expect(largestSwingDeg).toBeGreaterThan(room - 0.25);
  });

  test('of half-equirect pictures has no room under 180°, and the black is stated', () => {
    const walked = walk(['scurve', 3]);
    const options = { shot: 'travelling', filter: 'spline', rig: DEFAULT_RIG } as const;
    const result = correct(walked, options);
    expect(result.picture).toBe('half-equirect');
    const { message } = result.warnings.find(({ code }) => code === 'rig/no-margin')!;
    expect(message).toContain('the half-equirect pictures hold 180° of the 190° that the lenses');
    expect(message).toContain('resampled from the fisheye there would be 5.0° of room');
    const rays = viewRays(180, 20_000);
    const { uncovered } = clipCoverage(result, DEFAULT_RIG, 'half-equirect').left;
    const worst = uncovered.reduce((best, x, k) => (x > uncovered[best]! ? k : best), 0);
    const black = blackRays(result, DEFAULT_RIG, 'half-equirect', 'left', worst, rays);
    const { uncoveredShare } = result.rigAssessment!;
    expect(Math.abs(black.length / 20_000 - uncoveredShare)).toBeLessThan(20_000 ** -0.75);
    expect(uncoveredShare).toBeGreaterThan(0.01);
    expect(result.mask).toBeDefined();
  });
});
