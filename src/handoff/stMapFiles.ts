import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { eyeCorrections } from '../rig/eyeCorrections.js';
import { quaternionAt } from '../rotation/arrays.js';
import { toExr } from './exr.js';
import type { HandoffFile, HandoffOptions } from './handoffOptions.js';
import { framesOf } from './poses.js';
import { sourcePicture } from './sourcePicture.js';
import { checkPicture, type EyeSource, toStMap } from './stMap.js';

/**
 * ST maps of some frames and both eyes, and two pictures to try a map with.
 *
 * @returns names below the maps' folder; each map is drawn when its content is asked for
 * @throws TwinkeelError `argument/invalid` for a frame that the result does not have
 */
export function stMapFiles(result: CorrectionResult, options: HandoffOptions): HandoffFile[] {
  const frames = framesOf(result);
  const last = frames.length - 1;
  const numbers = options.mapFrames ?? [frames[0]!, frames[last >> 1]!, frames[last]!];
  const [widthPx, heightPx] = options.mapSize ?? DEFAULT_MAP_SIZE;
  const [sourceWidth, sourceHeight] = options.sourceSize ?? [heightPx, heightPx];
  const source: EyeSource =
    sourcePicture(result, options.picture).projection === 'half-equirect'
      ? { projection: 'half-equirect' }
      : { projection: 'fisheye', widthPx: sourceWidth, heightPx: sourceHeight };
  const maps = [...new Set(numbers)].flatMap((number) => {
    const k = frames.indexOf(number);
    if (k < 0) {
      throw new TwinkeelError('argument/invalid', {
        found: `frame ${number}`,
        expected: `frames of the result, ${frames[0]} to ${frames[last]}`,
        remedy: 'correct the numbers',
      });
    }
    return (['left', 'right'] as const).map((eye) => ({
      name: `${eye}.${String(number).padStart(6, '0')}.exr`,
      get content() {
        return toExr(toStMap(result, k, { eye, widthPx, heightPx, source }));
      },
    }));
  });
  const left = eyeCorrections(result, 'left');
  const first = quaternionAt(left, Math.max(0, frames.indexOf(numbers[0]!)));
  return [
    ...maps,
    { name: 'check.exr', content: toExr(checkPicture(CHECK_SIZE)) },
    { name: 'check-corrected.exr', content: toExr(checkPicture(CHECK_SIZE, first)) },
  ];
}

/** Pixels of a map where nothing is said (our judgement: quick to draw, fine enough to try). */
export const DEFAULT_MAP_SIZE = [1024, 1024] as const;

/** Side of the pictures to try a map with, pixels. */
const CHECK_SIZE = 128;
