import { errorInFile, isTwinkeelError, TwinkeelError } from '../error.js';
import { RADIANS_PER_DEGREE } from '../math.js';
import type { AimKey } from '../motion/aim.js';
import type { ClipFrame, FrameAimKey, FrameMarker } from '../motion/frameKeys.js';
import type { Marker } from '../motion/markers.js';
import { columnName, type Table } from '../read/table.js';
import type { FrameRate } from '../track/frameRate.js';
import { createRetiming, type Retiming } from '../track/retiming.js';
import { parseTimecode } from '../track/timecode.js';
import { openTable } from './openRecording.js';

/** How time codes are counted: both are needed for a file that has them. */
export interface KeyClock {
  /** Exact frame rate of the clip. */
  readonly rate?: FrameRate | undefined;
  /** Time code of the clip's first frame. */
  readonly timecode?: string | undefined;
  /** Number of the frame that carries this time code; that of the clip's first frame when left out. */
  readonly firstFrame?: number | undefined;
}

/**
 * Reads aim keys: `time_s,heading_deg,tilt_deg,roll_deg`, the last column optional; instead of `time_s` the
 * column `frame` or `timecode`.
 *
 * @param path - of the file
 * @param clock - for time codes
 * @throws TwinkeelError naming file, row and column
 */
export async function readAimFile(
  path: string,
  clock: KeyClock = {},
): Promise<(AimKey | FrameAimKey)[]> {
  return readKeys(path, (table) => {
    const moments = momentsOf(table, AIM_MOMENT, clock);
    const [heading, tilt] = numbersOf(table, ['heading_deg', 'tilt_deg']);
    const rollColumn = table.header?.indexOf('roll_deg') ?? -1;
    const roll = rollColumn < 0 ? undefined : table.numbers(rollColumn);
    return Array.from(heading!, (_, k) => {
      const angles = {
        heading: heading![k]! * RADIANS_PER_DEGREE,
        tilt: tilt![k]! * RADIANS_PER_DEGREE,
        ...(roll && { roll: roll[k]! * RADIANS_PER_DEGREE }),
      };
      return moments.unit === 'seconds'
        ? { time: moments.values[k]!, ...angles }
        : { frame: moments.values[k]!, ...angles };
    });
  });
}

/**
 * Reads markers: `from_s,to_s,intent`, the intent being `move` or `hold`; instead of the seconds
 * `from_frame,to_frame` or `from_timecode,to_timecode`, whose last frame belongs to the marker.
 *
 * @param path - of the file
 * @param clock - for time codes
 * @throws TwinkeelError naming file, row and column
 */
export async function readMarkersFile(
  path: string,
  clock: KeyClock = {},
): Promise<(Marker | FrameMarker)[]> {
  return readKeys(path, (table) => {
    const from = momentsOf(table, FROM_MOMENT, clock);
    const to = momentsOf(table, { [from.unit]: TO_MOMENT[from.unit] }, clock);
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
      return from.unit === 'seconds'
        ? { from: from.values[k]!, to: to.values[k]! as number, intent }
        : { fromFrame: from.values[k]!, toFrame: to.values[k]!, intent };
    });
  });
}

/** What moments may be counted in, and the column that says so. */
type MomentColumns = Readonly<Partial<Record<'seconds' | 'frames' | 'timecodes', string>>>;
const AIM_MOMENT = { seconds: 'time_s', frames: 'frame', timecodes: 'timecode' } as const;
const FROM_MOMENT = {
  seconds: 'from_s',
  frames: 'from_frame',
  timecodes: 'from_timecode',
} as const;
const TO_MOMENT = { seconds: 'to_s', frames: 'to_frame', timecodes: 'to_timecode' } as const;

/** Moments of a table's rows: seconds, or frames of the clip. */
type Moments =
  | { readonly unit: 'seconds'; readonly values: readonly number[] }
  | { readonly unit: 'frames' | 'timecodes'; readonly values: readonly ClipFrame[] };

/** The moments in the one of several columns that the table has. */
function momentsOf(table: Table, columns: MomentColumns, clock: KeyClock): Moments {
  const units = (['seconds', 'frames', 'timecodes'] as const).filter((unit) => {
    const name = columns[unit];
    return name !== undefined && table.header?.includes(name);
  });
  const [unit = 'seconds', second] = units;
  if (second !== undefined) {
    throw new TwinkeelError('mapping/column', {
      found: `the columns ${columns[unit]} and ${columns[second]}`,
      expected: 'one way to say when',
      remedy: 'leave the others out',
    });
  }
  const column = requireColumn(table, columns[unit] ?? Object.values(columns)[0]!);
  if (unit === 'timecodes') return { unit, values: timecodesOf(table, column, clock) };
  const values = Array.from(table.numbers(column));
  if (unit === 'frames') {
    values.forEach((value, k) => {
      if (!Number.isInteger(value)) {
        throw cellError(table, column, k, {
          found: `the frame ${value}`,
          expected: 'a whole number',
          remedy: 'correct the cell',
        });
      }
    });
  }
  return { unit, values };
}

/** Time codes as frames from the clip's first one. */
function timecodesOf(table: Table, column: number, clock: KeyClock): ClipFrame[] {
  const { rate, timecode, firstFrame } = clock;
  if (!rate || timecode === undefined) {
    throw new TwinkeelError('argument/invalid', {
      column: columnName(table.header, column),
      found: 'time codes',
      expected: rate
        ? 'the time code of the clip’s first frame, to count from'
        : 'an exact frame rate of the clip, to count with',
      remedy: `say it with ${rate ? '--timecode' : '--rate'}, or give the times in seconds`,
    });
  }
  const start = parseTimecode(timecode, rate);
  const drops = dropsLabels(timecode);
  return table.texts(column).map((text, k) => {
    if (dropsLabels(text) !== drops) {
      throw cellError(table, column, k, {
        found: `the time code ${text}`,
        expected: `one that counts as ${timecode} does, which ${drops ? 'drops labels' : 'does not drop labels'}`,
        remedy: 'write both with ; or both with : before the frames',
      });
    }
    try {
      const framesIn = parseTimecode(text, rate) - start;
      return firstFrame === undefined ? { framesIn, rate } : firstFrame + framesIn;
    } catch (error) {
      if (!isTwinkeelError(error)) throw error;
      throw cellError(table, column, k, error);
    }
  });
}

const dropsLabels = (timecode: string) => /[;.]\d+\s*$/.test(timecode);

function cellError(
  table: Table,
  column: number,
  row: number,
  { found, expected, remedy }: Pick<TwinkeelError, 'found' | 'expected' | 'remedy'>,
): TwinkeelError {
  return new TwinkeelError('read/cell', {
    line: table.lineOf(row),
    column: columnName(table.header, column),
    ...{ found, expected, remedy },
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
