import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import type { ResampleMovieOptions } from '../../src/batch/planMovie.js';
import type { CorrectionResult } from '../../src/correct.js';
import type * as Built from '../../src/node.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { ffmpegMissing } from '../ffmpeg.js';
import { type Clip, decoded, filmClip, frameCount, halfOf } from '../handoff/clip.js';
import { type Ideal, residualsOf } from '../handoff/residual.js';
import { EYES, type Eye } from '../handoff/room.js';
import {
  ALIGNMENT,
  corrective,
  correctiveOf,
  measured,
  measuredBy,
  resultFor,
  SIZE,
  upTo,
  wanted,
} from '../handoff/shakenWalk.js';
import { rmsOf } from '../handoff/tileShift.js';
import { eyesWith } from '../rig/eyes.js';

/** As it is shipped, in few files. */
const { resampleMovie } = (await import(
  new URL('../../dist/library/node.js', import.meta.url).href
)) as typeof Built;

/** What is asked of each eye; a frame's slip of the shake would be 1.3 px (test/handoff/pixels). */
const MOST_RMS_PX = 0.05;
const LIMIT = { timeout: 120_000 };

const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Films the room with a shaken camera, steadies the movie, and measures every frame of each eye. */
async function residualRms(
  name: string,
  clip: Clip,
  result: CorrectionResult,
  count: number,
  {
    measuredOf = (_: Eye, k: number) => measured(k),
    correction = (k: number) => corrective(k),
    ...options
  }: Partial<ResampleMovieOptions> & {
    measuredOf?: (eye: Eye, k: number) => Quaternion;
    correction?: Ideal['correction'];
  } = {},
): Promise<number[]> {
  const movie = join(folder, `${name}.mov`);
  const out = join(folder, `${name}.steady.mkv`);
  const halves = EYES.map((eye) => ({ eye, orientationOf: (k: number) => measuredOf(eye, k) }));
  filmClip(movie, clip, count, halves);
  await resampleMovie({ movie, result, out, segmentFrames: 5, layout: clip.layout, ...options });
  const raw = decoded(out);
  expect(frameCount(raw, clip)).toBe(count);
  const found = residualsOf(upTo(count), (k, eye) => halfOf(raw, clip, k, eye), {
    ...{ sizePx: SIZE, wanted, correction, source: clip.lens },
  });
  const parts = upTo(count).flatMap((frame) =>
    EYES.map((eye) => found.filter((each) => each.frame === frame && each.eye === eye)),
  );
  return parts.map((part) => rmsOf(part.map(({ measured: shift }) => shift)));
}

const BESIDE: Clip = { layout: 'side-by-side', sizePx: SIZE, lens: 'half-equirect' };

describe.skipIf(ffmpegMissing !== undefined)(
  `pixels through the command’s work${ffmpegMissing === undefined ? '' : `: skipped, ${ffmpegMissing}`}`,
  () => {
    test('shake is gone to 0.05 px in every frame of each eye', LIMIT, async () => {
      const rms = await residualRms('beside', BESIDE, resultFor(upTo(12)), 12);
      expect(rms).toHaveLength(24);
      expect(Math.max(...rms)).toBeLessThanOrEqual(MOST_RMS_PX);
    });

    test('one over the other, each lens after its own alignment', LIMIT, async () => {
      const clip: Clip = { ...BESIDE, layout: 'top-bottom' };
      const result = resultFor(upTo(6), {
        ...DEFAULT_RIG,
        eyes: eyesWith({ alignment: ALIGNMENT }),
      });
      const rms = await residualRms('aligned', clip, result, 6, {
        measuredOf: measuredBy,
        correction: (k, eye) => correctiveOf(eye, k),
      });
      expect(Math.max(...rms)).toBeLessThanOrEqual(MOST_RMS_PX);
    });

    test('a pair of 190° fisheyes becomes half-equirects', LIMIT, async () => {
      const clip: Clip = { ...BESIDE, lens: { fisheyeDeg: 190 } };
      const result = resultFor(upTo(6), DEFAULT_RIG);
      const rms = await residualRms('fisheye', clip, result, 6, { picture: 'fisheye' });
      expect(Math.max(...rms)).toBeLessThanOrEqual(MOST_RMS_PX);
    });

    test(
      'corrections of the frame before leave more than a pixel in every frame',
      LIMIT,
      async () => {
        const slipped = resultFor(upTo(4), undefined, 1);
        const rms = await residualRms('slipped', BESIDE, slipped, 4);
        expect(Math.min(...rms)).toBeGreaterThan(1);
      },
    );
  },
);
