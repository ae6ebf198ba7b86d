import { describe, expect, test } from 'vitest';
import { parseFrameRate } from '../../src/track/frameRate.js';
import { formatTimecode, parseTimecode } from '../../src/track/timecode.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';

const AT_25 = parseFrameRate('25');

/** Labels per second, labels left out in most minutes, and frames in 24 hours. */
const DROPPING = [
  { text: '30000/1001', nominal: 30, dropped: 2, day: 2_589_408 },
  { text: '60000/1001', nominal: 60, dropped: 4, day: 5_178_816 },
  { text: '120000/1001', nominal: 120, dropped: 8, day: 10_357_632 },
].map((counting) => ({ ...counting, rate: parseFrameRate(counting.text) }));

const digits = (value: number) => String(value).padStart(2, '0');

describe.each(DROPPING)('drop-frame time code at $text', ({ rate, nominal, dropped, day }) => {
  test('every frame of a day comes back from its label', () => {
    const anywhere = fc.integer({ min: 0, max: day - 1 });
    const nearMinutes = fc
      .tuple(fc.integer({ min: 0, max: 1439 }), fc.integer({ min: -5, max: 5 }))
      .map(([minute, k]) => (Math.round((minute * day) / 1440) + k + day) % day);
    fc.assert(
      fc.property(fc.oneof(anywhere, nearMinutes), (frame) => {
        expect(parseTimecode(formatTimecode(frame, rate, true), rate)).toBe(frame);
      }),
      { numRuns: 3000 },
    );
  });

  test('frame by frame, eleven minutes leave out the first labels of all minutes but 0 and 10', () => {
    let frame = 0;
    for (let label = 0; label < 11 * 60 * nominal; label++) {
      const minute = Math.floor(label / (60 * nominal));
      const second = Math.floor(label / nominal) % 60;
      if (minute % 10 !== 0 && second === 0 && label % nominal < dropped) continue;
      const text = `00:${digits(minute)}:${digits(second)};${digits(label % nominal)}`;
      if (formatTimecode(frame, rate, true) !== text) {
        expect(formatTimecode(frame, rate, true)).toBe(text);
      }
      frame++;
    }
    expect(frame).toBe(11 * 60 * nominal - 9 * dropped);
  });

  test('labels that are left out are refused', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 23 }),
        fc.integer({ min: 0, max: 59 }).filter((minute) => minute % 10 !== 0),
        fc.integer({ min: 0, max: dropped - 1 }),
        (hour, minute, frame) => {
          const text = `${digits(hour)}:${digits(minute)}:00;${digits(frame)}`;
          expect(() => parseTimecode(text, rate)).toThrow(
            complaint('timecode/invalid', `found the time code "${text}"`),
          );
        },
      ),
    );
  });

  test('it starts again after 24 hours', () => {
    expect(formatTimecode(day, rate, true)).toBe('00:00:00;00');
    expect(formatTimecode(7 * day + 1, rate, true)).toBe('00:00:00;01');
  });
});

describe('time code without dropping', () => {
  test('every frame of a day comes back from its label', () => {
    fc.assert(
      fc.property(
        fc.constantFrom('24000/1001', '25', '30000/1001', '50', '60').map(parseFrameRate),
        fc.integer({ min: 0, max: 24 * 86_400 - 1 }),
        (rate, frame) => {
          expect(parseTimecode(formatTimecode(frame, rate, false), rate)).toBe(frame);
        },
      ),
    );
  });

  test('it starts again after 24 hours', () => {
    expect(formatTimecode(25 * 86_400, AT_25, false)).toBe('00:00:00:00');
  });
});

describe('parseTimecode', () => {
  test('the last separator says whether frames are dropped, and an argument overrides it', () => {
    const rate = parseFrameRate('30000/1001');
    expect(parseTimecode('00:01:00;02', rate)).toBe(1800);
    expect(parseTimecode('00:01:00.02', rate)).toBe(1800);
    expect(parseTimecode('00:01:00:02', rate)).toBe(1802);
    expect(parseTimecode('00:01:00:02', rate, true)).toBe(1800);
    expect(parseTimecode('00:01:00;02', rate, false)).toBe(1802);
  });

  test.each([
    '24:00:00:00',
    '00:60:00:00',
    '00:00:60:00',
    '00:00:00:25',
    '00:00:00',
    '1:2:3:4',
    '-1:00:00:00',
    'noon',
    '',
  ])('"%s" is no time code at 25 frames per second', (text) => {
    expect(() => parseTimecode(text, AT_25)).toThrow(
      complaint('timecode/invalid', `found the time code "${text}", expected HH:MM:SS:FF`),
    );
  });

  test.each(['24000/1001', '25', '30', '48000/1001'])(
    'there is no drop-frame counting at %s',
    (text) => {
      const rate = parseFrameRate(text);
      expect(() => parseTimecode('00:00:00;00', rate)).toThrow(
        complaint('timecode/invalid', 'count without dropping at this rate'),
      );
      expect(() => formatTimecode(0, rate, true)).toThrow('count without dropping at this rate');
    },
  );
});
