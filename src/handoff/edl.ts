import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { type FrameRate, formatFrameRate, framesPerSecond } from '../track/frameRate.js';
import { formatTimecode, parseTimecode } from '../track/timecode.js';
import { stretchSentenceWithAdvice } from '../words/verdict.js';
import { type MovieClock, type TakePart, takeParts } from './takeParts.js';

/** Rates that the format was made for, as they are counted; and faster ones whose labels still have two digits. */
const PLAIN = [24, 25, 30];
const FAST = [48, 50, 60];
/** Events have three digits. */
const MOST_EVENTS = 999;

/**
 * An edit decision list in the CMX 3600 form: one event for each part of the take that is usable, also with
 * care, one behind the other on the record side from 01:00:00:00 (common practice, no source). Out points are
 * exclusive. What a part is worth, and what was left out and why, stands in comments behind the events.
 *
 * Rates of 48, 50 and 60 (also over 1.001), which the form does not know, are counted at their nominal rate, and
 * a comment says so.
 *
 * @param result - of {@link index!correct}, with an exact frame rate
 * @param name - of the clip; its first eight letters and digits are the reel
 * @param clock - how the movie is counted
 * @returns text in ASCII, picture only
 * @throws TwinkeelError `argument/invalid` without an exact frame rate or stretches, for a rate whose frames
 *   have no two-digit label, without any usable part or with more than 999; `timecode/invalid`
 * @see the CMX 3600 form as editors write it (from memory; common practice where the form is silent)
 * @example
 * toEdl(result, 'aisle').split('\n')[0]; // 'TITLE: AISLE'
 */
export function toEdl(result: CorrectionResult, name: string, clock: MovieClock = {}): string {
  const take = takeParts(result, clock);
  const { rate, dropFrame, parts } = take;
  const nominal = requireRate(rate);
  const usable = parts.filter(({ stretch }) => stretch.verdict !== 'not usable');
  requireEvents(usable.length, parts.length);
  const recordStart = parseTimecode(dropFrame ? '01:00:00;00' : '01:00:00:00', rate);
  const span = ({ start, count }: TakePart) => [take.codeAt(start), take.codeAt(start + count)];
  const lines = [
    `TITLE: ${ascii(name).toUpperCase()}`,
    `FCM: ${dropFrame ? 'DROP FRAME' : 'NON-DROP FRAME'}`,
  ];
  const reel = reelOf(name).padEnd(8);
  let event = 0;
  let record = 0;
  // Readers look for comments behind an event: what comes before the first one follows it.
  let early = headComments(rate, nominal, clock.timecode ?? result.timecode);
  for (const part of parts) {
    const [sourceIn, sourceOut] = span(part);
    const words = stretchSentenceWithAdvice(part.stretch);
    if (part.stretch.verdict === 'not usable') {
      const left = comment(`left out ${sourceIn} to ${sourceOut}, ${words}`);
      if (event === 0) early = [...early, left];
      else lines.push(left);
      continue;
    }
    event++;
    const [recordIn, recordOut] = [record, record + part.count].map((frame) =>
      formatTimecode(recordStart + frame, rate, dropFrame),
    );
    record += part.count;
    lines.push(
      `${String(event).padStart(3, '0')}  ${reel} V     C        ${sourceIn} ${sourceOut} ${recordIn} ${recordOut}`,
      `* FROM CLIP NAME: ${ascii(name)}`,
      comment(words),
      ...early,
    );
    early = [];
  }
  return `${lines.join('\n')}\n`;
}

/** What holds for the whole list. */
function headComments(rate: FrameRate, nominal: number, timecode: string | undefined): string[] {
  return [
    ...(FAST.includes(nominal)
      ? [
          comment(
            `time codes count every frame, at the nominal rate of ${nominal} per second; the exact rate is ${formatFrameRate(rate)}, and the CMX 3600 form knows 24, 25 and 30 only`,
          ),
        ]
      : []),
    ...(timecode === undefined
      ? [
          comment(
            'no time code was given: source times count from 00:00:00:00 at the first frame of the movie',
          ),
        ]
      : []),
  ];
}

function requireRate(rate: FrameRate): number {
  const { numerator, denominator } = rate;
  const nominal = Math.round(framesPerSecond(rate));
  const counts =
    numerator === nominal * denominator || numerator * 1001 === nominal * 1000 * denominator;
  if (counts && [...PLAIN, ...FAST].includes(nominal)) return nominal;
  throw new TwinkeelError('argument/invalid', {
    found: `${formatFrameRate(rate)} frames per second`,
    expected:
      'a rate that an edit decision list can count: 24, 25, 30, 48, 50 or 60, also over 1.001',
    remedy: 'hand the stretches over as otio or csv-markers, which hold any rate',
  });
}

function requireEvents(count: number, stretches: number): void {
  if (count >= 1 && count <= MOST_EVENTS) return;
  throw new TwinkeelError('argument/invalid', {
    found: `${count} usable parts in ${stretches} stretches`,
    expected: `1 to ${MOST_EVENTS} events for an edit decision list`,
    remedy:
      count === 0
        ? 'hand the stretches over as otio or csv-markers, which list why'
        : 'hand a part over with --trim, or all as otio',
  });
}

/**
 * A reel's name: at most eight of A–Z and 0–9.
 *
 * @param name - of the clip
 * @returns `AX` (auxiliary, common practice) where nothing is left of it
 */
export function reelOf(name: string): string {
  const letters = ascii(name)
    .toUpperCase()
    .replace(/[^A-Z0-9]/g, '');
  return letters.slice(0, 8) || 'AX';
}

function comment(words: string): string {
  return `* COMMENT: ${ascii(words)}`;
}

/** Signs that have words or a plain sister; what is left and not ASCII becomes a question mark. */
const PLAIN_SIGNS: readonly (readonly [RegExp, string])[] = [
  [/°/g, 'deg'],
  [/[–—−]/g, '-'],
  [/[’‘]/g, "'"],
  [/[“”]/g, '"'],
  [/×/g, 'x'],
  [/±/g, '+/-'],
  [/≤/g, '<='],
  [/≥/g, '>='],
];

/** One line of ASCII. */
function ascii(text: string): string {
  const plain = PLAIN_SIGNS.reduce((words, [sign, word]) => words.replace(sign, word), text);
  return plain
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .replace(/[^\x20-\x7e]/gu, '?');
}
