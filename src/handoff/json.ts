import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { requireFiniteFigures } from '../track/finite.js';
import { formatFrameRate } from '../track/frameRate.js';
import { FORMAT, type ResultFile, VERSION } from './resultFile.js';
import { requireSoundResult } from './soundResult.js';

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
  try {
    return Array.from(jsonPieces(result)).join('');
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new TwinkeelError('file/too-large', {
      found: `a result of ${result.corrections.times.length} frames`,
      expected:
        'a text that is shorter than the longest a program can hold, some 2.8 million frames',
      remedy: 'write it to a file, piece by piece, with writeResult of twinkeel/node',
    });
  }
}

/**
 * The text of {@link toJson} in pieces of a few hundred kilobytes, for results whose text no program
 * holds.
 *
 * @throws TwinkeelError as {@link toJson}, before the first piece
 */
export function jsonPieces(result: CorrectionResult): Iterable<string> {
  requireSoundResult(result);
  const { corrections, intended } = result;
  const file: Omit<ResultFile, 'frames' | 'times' | 'corrections' | 'intended'> = {
    format: FORMAT,
    version: VERSION,
    conventions: CONVENTIONS,
    ...(corrections.frameRate && { frameRate: formatFrameRate(corrections.frameRate) }),
    ...(intended.startNs !== undefined && { startNs: String(intended.startNs) }),
    up: intended.up,
    ...(intended.upDeviation !== undefined && { upDeviation: intended.upDeviation }),
    shot: result.shot,
    confidence: result.confidence,
    because: result.because,
    gait: result.gait,
    moves: result.moves,
    trackerFaults: result.trackerFaults,
    ...(result.timecode !== undefined && { timecode: result.timecode }),
    stretches: result.stretches,
    timesAbove: result.timesAbove,
    swapEyes: result.swapEyes,
    ...(result.mask && { mask: result.mask }),
    ...(result.rig && { rig: result.rig }),
    picture: result.picture,
    ...(result.rigAssessment && { rigAssessment: result.rigAssessment }),
    assessment: result.assessment,
    verdict: result.verdict,
    reasons: result.reasons,
    cautions: result.cautions,
    warnings: result.warnings,
  };
  requireFiniteFigures(file, 'result');
  return piecesOf(JSON.stringify(file), {
    ...(corrections.frames && { frames: corrections.frames }),
    times: corrections.times,
    corrections: corrections.quaternions,
    intended: intended.quaternions,
  });
}

/** How many numbers make one piece. */
const PIECE = 16384;

/** An object's text with lists of numbers behind its other entries, as JSON.stringify() writes them. */
function* piecesOf(
  text: string,
  lists: Readonly<Record<string, Float64Array | Int32Array>>,
): Generator<string, void> {
  yield text.slice(0, -1);
  for (const [name, values] of Object.entries(lists)) {
    yield `,"${name}":[`;
    for (let from = 0; from < values.length; from += PIECE) {
      yield `${from === 0 ? '' : ','}${values.subarray(from, from + PIECE).join(',')}`;
    }
    yield ']';
  }
  yield '}\n';
}
