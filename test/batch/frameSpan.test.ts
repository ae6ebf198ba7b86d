import { describe, expect, test } from 'vitest';
import { parseFrameSpan } from '../../src/batch/frameSpan.js';
import { UsageError } from '../../src/batch/usage.js';
import { parseFrameRate } from '../../src/track/frameRate.js';
import { complaint } from '../complaint.js';

const DROP = parseFrameRate('30000/1001');
const clip = { rate: parseFrameRate('25'), first: 1000, timecode: undefined };

describe('a part of a clip in words', () => {
  test.each([
    ['1120..1480', { from: 1120, to: 1480 }],
    [' 1120 .. 1480 ', { from: 1120, to: 1480 }],
    ['1120..1120', { from: 1120, to: 1120 }],
    ['-5..3', { from: -5, to: 3 }],
    ['..1480', { from: -Infinity, to: 1480 }],
    ['1120..', { from: 1120, to: Infinity }],
    ['..', { from: -Infinity, to: Infinity }],
    // Ten seconds and one frame of 25: 251 frames after the first.
    ['00:00:10:01..1300', { from: 1251, to: 1300 }],
  ])('%j', (words, span) => {
    expect(parseFrameSpan(words, clip)).toEqual(span);
  });

  test('time codes count from the code of the first frame', () => {
    const words = '01:00:02:00..01:00:10:05';
    expect(parseFrameSpan(words, { ...clip, timecode: '01:00:00:00' })).toEqual({
      from: 1050,
      to: 1255,
    });
  });

  // SMPTE ST 12-1: at the start of each minute but every tenth two labels are left out.
  test('drop-frame codes leave out labels, no frames', () => {
    const dropped = { rate: DROP, first: 0, timecode: '01:00:00;00' };
    expect(parseFrameSpan('01:00:59;29..01:01:00;02', dropped)).toEqual({ from: 1799, to: 1800 });
    expect(() => parseFrameSpan('01:01:00;00..01:02:00;02', dropped)).toThrow(
      complaint('timecode/invalid', 'found the time code "01:01:00;00"'),
    );
  });

  test('codes that drop and codes that do not are hours apart and are not mixed', () => {
    // After an hour they differ by 108 frames.
    const plain = { rate: DROP, first: 0, timecode: '01:00:00:00' };
    expect(() => parseFrameSpan('01:00:10;00..01:00:20;00', plain)).toThrow(UsageError);
    const dropped = { rate: DROP, first: 0, timecode: '01:00:00;00' };
    expect(() => parseFrameSpan('01:00:10:00..01:00:20:00', dropped)).toThrow(UsageError);
    expect(() => parseFrameSpan('01:00:10;00..01:00:20:00', dropped)).toThrow(UsageError);
  });

  test.each([
    ['120', '"120" is no span such as 120..480'],
    ['1..2..3', '"1..2..3" is no span'],
    ['', '"" is no span'],
    ['1480..1120', 'the span 1480..1120 ends before it begins'],
  ])('%j is refused in a sentence', (words, message) => {
    const refuse = () => parseFrameSpan(words, clip);
    expect(refuse).toThrow(UsageError);
    expect(refuse).toThrow(message);
  });

  test('a time code needs a rate, and must be one', () => {
    expect(() => parseFrameSpan('00:00:01:00..', { ...clip, rate: undefined })).toThrow(
      'the time code 00:00:01:00 needs an exact frame rate',
    );
    expect(() => parseFrameSpan('dusk..dawn', clip)).toThrow(
      complaint('timecode/invalid', 'found the time code "dusk"'),
    );
    expect(() => parseFrameSpan('00:00:01:25..', clip)).toThrow(
      complaint('timecode/invalid', 'with frames below 25'),
    );
  });
});
