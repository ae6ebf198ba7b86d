import { errorInFile, TwinkeelError } from '../error.js';
import { RADIANS_PER_DEGREE } from '../math.js';
import type { AimKey } from '../motion/aim.js';
import type { Marker } from '../motion/markers.js';
import type { Table } from '../read/table.js';
import { createRetiming, type Retiming } from '../track/retiming.js';
import { openTable } from './openRecording.js';

/**
 * Reads aim keys: `time_s,heading_deg,tilt_deg,roll_deg`, the last column optional.
 *
 * @throws TwinkeelError naming file, row and column
 */
export async function readAimFile(path: string): Promise<AimKey[]> {
  return readKeys(path, (table) => {
    const [time, heading, tilt] = numbersOf(table, ['time_s', 'heading_deg', 'tilt_deg']);
    const rollColumn = table.header?.indexOf('roll_deg') ?? -1;
    const roll = rollColumn < 0 ? undefined : table.numbers(rollColumn);
    return Array.from(time!, (seconds, k) => ({
      time: seconds,
      heading: heading![k]! * RADIANS_PER_DEGREE,
      tilt: tilt![k]! * RADIANS_PER_DEGREE,
      ...(roll && { roll: roll[k]! * RADIANS_PER_DEGREE }),
    }));
  });
}

/**
 * Reads markers: `from_s,to_s,intent`, the intent being `move` or `hold`.
 *
 * @throws TwinkeelError naming file, row and column
 */
export async function readMarkersFile(path: string): Promise<Marker[]> {
  return readKeys(path, (table) => {
    const [from, to] = numbersOf(table, ['from_s', 'to_s']);
    const intents = table.texts(requireColumn(table, 'intent'));
    return intents.map((intent, k) => {
      if (intent !== 'move' && intent !== 'hold') {
        throw new TwinkeelError('read/cell', {
          line: table.lineOf(k),
          column: '"intent"',
          found: `"${intent}"`,
          expected: 'move or hold',
          remedy: 'correct the cell',
        });
      }
      return { from: from![k]!, to: to![k]!, intent };
    });
  });
}

/**
 * Reads a retiming: `edit_s,original_s`, seconds from the first frame of each.
 *
 * @throws TwinkeelError naming file, row and column
 */
export async function readRetimingFile(path: string): Promise<Retiming> {
  return readKeys(path, (table) => {
    const [edit, original] = numbersOf(table, ['edit_s', 'original_s']);
    return createRetiming(Array.from(edit!, (time, k) => [time, original![k]!]));
  });
}

async function readKeys<T>(path: string, read: (table: Table) => T): Promise<T> {
  try {
    return read(await openTable(path));
  } catch (error) {
    throw errorInFile(error, path);
  }
}

function numbersOf(table: Table, names: readonly string[]): Float64Array[] {
  return names.map((name) => table.numbers(requireColumn(table, name)));
}

function requireColumn(table: Table, name: string): number {
  const column = table.header?.indexOf(name) ?? -1;
  if (column >= 0) return column;
  throw new TwinkeelError('mapping/column', {
    found: `the columns ${table.header?.join(', ') ?? '(no header)'}`,
    expected: `a column ${name}`,
    remedy: "write the header as the command's help shows it",
  });
}
