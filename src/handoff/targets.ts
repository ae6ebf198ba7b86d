import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { toCsvBytes } from './csv.js';
import { toFfmpeg } from './ffmpeg.js';
import { steadyScript } from './ffmpegScript.js';
import { toGlb, toGltf } from './gltf.js';
import type { HandoffFile, HandoffOptions } from './handoffOptions.js';
import { toJson } from './json.js';
import { toOpenTrackIo } from './openTrackIo.js';
import { sourcePicture } from './sourcePicture.js';
import { stMapFiles } from './stMapFiles.js';
import { toTum } from './tum.js';
import { toUsda } from './usda.js';

/** One thing that a result can be handed over as. */
interface Target {
  /** What follows the clip's name; that of a folder ends in `/`. */
  readonly ending: string;
  /** The file's content, or those of several files whose names follow the ending. */
  readonly write: (
    result: CorrectionResult,
    options: HandoffOptions,
  ) => string | Uint8Array | readonly HandoffFile[];
  /** What stands in it, in its own axes and order. */
  readonly holds: readonly string[];
  /** Where the lenses' own fixed alignments are; nowhere when left out. */
  readonly alignments?: string;
}

const OUR_AXES = 'axes: camera x right, y up, z back; world y up; right-handed';
const TRIPLE = 'C measured, S intended (both camera to world), K = S⁻¹C camera to corrected view';
const AS_CAMERAS = 'by which the cameras below "measured" are turned';
const IN_NUMBERS = 'which is in the numbers';

const GLTF_HOLDS = [
  `${OUR_AXES}, as in glTF 2.0`,
  'node "intended" turns by S and carries the view’s cameras, node "measured" turns by C and carries the lenses’',
  'rotation keys x, y, z, w as 32-bit floats, LINEAR, one per frame; positions are not known and stay zero',
];

/** Every target: its ending, its writer, and what it holds in words. */
export const TARGETS = {
  csv: {
    // Never STEM.csv or STEM.json: so the tracker's own file is usually called.
    ending: '.handoff.csv',
    write: (result) => toCsvBytes(result),
    holds: [OUR_AXES, 'K per frame, unit quaternion x, y, z, w', 'sense: camera to corrected view'],
  },
  json: {
    ending: '.handoff.json',
    write: (result) => toJson(result),
    holds: [OUR_AXES, `${TRIPLE}; K and S are in the file, C = S K`, 'quaternions x, y, z, w'],
    alignments: 'which the file holds under "rig"',
  },
  gltf: {
    ending: '.gltf',
    write: (result) => toGltf(result),
    holds: GLTF_HOLDS,
    alignments: AS_CAMERAS,
  },
  glb: {
    ending: '.glb',
    write: (result) => toGlb(result),
    holds: GLTF_HOLDS,
    alignments: AS_CAMERAS,
  },
  usda: {
    ending: '.usda',
    write: (result) => toUsda(result),
    holds: [
      OUR_AXES,
      'Xform "intended" turns by S and carries cameras left and right (stereoRole), Xform "measured" turns by C and carries those of the lenses',
      'quaternions are written w, x, y, z; time code = frame number',
    ],
    alignments: AS_CAMERAS,
  },
  opentrackio: {
    ending: '.opentrackio.jsonl',
    write: openTrackIoOf,
    holds: [
      'axes: world z up; at zero angles the camera looks along +y; right-handed',
      'pan, tilt, roll in degrees, in this order about the camera’s own axes',
      'one sample per line, which is our own convention; positions are not known and stay zero',
    ],
  },
  tum: {
    ending: '.trajectory.tum',
    write: (result, { motion }) => toTum(result, motion),
    holds: [
      'axes: camera x right, y down, z forward; world y up',
      'rows: t tx ty tz qx qy qz qw; positions are not known and stay zero',
    ],
  },
  ffmpeg: {
    ending: '.ffmpeg/',
    write: ffmpegFiles,
    holds: [
      'v360 angles in degrees, rorder=ypr, absolute (reset_rot=1): of the view relative to the source, K⁻¹ = Ry(yaw) Rx(pitch) Rz(roll) with x right, y down, z forward',
      'commands lie half a frame early; each list counts from its own first frame; run: sh steady.sh MOVIE OUT.mov',
      'v360 samples at (i + ½)(N − 1)/N, up to half a pixel off at the edges, alike in both eyes: let it be the only resample',
    ],
    alignments: IN_NUMBERS,
  },
  'st-maps': {
    ending: '.st-maps/',
    write: stMapFiles,
    holds: [
      'R = s across, G = t up from the bottom left corner of one eye’s picture, B = coverage (0: the lens saw nothing there, or the mask hides it)',
      '32-bit float; a value s is the point s · width; pixel (i, j) is its middle, (i + ½)/width',
      'check.exr looked up through the first left map gives check-corrected.exr (half-equirect source, no readout)',
    ],
    alignments: IN_NUMBERS,
  },
} as const satisfies Readonly<Record<string, Target>>;

/** One of {@link HANDOFF_TARGETS}. */
export type HandoffTarget = keyof typeof TARGETS;

/**
 * Everything a result can be handed over as.
 *
 * @example
 * HANDOFF_TARGETS; // ['csv', 'json', 'gltf', 'glb', 'usda', 'opentrackio', 'tum', …]
 */
export const HANDOFF_TARGETS = Object.keys(TARGETS) as readonly HandoffTarget[];

/**
 * The entry of a target.
 *
 * @throws TwinkeelError `argument/invalid` for an unknown one
 */
export function targetNamed(name: HandoffTarget): Target {
  if (Object.hasOwn(TARGETS, name)) return TARGETS[name];
  throw new TwinkeelError('argument/invalid', {
    found: `the target "${String(name)}"`,
    expected: `one of ${HANDOFF_TARGETS.join(', ')}`,
    remedy: 'correct the name',
  });
}

function openTrackIoOf(result: CorrectionResult, options: HandoffOptions): string {
  const { motion = 'intended', signs } = options;
  if (motion === 'correction') {
    throw new TwinkeelError('argument/invalid', {
      found: 'corrections for OpenTrackIO',
      expected: 'a camera pose: the intended or the measured motion',
      remedy: 'hand corrections over as csv or tum',
    });
  }
  return toOpenTrackIo(result, { motion, ...(signs && { signs }) });
}

function ffmpegFiles(result: CorrectionResult, options: HandoffOptions): HandoffFile[] {
  const { firstFrame, picture } = options;
  const runs = toFfmpeg(result, {
    input: sourcePicture(result, picture),
    ...(firstFrame !== undefined && { firstFrame }),
  });
  const { script, lists } = steadyScript(result, runs, firstFrame);
  return [{ name: 'steady.sh', content: script }, ...lists];
}
