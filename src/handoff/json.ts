import { judge } from '../comfort/verdict.js';
import { type CorrectionResult, eyesOf } from '../correct.js';
import { TwinkeelError, type Warning } from '../error.js';
import { parseJson } from '../read/jsonTable.js';
import { readRig } from '../rig/stereoRig.js';
import { formatFrameRate, parseFrameRate } from '../track/frameRate.js';
import type { OrientationTrack, UpSource } from '../track/orientationTrack.js';

/** The name that marks our result files. */
const FORMAT = 'twinkeel-result';
/** Raised when a file of the new kind could be misread by an old reader. */
const VERSION = 1;

/** What stands in a result file; the published schema is docs/schema/result.schema.json. */
interface ResultFile {
  readonly format: typeof FORMAT;
  readonly version: number;
  readonly conventions: string;
  readonly frameRate?: string;
  readonly startNs?: string;
  readonly up: UpSource;
  readonly upDeviation?: number;
  readonly shot: CorrectionResult['shot'];
  readonly confidence: number;
  readonly gait: CorrectionResult['gait'];
  readonly swapEyes: boolean;
  readonly mask?: CorrectionResult['mask'];
  readonly rig?: CorrectionResult['rig'];
  readonly rigAssessment?: CorrectionResult['rigAssessment'];
  readonly assessment: CorrectionResult['assessment'];
  readonly verdict: CorrectionResult['verdict'];
  readonly reasons: CorrectionResult['reasons'];
  readonly cautions: CorrectionResult['cautions'];
  readonly warnings: readonly Warning[];
  readonly frames?: readonly number[];
  readonly times: readonly number[];
  readonly corrections: readonly number[];
  readonly intended: readonly number[];
}

const CONVENTIONS =
  'Camera axes x right, y up, z back; world y up. Quaternions x, y, z, w, four numbers per frame. ' +
  'corrections holds K, which takes a direction seen by the camera to the corrected view, the same ' +
  'for both eyes; intended holds S, camera to world; the measured orientation is S K. times are ' +
  'seconds from the first frame.';

/**
 * A result as JSON that {@link readResult} reads back to the last bit.
 *
 * @param result - of {@link correct}
 * @returns JSON text; its schema is docs/schema/result.schema.json
 * @example
 * JSON.parse(toJson(result)).format; // 'twinkeel-result'
 */
export function toJson(result: CorrectionResult): string {
  const { corrections, intended } = result;
  const file: ResultFile = {
    format: FORMAT,
    version: VERSION,
    conventions: CONVENTIONS,
    ...(corrections.frameRate && { frameRate: formatFrameRate(corrections.frameRate) }),
    ...(intended.startNs !== undefined && { startNs: String(intended.startNs) }),
    up: intended.up,
    ...(intended.upDeviation !== undefined && { upDeviation: intended.upDeviation }),
    shot: result.shot,
    confidence: result.confidence,
    gait: result.gait,
    swapEyes: result.swapEyes,
    ...(result.mask && { mask: result.mask }),
    ...(result.rig && { rig: result.rig }),
    ...(result.rigAssessment && { rigAssessment: result.rigAssessment }),
    assessment: result.assessment,
    verdict: result.verdict,
    reasons: result.reasons,
    cautions: result.cautions,
    warnings: result.warnings,
    ...(corrections.frames && { frames: Array.from(corrections.frames) }),
    times: Array.from(corrections.times),
    corrections: Array.from(corrections.quaternions),
    intended: Array.from(intended.quaternions),
  };
  return `${JSON.stringify(file)}\n`;
}

/**
 * Reads a result that {@link toJson} wrote.
 *
 * @param text - of a `STEM.result.json`
 * @returns the result; its verdict is judged anew from the figures in the file
 * @throws TwinkeelError `read/json` when the text is no result, is newer than this release or
 *   holds arrays of the wrong length
 * @example
 * readResult(toJson(result)).corrections.times.length; // 721
 */
export function readResult(text: string): CorrectionResult {
  const file = parseJson(text, {
    expected: 'a result',
    remedy: 'pass the STEM.result.json that "twinkeel correct" wrote',
  }) as Partial<ResultFile> | null;
  if (file?.format !== FORMAT || !Number.isInteger(file.version)) {
    throw notAResult('JSON of another kind', `a file with "format": "${FORMAT}"`);
  }
  if (!(file.version! >= 1 && file.version! <= VERSION)) {
    throw notAResult(`a result of version ${file.version}`, `version ${VERSION} or older`);
  }
  checkWords(file);
  const times = numbers(file.times, 'times');
  const n = times.length;
  const quaternions = numbers(file.corrections, 'corrections', 4 * n);
  const frames = file.frames && Int32Array.from(numbers(file.frames, 'frames', n));
  const frameRate = file.frameRate === undefined ? undefined : parseFrameRate(file.frameRate);
  const rig = file.rig && readRig(JSON.stringify(file.rig)).rig;
  const intended: OrientationTrack = {
    times,
    quaternions: numbers(file.intended, 'intended', 4 * n),
    ...(frames && { frames }),
    ...(frameRate && { frameRate }),
    ...(file.startNs !== undefined && { startNs: BigInt(file.startNs) }),
    up: file.up!,
    ...(file.upDeviation !== undefined && { upDeviation: file.upDeviation }),
    warnings: [],
  };
  const unjudged = {
    corrections: {
      times,
      quaternions,
      ...(frames && { frames }),
      ...(frameRate && { frameRate }),
    },
    intended,
    ...eyesOf(quaternions, rig?.alignment),
    swapEyes: file.swapEyes!,
    ...(file.mask && { mask: file.mask }),
    ...(rig && { rig }),
    ...(file.rigAssessment && { rigAssessment: file.rigAssessment }),
    shot: file.shot!,
    confidence: file.confidence!,
    gait: file.gait!,
    assessment: file.assessment!,
    warnings: file.warnings ?? [],
  };
  // Judged anew, so that the verdict is that of this release and never stands without its reasons.
  return { ...unjudged, ...judge(unjudged) };
}

/** Checks everything that is not a list of numbers. */
function checkWords(file: Partial<ResultFile>): void {
  const finite = (values: unknown): boolean =>
    typeof values === 'object' && values !== null
      ? Object.values(values).length > 0 && Object.values(values).every(finite)
      : typeof values === 'boolean' || Number.isFinite(values);
  const holds: Readonly<Record<string, boolean>> = {
    up: ['gravity', 'stated', 'estimated', 'unknown'].includes(file.up ?? ''),
    shot: ['travelling', 'pan', 'locked-off'].includes(file.shot ?? ''),
    confidence: Number.isFinite(file.confidence),
    gait: typeof file.gait === 'object' && finite(file.gait),
    swapEyes: typeof file.swapEyes === 'boolean',
    assessment: typeof file.assessment === 'object' && finite(file.assessment),
    upDeviation: file.upDeviation === undefined || Number.isFinite(file.upDeviation),
    mask: file.mask === undefined || (typeof file.mask === 'object' && finite(file.mask)),
    rigAssessment:
      file.rigAssessment === undefined ||
      (typeof file.rigAssessment === 'object' && finite(withoutSource(file.rigAssessment))),
    startNs: file.startNs === undefined || /^-?\d{1,19}$/.test(file.startNs),
  };
  const wrong = Object.keys(holds).find((name) => !holds[name]);
  if (wrong !== undefined) throw notAResult(`no proper "${wrong}"`, 'a complete result');
}

/** The figures of a rig without the word that says where its bob comes from. */
function withoutSource({ verticalBob, ...figures }: NonNullable<ResultFile['rigAssessment']>) {
  if (!verticalBob) return figures;
  const { amplitudeCm, visibleDeg } = verticalBob;
  return { ...figures, amplitudeCm, visibleDeg };
}

function numbers(
  values: readonly number[] | undefined,
  name: string,
  length?: number,
): Float64Array {
  const valid =
    Array.isArray(values) &&
    values.length > 0 &&
    (length === undefined || values.length === length) &&
    values.every((value) => Number.isFinite(value));
  if (!valid) {
    const found = Array.isArray(values) ? `${values.length} entries` : 'nothing';
    throw notAResult(`${found} under "${name}"`, `${length ?? 'at least one'} finite numbers`);
  }
  return Float64Array.from(values);
}

function notAResult(found: string, expected: string): TwinkeelError {
  return new TwinkeelError('read/json', {
    found,
    expected,
    remedy: 'pass a STEM.result.json that this or an older twinkeel wrote',
  });
}
