import { VERTICAL_DISPARITY } from '../comfort/criteria.js';
import { momentaryFigures, timesAbove } from '../comfort/moments.js';
import type { RigAssessment } from '../comfort/rigFigures.js';
import { cutIntoStretches } from '../comfort/stretches.js';
import { judge } from '../comfort/verdict.js';
import type { CorrectionResult } from '../correct.js';
import { TwinkeelError, type Warning } from '../error.js';
import { parseJson } from '../read/jsonTable.js';
import { turnMount } from '../rig/mount.js';
import { PROJECTIONS } from '../rig/picture.js';
import { DEFAULT_RIG, rigFromValue } from '../rig/stereoRig.js';
import { composeQuaternions } from '../rotation/arrays.js';
import { unitQuaternions } from '../rotation/unitQuaternions.js';
import { UNIT_NORM, UNIT_NORM_SILENT } from '../tolerances.js';
import { requireFiniteFigures } from '../track/finite.js';
import { formatFrameRate, parseFrameRate } from '../track/frameRate.js';
import {
  type OrientationTrack,
  type UpSource,
  withQuaternions,
} from '../track/orientationTrack.js';
import { checkTimes } from '../track/times.js';
import { withEyes } from './formerRig.js';
import { ResultScanner } from './resultScanner.js';
import { requireSoundResult } from './soundResult.js';

/** The name that marks our result files. */
const FORMAT = 'twinkeel-result';
/** Raised when a file of the new kind could be misread by an old reader. */
const VERSION = 1;

/** A list of numbers, parsed or scanned. */
type Numbers = readonly number[] | Float64Array;

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
  checkWords(file);
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

type Kind = 'number' | 'boolean' | 'word';

/** What must stand in an object of the file; an entry that may be left out ends in `?`. */
interface Shape {
  readonly [name: string]: Kind | Shape;
}

const figures = <Name extends string>(...names: readonly Name[]) =>
  Object.fromEntries(names.map((name) => [name, 'number'])) as Record<Name, 'number'>;

const PER_AXIS = figures('heading', 'tilt', 'roll');
const MOTION: Shape = {
  ...{ rateRmsDegPerS: PER_AXIS, rate95DegPerS: PER_AXIS },
  bandRmsDegPerS: figures('slow', 'steps', 'tremor'),
  ...figures('shareAbove30', 'shareAbove60', 'jerkRmsDegPerS3', 'weightedRmsDegPerS'),
  ...figures('bobDeg', 'horizonRmsDeg'),
};
const FAULT: Shape = {
  ...figures('from', 'to', 'fromSeconds', 'toSeconds'),
  ...{ 'fromFrame?': 'number', 'toFrame?': 'number', kind: 'word', mended: 'boolean' },
};
const MOVE: Shape = { kind: 'word', ...figures('fromSeconds', 'toSeconds', 'angleDeg') };
const STRETCH: Shape = {
  ...figures('fromFrame', 'toFrame', 'fromSeconds', 'toSeconds'),
  ...{ 'fromTimecode?': 'word', 'toTimecode?': 'word', verdict: 'word' },
  'because?': {
    ...figures('value', 'threshold'),
    ...{ cause: 'word', figure: 'word', unit: 'word', source: 'word', nextTime: 'word' },
    'now?': 'word',
  },
};
const TIME_ABOVE: Shape = {
  ...{ figure: 'word', unit: 'word' },
  ...figures('worst', 'care', 'bad', 'shareAboveCare', 'shareAboveBad'),
};
const RESULT: Shape = {
  confidence: 'number',
  'upDeviation?': 'number',
  swapEyes: 'boolean',
  gait: { walking: 'boolean', ...figures('stepFrequency', 'score') },
  assessment: {
    ...{ before: MOTION, after: MOTION },
    ...figures('largestCorrectionDeg', 'typicalCorrectionDeg', 'limitedShare', 'bridgedShare'),
  },
  'mask?': { centre: figures('0', '1', '2'), ...figures('opaqueFrom', 'clearUpTo') },
  'rigAssessment?': {
    ...figures('worstDisparityArcmin', 'disparity95Arcmin', 'uncoveredShare'),
    ...figures('largestSwingDeg', 'ignoredReadoutArcmin'),
    'comfortableFromM?': 'number',
    'verticalBob?': { ...figures('amplitudeCm', 'visibleDeg'), source: 'word' },
  },
};

/** Whether a value is of a kind, or has all entries of a shape: a figure that is missing would be judged as none. */
function fits(value: unknown, wanted: Kind | Shape): boolean {
  if (wanted === 'number') return Number.isFinite(value);
  if (wanted === 'boolean') return typeof value === 'boolean';
  if (wanted === 'word') return typeof value === 'string';
  if (value === null || typeof value !== 'object') return false;
  return Object.entries(wanted).every(([name, kind]) => {
    const inner = (value as Record<string, unknown>)[name.replace('?', '')];
    return (inner === undefined && name.endsWith('?')) || fits(inner, kind);
  });
}

/** Whether a list that may be left out has entries of a shape only. */
function listFits(list: unknown, shape: Shape): boolean {
  return list === undefined || (Array.isArray(list) && list.every((each) => fits(each, shape)));
}

/** Checks everything that is not a list of numbers. */
function checkWords(file: Partial<ResultFile>): void {
  const holds: Readonly<Record<string, boolean>> = {
    up: ['gravity', 'stated', 'estimated', 'unknown'].includes(file.up ?? ''),
    picture: (PROJECTIONS as readonly (string | undefined)[]).includes(file.picture),
    shot: ['travelling', 'pan', 'locked-off'].includes(file.shot ?? ''),
    ...Object.fromEntries(
      Object.entries(RESULT).map(([name, kind]) => [
        name.replace('?', ''),
        fits(file, { [name]: kind }),
      ]),
    ),
    frameRate: file.frameRate === undefined || typeof file.frameRate === 'string',
    startNs:
      file.startNs === undefined ||
      (typeof file.startNs === 'string' && /^-?\d{1,19}$/.test(file.startNs)),
    because: file.because === undefined || typeof file.because === 'string',
    timecode: file.timecode === undefined || typeof file.timecode === 'string',
    moves: listFits(file.moves, MOVE),
    trackerFaults: listFits(file.trackerFaults, FAULT),
    stretches: listFits(file.stretches, STRETCH),
    timesAbove: listFits(file.timesAbove, TIME_ABOVE),
    warnings: listFits(file.warnings, { code: 'word', message: 'word' }),
  };
  const wrong = Object.keys(holds).find((name) => !holds[name]);
  if (wrong !== undefined) throw notAResult(`no proper "${wrong}"`, 'a complete result');
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
