/**
 * The words and ranges of the settings. What runs is this file alone: the rooms it takes them from
 * give types, which the compiler holds the lists to, or leaf files. So `--help` stays light.
 */
import type { FilterName } from '../motion/separate.js';
import type { ShotKind } from '../motion/shot.js';
import type { OpenFormatName } from '../read/openFormats.js';
import type { Projection } from '../rig/picture.js';

export { SHORTEST_MOVES } from '../motion/shortestMoves.js';
export { NEAREST_SUBJECTS_M } from '../rig/nearestSubject.js';

/** Every word of a type: one that is missing or too many is refused by the compiler. */
function everyWord<Word extends string>(words: Readonly<Record<Word, true>>): readonly Word[] {
  return Object.keys(words) as Word[];
}

export const SHOTS = everyWord<'auto' | ShotKind>({
  auto: true,
  travelling: true,
  pan: true,
  'locked-off': true,
});

export const FILTERS = everyWord<FilterName>({
  structural: true,
  spline: true,
  gaussian: true,
  butterworth: true,
  'savitzky-golay': true,
});

export const FORMATS = everyWord<OpenFormatName>({
  tum: true,
  'euroc-pose': true,
  'euroc-imu': true,
  kitti: true,
  opentrackio: true,
});

export const PICTURES = everyWord<Projection>({ 'half-equirect': true, fisheye: true });

/** Angles of an OpenTrackIO sample. */
export const ANGLES = ['pan', 'tilt', 'roll'];
