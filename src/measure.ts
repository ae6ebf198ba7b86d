import { type Assessment, assess } from './comfort/figures.js';
import { momentaryFigures } from './comfort/moments.js';
import { assessRig, type RigAssessment } from './comfort/rigFigures.js';
import { cutIntoStretches, type Stretch } from './comfort/stretches.js';
import type { CorrectOptions } from './correctOptions.js';
import type { Prepared } from './prepare.js';
import { clipCoverage } from './rig/clipCoverage.js';
import type { CircularMask } from './rig/coverage.js';
import { DEFAULT_PICTURE } from './rig/picture.js';
import { alignSigns, composeQuaternions, invertQuaternions } from './rotation/arrays.js';
import type { Steered } from './steer.js';
import { requireFiniteFigures, requireFiniteRotations } from './track/finite.js';

/** K, and what it does and costs. */
export interface Measured {
  /** K = S⁻¹C at every frame, the mount's turn included, length 4n. */
  readonly quaternions: Float64Array;
  readonly assessment: Assessment;
  /** Where a rig was described. */
  readonly rigAssessment?: RigAssessment;
  readonly mask?: CircularMask;
  /** The take in stretches of one verdict each. */
  readonly stretches: readonly Stretch[];
}

/** Figures before and after, what the rig makes of the correction, and the mask that hides edges. */
export function measure(
  { levelled, measured, bridged, bob, trackerFaults }: Prepared,
  { intended, separation, limited, heldBackDeg }: Steered,
  { rig, picture = DEFAULT_PICTURE, level = 1 }: CorrectOptions,
): Measured {
  const inverse = invertQuaternions(intended.quaternions);
  const inView = composeQuaternions(inverse, measured.quaternions);
  const quaternions = alignSigns(composeQuaternions(inverse, levelled.quaternions));
  requireFiniteRotations(quaternions, 'correction');
  const coverage = rig && clipCoverage({ corrections: { quaternions }, intended }, rig, picture);
  const rigAssessment =
    rig &&
    coverage &&
    assessRig(inView, measured, coverage, rig, separation.gait, bob?.(rig.nearestSubjectM));
  const assessment = assess(measured, intended, inView, separation.gait.stepFrequency, {
    limited,
    bridged,
  });
  const mask = coverage?.mask;
  requireFiniteFigures({ assessment, rigAssessment, mask }, 'result');
  const stretches = cutIntoStretches({
    times: intended.times,
    ...(intended.frames && { frames: intended.frames }),
    figures: momentaryFigures(measured, intended, trackerFaults, rig),
    heldBackDeg,
    levelled: level === 1,
  });
  return {
    quaternions,
    assessment,
    stretches,
    ...(rigAssessment && { rigAssessment }),
    ...(mask && { mask }),
  };
}
