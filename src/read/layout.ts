import { TwinkeelError } from '../error.js';
import { COMMA, POINT } from './scanNumber.js';
import { emptyTable, numberFromText, type TableLayout } from './table.js';
import { decodeText, encodeText } from './text.js';

export const NEWLINE = 10;
export const RETURN = 13;
export const SPACE = 32;
export const QUOTE = 34;
const TAB = 9;
const SEMICOLON = 59;
const HASH = 35;

/** How many bytes at the top of a text, and from its first row on, tell its layout. */
export const SAMPLE_BYTES = 65536;

/** What {@link detectLayout} found out about a text. */
export interface DetectedLayout {
  readonly separator: number;
  readonly decimal: number;
  /** The bytes that comments start with. */
  readonly comment: Uint8Array | undefined;
  /** The first of those bytes, or -1. */
  readonly commentByte: number;
}

/**
 * Separator, decimal mark and comment sign of a text, from its first lines. A tab beats a
 * semicolon beats a comma beats blanks; a comma inside a cell is a decimal mark where the
 * separator is something else and no cell uses a point.
 *
 * @throws TwinkeelError `read/empty`, `read/binary`
 */
export function detectLayout(bytes: Uint8Array, layout: TableLayout): DetectedLayout {
  checkText(bytes);
  return layoutOfRows(bytes.subarray(startOfRows(bytes, layout.skip ?? 0)), layout);
}

/**
 * Refuses what is empty or no text, as the first bytes show it.
 *
 * @throws TwinkeelError `read/empty`, `read/binary`
 */
export function checkText(bytes: Uint8Array): void {
  const head = bytes.subarray(0, SAMPLE_BYTES);
  if (head.includes(0)) throw binaryData();
  if (isBlank(head, 0, head.length)) throw emptyTable('an empty file');
}

/** The layout of a text whose first lines, after those to be skipped, are given. */
export function layoutOfRows(bytes: Uint8Array, layout: TableLayout): DetectedLayout {
  const comment = layout.comment || (bytes[0] === HASH ? '#' : undefined);
  const sample = decodeText(bytes.subarray(0, SAMPLE_BYTES))
    .split(/\r?\n/)
    .filter((text) => text.trim() !== '' && !(comment !== undefined && text.startsWith(comment)));
  // A time code may hold a semicolon that separates nothing.
  const all = sample.join('\n').replace(/\d{2}:\d{2}:\d{2};\d{2}/g, '');
  const separator =
    layout.separator === undefined
      ? all.includes('\t')
        ? TAB
        : all.includes(';')
          ? SEMICOLON
          : all.includes(',')
            ? COMMA
            : SPACE
      : layout.separator === 'space'
        ? SPACE
        : layout.separator === 'tab'
          ? TAB
          : layout.separator.charCodeAt(0);
  const decimal = separator !== COMMA && /\d,\d/.test(all) && !/\d\.\d/.test(all) ? COMMA : POINT;
  const commentBytes = comment === undefined ? undefined : encodeText(comment);
  return { separator, decimal, comment: commentBytes, commentByte: commentBytes?.[0] ?? -1 };
}

/** Where the text starts after a byte order mark. */
export function startOfText(bytes: Uint8Array): number {
  return bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0;
}

/** Where the text starts after a byte order mark and `skip` lines. */
function startOfRows(bytes: Uint8Array, skip: number): number {
  let position = startOfText(bytes);
  for (let k = 0; k < skip; k++) {
    const end = bytes.indexOf(NEWLINE, position);
    if (end < 0) return bytes.length;
    position = end + 1;
  }
  return position;
}

/** The cells of a line as text. */
export function splitCells(line: Uint8Array, { separator }: DetectedLayout): string[] {
  const text = decodeText(line).replace(/\r$/, '');
  const cells =
    separator === SPACE ? text.trim().split(/\s+/) : text.split(String.fromCharCode(separator));
  return cells.map(cellText);
}

/** A cell's text without blanks around it and without quotes around that. */
export function cellText(text: string): string {
  return text.trim().replace(/^"(.*)"$/, '$1');
}

/** The number in a cell's text, or NaN. */
export function cellNumber(text: string, { decimal }: DetectedLayout): number {
  return numberFromText(decimal === COMMA ? text.replace(',', '.') : text);
}

/** Whether a byte is a blank inside a line. */
export function isSpace(byte: number): boolean {
  return byte === SPACE || byte === TAB || byte === RETURN;
}

/** Whether bytes[start, end) hold blanks and line ends only. */
export function isBlank(bytes: Uint8Array, start: number, end: number): boolean {
  for (let i = start; i < end; i++) {
    if (!isSpace(bytes[i]!) && bytes[i] !== NEWLINE) return false;
  }
  return true;
}

/** The error for bytes that are no text; the line is known where it is not the first. */
export function binaryData(line?: number): TwinkeelError {
  return new TwinkeelError('read/binary', {
    ...(line !== undefined && { line }),
    found: 'binary data',
    expected: 'a text table (CSV) or JSON',
    remedy: 'export the track or log as text',
  });
}
