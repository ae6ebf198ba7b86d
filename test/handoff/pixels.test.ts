import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { type CorrectionResult, correct } from '../../src/correct.js';
import { type FfmpegOptions, toFfmpeg } from '../../src/handoff/ffmpeg.js';
import { steadyScript } from '../../src/handoff/ffmpegScript.js';
import { trimResult } from '../../src/handoff/trim.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import { multiplyQuaternions, type Quaternion } from '../../src/rotation/quaternion.js';
import { frameTime, frameTimes } from '../../src/track/frameRate.js';
import { createTrack } from '../../src/track/orientationTrack.js';
import { ffmpegMissing } from '../ffmpeg.js';
import { eyesWith } from '../rig/eyes.js';
import {
  type Clip,
  decoded,
  filmClip,
  frameCount,
  halfOf,
  pictureTimes,
  pixelFormat,
  throughFilters,
} from './clip.js';
import {
  beyondGrid,
  type Ideal,
  type Residual,
  residualsOf,
  rmsPerFrame,
  untouchedShift,
} from './residual.js';
import { RATE } from './results.js';
import { EYES, type Eye, type Point } from './room.js';
import {
  ALIGNMENT,
  corrective,
  correctiveOf,
  FIRST,
  measured,
  measuredBy,
  resultFor,
  SIZE,
  upTo,
  wanted,
} from './shakenWalk.js';
import { longestOf, rmsOf, TILE_MIDDLES, tileCorners } from './tileShift.js';

/**
 * v360's grid samples ½ − u pixels too far at a place u of the source (residual.ts). Nine tiles at
 * 5, 8 and 11 sixteenths: 3/16 px on two thirds of the places, on two axes, √(2 · 2/3) · 3/16 px.
 */
const GRID_RMS_PX = Math.sqrt(4 / 3) * (3 / 16);
/**
 * Across a tile, an eighth of the picture, that shift runs through ±1/16 px on each axis. What is
 * measured is its mean weighted by the texture's gradients, at worst the value in a corner.
 */
const TILE_PX = Math.SQRT2 / 16;
/** Both in the same direction would be 0.305 px; this is what is asked of clip and frame. */
const MOST_RMS_PX = 0.3;
/** A frame of the shake is 2π · 2 Hz · 3° / 59.94 Hz = 0.63°, 1.3 px; 0.3 px may hide of it. */
const LEAST_SLIP_PX = 1;

const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const BESIDE: Clip = { layout: 'side-by-side', sizePx: SIZE, lens: 'half-equirect' };
const BESIDE_INPUT = { projection: 'half-equirect', layout: 'side-by-side' } as const;
const ALL = upTo(60);
const bothEyes = (orientationOf: (k: number) => Quaternion) =>
  EYES.map((eye) => ({ eye, orientationOf }));

/** The movie that most tests turn, filmed once. */
function mainMovie(): string {
  if (filmed) return filmed;
  filmed = join(folder, 'greenhouse.mov');
  filmClip(filmed, BESIDE, ALL.length, bothEyes(measured));
  return filmed;
}
let filmed: string | undefined;

/** The frames of a movie after our filters, all in one run. */
function steadied(movie: string, result: CorrectionResult, options: FfmpegOptions): Buffer {
  const runs = toFfmpeg(result, { firstFrame: FIRST, ...options });
  expect(runs).toHaveLength(1);
  return throughFilters(movie, runs[0]!, join(folder, 'run'));
}

const IDEAL: Ideal = {
  sizePx: SIZE,
  wanted,
  correction: corrective,
  source: 'half-equirect',
};

/** Residuals of steadied frames that stand for the given indexes. */
function residuals(
  raw: Buffer,
  clip: Pick<Clip, 'layout' | 'sizePx'>,
  indexes: readonly number[],
  ideal: Partial<Ideal> = {},
  halfFor: (eye: Eye) => Eye = (eye) => eye,
): Residual[] {
  expect(frameCount(raw, clip)).toBe(indexes.length);
  return residualsOf(indexes, (k, eye) => halfOf(raw, clip, k - indexes[0]!, halfFor(eye)), {
    ...IDEAL,
    ...ideal,
  });
}

const measuredRms = (list: readonly Residual[]) => rmsOf(list.map((each) => each.measured));

/** The check that a slip of one frame must fail. */
function expectSteady(list: readonly Residual[]): void {
  expect(measuredRms(list)).toBeLessThanOrEqual(MOST_RMS_PX);
  expect(Math.max(...rmsPerFrame(list))).toBeLessThanOrEqual(MOST_RMS_PX);
  expect(longestOf(list.map(beyondGrid))).toBeLessThanOrEqual(TILE_PX);
}

const LIMIT = { timeout: 120_000 };

describe.skipIf(ffmpegMissing !== undefined)(
  `pixels that ffmpeg turned${because(ffmpegMissing)}`,
  () => {
    test('a second of shake lies on the wanted path to 0.3 px in every frame', LIMIT, () => {
      const raw = steadied(mainMovie(), resultFor(ALL), { input: BESIDE_INPUT });
      const after = residuals(raw, BESIDE, ALL);
      expectSteady(after);
      // The grid, and nothing else of its size: in quadrature with what the tiles may add.
      expect(Math.abs(measuredRms(after) - GRID_RMS_PX)).toBeLessThanOrEqual(TILE_PX);
    });

    test('untouched, the same pictures lie off by the shake that was put in', LIMIT, () => {
      const some = [0, 13, 26, 39, 52];
      const raw = decoded(mainMovie());
      const foretold = (k: number, middle: Point) => untouchedShift(SIZE, corrective(k), middle);
      const found = residualsOf(
        some,
        (k, eye) => halfOf(raw, BESIDE, k, eye),
        IDEAL,
        (k, _, middle) => foretold(k, middle),
      );
      // Roll shifts one corner of a tile otherwise than another. What is measured is a mean of its
      // points weighted by gradients, no further from the middle's shift than the furthest corner's.
      found.forEach(({ frame, measured: shift }, i) => {
        const middle = TILE_MIDDLES[i % TILE_MIDDLES.length]!;
        const most = Math.max(
          ...tileCorners(middle).map((at) => apart(foretold(frame, at), foretold(frame, middle))),
        );
        expect(apart(shift, foretold(frame, middle))).toBeLessThanOrEqual(most);
      });
      // Heading and tilt are 3° together: 6.4 px ahead, 5.3 px at 34° from ahead.
      expect(measuredRms(found)).toBeGreaterThan(5.3);
    });

    test.each([1, -1])(
      'a list of commands that is off by %i frame fails in every frame',
      LIMIT,
      (slip) => {
        const some = upTo(5).map((k) => 10 + k);
        const raw = steadied(mainMovie(), resultFor(some, undefined, slip), {
          input: BESIDE_INPUT,
        });
        const slipped = residuals(raw, BESIDE, some);
        expect(Math.min(...rmsPerFrame(slipped))).toBeGreaterThan(LEAST_SLIP_PX);
        expect(() => expectSteady(slipped)).toThrow();
      },
    );

    test('both eyes are turned alike: each alone gives the same bytes', LIMIT, () => {
      const some = upTo(6);
      const [run] = toFfmpeg(resultFor(some), { firstFrame: FIRST, input: BESIDE_INPUT });
      const { commands, filters } = run!;
      const pair = throughFilters(mainMovie(), { commands, filters }, join(folder, 'pair'));
      EYES.forEach((eye, half) => {
        // The same list and turn; only the picture's half is cut out before, and its edges blackened.
        const alone = filters
          .replace(/(?<=sendcmd=[^,]*,).*(?=v360)/, `crop=iw/2:ih:${half}*iw/2:0,${ALONE_EDGES},`)
          .replace(':in_stereo=sbs:out_stereo=sbs', '');
        expect(alone).not.toContain('sbs');
        const mono = throughFilters(mainMovie(), { commands, filters: alone }, join(folder, eye));
        expect(mono).toHaveLength(some.length * MONO_BYTES);
        for (const k of some) {
          const whole = mono.subarray(k * MONO_BYTES, k * MONO_BYTES + SIZE * SIZE);
          const { light } = halfOf(pair, BESIDE, k, eye);
          expect(Buffer.compare(whole, light as Uint8Array)).toBe(0);
        }
      });
    });

    test('a pair of 190° fisheyes becomes half-equirects on the wanted path', LIMIT, () => {
      const some = upTo(10);
      const clip: Clip = { ...BESIDE, lens: { fisheyeDeg: 190 } };
      const movie = join(folder, 'fisheye.mov');
      filmClip(movie, clip, some.length, bothEyes(measured));
      const raw = steadied(movie, resultFor(some), {
        input: { projection: 'fisheye', layout: 'side-by-side', fieldDeg: 190 },
      });
      expectSteady(residuals(raw, BESIDE, some, { source: clip.lens }));
    });

    test(
      'the script joins short runs of a trimmed top-bottom movie, no frame lost or moved',
      LIMIT,
      () => {
        const clip: Clip = { ...BESIDE, layout: 'top-bottom' };
        const movie = join(folder, 'top-bottom.mov');
        filmClip(movie, clip, 20, bothEyes(measured));
        const some = upTo(13).map((k) => 5 + k);
        const steady = scripted(movie, resultFor(some), {
          input: { projection: 'half-equirect', layout: 'top-bottom' },
          framesPerRun: 5,
        });
        expectSteady(residuals(decoded(steady), clip, some));
        // Ticks of 1/60000 s: each time is rounded to one, and printed to 10⁻⁶ s.
        pictureTimes(steady).forEach((time, k) => {
          expect(Math.abs(time - frameTime(RATE, k))).toBeLessThanOrEqual(0.5 / 60000 + 1e-6);
        });
      },
    );

    test('ten bits stay ten bits', LIMIT, () => {
      const movie = join(folder, 'ten-bit.mov');
      filmClip(movie, BESIDE, 4, bothEyes(measured), 'yuv420p10le');
      const steady = scripted(movie, resultFor(upTo(4)), { input: BESIDE_INPUT, framesPerRun: 2 });
      expect(pixelFormat(steady)).toBe('yuv420p10le');
    });

    test('lenses that are aligned apart get a turn each, in step with their frames', LIMIT, () => {
      const movie = join(folder, 'aligned.mov');
      const halves = EYES.map((eye) => ({ eye, orientationOf: (k: number) => measuredBy(eye, k) }));
      filmClip(movie, BESIDE, 10, halves);
      const result = resultFor(upTo(10), {
        ...DEFAULT_RIG,
        eyes: eyesWith({ alignment: ALIGNMENT }),
      });
      const correction = (k: number, eye: Eye) => correctiveOf(eye, k);
      const whole = steadied(movie, result, { input: BESIDE_INPUT });
      expectSteady(residuals(whole, BESIDE, upTo(10), { correction }));
      // The script cuts the same frames in two.
      const joined = scripted(movie, result, { input: BESIDE_INPUT, framesPerRun: 6 });
      expect(Buffer.compare(decoded(joined), whole)).toBe(0);
    });

    test('an upside-down rig gives each eye its own view, upright', LIMIT, () => {
      const halfTurn: Quaternion = [0, 0, 1, 0];
      const hanging = (k: number) => multiplyQuaternions(measured(k), halfTurn);
      const count = 200;
      const whole = correct(
        createTrack({
          times: frameTimes(RATE, count),
          quaternions: Float64Array.from(upTo(count).flatMap((k) => [...hanging(k)])),
          frames: Int32Array.from(upTo(count), (k) => FIRST + k),
          frameRate: RATE,
          up: 'stated',
        }),
        { rig: { ...DEFAULT_RIG, mount: 'inverted' } },
      );
      expect(whole.swapEyes).toBe(true);
      const some = upTo(12).map((k) => 90 + k);
      const result = trimResult(whole, FIRST + some[0]!, FIRST + some[11]!);
      const movie = join(folder, 'hanging.mov');
      // Hung upside down the left lens stands where the right eye would.
      filmClip(movie, BESIDE, some.length, [
        { eye: 'right', orientationOf: (k) => hanging(some[k]!) },
        { eye: 'left', orientationOf: (k) => hanging(some[k]!) },
      ]);
      const raw = steadied(movie, result, { input: BESIDE_INPUT, firstFrame: FIRST + some[0]! });
      const ideal = {
        wanted: (k: number) => quaternionAt(result.intended.quaternions, k - some[0]!),
        correction: (k: number) => quaternionAt(result.corrections.quaternions, k - some[0]!),
      };
      expectSteady(residuals(raw, BESIDE, some, ideal));
      const swapped = residuals(raw, BESIDE, some, ideal, (eye) =>
        eye === 'left' ? 'right' : 'left',
      );
      // 64 mm, seen at 34° from ahead, are at least 53 mm at 4.3 m: 0.7°, 1.5 px.
      expect(Math.min(...rmsPerFrame(swapped))).toBeGreaterThan(1);
    });
  },
);

/** What the stereo chain blackens, for an eye alone: four columns at either side. */
const ALONE_EDGES = [0, 'iw-4'].map((x) => `drawbox=x=${x}:y=0:w=4:h=ih:t=fill:c=black`).join(',');
const MONO_BYTES = (SIZE * SIZE * 3) / 2;

/** The movie that our script makes of a movie, encoded without loss. */
function scripted(movie: string, result: CorrectionResult, options: FfmpegOptions): string {
  const runs = toFfmpeg(result, { firstFrame: FIRST, ...options });
  expect(runs.length).toBeGreaterThan(1);
  const beside = mkdtempSync(join(folder, 'script-'));
  const { script, lists } = steadyScript(result, runs, FIRST);
  writeFileSync(join(beside, 'steady.sh'), script);
  for (const { name, content } of lists) writeFileSync(join(beside, name), content);
  const out = join(beside, 'steady.mov');
  const { status, stderr } = spawnSync('sh', [join(beside, 'steady.sh'), movie, out], {
    encoding: 'utf8',
    env: { ...process.env, ENCODE: '-c:v ffv1' },
  });
  expect(stderr).toBe('');
  expect(status).toBe(0);
  return out;
}

const apart = (a: Point, b: Point) => Math.hypot(a[0] - b[0], a[1] - b[1]);

function because(missing: string | undefined): string {
  return missing === undefined ? '' : `: skipped, ${missing}`;
}
