import { toBase64 } from '../base64.js';
import type { Stretch } from '../comfort/stretches.js';
import type { CorrectionResult } from '../correct.js';
import { framesOf } from '../handoff/poses.js';
import { requireSoundResult } from '../handoff/soundResult.js';
import { DEGREES_PER_RADIAN } from '../math.js';
import { swingLimit } from '../rig/coverage.js';

/** How far a correction can go. */
export interface HeldRoom {
  /** Degrees, to either side. */
  readonly deg: number;
  /** What ends it: the lens's margin around the view, or a limit that held the correction there. */
  readonly of: 'lens' | 'limit';
}

/** What the page knows of one clip: figures as they are, rotations packed. */
export interface ClipData {
  readonly name: string;
  readonly verdict: CorrectionResult['verdict'];
  readonly reasons: CorrectionResult['reasons'];
  readonly assessment: CorrectionResult['assessment'];
  readonly rigAssessment?: CorrectionResult['rigAssessment'];
  readonly rig?: CorrectionResult['rig'];
  readonly picture: CorrectionResult['picture'];
  readonly mask?: CorrectionResult['mask'];
  readonly shot: CorrectionResult['shot'];
  readonly confidence: number;
  readonly because: string;
  readonly gait: CorrectionResult['gait'];
  readonly up: CorrectionResult['intended']['up'];
  readonly swapEyes: boolean;
  readonly warnings: readonly string[];
  /** The take second by second, as the result holds it. */
  readonly stretches: readonly Stretch[];
  /** Room of the correction, where lens or limit tell. */
  readonly heldRoom?: HeldRoom;
  readonly durationS: number;
  /** Exact where known: frames per second as a fraction. */
  readonly frameRate: { readonly numerator: number; readonly denominator: number };
  readonly firstFrame: number;
  /** K at every frame, packed by {@link packQuaternions}, base64. */
  readonly corrections: string;
  /** S at every frame. */
  readonly intended: string;
}

/** A clip that could not be corrected or read, and why. */
export interface FailedClip {
  readonly name: string;
  /** One sentence: where, what was found, what was expected, what to do. */
  readonly failed: string;
}

/** Everything a page holds. */
export interface PageData {
  /** In the order of the shoot. */
  readonly clips: readonly (ClipData | FailedClip)[];
  readonly cautions: readonly string[];
}

export function isFailed(clip: object): clip is FailedClip {
  return 'failed' in clip;
}

/** The page's data of one result. */
export function clipDataOf(name: string, result: CorrectionResult): ClipData {
  requireSoundResult(result);
  const { corrections, intended, rig, rigAssessment, mask } = result;
  const { times } = corrections;
  const durationS = times[times.length - 1]!;
  return {
    name,
    verdict: result.verdict,
    reasons: result.reasons,
    assessment: result.assessment,
    ...(rigAssessment && { rigAssessment }),
    ...(rig && { rig }),
    picture: result.picture,
    ...(mask && { mask }),
    shot: result.shot,
    confidence: result.confidence,
    because: result.because,
    gait: result.gait,
    up: intended.up,
    swapEyes: result.swapEyes,
    warnings: result.warnings.map(({ message }) => message),
    stretches: result.stretches,
    ...roomOf(result),
    durationS,
    frameRate: corrections.frameRate ?? {
      // A single frame knows no rate; it stands still at any.
      numerator: durationS > 0 ? Math.round(((times.length - 1) / durationS) * 1000) : 1000,
      denominator: 1000,
    },
    firstFrame: framesOf(result)[0]!,
    corrections: toBase64(packQuaternions(corrections.quaternions)),
    intended: toBase64(packQuaternions(intended.quaternions)),
  };
}

/**
 * A result does not hold its limits. What the lens leaves around the view follows from the rig; where
 * a limit was active, the correction rode on it, and the largest one tells where it lies.
 */
function roomOf({ rig, picture, assessment }: CorrectionResult): { heldRoom?: HeldRoom } {
  const margin = rig ? swingLimit(rig, picture) * DEGREES_PER_RADIAN : 0;
  const { limitedShare, largestCorrectionDeg } = assessment;
  // A lens without margin limits nothing: a mask hides its edges.
  if (limitedShare > 0 && (margin <= 0 || margin > largestCorrectionDeg)) {
    return { heldRoom: { deg: largestCorrectionDeg, of: 'limit' } };
  }
  return margin > 0 ? { heldRoom: { deg: margin, of: 'lens' } } : {};
}

/**
 * Rotations in seven bytes each: the three smaller components in steps of 1/46340, and which one is
 * left out; that follows from the norm, with a positive sign. Off by at most 0.0043°.
 *
 * @param quaternions - unit, length 4n
 * @returns 3n 16-bit numbers, little endian, then n bytes with the index of the largest component
 */
export function packQuaternions(quaternions: Float64Array): Uint8Array {
  const n = quaternions.length / 4;
  const out = new Uint8Array(7 * n);
  const view = new DataView(out.buffer);
  for (let k = 0; k < n; k++) {
    const q = quaternions.subarray(4 * k, 4 * k + 4);
    let largest = 0;
    for (let i = 1; i < 4; i++) if (Math.abs(q[i]!) > Math.abs(q[largest]!)) largest = i;
    const sign = q[largest]! < 0 ? -1 : 1;
    out[6 * n + k] = largest;
    for (let i = 0, place = 0; i < 4; i++) {
      if (i === largest) continue;
      view.setInt16(6 * k + 2 * place++, Math.round(sign * q[i]! * STEPS), true);
    }
  }
  return out;
}

/** Three smaller components of a unit quaternion lie within ±1/√2. */
const STEPS = 32767 * Math.SQRT2;

/** Rotations that {@link packQuaternions} packed, x, y, z, w; length 4n. */
export function unpackQuaternions(packed: Uint8Array): Float64Array {
  const n = packed.length / 7;
  const view = new DataView(packed.buffer, packed.byteOffset, packed.byteLength);
  const out = new Float64Array(4 * n);
  for (let k = 0; k < n; k++) {
    const largest = packed[6 * n + k]!;
    let sum = 0;
    for (let i = 0, place = 0; i < 4; i++) {
      if (i === largest) continue;
      const value = view.getInt16(6 * k + 2 * place++, true) / STEPS;
      out[4 * k + i] = value;
      sum += value * value;
    }
    out[4 * k + largest] = Math.sqrt(Math.max(0, 1 - sum));
  }
  return out;
}
