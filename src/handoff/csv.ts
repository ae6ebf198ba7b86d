import { TwinkeelError } from '../error.js';
import { readFrames } from '../read/columns.js';
import { scanTable } from '../read/scanTable.js';
import { encodeText } from '../read/text.js';
import { alignSigns } from '../rotation/arrays.js';
import { UNIT_NORM } from '../tolerances.js';
import type { Corrections } from '../track/corrections.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { formatDecimal } from './decimal.js';

/**
 * Corrections as text: `frame,time_s,x,y,z,w`, one row per frame, K as a unit quaternion. Reads
 * back to the last bit with {@link readCorrections}.
 *
 * @param result - a result of {@link correct}, or its corrections
 */
export function toCsv(result: { readonly corrections: Corrections }): string {
  const { times, quaternions, frames } = result.corrections;
  const rows = ['frame,time_s,x,y,z,w'];
  for (let k = 0; k < times.length; k++) {
    rows.push(`${frames?.[k] ?? k},${formatDecimal(times[k]!)},${quaternionCells(quaternions, k)}`);
  }
  return `${rows.join('\n')}\n`;
}

/** A track as text: `time_s,x,y,z,w`, with a leading `frame` where the samples are frames. */
export function trackToCsv(track: OrientationTrack): string {
  const { times, quaternions, frames } = track;
  const rows = [frames ? 'frame,time_s,x,y,z,w' : 'time_s,x,y,z,w'];
  for (let k = 0; k < times.length; k++) {
    const frame = frames ? `${frames[k]},` : '';
    rows.push(`${frame}${formatDecimal(times[k]!)},${quaternionCells(quaternions, k)}`);
  }
  return `${rows.join('\n')}\n`;
}

/**
 * Reads corrections that {@link toCsv} wrote.
 *
 * @throws TwinkeelError `read/…` naming row and column
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
  const times = table.numbers(1);
  const quaternions = new Float64Array(4 * table.rowCount);
  for (let component = 0; component < 4; component++) {
    const column = table.numbers(2 + component);
    for (let k = 0; k < column.length; k++) quaternions[4 * k + component] = column[k]!;
  }
  for (let k = 0; k < table.rowCount; k++) {
    const norm = Math.hypot(...quaternions.subarray(4 * k, 4 * k + 4));
    if (Math.abs(norm - 1) <= UNIT_NORM) continue;
    throw new TwinkeelError('track/not-unit', {
      line: table.lineOf(k),
      found: `a quaternion of norm ${norm.toPrecision(6)}`,
      expected: `a unit quaternion (norm within ${UNIT_NORM} of 1)`,
      remedy: 'pass a corrections file that twinkeel wrote',
    });
  }
  return { times, quaternions: alignSigns(quaternions), frames: readFrames(table, 0) };
}

function quaternionCells(quaternions: Float64Array, k: number): string {
  const i = 4 * k;
  return `${formatDecimal(quaternions[i]!)},${formatDecimal(quaternions[i + 1]!)},${formatDecimal(quaternions[i + 2]!)},${formatDecimal(quaternions[i + 3]!)}`;
}
