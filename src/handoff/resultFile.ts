import type { RigAssessment } from '../comfort/rigFigures.js';
import type { CorrectionResult } from '../correct.js';
import type { Warning } from '../error.js';
import type { UpSource } from '../track/orientationTrack.js';

/** The name that marks our result files. */
export const FORMAT = 'twinkeel-result';
/** Raised when a file of the new kind could be misread by an old reader. */
export const VERSION = 1;

/** A list of numbers, parsed or scanned. */
export type Numbers = readonly number[] | Float64Array;

/** What stands in a result file; the published schema is docs/schema/result.schema.json. */
export interface ResultFile {
  readonly format: typeof FORMAT;
  readonly version: number;
  readonly conventions: string;
  readonly frameRate?: string;
  readonly startNs?: string;
  readonly up: UpSource;
  readonly upDeviation?: number;
  readonly shot: CorrectionResult['shot'];
  readonly confidence: number;
  readonly because?: string;
  readonly trackerFaults?: CorrectionResult['trackerFaults'];
  readonly timecode?: string;
  readonly stretches?: CorrectionResult['stretches'];
  readonly timesAbove?: CorrectionResult['timesAbove'];
  readonly gait: CorrectionResult['gait'];
  readonly moves?: CorrectionResult['moves'];
  readonly swapEyes: boolean;
  readonly mask?: CorrectionResult['mask'];
  readonly rig?: CorrectionResult['rig'];
  readonly picture: CorrectionResult['picture'];
  /** Files of older releases do not say from where on it is comfortable. */
  readonly rigAssessment?: Omit<RigAssessment, 'comfortableFromM'> & Partial<RigAssessment>;
  readonly assessment: CorrectionResult['assessment'];
  readonly verdict: CorrectionResult['verdict'];
  readonly reasons: CorrectionResult['reasons'];
  readonly cautions: CorrectionResult['cautions'];
  readonly warnings: readonly Warning[];
  readonly frames?: Numbers;
  readonly times: Numbers;
  readonly corrections: Numbers;
  readonly intended: Numbers;
}
