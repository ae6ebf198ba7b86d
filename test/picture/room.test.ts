import { describe, expect, test } from 'vitest';
import type { CorrectionResult } from '../../src/correct.js';
import { pixelFormatNamed } from '../../src/picture/pixelFormat.js';
import { planResampling } from '../../src/picture/resampler.js';
import type { EyeImage } from '../../src/picture/stereoFrame.js';
import { DEFAULT_RIG, type StereoRig } from '../../src/rig/stereoRig.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import {
  invertQuaternion,
  multiplyQuaternions,
  type Quaternion,
} from '../../src/rotation/quaternion.js';
import { residualsOf } from '../handoff/residual.js';
import { RATE, resultOf } from '../handoff/results.js';
import { EYES, type Eye, type Lens, renderEye } from '../handoff/room.js';
import {
  ALIGNMENT,
  correctiveOf,
  measured,
  measuredBy,
  resultFor,
  SIZE,
  upTo,
  wanted,
} from '../handoff/shakenWalk.js';
import { longestOf, type Picture, rmsOf } from '../handoff/tileShift.js';
import { eyesWith } from '../rig/eyes.js';
import { frameOf, HALF } from './pictures.js';

const FORMAT = pixelFormatNamed('yuv420p');
const DEGREE = Math.PI / 180;
/**
 * What the tiles' measuring misses itself: cubic polynomials misplace the shortest waves by 0.0025 px on
 * each axis, as do the filter's; the search ends within 0.001 px and 8 bits leave 0.002 px, twice here.
 */
const MEASURING_PX = Math.SQRT2 * (2 * 0.0025 + 0.001 + 2 * 0.002);
/** What is asked of the whole: twentieth of a pixel, root mean square. */
const ASKED_PX = 0.05;

/** Both eyes in one frame of 8 bits; `lightOf` gives an eye's half, row by row. */
function filmed(lightOf: (half: Eye) => ArrayLike<number>): Uint8Array {
  const frame = new Uint8Array(SIZE * SIZE * 3).fill(128);
  EYES.forEach((half, h) => {
    const light = lightOf(half);
    for (let i = 0; i < SIZE * SIZE; i++) {
      frame[Math.floor(i / SIZE) * 2 * SIZE + h * SIZE + (i % SIZE)] = Math.round(light[i]!);
    }
  });
  return frame;
}

/** One eye's corrected picture out of a frame. */
function steadied(
  result: CorrectionResult,
  image: EyeImage,
  frameAt: (k: number) => Uint8Array,
): (k: number, eye: Eye) => Picture {
  const { resample, targetBytes } = planResampling(result, {
    source: frameOf(image, SIZE),
    format: FORMAT,
  });
  const made = new Map<number, Uint8Array>();
  return (k, eye) => {
    if (!made.has(k)) {
      const out = new Uint8Array(targetBytes);
      resample(k, frameAt(k), out);
      made.set(k, out);
    }
    const frame = made.get(k)!;
    const light = Uint8Array.from({ length: SIZE * SIZE }, (_, i) => {
      return frame[Math.floor(i / SIZE) * 2 * SIZE + EYES.indexOf(eye) * SIZE + (i % SIZE)]!;
    });
    return { sizePx: SIZE, light };
  };
}

const shiftsOf = (
  frames: readonly number[],
  pictureOf: (k: number, eye: Eye) => Picture,
  source: Lens,
  correction: (k: number, eye: Eye) => Quaternion,
  path: (k: number) => Quaternion = wanted,
) =>
  residualsOf(frames, pictureOf, { sizePx: SIZE, wanted: path, correction, source }).map(
    (each) => each.measured,
  );

describe('a shaken walk through the glasshouse, resampled', () => {
  const some = [0, 17, 34, 51];
  const POLYNOMIAL = { fisheyeDeg: 190, coefficients: [-0.02, 0.001] };

  test.each([
    ['half-equirects', 'half-equirect', HALF],
    [
      'fisheyes of a polynomial',
      POLYNOMIAL,
      {
        projection: 'fisheye',
        fieldDeg: 190,
        mapping: { law: 'polynomial', coefficients: POLYNOMIAL.coefficients },
      },
    ],
  ] as const)(
    'out of %s lies on the wanted path in both eyes',
    { timeout: 120_000 },
    (_, lens, image) => {
      const result = resultFor(upTo(60), {
        ...DEFAULT_RIG,
        eyes: eyesWith({ alignment: ALIGNMENT }),
      });
      const pictures = steadied(result, image, (k) =>
        filmed((eye) => renderEye(eye, measuredBy(eye, k), lens, SIZE)),
      );
      const shifts = shiftsOf(some, pictures, lens, (k, eye) => correctiveOf(eye, k));
      expect(longestOf(shifts)).toBeLessThanOrEqual(MEASURING_PX + 0.02);
      expect(rmsOf(shifts)).toBeLessThanOrEqual(ASKED_PX / 2);
    },
  );

  test('hung upside down, its eyes exchanged', { timeout: 120_000 }, () => {
    // Half a turn about the optical axis; the lens named left then hangs on the right.
    const hung = (k: number) => multiplyQuaternions(measured(k), [0, 0, 1, 0]);
    const place: Record<Eye, Eye> = { left: 'right', right: 'left' };
    const corrections = upTo(60).map((k) =>
      multiplyQuaternions(invertQuaternion(wanted(k)), hung(k)),
    );
    const result = resultOf({ intended: upTo(60).map(wanted), corrections, swapEyes: true });
    const pictures = steadied(result, HALF, (k) =>
      filmed((lens) => renderEye(place[lens], hung(k), 'half-equirect', SIZE)),
    );
    const shifts = shiftsOf(some, pictures, 'half-equirect', (k) => corrections[k]!);
    expect(longestOf(shifts)).toBeLessThanOrEqual(MEASURING_PX + 0.02);
  });
});

describe('a rolling shutter', () => {
  // The camera swings past at 120 °/s and nods; the rows of a frame are read in 16 ms.
  const seconds = (k: number) => (k * RATE.denominator) / RATE.numerator;
  const swung = (k: number) =>
    quaternionFromHeadingTiltRoll(
      120 * DEGREE * (seconds(k) - seconds(3)),
      DEGREE * Math.sin(2 * Math.PI * 2 * seconds(k)),
      0,
    );
  const still = (): Quaternion => [0, 0, 0, 1];
  const rig: StereoRig = {
    ...DEFAULT_RIG,
    readoutMs: 16,
    eyes: eyesWith({ readout: { right: { startMs: -4, firstRow: 'bottom' } } }),
  };
  const lens = { fisheyeDeg: 190 };
  const image: EyeImage = { projection: 'fisheye', ...DEFAULT_RIG.lens };
  const frames = upTo(8);
  /** The circle fills the picture: a pixel's row is its share of the readout. */
  const rolled = (k: number) =>
    filmed((eye) => {
      const { startMs, firstRow } = rig.eyes[eye].readout;
      const light = new Float64Array(SIZE * SIZE);
      for (let y = 0; y < SIZE; y++) {
        const row = (y + 0.5) / SIZE;
        const ms = startMs + (firstRow === 'top' ? row : 1 - row) * rig.readoutMs;
        const at = k + ((ms / 1000) * RATE.numerator) / RATE.denominator;
        const patch = { x: 0, y, widthPx: SIZE, heightPx: 1 };
        light.set(renderEye(eye, swung(at), lens, SIZE, patch), y * SIZE);
      }
      return light;
    });

  const shiftsWith = (known: StereoRig) => {
    const result = resultOf({
      intended: frames.map(still),
      corrections: frames.map(swung),
      first: 0,
      rig: known,
    });
    return shiftsOf([2, 4], steadied(result, image, rolled), lens, (k) => swung(k), still);
  };

  test('is taken out to a tenth of a pixel, row by row', { timeout: 120_000 }, () => {
    // Between frames the track is a great circle: the nod's 1° (2π · 2 Hz)² strays by 158 °/s² · (16.7
    // ms)²/8 = 0.0055°, 0.012 px.
    expect(longestOf(shiftsWith(rig))).toBeLessThanOrEqual(0.1);
  });

  test('ignored it leaves more than a pixel', { timeout: 120_000 }, () => {
    expect(rmsOf(shiftsWith({ ...rig, readoutMs: 0 }))).toBeGreaterThan(1);
  });
});
