import { TwinkeelError, type Warning } from '../error.js';
import {
  type AccelerometerLog,
  adoptMotionLog,
  createAccelerometerLog,
  type MotionLog,
} from '../track/motionLog.js';
import { vectorsAt } from '../track/vectorsAt.js';
import type { Axes } from './axes.js';
import { readTimes, readVectors, rowsWhere, vectorsOfRows } from './columns.js';
import type { Mapping, VectorSource } from './mapping.js';
import type { OpenFormatName } from './openFormats.js';
import { resolveMapping, tableFromInput } from './readTrack.js';
import { recogniseHeader, unknownLayout } from './recognise.js';
import { orderRows } from './stampOrder.js';
import type { Table } from './table.js';

/** How to read a motion log. */
export interface ReadMotionLogOptions {
  /** Sentences that describe the file, or what `parseMapping` made of them. */
  readonly mapping?: string | Mapping;
  /** The open format the file is in; lines of a mapping take the place of the format's own. */
  readonly format?: OpenFormatName;
}

/**
 * Reads a gyroscope log, with or without an accelerometer, from a text table or JSON.
 *
 * @param input - the file's bytes or text, as for {@link readTrack}
 * @param options - how the file is to be understood
 * @returns angular rate and specific force in camera axes, time from the first row
 * @throws TwinkeelError naming row and column, as {@link readTrack}
 * @example
 * const spinning = readMotionLog('time_s,gx,gy,gz\n0,0,0.1,0\n0.01,0,0.1,0\n');
 * spinning.rate; // [0, 0.1, 0, 0, 0.1, 0] rad/s
 */
export function readMotionLog(
  input: string | Uint8Array,
  options: ReadMotionLogOptions = {},
): MotionLog {
  const mapping = mappingOfLog(options);
  return motionLogFromTable(tableFromInput(input, mapping), mapping);
}

/** The mapping that the options of a log hold. */
export function mappingOfLog({ mapping, format }: ReadMotionLogOptions): Mapping | undefined {
  if (format === 'opentrackio') {
    throw new TwinkeelError('argument/invalid', {
      found: 'OpenTrackIO samples as a motion log',
      expected: 'angular rates; the samples hold orientations',
      remedy: 'read them as a track',
    });
  }
  return resolveMapping(mapping, format);
}

/** The motion log in a table. */
export function motionLogFromTable(table: Table, given: Mapping | undefined): MotionLog {
  const mapping = given ?? recogniseHeader(table.header);
  if (!mapping) throw unknownLayout(table);
  const { rate, acceleration, time } = mapping;
  if (!rate || !time) {
    throw new TwinkeelError('mapping/missing', {
      found: `no line about ${rate ? 'time' : 'the angular rate'} in the mapping`,
      expected: rate
        ? 'a line like time: column "t" unit s'
        : 'a line like rate: x "gx" y "gy" z "gz" rad/s',
      remedy: 'add the line',
    });
  }
  const axes = mapping.sensorAxes;
  if (!axes) {
    throw new TwinkeelError('mapping/missing', {
      found: 'no line about the sensor axes in the mapping',
      expected: 'a line like "axes sensor: x right, y up, z back" (seen from behind the camera)',
      remedy: 'add the line',
    });
  }
  const rowTimes = readTimes(table, time);
  // Angular rate is an axial vector: mirrored axes reverse its sense of turning.
  const turning = sensorRows(table, rowTimes.times, rate, axes, axes.mirrored ? -1 : 1);
  const warnings = [...turning.warnings, ...rateWarnings(turning.vectors, rate)];
  const pushing =
    acceleration && sensorRows(table, rowTimes.times, acceleration, axes, 1, turning.times);
  return adoptMotionLog({
    times: turning.times,
    rate: turning.vectors,
    ...(pushing && { acceleration: pushing.vectors }),
    ...(rowTimes.startNs !== undefined && {
      startNs: rowTimes.startNs + laterNs(turning.times[0]! - rowTimes.times[0]!),
    }),
    warnings: pushing?.own ? [...warnings, ...pushing.warnings] : warnings,
    lineOf: (sample) => table.lineOf(turning.rowOf(sample)),
  });
}

/**
 * Reads the file of an accelerometer that has one of its own, to be joined with the gyroscope's by
 * `joinMotionLogs`.
 *
 * @param input - the file's bytes or text; `time_s,ax,ay,az` needs no mapping
 * @param options - how the file is to be understood: `time`, `accel` and `axes sensor`
 * @returns specific force in camera axes, time from the first row
 * @throws TwinkeelError naming row and column, as {@link readMotionLog}
 * @example
 * const still = readAccelerometerLog('time_s,ax,ay,az\n0,0,9.81,0\n0.01,0,9.81,0\n');
 * still.acceleration; // [0, 9.81, 0, 0, 9.81, 0] m/s²
 */
export function readAccelerometerLog(
  input: string | Uint8Array,
  options: ReadMotionLogOptions = {},
): AccelerometerLog {
  const mapping = mappingOfLog(options);
  return accelerometerLogFromTable(tableFromInput(input, mapping), mapping);
}

/** The accelerometer's log in a table. */
export function accelerometerLogFromTable(
  table: Table,
  given: Mapping | undefined,
): AccelerometerLog {
  const mapping = given ?? recogniseHeader(table.header);
  if (!mapping) throw unknownLayout(table);
  const { acceleration, time, sensorAxes } = mapping;
  if (!acceleration || !time || !sensorAxes) {
    throw new TwinkeelError('mapping/missing', {
      found: `no line about ${acceleration ? (time ? 'the sensor axes' : 'time') : 'the acceleration'} in the mapping`,
      expected:
        'the lines time: column "t" unit s; accel: x "ax" y "ay" z "az" m/s2 at-rest up; axes sensor: x right, y up, z back',
      remedy: 'add the line',
    });
  }
  const rowTimes = readTimes(table, time);
  const { times, vectors, warnings, rowOf } = sensorRows(
    table,
    rowTimes.times,
    acceleration,
    sensorAxes,
    1,
  );
  return createAccelerometerLog({
    times,
    acceleration: vectors,
    ...(rowTimes.startNs !== undefined && {
      startNs: rowTimes.startNs + laterNs(times[0]! - rowTimes.times[0]!),
    }),
    warnings,
    lineOf: (sample) => table.lineOf(rowOf(sample)),
  });
}

const laterNs = (seconds: number) => BigInt(Math.round(seconds * 1e9) || 0);

/** The samples of one sensor, in the order of their stamps. */
interface SensorRows {
  readonly times: Float64Array;
  readonly vectors: Float64Array;
  /** Row of the table that a sample came from. */
  readonly rowOf: (sample: number) => number;
  /** Whether the sensor has rows of its own. */
  readonly own: boolean;
  readonly warnings: readonly Warning[];
}

/**
 * One sensor's vectors in our axes.
 *
 * @param at - times at which they are wanted, where the sensor has rows of its own
 */
function sensorRows(
  table: Table,
  times: Float64Array,
  source: VectorSource,
  axes: Axes,
  sign: 1 | -1,
  at?: Float64Array,
): SensorRows {
  const chosen = source.where && rowsWhere(table, source.where);
  const stamps = chosen ? Float64Array.from(chosen, (row) => times[row]!) : times;
  const inFile = chosen
    ? vectorsOfRows(table, chosen, source)
    : readVectors(table, source.columns, source.factor);
  const fileRow = (k: number) => (chosen ? chosen[k]! : k);
  const ordered = orderRows(stamps, (k) => table.lineOf(fileRow(k)));
  const vectors = ordered.arrange(inOurAxes(inFile, axes, sign));
  const rowOf = (sample: number) => fileRow(ordered.rowOf(sample));
  if (!at || !chosen) {
    return { times: ordered.times, vectors, rowOf, own: false, warnings: ordered.warnings };
  }
  return {
    times: at,
    vectors: vectorsAt(ordered.times, vectors, at),
    rowOf,
    own: true,
    warnings: ordered.warnings,
  };
}

/** Components along our axes, exactly: the matrix holds only 0 and ±1. */
function inOurAxes(vectors: Float64Array, axes: Axes, sign: 1 | -1): Float64Array {
  const [a, b, c, d, e, f, g, h, i] = axes.matrix;
  // Our own axes: the components are what they are, and an hour's log need not be held twice.
  if (sign * a === 1 && sign * e === 1 && sign * i === 1) return vectors;
  const out = new Float64Array(vectors.length);
  for (let k = 0; k < out.length; k += 3) {
    const x = sign * vectors[k]!;
    const y = sign * vectors[k + 1]!;
    const z = sign * vectors[k + 2]!;
    out[k] = a * x + b * y + c * z;
    out[k + 1] = d * x + e * y + f * z;
    out[k + 2] = g * x + h * y + i * z;
  }
  return out;
}

/** No hand turns a camera faster than this for long; rad/s, about 690 °/s (our judgement). */
const FASTEST_TYPICAL_RATE = 12;

/** How near to standard gravity, as a share, forces offered as rates are on average (our judgement). */
const NEAR_GRAVITY = 0.1;
const STANDARD_GRAVITY = 9.80665;

function rateWarnings(rate: Float64Array, { unit }: NonNullable<Mapping['rate']>): Warning[] {
  let sum = 0;
  const mean = [0, 0, 0];
  for (let i = 0; i < rate.length; i++) {
    sum += rate[i]! * rate[i]!;
    mean[i % 3]! += (3 * rate[i]!) / rate.length;
  }
  const rms = Math.sqrt((3 * sum) / rate.length);
  const steady = Math.hypot(...mean);
  const likeGravity = Math.abs(rms / STANDARD_GRAVITY - 1) < NEAR_GRAVITY;
  // No hand keeps 560 °/s; an accelerometer that is not turned over shows little else.
  if (unit === 'rad/s' && likeGravity && steady > 0.5 * rms) {
    throw new TwinkeelError('log/units', {
      column: 'rate',
      found: `angular rates of ${rms.toFixed(2)} rad/s on average, most of it about one axis`,
      expected: 'the turning of a camera; this is what an accelerometer shows in m/s²',
      remedy: "name the gyroscope's columns or file, and give these as accel",
    });
  }
  if (rms < FASTEST_TYPICAL_RATE) return [];
  return [
    {
      code: 'read/units',
      message: `the angular rate is ${rms.toFixed(1)} rad/s on average, which looks like degrees per second; if so, write "deg/s" in the mapping`,
    },
  ];
}
