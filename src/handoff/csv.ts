import { TwinkeelError } from '../error.js';
import { readFrames } from '../read/columns.js';
import { scanTable } from '../read/scanTable.js';
import { decodeText, encodeText } from '../read/text.js';
import { alignSigns } from '../rotation/arrays.js';
import { unitQuaternions } from '../rotation/unitQuaternions.js';
import { UNIT_NORM } from '../tolerances.js';
import type { Corrections } from '../track/corrections.js';
import { requireFiniteRotations } from '../track/finite.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { DecimalWriter } from './writeDecimals.js';

const COMMA = 44;
const NEWLINE = 10;

/** Decimals of a time in seconds: a nanosecond. */
const TIME_DECIMALS = 9;
/**
 * Decimals of a quaternion's components. Four components off by half a unit each turn a rotation by
 * up to 2e-12 rad, less than a millionth of an arc second.
 */
const COMPONENT_DECIMALS = 12;
/** More than a row of a clip's corrections takes: frame, time and four components. */
const ROW_BYTES = 96;

/**
 * Corrections as text: `frame,time_s,x,y,z,w`, one row per frame, K as a unit quaternion. Times have
 * 9 decimals and components 12, so that {@link readCorrections} gives every rotation back to 2e-12
 * rad; the result as JSON keeps every bit.
 *
 * @param result - a result of {@link correct}, or its corrections
 * @returns text with a header
 * @example
 * toCsv(result).split('\n')[0]; // 'frame,time_s,x,y,z,w'
 */
export function toCsv(result: { readonly corrections: Corrections }): string {
  return decodeText(toCsvBytes(result));
}

/** The bytes of {@link toCsv}. */
export function toCsvBytes(result: { readonly corrections: Corrections }): Uint8Array {
  const { corrections } = result;
  return inOnePiece(corrections, frameOfCorrection(corrections));
}

/** The bytes of {@link toCsv} in pieces; each is overwritten when the next is asked for. */
export function csvPieces(result: { readonly corrections: Corrections }): Iterable<Uint8Array> {
  const { corrections } = result;
  return rowPieces(corrections, frameOfCorrection(corrections));
}

const frameOfCorrection =
  ({ frames }: Corrections) =>
  (k: number) =>
    frames?.[k] ?? k;

/**
 * A track as text: `time_s,x,y,z,w`, with a leading `frame` where the samples are frames; decimals
 * as in {@link toCsv}.
 *
 * @param track - any track
 * @returns text with a header; {@link index!readTrack} needs no mapping for it
 * @example
 * readTrack(trackToCsv(track)).frames!.length; // 721
 */
export function trackToCsv(track: OrientationTrack): string {
  return decodeText(trackToCsvBytes(track));
}

/** The bytes of {@link trackToCsv}. */
export function trackToCsvBytes(track: OrientationTrack): Uint8Array {
  const { frames } = track;
  return inOnePiece(track, frames && ((k) => frames[k]!));
}

/** All rows in one piece. */
function inOnePiece(
  rows: Pick<Corrections, 'times' | 'quaternions'>,
  frameOf: ((k: number) => number) | undefined,
): Uint8Array {
  const [piece] = rowPieces(rows, frameOf, rows.times.length);
  return piece ?? new Uint8Array(0);
}

/** How many rows make one piece. */
const PIECE = 8192;

function rowPieces(
  { times, quaternions }: Pick<Corrections, 'times' | 'quaternions'>,
  frameOf: ((k: number) => number) | undefined,
  most = PIECE,
): Iterable<Uint8Array> {
  requireFiniteRotations(quaternions, 'quaternion');
  return makePieces();
  function* makePieces(): Generator<Uint8Array, void> {
    const writer = new DecimalWriter(64 + ROW_BYTES * Math.min(times.length, most));
    writer.text(frameOf ? 'frame,time_s,x,y,z,w\n' : 'time_s,x,y,z,w\n');
    for (let from = 0; from < times.length; from += most) {
      writeRows(writer, from, Math.min(from + most, times.length));
      yield writer.finish();
      writer.clear();
    }
  }
  function writeRows(writer: DecimalWriter, from: number, to: number): void {
    for (let k = from; k < to; k++) {
      if (frameOf) {
        writer.integer(frameOf(k));
        writer.byte(COMMA);
      }
      writer.fixed(times[k]!, TIME_DECIMALS);
      for (let i = 4 * k; i < 4 * k + 4; i++) {
        writer.byte(COMMA);
        writer.fixed(quaternions[i]!, COMPONENT_DECIMALS);
      }
      writer.byte(NEWLINE);
    }
  }
}

/**
 * Reads corrections that {@link toCsv} wrote; what their decimals leave of the norm 1 is made up for.
 *
 * @param input - the file's bytes or text
 * @throws TwinkeelError `read/…` naming row and column
 * @example
 * const { quaternions } = readCorrections(toCsv(result));
 * angularDistances(quaternions, result.corrections.quaternions)[99]; // 0.00000000000 rad
 */
export function readCorrections(input: string | Uint8Array): Corrections {
  const table = scanTable(encodeText(input));
  if (table.header?.join(',') !== 'frame,time_s,x,y,z,w') {
    throw new TwinkeelError('read/unknown-layout', {
      line: 1,
      found: table.header ? `the header ${table.header.join(',')}` : 'no header',
      expected: 'frame,time_s,x,y,z,w',
      remedy: 'pass a corrections file that twinkeel wrote',
    });
  }
  // The columns belong to the table.
  const times = table.numbers(1).slice();
  const quaternions = new Float64Array(4 * table.rowCount);
  for (let component = 0; component < 4; component++) {
    const column = table.numbers(2 + component);
    for (let k = 0; k < column.length; k++) quaternions[4 * k + component] = column[k]!;
  }
  const unit = unitQuaternions(quaternions);
  if ('wrong' in unit) {
    throw new TwinkeelError('track/not-unit', {
      line: table.lineOf(unit.wrong),
      found: `a quaternion of norm ${unit.norm.toPrecision(6)}`,
      expected: `a unit quaternion (norm within ${UNIT_NORM} of 1)`,
      remedy: 'pass a corrections file that twinkeel wrote',
    });
  }
  return {
    times,
    quaternions: alignSigns(unit.quaternions),
    frames: readFrames(table, 0),
  };
}
