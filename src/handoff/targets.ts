import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { toCsvBytes } from './csv.js';
import { toEdl } from './edl.js';
import { toFfmpeg } from './ffmpeg.js';
import { steadyScript } from './ffmpegScript.js';
import { toGlb, toGltf } from './gltf.js';
import type { HandoffFile, HandoffOptions } from './handoffOptions.js';
import { toJson } from './json.js';
import { toMarkersCsv } from './markersCsv.js';
import { toOpenTrackIo } from './openTrackIo.js';
import { toOtio } from './otio.js';
import { sourcePicture } from './sourcePicture.js';
import { stMapFiles } from './stMapFiles.js';
import { toTum } from './tum.js';
import { toUsda } from './usda.js';

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
  'otio',
  'edl',
  'csv-markers',
] as const;

/** One of {@link HANDOFF_TARGETS}. */
export type HandoffTarget = (typeof HANDOFF_TARGETS)[number];

/** One thing that a result can be handed over as. */
interface Target {
  /** What follows the clip's name; that of a folder ends in `/`. */
  readonly ending: string;
  /**
   * The file's content, or those of several files whose names follow the ending; `name` is that of the clip.
   */
  readonly write: (
    result: CorrectionResult,
    options: HandoffOptions,
    name: string,
  ) => string | Uint8Array | readonly HandoffFile[];
  /** Whether it tells of rotations, or only of which parts of the take are usable. */
  readonly tells: 'rotations' | 'stretches';
  /** What stands in it, in its own axes and order. */
  readonly holds: readonly string[];
  /** Where the lenses' own fixed alignments are; nowhere when left out. */
  readonly alignments?: string;
}

const OUR_AXES = 'axes: camera x right, y up, z back; world y up; right-handed';
// Each text in one piece: to put one together is work to a bundler, for which it keeps every writer.
const TRIPLE =
  'C measured, S intended (both camera to world), K = S⁻¹C camera to corrected view; K and S are in the file, C = S K';
const AS_CAMERAS = 'by which the cameras below "measured" are turned';
const IN_NUMBERS = 'which is in the numbers';

const GLTF_HOLDS = [
  'axes: camera x right, y up, z back; world y up; right-handed, as in glTF 2.0',
  'node "intended" turns by S and carries the view’s cameras, node "measured" turns by C and carries the lenses’',
  'rotation keys x, y, z, w as 32-bit floats, LINEAR, one per frame; positions are not known and stay zero',
];

/** Every target: its ending, its writer, and what it holds in words. */
export const TARGETS: Readonly<Record<HandoffTarget, Target>> = {
  csv: {
    // Never STEM.csv or STEM.json: so the tracker's own file is usually called.
    ending: '.handoff.csv',
    tells: 'rotations',
    write: (result) => toCsvBytes(result),
    holds: [OUR_AXES, 'K per frame, unit quaternion x, y, z, w', 'sense: camera to corrected view'],
  },
  json: {
    ending: '.handoff.json',
    tells: 'rotations',
    write: (result) => toJson(result),
    holds: [OUR_AXES, TRIPLE, 'quaternions x, y, z, w'],
    alignments: 'which the file holds under "rig"',
  },
  gltf: {
    ending: '.gltf',
    tells: 'rotations',
    write: (result) => toGltf(result),
    holds: GLTF_HOLDS,
    alignments: AS_CAMERAS,
  },
  glb: {
    ending: '.glb',
    tells: 'rotations',
    write: (result) => toGlb(result),
    holds: GLTF_HOLDS,
    alignments: AS_CAMERAS,
  },
  usda: {
    ending: '.usda',
    tells: 'rotations',
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
    tells: 'rotations',
    write: openTrackIoOf,
    holds: [
      'axes: world z up; at zero angles the camera looks along +y; right-handed',
      'pan, tilt, roll in degrees, in this order about the camera’s own axes',
      'one sample per line, which is our own convention; positions are not known and stay zero',
    ],
  },
  tum: {
    ending: '.trajectory.tum',
    tells: 'rotations',
    write: (result, { motion }) => toTum(result, motion),
    holds: [
      'axes: camera x right, y down, z forward; world y up',
      'rows: t tx ty tz qx qy qz qw; positions are not known and stay zero',
    ],
  },
  ffmpeg: {
    ending: '.ffmpeg/',
    tells: 'rotations',
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
    tells: 'rotations',
    write: stMapFiles,
    holds: [
      'R = s across, G = t up from the bottom left corner of one eye’s picture, B = coverage (0: the lens saw nothing there, or the mask hides it)',
      '32-bit float; a value s is the point s · width; pixel (i, j) is its middle, (i + ½)/width',
      'check.exr looked up through the first left map gives check-corrected.exr (half-equirect source, no readout)',
    ],
    alignments: IN_NUMBERS,
  },
  otio: {
    ending: '.',
    tells: 'stretches',
    write: (result, options, name) => [
      { name: 'otio', content: toOtio(result, name, options) },
      {
        name: 'usable.otio',
        content: toOtio(result, name, { ...options, parts: 'usable' }),
      },
    ],
    holds: [
      'two timelines of one video track: STEM.otio has the whole take with a marker per stretch (green usable, yellow with care, red not usable), STEM.usable.otio only the parts that are usable, also with care, one clip each',
      'OpenTimelineIO JSON: Timeline.1, Stack.1, Track.1, Clip.2, Marker.2, ExternalReference.1, TimeRange.1, RationalTime.1; reasons under "twinkeel" of the metadata',
      'times are whole frames on the media’s own time; the movie’s file is not known here: link the clip to it',
    ],
  },
  edl: {
    ending: '.edl',
    tells: 'stretches',
    write: (result, options, name) => toEdl(result, name, options),
    holds: [
      'an edit decision list in the CMX 3600 form, picture only: one event for each part that is usable, also with care; out points are exclusive; record times from 01:00:00:00 (common practice, no source)',
      'the reel is made of the first eight letters and digits of the clip’s name: link it to the movie',
      'comments behind an event say what it is worth, and what was left out behind it and why',
    ],
  },
  'csv-markers': {
    ending: '.markers.csv',
    tells: 'stretches',
    write: (result, options) => toMarkersCsv(result, options),
    holds: [
      'one row per stretch: frame, time_s, timecode of its first frame, frames and duration_s of the whole of it, verdict, cause, and one sentence in quotes',
    ],
  },
};

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
