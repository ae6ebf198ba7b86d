import type { CorrectionResult } from '../correct.js';
import { DEGREES_PER_RADIAN } from '../math.js';
import { coverageWithin } from '../rig/clipCoverage.js';
import { angleBetween, coveredHalfAngle, halfView } from '../rig/coverage.js';
import { fisheyeField, type StereoPicture } from '../rig/picture.js';
import type { StereoRig } from '../rig/stereoRig.js';
import { rotateVector } from '../rotation/quaternion.js';

/**
 * The pictures that a hand-over reads: what was said, and for the rest those that the result was
 * corrected for, side by side, a fisheye with the field of the rig's lens.
 */
export function sourcePicture(
  result: Pick<CorrectionResult, 'picture' | 'rig'>,
  said: Partial<StereoPicture> = {},
): StereoPicture {
  const { projection = result.picture, layout = 'side-by-side' } = said;
  const fieldDeg =
    said.fieldDeg ?? (projection === 'fisheye' ? result.rig?.lens.fieldDeg : undefined);
  return { projection, layout, ...(fieldDeg !== undefined && { fieldDeg }) };
}

/** What the pictures of a hand-over hold of the view. */
interface Held {
  /** Half the angle across, rad. */
  readonly half: number;
  /** How far the view may turn from the worse eye's axis before an edge shows, rad; below 0: never still. */
  readonly room: number;
  /** Largest share of the view that is black in any frame of either eye, without a mask. */
  readonly black: number;
  /** Whether the result's mask hides every edge. */
  readonly hidden: boolean;
}

function heldBy(result: CorrectionResult, rig: StereoRig, half: number): Held {
  const { left, right, mask } = coverageWithin(result, rig, half);
  const askew = [rig.eyes.left, rig.eyes.right].map(({ alignment }) =>
    angleBetween(rotateVector(alignment, [0, 0, -1]), [0, 0, -1]),
  );
  const black = [...left.uncovered, ...right.uncovered].reduce((a, b) => Math.max(a, b), 0);
  const own = result.mask;
  const hidden =
    !mask ||
    (own !== undefined &&
      angleBetween(own.centre, mask.centre) + own.opaqueFrom <= mask.opaqueFrom + 1e-9);
  return { half, room: half - halfView(rig) - Math.max(...askew), black, hidden };
}

/** Half the angle across that the pictures of a hand-over hold, rad. */
function halfOf(rig: StereoRig, picture: StereoPicture): number {
  const whole = coveredHalfAngle(rig, picture.projection);
  if (picture.projection === 'half-equirect' || picture.fieldDeg === undefined) return whole;
  return Math.min(whole, fisheyeField(picture) / 2 / DEGREES_PER_RADIAN);
}

/**
 * What the pictures of a hand-over hold, in words.
 *
 * @param result - of {@link correct}
 * @param picture - the pictures that will be resampled
 */
export function describeSource(result: CorrectionResult, picture: StereoPicture): string {
  const { projection, layout, fieldDeg } = picture;
  const field = projection === 'fisheye' && fieldDeg !== undefined ? ` of ${fieldDeg}°` : '';
  const words = `pictures: ${projection}${field}, ${layout}`;
  const { rig } = result;
  if (!rig) return `${words}; without a rig description black edges are neither limited nor judged`;
  const { half, room, black } = heldBy(result, rig, halfOf(rig, picture));
  return `${words}; each holds ${across(half)} about its lens’s own axis, ${roomWords(room)} under a view of ${rig.outputFieldDeg}°; at worst ${percent(black)} of the view of an eye is black without the mask`;
}

/**
 * What changes when other pictures are handed over than those the result was corrected for; nothing
 * where they are the same.
 *
 * @param result - of {@link correct}
 * @param picture - the pictures that will be resampled
 * @returns one sentence, or undefined
 */
export function otherPicture(result: CorrectionResult, picture: StereoPicture): string | undefined {
  const { rig } = result;
  const other = picture.projection !== result.picture;
  if (!rig) {
    return other
      ? `the clip was corrected for ${result.picture} pictures and is handed over for ${picture.projection} ones; without a rig description black edges are neither limited nor judged in either`
      : undefined;
  }
  const [own, here] = [coveredHalfAngle(rig, result.picture), halfOf(rig, picture)];
  // Half a field in degrees and in rad may differ by rounding.
  if (!other && here >= own - 1e-9) return undefined;
  const [before, now] = [own, here].map((half) => heldBy(result, rig, half)) as [Held, Held];
  const mask = now.hidden
    ? ''
    : `; the mask does not hide these edges, correct again with --picture ${picture.projection} for limits and a mask that do`;
  return `the clip was corrected for ${result.picture} pictures that hold ${across(own)}, and is handed over for ${picture.projection} ones that hold ${across(here)}: ${roomWords(now.room)} instead of ${roomWords(before.room)}, at worst ${percent(now.black)} of the view of an eye black instead of ${percent(before.black)}${mask}`;
}

const across = (half: number) => `${(2 * half * DEGREES_PER_RADIAN).toFixed(1)}°`;
const percent = (share: number) => `${(100 * share).toFixed(2)} %`;
const roomWords = (room: number) =>
  room > 0 ? `${(room * DEGREES_PER_RADIAN).toFixed(1)}° of room` : 'no room';
