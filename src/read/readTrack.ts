import { TwinkeelError, type Warning } from '../error.js';
import { composeQuaternions, invertQuaternions } from '../rotation/arrays.js';
import { type Matrix3, nearestRotation, quaternionFromMatrix } from '../rotation/matrix.js';
import {
  multiplyQuaternions,
  type Quaternion,
  quaternionFromAxisAngle,
  type Vector3,
} from '../rotation/quaternion.js';
import { FRAME_TIME_SLACK } from '../tolerances.js';
import { type FrameRate, frameTime } from '../track/frameRate.js';
import { createTrack, type OrientationTrack } from '../track/orientationTrack.js';
import type { Axes } from './axes.js';
import { findColumn, readFrames, readNumbers, readTimes, readVectors } from './columns.js';
import { isJson, tableFromJson } from './jsonTable.js';
import { type Mapping, type OrientationSource, parseMapping, type Turn } from './mapping.js';
import { mappingOfFormat, type OpenFormatName } from './openFormats.js';
import { type AngleSigns, readOpenTrackIo } from './openTrackIo.js';
import { recogniseHeader, unknownLayout } from './recognise.js';
import { scanTable } from './scanTable.js';
import type { Table } from './table.js';
import { decodeText, encodeText } from './text.js';
import { vectorColumns } from './vectorColumns.js';

/** How to read a track. */
export interface ReadTrackOptions {
  /** Sentences that describe the file, or what {@link parseMapping} made of them. */
  readonly mapping?: string | Mapping;
  /** The open format the file is in; lines of a mapping take the place of the format's own. */
  readonly format?: OpenFormatName;
  /** Turns angles of OpenTrackIO samples round. */
  readonly signs?: AngleSigns;
  /** Exact frame rate of the clip, where the rows are its frames. */
  readonly frameRate?: FrameRate;
}

/**
 * Reads an orientation track from a text table or JSON. Files with our own header need no mapping;
 * every other file needs one, since axes and order are never guessed.
 *
 * @param input - the file's bytes or text: a table without quoted cells, a JSON list of objects,
 *   or a JSON object of lists
 * @param options - how the file is to be understood
 * @returns camera→world orientations in our axes, time from the first row
 * @throws TwinkeelError naming row and column: `read/…` for the text, `mapping/…` for the
 *   mapping, `track/…` for what the values say
 * @example
 * const pan = readTrack('time_s,x,y,z,w\n3,0,0,0,1\n3.5,0,0.6,0,0.8\n');
 * pan.times; // [0, 0.5] s
 * pan.quaternions; // [0, 0, 0, 1, 0, 0.6, 0, 0.8]
 */
export function readTrack(
  input: string | Uint8Array,
  options: ReadTrackOptions = {},
): OrientationTrack {
  if (options.format === 'opentrackio') {
    const text = typeof input === 'string' ? input : decodeText(input);
    return readOpenTrackIo(text.replace(/^\uFEFF/, ''), options.signs);
  }
  const mapping = resolveMapping(options.mapping, options.format);
  return trackFromTable(tableFromInput(input, mapping), mapping, options.frameRate);
}

/** The mapping that options hold, parsed if it is still text, over that of a named format. */
export function resolveMapping(
  mapping: string | Mapping | undefined,
  format?: OpenFormatName,
): Mapping | undefined {
  const own = typeof mapping === 'string' ? parseMapping(mapping) : mapping;
  return format === undefined || format === 'opentrackio' ? own : mappingOfFormat(format, own);
}

/** The table in a file's bytes or text, JSON or not. */
export function tableFromInput(input: string | Uint8Array, mapping: Mapping | undefined): Table {
  const head = typeof input === 'string' ? input.slice(0, 64) : decodeText(input.subarray(0, 64));
  if (isJson(head.replace(/^\uFEFF/, ''))) {
    const text = typeof input === 'string' ? input : decodeText(input);
    return tableFromJson(text.replace(/^\uFEFF/, ''));
  }
  return scanTable(encodeText(input), mapping?.layout, vectorColumns(mapping));
}

/**
 * The track in a table.
 *
 * @param given - the mapping, or undefined when the header must speak for itself
 */
export function trackFromTable(
  table: Table,
  given: Mapping | undefined,
  frameRate?: FrameRate,
): OrientationTrack {
  const mapping = given ?? recogniseHeader(table.header);
  if (!mapping) throw unknownLayout(table);
  if (!mapping.orientation) {
    throw new TwinkeelError('mapping/missing', {
      found: mapping.rate
        ? 'a motion log (angular rates)'
        : mapping.acceleration
          ? "an accelerometer's log, without angular rates"
          : 'no line about the orientation',
      expected: 'an orientation track: a line "quaternion: …", "matrix: …" or "angles: …"',
      remedy: mapping.rate
        ? 'orient the log first'
        : mapping.acceleration
          ? "give it beside its gyroscope's log, with --accel or --log-accel"
          : 'add the line',
    });
  }
  const { orientation, time } = mapping;
  const lineOf = (sample: number) => table.lineOf(sample);
  const rowTimes = time
    ? readTimes(table, time)
    : frameRate
      ? readTimes(table, { kind: 'frames', rate: frameRate })
      : undefined;
  if (!rowTimes) {
    throw new TwinkeelError('track/no-time', {
      found: 'no line about time in the mapping',
      expected: 'a time column or a frame rate',
      remedy: 'add a line such as time: column "t" unit s, or give the frame rate',
    });
  }
  const quaternions = readOrientation(table, orientation, mapping);
  const frames = rowTimes.frames ?? (given ? undefined : ownFrameColumn(table));
  const wanted = rowTimes.frameRate ?? frameRate;
  // Frame numbers of another rate than the wanted one say nothing about its frames; time does.
  const rate =
    wanted && frames && !areFramesAt(wanted, frames, rowTimes.times) ? undefined : wanted;
  return createTrack({
    times: rowTimes.times,
    quaternions,
    ...(frames && { frames }),
    ...(rate && { frameRate: rate }),
    ...(rowTimes.startNs !== undefined && { startNs: rowTimes.startNs }),
    up: mapping.upKnown ? 'stated' : 'unknown',
    warnings: angleWarnings(table, orientation),
    lineOf,
  });
}

/** Whether frame numbers and times agree with a rate. */
function areFramesAt(rate: FrameRate, frames: Int32Array, times: Float64Array): boolean {
  const slack = FRAME_TIME_SLACK * frameTime(rate, 1);
  for (let k = 0; k < times.length; k++) {
    const expected = frameTime(rate, frames[k]! - frames[0]!);
    if (!(Math.abs(times[k]! - times[0]! - expected) <= slack)) return false;
  }
  return true;
}

/** The frame numbers of our own track and correction files. */
function ownFrameColumn(table: Table): Int32Array | undefined {
  return table.header?.[0] === 'frame' ? readFrames(table, 0) : undefined;
}

function readOrientation(table: Table, source: OrientationSource, mapping: Mapping): Float64Array {
  if (source.kind === 'angles' && source.turns.every(({ axis }) => typeof axis !== 'string')) {
    const rotations = readAngles(table, source.turns, source.fixed);
    return source.sense === 'camera-to-world' ? rotations : invertQuaternions(rotations);
  }
  const camera = requireAxes(mapping.cameraAxes, 'axes camera: x right, y up, z back');
  const world = requireAxes(mapping.worldAxes, 'axes world: x east, y north, z up');
  if (camera.mirrored !== world.mirrored) {
    throw new TwinkeelError('mapping/axes', {
      found: 'left-handed axes on one side and right-handed axes on the other',
      expected: 'camera and world axes of the same hand',
      remedy: 'correct a direction in the mapping',
    });
  }
  const inFile =
    source.kind === 'quaternion'
      ? readVectors(table, source.columns)
      : source.kind === 'matrix'
        ? readMatrices(
            table,
            source.columns.map((column) => findColumn(table, column)),
          )
        : readAngles(table, source.turns, source.fixed);
  const cameraToWorld = source.sense === 'camera-to-world' ? inFile : invertQuaternions(inFile);
  return changeAxes(cameraToWorld, camera, world);
}

/**
 * R_ours = B_world R_file B_cameraᵀ. Mirrored axes on both sides are the mirror image in z
 * composed with right-handed ones, and the mirror image turns (x, y, z, w) into (−x, −y, z, w).
 */
function changeAxes(quaternions: Float64Array, camera: Axes, world: Axes): Float64Array {
  let inFile = quaternions;
  if (camera.mirrored) {
    inFile = quaternions.map((value, i) => (i % 4 < 2 ? -value : value));
  }
  const left = quaternionFromMatrix(righted(world));
  const [x, y, z, w] = quaternionFromMatrix(righted(camera));
  // Our own axes: products with no rotation would change nothing.
  if (left[3] === 1 && w === 1) return inFile;
  return composeQuaternions(composeQuaternions(left, inFile), [-x, -y, -z, w] as Quaternion);
}

/** The matrix of axes with z reversed where they are left-handed. */
function righted(axes: Axes): Matrix3 {
  const [a, b, c, d, e, f, g, h, i] = axes.matrix;
  const s = axes.mirrored ? -1 : 1;
  return [a, b, s * c, d, e, s * f, g, h, s * i];
}

function readMatrices(table: Table, columns: readonly number[]): Float64Array {
  const cells = columns.map((column) => table.numbers(column));
  const out = new Float64Array(4 * table.rowCount);
  for (let row = 0; row < table.rowCount; row++) {
    const matrix = cells.map((column) => column[row]!) as unknown as Matrix3;
    try {
      out.set(quaternionFromMatrix(nearestRotation(matrix)), 4 * row);
    } catch (error) {
      if (!(error instanceof TwinkeelError)) throw error;
      const { expected, found, remedy } = error;
      throw new TwinkeelError(error.code, { line: table.lineOf(row), expected, found, remedy });
    }
  }
  return out;
}

function readAngles(
  table: Table,
  turns: readonly [Turn, Turn, Turn],
  fixed: boolean,
): Float64Array {
  const angles = turns.map((turn) => readNumbers(table, turn.column));
  const axes = turns.map(({ axis }) => (typeof axis === 'string' ? LETTER_AXES[axis] : axis));
  const out = new Float64Array(4 * table.rowCount);
  for (let row = 0; row < table.rowCount; row++) {
    const [first, second, third] = turns.map((turn, k) =>
      quaternionFromAxisAngle(axes[k]!, angles[k]![row]! * turn.radiansPerUnit),
    ) as [Quaternion, Quaternion, Quaternion];
    const q = fixed
      ? multiplyQuaternions(multiplyQuaternions(third, second), first)
      : multiplyQuaternions(multiplyQuaternions(first, second), third);
    out.set(q, 4 * row);
  }
  return out;
}

const LETTER_AXES: Readonly<Record<'x' | 'y' | 'z', Vector3>> = {
  x: [1, 0, 0],
  y: [0, 1, 0],
  z: [0, 0, 1],
};

/** Angles beyond this cannot be radians of a camera that is not spinning: three whole turns. */
const LARGEST_RADIANS = 6 * Math.PI;

function angleWarnings(table: Table, source: OrientationSource): Warning[] {
  if (source.kind !== 'angles') return [];
  return source.turns.flatMap((turn) => {
    if (turn.radiansPerUnit !== 1) return [];
    const largest = readNumbers(table, turn.column).reduce(
      (max, v) => Math.max(max, Math.abs(v)),
      0,
    );
    if (largest <= LARGEST_RADIANS) return [];
    return [
      {
        code: 'read/units',
        column: String(turn.column),
        message: `column ${turn.column} reaches ${largest.toFixed(1)} rad, which looks like degrees; if so, write "deg" in the mapping`,
      },
    ];
  });
}

function requireAxes(axes: Axes | undefined, sentence: string): Axes {
  if (axes) return axes;
  throw new TwinkeelError('mapping/missing', {
    found: 'no line about these axes in the mapping',
    expected: `a line like "${sentence}"`,
    remedy: 'add the line',
  });
}
