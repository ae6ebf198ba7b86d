import { VERTICAL_DISPARITY } from '../comfort/criteria.js';
import { momentaryFigures, timesAbove } from '../comfort/moments.js';
import { cutIntoStretches } from '../comfort/stretches.js';
import { judge } from '../comfort/verdict.js';
import type { CorrectionResult } from '../correct.js';
import { TwinkeelError, type Warning } from '../error.js';
import { parseJson } from '../read/jsonTable.js';
import { turnMount } from '../rig/mount.js';
import { DEFAULT_RIG, rigFromValue } from '../rig/stereoRig.js';
import { composeQuaternions } from '../rotation/arrays.js';
import { unitQuaternions } from '../rotation/unitQuaternions.js';
import { UNIT_NORM, UNIT_NORM_SILENT } from '../tolerances.js';
import { parseFrameRate } from '../track/frameRate.js';
import { type OrientationTrack, verticalOf, withQuaternions } from '../track/orientationTrack.js';
import { checkTimes } from '../track/times.js';
import { withEyes } from './formerRig.js';
import { FORMAT, type Numbers, type ResultFile, VERSION } from './resultFile.js';
import { ResultScanner } from './resultScanner.js';
import { wrongEntry } from './resultShape.js';

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
  return resultOfFile(parseResult(text));
}

/**
 * Reads a result's text that comes in pieces, as {@link readResult} reads a whole one; takes little
 * more memory than the result itself.
 *
 * @param pieces - UTF-8 bytes, cut anywhere; each may be overwritten when the next is asked for
 * @throws TwinkeelError as {@link readResult}
 */
export function readResultPieces(pieces: Iterable<Uint8Array>): CorrectionResult {
  const scanner = new ResultScanner();
  for (const piece of pieces) scanner.push(piece);
  const { rest, lists } = scanner.finish();
  const file = parseResult(rest);
  const isObject = file !== null && typeof file === 'object';
  return resultOfFile(isObject ? { ...file, ...lists } : file);
}

function parseResult(text: string): Partial<ResultFile> | null {
  return parseJson(text, {
    expected: 'a result',
    remedy: 'pass the STEM.result.json that "twinkeel correct" wrote',
  }) as Partial<ResultFile> | null;
}

function resultOfFile(file: Partial<ResultFile> | null): CorrectionResult {
  if (file?.format !== FORMAT || !Number.isInteger(file.version)) {
    throw notAResult('JSON of another kind', `a file with "format": "${FORMAT}"`);
  }
  if (!(file.version! >= 1 && file.version! <= VERSION)) {
    throw notAResult(`a result of version ${file.version}`, `version ${VERSION} or older`);
  }
  const wrong = wrongEntry(file);
  if (wrong !== undefined) throw notAResult(`no proper "${wrong}"`, 'a complete result');
  const times = numbers(file.times, 'times');
  const n = times.length;
  checkTimes(times, (frame) => ({ frame }));
  const { quaternions, notes } = rotations(file.corrections, 'corrections', n);
  const path = rotations(file.intended, 'intended', n);
  const frames = file.frames === undefined ? undefined : frameNumbers(file.frames, n);
  const frameRate = file.frameRate === undefined ? undefined : parseFrameRate(file.frameRate);
  const rig = file.rig && rigFromValue(withEyes(file.rig)).rig;
  const intended: OrientationTrack = {
    times,
    quaternions: path.quaternions,
    ...(frames && { frames }),
    ...(frameRate && { frameRate }),
    ...(file.startNs !== undefined && { startNs: BigInt(file.startNs) }),
    ...verticalOf(file.up!, file.upDeviation),
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
    swapEyes: file.swapEyes!,
    ...(file.mask && { mask: file.mask }),
    ...(rig && { rig }),
    picture: file.picture!,
    ...(file.rigAssessment && { rigAssessment: withComfort(file.rigAssessment, rig) }),
    shot: file.shot!,
    confidence: file.confidence!,
    because: file.because ?? '',
    gait: file.gait!,
    moves: file.moves ?? [],
    trackerFaults: file.trackerFaults ?? [],
    ...(file.timecode !== undefined && { timecode: file.timecode }),
    ...momentsOf(file, intended, quaternions, rig),
    assessment: file.assessment!,
    warnings: [...(file.warnings ?? []), ...notes, ...path.notes],
  };
  // Judged anew, so that the verdict is that of this release and never stands without its reasons.
  return { ...unjudged, ...judge(unjudged) };
}

/** The take second by second; found again from C and S in a file of a release that did not write it. */
function momentsOf(
  { stretches, timesAbove: above, trackerFaults = [], gait, swapEyes }: Partial<ResultFile>,
  intended: OrientationTrack,
  corrections: Float64Array,
  rig: CorrectionResult['rig'],
): Pick<CorrectionResult, 'stretches' | 'timesAbove'> {
  if (stretches && above) return { stretches, timesAbove: above };
  const measured = composeQuaternions(intended.quaternions, corrections);
  const upright = withQuaternions(intended, swapEyes ? turnMount(measured) : measured);
  const figures = momentaryFigures(upright, intended, trackerFaults, gait!, rig);
  return { stretches: cutIntoStretches({ ...intended, figures }), timesAbove: timesAbove(figures) };
}

/** The distance of comfort, which files of older releases lack; their worst frame stands for a moment. */
function withComfort(
  assessment: NonNullable<ResultFile['rigAssessment']>,
  rig: CorrectionResult['rig'],
): NonNullable<CorrectionResult['rigAssessment']> {
  const { nearestSubjectM } = rig ?? DEFAULT_RIG;
  const worst = assessment.worstDisparityArcmin;
  return {
    comfortableFromM: (nearestSubjectM * worst) / VERTICAL_DISPARITY.care,
    ...assessment,
  };
}

/** Rotations, n of them; anything but unit quaternions would shear the picture. */
function rotations(
  values: Numbers | undefined,
  name: string,
  n: number,
): { quaternions: Float64Array; notes: Warning[] } {
  const unit = unitQuaternions(numbers(values, name, 4 * n));
  if ('wrong' in unit) {
    throw notAResult(
      `a quaternion of norm ${unit.norm.toPrecision(6)} at frame ${unit.wrong} of "${name}"`,
      `unit quaternions (norm within ${UNIT_NORM} of 1)`,
    );
  }
  const { quaternions, departure } = unit;
  if (departure <= UNIT_NORM_SILENT) return { quaternions, notes: [] };
  const message = `quaternion norms of "${name}" missed 1 by up to ${departure.toExponential(1)}; those were renormalised`;
  return { quaternions, notes: [{ code: 'result/renormalised', message }] };
}

/** Frame numbers, n of them: whole, increasing and within 32 bits, in which they are kept. */
function frameNumbers(values: Numbers, n: number): Int32Array {
  const found = numbers(values, 'frames', n);
  const frames = Int32Array.from(found);
  if (frames.every((frame, k) => frame === found[k] && (k === 0 || frame > frames[k - 1]!))) {
    return frames;
  }
  throw notAResult('frame numbers that are not whole or do not increase', 'frames in their order');
}

function numbers(values: Numbers | undefined, name: string, length?: number): Float64Array {
  const isList = Array.isArray(values) || values instanceof Float64Array;
  const valid =
    isList &&
    values.length > 0 &&
    (length === undefined || values.length === length) &&
    Array.prototype.every.call(values, (value) => Number.isFinite(value));
  if (!valid) {
    const found = isList ? `${values.length} entries` : 'nothing';
    throw notAResult(`${found} under "${name}"`, `${length ?? 'at least one'} finite numbers`);
  }
  return values instanceof Float64Array ? values : Float64Array.from(values);
}

function notAResult(found: string, expected: string): TwinkeelError {
  return new TwinkeelError('read/json', {
    found,
    expected,
    remedy: 'pass a STEM.result.json that this or an older twinkeel wrote',
  });
}
