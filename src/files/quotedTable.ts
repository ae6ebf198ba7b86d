import { parseString } from 'fast-csv';
import { TwinkeelError } from '../error.js';
import { binaryData, detectLayout, NEWLINE } from '../read/layout.js';
import {
  badRowLength,
  emptyTable,
  numberFromText,
  type Table,
  type TableLayout,
  tableFromCells,
} from '../read/table.js';
import { decodeText } from '../read/text.js';
import { isUnitRow } from '../read/unitRow.js';

/**
 * Reads a table with quoted cells through fast-csv. Rows and columns in messages are those of the
 * file: the lines on which records start are counted here, since a record may span several.
 *
 * @throws TwinkeelError `read/empty`, `read/binary`, `read/row-length`, `read/quoted` for an open
 *   quote
 */
export async function readQuotedTable(bytes: Uint8Array, layout: TableLayout = {}): Promise<Table> {
  const { separator, decimal, comment: sign } = detectLayout(bytes, layout);
  const comment = sign && decodeText(sign);
  const text = decodeText(bytes).replace(/^\uFEFF/, '');
  if (bytes.includes(0)) throw binaryData(lineOfByte(bytes, bytes.indexOf(0)));
  const { kept, lines, places, lastComment } = recordsOf(text, layout.skip ?? 0, comment);
  const separatorText = String.fromCharCode(separator);
  const single = separator === 32 ? kept.map(withSingleBlanks) : kept;
  const records = await parseRecords(single.join('\n'), separatorText).catch(async () => {
    throw await malformedQuotes(single, lines, separatorText);
  });
  const first = records[0];
  if (first === undefined) throw emptyTable('no rows');
  const decimalComma = decimal === 44;
  const isNumeric = (cell: string) =>
    Number.isFinite(numberFromText(decimalComma ? cell.trim().replace(',', '.') : cell.trim()));
  const hasHeader = !first.some(isNumeric) && first.some((cell) => cell.trim() !== '');
  const commented = comment === undefined ? undefined : lastComment?.slice(comment.length);
  const fromComment =
    commented === undefined
      ? undefined
      : // A remark that no one meant as a header may have quotes anywhere.
        (await parseRecords(commented, separatorText).catch(() => []))[0];
  const header = hasHeader
    ? first.map((cell) => cell.trim())
    : fromComment?.length === first.length
      ? fromComment.map((cell) => cell.trim())
      : undefined;
  const second = records[1];
  const units =
    hasHeader && second?.length === first.length && isUnitRow(second) ? second : undefined;
  const from = hasHeader ? (units ? 2 : 1) : 0;
  const every = layout.every ?? 1;
  const rows: string[][] = [];
  const rowLines: number[] = [];
  for (let k = from; k < records.length; k++) {
    const record = records[k]!;
    if ((places[k]! - from) % every !== 0) continue;
    if (record.length !== first.length) {
      throw badRowLength(lines[k]!, record.length, first.length);
    }
    rows.push(record);
    rowLines.push(lines[k]!);
  }
  if (rows.length === 0) throw emptyTable('a header and no rows');
  return tableFromCells(header, rows, rowLines, decimalComma, units);
}

/**
 * The records of a text that are neither blank nor comments, the line each starts on, and their
 * places among records and blank lines: where only every k-th line is a row, those count too.
 */
function recordsOf(
  text: string,
  skip: number,
  comment: string | undefined,
): { kept: string[]; lines: number[]; places: number[]; lastComment: string | undefined } {
  const kept: string[] = [];
  const lines: number[] = [];
  const places: number[] = [];
  let place = 0;
  let lastComment: string | undefined;
  const physical = text.split(/\r?\n/);
  for (let k = skip; k < physical.length; k++) {
    const record = physical[k]!;
    const line = k + 1;
    if (comment !== undefined && record.startsWith(comment)) {
      if (kept.length === 0) lastComment = record;
      continue;
    }
    // Each line is looked at once: an open quote may go on to the end of the file.
    const parts = [record];
    let open = hasOddQuotes(record);
    while (open) {
      if (++k >= physical.length) {
        throw new TwinkeelError('read/quoted', {
          line,
          found: 'a quote that is never closed',
          expected: 'quotes in pairs',
          remedy: 'close the quote',
        });
      }
      parts.push(physical[k]!);
      open = hasOddQuotes(physical[k]!) !== open;
    }
    const whole = parts.join('\n');
    if (whole.trim() === '') {
      if (kept.length > 0) place++;
      continue;
    }
    kept.push(whole);
    lines.push(line);
    places.push(place++);
  }
  return { kept, lines, places, lastComment };
}

function lineOfByte(bytes: Uint8Array, at: number): number {
  let line = 1;
  for (let i = 0; i < at; i++) if (bytes[i] === NEWLINE) line++;
  return line;
}

/** Runs of blanks outside quotes as one, none at the ends. */
function withSingleBlanks(record: string): string {
  return record.trim().replace(/("[^"]*")|[ \t]+/g, (_, quotedCell) => quotedCell ?? ' ');
}

function hasOddQuotes(record: string): boolean {
  let quotes = 0;
  for (const character of record) if (character === '"') quotes++;
  return quotes % 2 === 1;
}

/** Cells of a text by fast-csv; rejects with its own error, which knows no rows. */
function parseRecords(text: string, delimiter: string): Promise<string[][]> {
  return new Promise((resolve, reject) => {
    const records: string[][] = [];
    parseString<string[], string[]>(text, { headers: false, delimiter })
      .on('data', (record: string[]) => records.push(record))
      .on('error', reject)
      .on('end', () => resolve(records));
  });
}

/** The error for the first record that fast-csv does not take. */
async function malformedQuotes(
  records: readonly string[],
  lines: readonly number[],
  delimiter: string,
): Promise<TwinkeelError> {
  let bad = 0;
  while (bad < records.length - 1) {
    try {
      await parseRecords(records[bad]!, delimiter);
      bad++;
    } catch {
      break;
    }
  }
  return new TwinkeelError('read/quoted', {
    line: lines[bad]!,
    found: 'quotes that do not enclose whole cells',
    expected: 'cells that are quoted as a whole or not at all',
    remedy: 'correct the quotes, or export without them',
  });
}
