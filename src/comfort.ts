/**
 * Figures before and after, stretches, verdict and reasons, and the cautions that go with all of them. The examples
 * start from the same things as those of `twinkeel`.
 *
 * @packageDocumentation
 */
export { CAUTIONS } from './comfort/cautions.js';
export {
  type Assessment,
  type Bands,
  type MotionFigures,
  motionFigures,
  type PerAxis,
} from './comfort/figures.js';
export { motionSicknessWeight } from './comfort/frequencyWeighting.js';
export type { TimeAbove } from './comfort/moments.js';
export type { RigAssessment } from './comfort/rigFigures.js';
export type {
  Stretch,
  StretchCause,
  StretchReason,
  StretchVerdict,
} from './comfort/stretches.js';
export {
  type Judged,
  judge,
  type Reason,
  type Verdict,
  type VerdictName,
} from './comfort/verdict.js';
