import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import type { AngleSigns } from '../read/openTrackIo.js';
import { eyeCorrections } from '../rig/eyeCorrections.js';
import type { StereoPicture } from '../rig/picture.js';
import { quaternionAt } from '../rotation/arrays.js';
import { toCsvBytes } from './csv.js';
import { toExr } from './exr.js';
import { toFfmpeg } from './ffmpeg.js';
import { steadyScript } from './ffmpegScript.js';
import { toGlb, toGltf } from './gltf.js';
import { toJson } from './json.js';
import { toOpenTrackIo } from './openTrackIo.js';
import { framesOf, type Motion } from './poses.js';
import { describeHandoff } from './sidecar.js';
import { sourcePicture } from './sourcePicture.js';
import { checkPicture, type EyeSource, toStMap } from './stMap.js';
import { toTum } from './tum.js';
import { toUsda } from './usda.js';

/** A file to be written: its name below the output folder, and what stands in it. */
export interface HandoffFile {
  /** Below the output folder, with `/` between folders. */
  readonly name: string;
  /** Text, or bytes of a binary format; an ST map is drawn when it is asked for, and not kept. */
  readonly content: string | Uint8Array;
}

/** How to hand over; each target takes what concerns it. */
export interface HandoffOptions {
  /** What trajectories hold: the intended path (default) or the measured one. */
  readonly motion?: Motion;
  /** Turns angles of OpenTrackIO samples round. */
  readonly signs?: AngleSigns;
  /**
   * The movie's pictures, for ffmpeg and ST maps; default: those the result was corrected for, side by
   * side, a fisheye with the field of the rig's lens.
   */
  readonly picture?: Partial<StereoPicture>;
  /** Number of the movie's first frame, for ffmpeg; default: the result's first. */
  readonly firstFrame?: number;
  /** Frames to draw ST maps of, by number; default: the first, the middle and the last. */
  readonly mapFrames?: readonly number[];
  /** Size of an ST map, pixels of one eye; default 1024 × 1024. */
  readonly mapSize?: readonly [number, number];
  /** Size of one eye's fisheye picture, pixels, for ST maps; default: square, as the map's height. */
  readonly sourceSize?: readonly [number, number];
}

/**
 * Everything a result can be handed over as.
 *
 * @example
 * HANDOFF_TARGETS; // ['csv', 'json', 'gltf', 'glb', 'usda', 'opentrackio', 'tum', …]
 */
export const HANDOFF_TARGETS = [
  'csv',
  'json',
  'gltf',
  'glb',
  'usda',
  'opentrackio',
  'tum',
  'ffmpeg',
  'st-maps',
] as const;

/** One of {@link HANDOFF_TARGETS}. */
export type HandoffTarget = (typeof HANDOFF_TARGETS)[number];

/**
 * The files of a target, and beside them a text that says in words what the numbers mean, with one
 * worked example.
 *
 * @param result - of {@link correct}
 * @param target - one of {@link HANDOFF_TARGETS}
 * @param stem - the clip's name, with which the files begin
 * @param options - each target takes what concerns it
 * @returns files to be written; nothing is written here
 * @throws TwinkeelError `argument/invalid` for an unknown target or what a target cannot hold
 * @example
 * handOff(result, 'usda', 'cactus').map(({ name }) => name); // ['cactus.usda', 'cactus.usda.txt']
 */
export function handOff(
  result: CorrectionResult,
  target: HandoffTarget,
  stem: string,
  options: HandoffOptions = {},
): HandoffFile[] {
  return [
    ...filesOf(result, target, stem, options),
    { name: `${stem}.${target}.txt`, content: describeHandoff(result, target, options) },
  ];
}

function filesOf(
  result: CorrectionResult,
  target: HandoffTarget,
  stem: string,
  options: HandoffOptions,
): HandoffFile[] {
  const picture = sourcePicture(result, options.picture);
  switch (target) {
    case 'csv':
      // Never STEM.csv or STEM.json: so the tracker's own file is usually called.
      return [{ name: `${stem}.handoff.csv`, content: toCsvBytes(result) }];
    case 'json':
      return [{ name: `${stem}.handoff.json`, content: toJson(result) }];
    case 'gltf':
      return [{ name: `${stem}.gltf`, content: toGltf(result) }];
    case 'glb':
      return [{ name: `${stem}.glb`, content: toGlb(result) }];
    case 'usda':
      return [{ name: `${stem}.usda`, content: toUsda(result) }];
    case 'opentrackio': {
      const { motion = 'intended', signs } = options;
      if (motion === 'correction') {
        throw new TwinkeelError('argument/invalid', {
          found: 'corrections for OpenTrackIO',
          expected: 'a camera pose: the intended or the measured motion',
          remedy: 'hand corrections over as csv or tum',
        });
      }
      const content = toOpenTrackIo(result, { motion, ...(signs && { signs }) });
      return [{ name: `${stem}.opentrackio.jsonl`, content }];
    }
    case 'tum':
      return [{ name: `${stem}.trajectory.tum`, content: toTum(result, options.motion) }];
    case 'ffmpeg': {
      const { firstFrame } = options;
      const runs = toFfmpeg(result, {
        input: picture,
        ...(firstFrame !== undefined && { firstFrame }),
      });
      const { script, lists } = steadyScript(result, runs, firstFrame);
      return [
        { name: `${stem}.ffmpeg/steady.sh`, content: script },
        ...lists.map(({ name, content }) => ({ name: `${stem}.ffmpeg/${name}`, content })),
      ];
    }
    case 'st-maps':
      return stMapFiles(result, stem, picture, options);
    default:
      throw new TwinkeelError('argument/invalid', {
        found: `the target "${String(target)}"`,
        expected: `one of ${HANDOFF_TARGETS.join(', ')}`,
        remedy: 'correct the name',
      });
  }
}

function stMapFiles(
  result: CorrectionResult,
  stem: string,
  picture: StereoPicture,
  options: HandoffOptions,
): HandoffFile[] {
  const frames = framesOf(result);
  const last = frames.length - 1;
  const numbers = options.mapFrames ?? [frames[0]!, frames[last >> 1]!, frames[last]!];
  const [widthPx, heightPx] = options.mapSize ?? [1024, 1024];
  const [sourceWidth, sourceHeight] = options.sourceSize ?? [heightPx, heightPx];
  const source: EyeSource =
    picture.projection === 'half-equirect'
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
      name: `${stem}.st-maps/${eye}.${String(number).padStart(6, '0')}.exr`,
      get content() {
        return toExr(toStMap(result, k, { eye, widthPx, heightPx, source }));
      },
    }));
  });
  const first = quaternionAt(
    eyeCorrections(result, 'left'),
    Math.max(0, frames.indexOf(numbers[0]!)),
  );
  return [
    ...maps,
    { name: `${stem}.st-maps/check.exr`, content: toExr(checkPicture(CHECK_SIZE)) },
    {
      name: `${stem}.st-maps/check-corrected.exr`,
      content: toExr(checkPicture(CHECK_SIZE, first)),
    },
  ];
}

/** Side of the pictures to try a map with, pixels. */
const CHECK_SIZE = 128;
