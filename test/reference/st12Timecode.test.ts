// SMPTE ST 12-1, Time and Control Code: drop-frame counting at 30000/1001 and the same practice at
// 60000/1001. The official text from memory; the counts below follow from it by arithmetic.
import { describe, expect, test } from 'vitest';
import { formatTimecode, parseTimecode } from '../../src/track/timecode.js';

const VECTORS: Readonly<Record<number, readonly (readonly [number, string])[]>> = {
  30000: [
    [0, '00:00:00;00'],
    [1799, '00:00:59;29'],
    [1800, '00:01:00;02'],
    [3597, '00:01:59;29'],
    [3598, '00:02:00;02'],
    [17981, '00:09:59;29'],
    [17982, '00:10:00;00'],
    [19781, '00:10:59;29'],
    [19782, '00:11:00;02'],
    [107891, '00:59:59;29'],
    [107892, '01:00:00;00'],
    [2589407, '23:59:59;29'],
  ],
  60000: [
    [3599, '00:00:59;59'],
    [3600, '00:01:00;04'],
    [35964, '00:10:00;00'],
    [215784, '01:00:00;00'],
    [5178815, '23:59:59;59'],
  ],
};

describe.each([30000, 60000])('%d/1001 frames per second', (numerator) => {
  const rate = { numerator, denominator: 1001 };

  test.each(VECTORS[numerator]!)('frame %d is labelled %s', (frame, label) => {
    expect(formatTimecode(frame, rate, true)).toBe(label);
    expect(parseTimecode(label, rate)).toBe(frame);
  });
});

test.each(['00:01:00;00', '00:01:00;01'])('%s does not exist at 30000/1001', (label) => {
  expect(() => parseTimecode(label, { numerator: 30000, denominator: 1001 })).toThrow(label);
});

test('there is no drop-frame counting at 24000/1001', () => {
  const film = { numerator: 24000, denominator: 1001 };
  expect(() => formatTimecode(0, film, true)).toThrow('drop-frame time code at 24000/1001');
});

test('a day of drop-frame labels is 86.4 ms shorter than a day of the clock', () => {
  const frames = parseTimecode('23:59:59;29', { numerator: 30000, denominator: 1001 }) + 1;
  expect((frames * 1001) / 30000).toBeCloseTo(86_399.9136, 9);
});
