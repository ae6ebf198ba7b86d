import { MOMENT_CRITERIA } from './comfort/criteria.js';
import { type Assessment, assess } from './comfort/figures.js';
import { type MomentaryFigure, momentaryFigures } from './comfort/moments.js';
import { assessRig, type RigAssessment } from './comfort/rigFigures.js';
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
  /** What is judged at every frame. */
  readonly moments: readonly MomentaryFigure[];
}

/** Figures before and after, what the rig makes of the correction, and the mask that hides edges. */
export function measure(
  { levelled, measured, bridged, bob, trackerFaults }: Prepared,
  { intended, separation, limited }: Steered,
  { rig, picture = DEFAULT_PICTURE }: CorrectOptions,
): Measured {
  const inverse = invertQuaternions(intended.quaternions);
  const inView = composeQuaternions(inverse, measured.quaternions);
  const quaternions = alignSigns(composeQuaternions(inverse, levelled.quaternions));
  requireFiniteRotations(quaternions, 'correction');
  const coverage = rig && clipCoverage({ corrections: { quaternions }, intended }, rig, picture);
  const moments = momentaryFigures(measured, intended, trackerFaults, separation.gait, rig);
  const rigAssessment =
    rig &&
    coverage &&
    assessRig(
      inView,
      measured,
      coverage,
      rig,
      separation.gait,
      worstDisparity(moments),
      bob?.(rig.nearestSubjectM),
    );
  const assessment = assess(measured, intended, inView, separation.gait.stepFrequency, {
    limited,
    bridged,
  });
  const mask = coverage?.mask;
  requireFiniteFigures({ assessment, rigAssessment, mask }, 'result');
  return {
    quaternions,
    assessment,
    moments,
    ...(rigAssessment && { rigAssessment }),
    ...(mask && { mask }),
  };
}

/** The vertical disparity of the worst moment, arcmin. */
function worstDisparity(moments: readonly MomentaryFigure[]): number {
  const { figure } = MOMENT_CRITERIA.disparity;
  const { values } = moments.find((moment) => moment.figure === figure)!;
  return values.reduce((most, value) => Math.max(most, value), 0);
}
