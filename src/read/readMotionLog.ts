import { TwinkeelError, type Warning } from '../error.js';
import { createMotionLog, type MotionLog } from '../track/motionLog.js';
import type { Axes } from './axes.js';
import { readTimes, readVectors } from './columns.js';
import type { Mapping } from './mapping.js';
import type { OpenFormatName } from './openFormats.js';
import { resolveMapping, tableFromInput } from './readTrack.js';
import { recogniseHeader, unknownLayout } from './recognise.js';
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
  const rates = inOurAxes(
    readVectors(table, rate.columns, rate.factor),
    axes,
    axes.mirrored ? -1 : 1,
  );
  return createMotionLog({
    times: rowTimes.times,
    rate: rates,
    ...(acceleration && {
      acceleration: inOurAxes(
        readVectors(table, acceleration.columns, acceleration.factor),
        axes,
        1,
      ),
    }),
    ...(rowTimes.startNs !== undefined && { startNs: rowTimes.startNs }),
    warnings: rateWarnings(rates),
    lineOf: (sample) => table.lineOf(sample),
  });
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

function rateWarnings(rate: Float64Array): Warning[] {
  let sum = 0;
  for (let i = 0; i < rate.length; i++) sum += rate[i]! * rate[i]!;
  const rms = Math.sqrt((3 * sum) / rate.length);
  if (rms < FASTEST_TYPICAL_RATE) return [];
  return [
    {
      code: 'read/units',
      message: `the angular rate is ${rms.toFixed(1)} rad/s on average, which looks like degrees per second; if so, write "deg/s" in the mapping`,
    },
  ];
}
