import { basename, extname, join, resolve } from 'node:path';
import type { CorrectionResult, CorrectOptions } from '../correct.js';
import { demoFiles } from '../demo/demoFiles.js';
import { errorInFile, isTwinkeelError, TwinkeelError } from '../error.js';
import { readMotionLogFile } from '../files/openRecording.js';
import { readBytes } from '../files/readFile.js';
import { readAimFile, readMarkersFile } from '../files/readKeys.js';
import { resultPaths, writeFiles, writeResult } from '../files/writeFiles.js';
import { readCorrections, trackToCsv } from '../handoff/csv.js';
import { orientLog } from '../inertial/orientLog.js';
import { DEGREES_PER_RADIAN } from '../math.js';
import { CLASSIC_FILTERS } from '../motion/classicFilters.js';
import { type FilterName, separate } from '../motion/separate.js';
import type { ShotKind } from '../motion/shot.js';
import { describeOrientation } from '../read/describe.js';
import { type Mapping, parseMapping } from '../read/mapping.js';
import { type RigDescription, readRig } from '../rig/stereoRig.js';
import { quaternionAt } from '../rotation/arrays.js';
import { multiplyQuaternions, type Quaternion } from '../rotation/quaternion.js';
import { type FrameRate, parseFrameRate } from '../track/frameRate.js';
import { resampleToFrames } from '../track/resample.js';
import { correctFile, type LogOfClip, openClip } from './correctFile.js';
import {
  CAUTIONS,
  describeLimits,
  describeRigFigures,
  describeShot,
  describeTrack,
  describeWarnings,
  figuresTable,
} from './words.js';

/** Options as they come from the command line. */
type Options = Readonly<Record<string, string | boolean | undefined>>;

/** A call that cannot be carried out as it is written: exit code 2. */
class UsageError extends Error {
  override readonly name = 'UsageError';
}

/** What happened to each file, for people and for machines. */
interface Report {
  readonly file: string;
  readonly ok: boolean;
  readonly lines: readonly string[];
  readonly data: unknown;
}

/** `twinkeel inspect`: what was understood; writes nothing. */
export async function inspect(files: readonly string[], options: Options): Promise<number> {
  const mapping = readMapping(options);
  const frameRate = frameRateOf(options);
  const shot = shotOf(options);
  return eachFile(files, options, async (file) => {
    const clip = await openClip(file, {
      ...(mapping && { mapping }),
      ...(frameRate && { frameRate }),
    });
    const { track } = frameRate ? resampleToFrames(clip.track, frameRate) : clip;
    const separation = separate(track, { shot });
    const warnings = [...track.warnings, ...separation.warnings];
    const lines = [
      clip.kind === 'log' ? 'motion log' : 'orientation track',
      ...describeTrack(track),
      describeShot(separation),
      ...describeWarnings(warnings),
    ];
    return {
      lines,
      data: {
        kind: clip.kind,
        samples: track.times.length,
        durationS: track.times[track.times.length - 1],
        up: track.up,
        shot: separation.shot,
        confidence: separation.confidence,
        gait: separation.gait,
        warnings,
      },
    };
  });
}

/** `twinkeel orient`: motion logs to tracks. */
export async function orient(files: readonly string[], options: Options): Promise<number> {
  const mapping = readMapping(options);
  const frameRate = frameRateOf(options);
  const folder = requireOut(options);
  return eachFile(files, options, async (file) => {
    const log = await readMotionLogFile(file, mapping ? { mapping } : {});
    const { track, gyroBias, accelBias, quality } = orientLog(log);
    const written = frameRate ? resampleToFrames(track, frameRate).track : track;
    const path = join(folder, `${stemOf(file)}.track.csv`);
    spareInputs([path], files, options);
    writeFiles([{ path, text: trackToCsv(written) }], { force: options.force === true });
    const tilt = Math.max(...sample(quality.tiltDeviation, 1000)) * DEGREES_PER_RADIAN;
    return {
      lines: [
        ...describeTrack(written),
        ...(log.acceleration
          ? [
              `gyro bias ${gyroBias.value.map((b) => (b * DEGREES_PER_RADIAN).toFixed(3)).join(', ')} °/s about right, up, back`,
              `horizon ± ${tilt.toFixed(2)}° at worst (one standard deviation, by the model)`,
            ]
          : []),
        ...describeWarnings(track.warnings),
        `wrote ${path}`,
      ],
      data: { path, gyroBias, accelBias, warnings: track.warnings },
    };
  });
}

/** `twinkeel correct`: the main job. */
export async function correct(files: readonly string[], options: Options): Promise<number> {
  const mapping = readMapping(options);
  const frameRate = frameRateOf(options);
  const folder = requireOut(options);
  const rig = readRigFile(options);
  const settings = await correctOptionsOf(options, frameRate, rig);
  const stems = new Map<string, string>();
  return eachFile(files, options, async (file) => {
    const stem = stemOf(file);
    const other = stems.get(stem);
    if (other !== undefined) {
      throw new TwinkeelError('file/exists', {
        file,
        found: `the name "${stem}" of ${other} again`,
        expected: 'files whose names differ',
        remedy: 'rename one, or write them to different folders',
      });
    }
    stems.set(stem, file);
    const result = await correctFile(
      file,
      { ...(mapping && { mapping }), ...(frameRate && { frameRate }) },
      settings,
      logOfClip(options),
    );
    spareInputs(resultPaths(folder, stem), files, options);
    const paths = writeResult(result, folder, stem, { force: options.force === true });
    return {
      lines: [
        ...describeTrack(result.intended).slice(0, 2),
        `first frame: the camera ${describeOrientation(measuredAt(result, 0))}`,
        describeShot(result),
        ...figuresTable(result),
        ...describeLimits(rig, text(options, 'limit')),
        ...describeRigFigures(result),
        ...describeWarnings(result.warnings),
        ...paths.map((path) => `wrote ${path}`),
        ...CAUTIONS,
      ],
      data: {
        paths,
        shot: result.shot,
        confidence: result.confidence,
        gait: result.gait,
        assessment: result.assessment,
        swapEyes: result.swapEyes,
        ...(result.mask && { mask: result.mask }),
        ...(result.rigAssessment && { rigAssessment: result.rigAssessment }),
        warnings: result.warnings,
        cautions: CAUTIONS,
      },
    };
  });
}

/** Where the camera pointed at a frame: S K. */
function measuredAt({ intended, corrections }: CorrectionResult, k: number): Quaternion {
  return multiplyQuaternions(
    quaternionAt(intended.quaternions, k),
    quaternionAt(corrections.quaternions, k),
  );
}

/** `twinkeel demo`: makes the example and runs the main job on both of its files. */
export async function demo(files: readonly string[], options: Options): Promise<number> {
  if (files.length > 0) throw new UsageError('demo takes no files');
  const folder = typeof options.out === 'string' ? options.out : 'demo-output';
  const force = options.force === true;
  const made = demoFiles().map(({ name, text }) => ({ path: join(folder, name), text }));
  writeFiles(made, { force });
  print(
    'A night walk through a greenhouse: 40 s down the aisle, left at the water tank, a stop at the night-blooming cactus.',
  );
  print(`Made ${made.map(({ path }) => path).join(', ')}.\n`);
  let code = 0;
  for (const stem of ['greenhouse-walk', 'greenhouse-gyro']) {
    const failed = await correct([join(folder, `${stem}.csv`)], {
      mapping: join(folder, `${stem}.mapping.txt`),
      rate: '60000/1001',
      out: folder,
      limit: '12',
      force,
    });
    code = Math.max(code, failed);
  }
  return code;
}

/** Refuses to write over anything that was read, whatever --force says. */
function spareInputs(paths: readonly string[], files: readonly string[], options: Options): void {
  const named = ['mapping', 'log', 'log-mapping', 'rig', 'aim', 'markers', 'earlier'].map(
    (key) => text(options, key) ?? '',
  );
  const inputs = new Set([...files, ...named].map((path) => resolve(path)));
  const clash = paths.find((path) => inputs.has(resolve(path)));
  if (clash === undefined) return;
  throw new TwinkeelError('file/exists', {
    file: clash,
    found: 'an input of this call where the result would go',
    expected: 'another folder',
    remedy: 'inputs are never written over; choose another --out',
  });
}

/** Runs the same work on every file; one that fails does not stop the others. */
async function eachFile(
  files: readonly string[],
  options: Options,
  work: (file: string) => Promise<Omit<Report, 'file' | 'ok'>>,
): Promise<number> {
  if (files.length === 0) throw new UsageError('no file was given');
  const reports: Report[] = [];
  for (const file of files) {
    try {
      reports.push({ file, ok: true, ...(await work(file)) });
    } catch (error) {
      if (!isTwinkeelError(error)) throw error;
      const { code, message } = errorInFile(error, file) as TwinkeelError;
      reports.push({ file, ok: false, lines: [], data: { code, message } });
      process.stderr.write(`twinkeel: ${message}\n`);
    }
    const { ok, lines } = reports[reports.length - 1]!;
    if (ok && options.json !== true)
      print([file, ...lines.map((line) => `  ${line}`), ''].join('\n'));
  }
  if (options.json === true) {
    print(JSON.stringify(reports.map(({ file, ok, data }) => ({ file, ok, ...(data as object) }))));
  }
  return reports.every(({ ok }) => ok) ? 0 : 1;
}

async function correctOptionsOf(
  options: Options,
  frameRate: FrameRate | undefined,
  rig: RigDescription | undefined,
): Promise<CorrectOptions> {
  const limit = text(options, 'limit');
  const aim = text(options, 'aim');
  const earlier = text(options, 'earlier');
  const markers = text(options, 'markers');
  const level = numberOf(options, 'level');
  const levelAt = numberOf(options, 'level-at');
  if (level !== undefined && !(level >= 0 && level <= 1)) {
    throw new UsageError(`--level ${options.level} is not a share from 0 to 1`);
  }
  const limitDeg = limit === undefined || limit === 'none' ? undefined : numberOf(options, 'limit');
  if (limitDeg !== undefined && !(limitDeg > 0)) {
    throw new UsageError(`--limit ${limit} is not an angle above 0° or "none"`);
  }
  const uncovered = uncoveredOf(options);
  const filter = text(options, 'filter');
  if (filter !== undefined && !FILTERS.includes(filter)) {
    throw new UsageError(`--filter ${filter} is none of ${FILTERS.join(', ')}`);
  }
  return {
    shot: shotOf(options),
    ...(frameRate && { frameRate }),
    ...(level !== undefined && { level }),
    ...(levelAt !== undefined && { levelAt }),
    ...(rig && { rig: rig.rig }),
    limits: {
      ...(limit === 'none' && { verticalDisparityArcmin: Number.POSITIVE_INFINITY, uncovered: 1 }),
      ...(limitDeg !== undefined && { totalDeg: limitDeg }),
      ...(uncovered !== undefined && { uncovered }),
    },
    ...(filter !== undefined && { filter: filter as FilterName }),
    ...(aim !== undefined && { aim: await readAimFile(aim) }),
    ...(earlier !== undefined && { earlier: [readEarlier(earlier)] }),
    ...(markers !== undefined && { markers: await readMarkersFile(markers) }),
  };
}

/** The motion log that goes with the clips of the call. */
function logOfClip(options: Options): LogOfClip | undefined {
  const path = text(options, 'log');
  if (path === undefined) return undefined;
  const mapping = readMapping({ mapping: options['log-mapping'] });
  const value = numberOf(options, 'log-offset');
  return {
    path,
    ...(mapping && { mapping }),
    ...(value !== undefined && { offset: { value, within: HINT_WITHIN } }),
  };
}

/** How far off a hint at the log's start may be, s: time code by hand, or a clap. */
const HINT_WITHIN = 5;

/** Share of the view that may turn black, or `never`. */
function uncoveredOf(options: Options): 'never' | number | undefined {
  const value = text(options, 'uncovered');
  if (value === undefined || value === 'never') return value;
  const share = Number(value);
  if (!(share >= 0 && share <= 1)) {
    throw new UsageError(`--uncovered ${value} is neither "never" nor a share from 0 to 1`);
  }
  return share;
}

function readRigFile(options: Options): RigDescription | undefined {
  const path = text(options, 'rig');
  if (path === undefined) return undefined;
  try {
    return readRig(Buffer.from(readBytes(path)).toString('utf8'));
  } catch (error) {
    throw errorInFile(error, path);
  }
}

function readEarlier(path: string) {
  try {
    return readCorrections(readBytes(path));
  } catch (error) {
    throw errorInFile(error, path);
  }
}

function readMapping(options: Options): Mapping | undefined {
  const path = text(options, 'mapping');
  if (path === undefined) return undefined;
  try {
    return parseMapping(Buffer.from(readBytes(path)).toString('utf8'));
  } catch (error) {
    throw errorInFile(error, path);
  }
}

function frameRateOf(options: Options): FrameRate | undefined {
  const rate = text(options, 'rate');
  return rate === undefined ? undefined : parseFrameRate(rate);
}

const FILTERS = ['structural', ...Object.keys(CLASSIC_FILTERS)];
const SHOTS = ['auto', 'travelling', 'pan', 'locked-off'];

function shotOf(options: Options): 'auto' | ShotKind {
  const shot = text(options, 'shot') ?? 'auto';
  if (!SHOTS.includes(shot)) throw new UsageError(`--shot ${shot} is none of ${SHOTS.join(', ')}`);
  return shot as 'auto' | ShotKind;
}

function requireOut(options: Options): string {
  const out = text(options, 'out');
  if (out === undefined) throw new UsageError('say where to write: --out DIR');
  return out;
}

function text(options: Options, key: string): string | undefined {
  const value = options[key];
  return typeof value === 'string' ? value : undefined;
}

function numberOf(options: Options, key: string): number | undefined {
  const value = text(options, key);
  if (value === undefined) return undefined;
  const number = Number(value);
  if (value.trim() === '' || !Number.isFinite(number)) {
    throw new UsageError(`--${key} ${value} is not a number`);
  }
  return number;
}

/** The name of a file without folder and ending. */
function stemOf(file: string): string {
  return basename(file, extname(file));
}

/** About `count` values spread over an array. */
function sample(values: Float64Array, count: number): number[] {
  const step = Math.max(1, Math.floor(values.length / count));
  return Array.from(values).filter((_, k) => k % step === 0);
}

function print(line: string): void {
  process.stdout.write(`${line}\n`);
}
