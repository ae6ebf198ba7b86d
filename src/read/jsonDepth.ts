import { TwinkeelError } from '../error.js';

/** Deeper than any file of a tracker, a shoot or a rig. */
const DEEPEST = 100;

/**
 * Refuses a JSON text that nests deeper than any file for us does: a parser takes some 70 bytes for
 * every level.
 *
 * @throws TwinkeelError `read/json`
 */
export function requireShallow(text: string): void {
  let depth = 0;
  for (let i = 0; i < text.length; i++) {
    const unit = text.charCodeAt(i);
    if (unit === 34) i = endOfString(text, i);
    else if (unit === 91 || unit === 123) depth++;
    else if (unit === 93 || unit === 125) depth--;
    if (depth <= DEEPEST) continue;
    throw new TwinkeelError('read/json', {
      found: `lists or objects that nest more than ${DEEPEST} deep`,
      expected: 'JSON as a tracker or twinkeel writes it',
      remedy: 'export the file again',
    });
  }
}

/** Where a string that starts at a quote ends; the end of the text where it never does. */
function endOfString(text: string, start: number): number {
  let end = start;
  do {
    end = text.indexOf('"', end + 1);
    if (end < 0) return text.length;
  } while (isEscaped(text, end));
  return end;
}

/** Whether an odd number of backslashes stands before. */
function isEscaped(text: string, at: number): boolean {
  let from = at;
  while (text.charCodeAt(from - 1) === 92) from--;
  return (at - from) % 2 === 1;
}
