import { describe, expect, test } from 'vitest';
import { reelOf, toEdl } from '../../src/handoff/edl.js';
import { parseFrameRate } from '../../src/track/frameRate.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { anyTakes, labelsFrom, resultOfTake } from './takes.js';

const RATE = parseFrameRate('25');
const TAKE = {
  cuts: [
    ['not usable', 10],
    ['usable', 50],
    ['not usable', 30],
    ['with care', 20],
  ],
  first: 40,
} as const;

/** An event line by its columns, as a reader of the form takes it apart. */
const EVENT =
  /^(\d{3}) {2}([A-Z0-9]{1,8}) +V {5}C {8}(\d\d:\d\d:\d\d[:;]\d\d) (\d\d:\d\d:\d\d[:;]\d\d) (\d\d:\d\d:\d\d[:;]\d\d) (\d\d:\d\d:\d\d[:;]\d\d)$/;
const eventsOf = (text: string) =>
  text.split('\n').flatMap((line) => {
    const [, number, reel, ...codes] = EVENT.exec(line) ?? [];
    return number === undefined ? [] : [{ number, reel, codes }];
  });

describe('an edit decision list', () => {
  test('holds an event per usable part, its reasons, and what was left out, to the letter', () => {
    expect(toEdl(resultOfTake(TAKE, RATE), 'moonflower 7', { timecode: '09:59:59:00' })).toBe(
      `TITLE: MOONFLOWER 7
FCM: NON-DROP FRAME
001  MOONFLOW V     C        09:59:59:10 10:00:01:10 01:00:00:00 01:00:02:00
* FROM CLIP NAME: moonflower 7
* COMMENT: usable
* COMMENT: left out 09:59:59:00 to 09:59:59:10, not usable: turning of the view 41 deg/s (from 30 deg/s); caused by the operator; next time: turn more slowly
* COMMENT: left out 10:00:01:10 to 10:00:02:15, not usable: turning of the view 41 deg/s (from 30 deg/s); caused by the operator; next time: turn more slowly
002  MOONFLOW V     C        10:00:02:15 10:00:03:10 01:00:02:00 01:00:02:20
* FROM CLIP NAME: moonflower 7
* COMMENT: with care: turning of the view 41 deg/s (from 30 deg/s); caused by the operator; next time: turn more slowly
`,
    );
  });

  test.each([
    ['24000/1001', 24, false],
    ['24', 24, false],
    ['25', 25, false],
    ['30000/1001', 30, false],
    ['30000/1001', 30, true],
    ['50', 50, false],
    ['60000/1001', 60, true],
    ['60', 60, false],
  ] as const)(
    'at %s its codes are those of a clock that counts %d (drops: %s)',
    (words, nominal, drop) => {
      fc.assert(
        fc.property(anyTakes, (take) => {
          const result = resultOfTake(take, parseFrameRate(words));
          const total = result.corrections.times.length;
          // Over the full minute and hour, where labels are dropped.
          const timecode = drop ? '00:59:59;20' : '00:59:59:20';
          const source = labelsFrom([0, 59, 59, 20], nominal, drop, total + 1);
          const record = labelsFrom([1, 0, 0, 0], nominal, drop, total + 1);
          let [at, kept] = [0, 0];
          const wanted = take.cuts.flatMap(([verdict, count]) => {
            const [from, until] = [kept, kept + count];
            at += count;
            if (verdict === 'not usable') return [];
            kept = until;
            return [[source[at - count], source[at], record[from], record[until]]];
          });
          const text = toEdl(result, 'moonflower', { timecode });
          const events = eventsOf(text);
          expect(events.map(({ codes }) => codes)).toEqual(wanted);
          expect(events.map(({ number }) => Number(number))).toEqual(wanted.map((_, k) => k + 1));
          expect(text.split('\n')[1]).toBe(`FCM: ${drop ? 'DROP FRAME' : 'NON-DROP FRAME'}`);
          // Comments come behind an event: readers take nothing else before the first one.
          expect(text.split('\n')[2]).toMatch(/^001 /);
          expect(text).toMatch(/^[\x20-\x7e\n]*$/);
        }),
        { numRuns: 25 },
      );
    },
  );

  test('a rate that the form does not know is counted at its nominal one, and a comment says so', () => {
    const words =
      'time codes count every frame, at the nominal rate of 60 per second; the exact rate is 60000/1001';
    expect(toEdl(resultOfTake(TAKE, parseFrameRate('60000/1001')), 'a')).toContain(words);
    expect(toEdl(resultOfTake(TAKE, parseFrameRate('30000/1001')), 'a')).not.toContain('nominal');
  });

  test('a time code that nobody gave is said', () => {
    const result = resultOfTake(TAKE, RATE);
    expect(toEdl(result, 'a')).toContain('* COMMENT: no time code was given');
    expect(toEdl(result, 'a', { timecode: '00:00:00:00' })).not.toContain('no time code');
  });

  test.each([
    ['moonflower', 'MOONFLOW'],
    ['Nachtkerze über-2', 'NACHTKER'],
    ['öl_7', 'OL7'],
    ['月見草', 'AX'],
  ])('the reel of %s is %s', (name, reel) => {
    expect(reelOf(name)).toBe(reel);
  });
});

describe('refused', () => {
  test.each(['120000/1001', '100', '15', '24999/1000', '12500/1001', '1000'])(
    '%s frames a second',
    (words) => {
      expect(() => toEdl(resultOfTake(TAKE, parseFrameRate(words)), 'a')).toThrow(
        complaint('argument/invalid', 'expected a rate that an edit decision list can count'),
      );
    },
  );

  test('a result without an exact rate', () => {
    expect(() => toEdl(resultOfTake(TAKE, RATE, { rate: 'none' }), 'a')).toThrow(
      complaint('argument/invalid', 'found a result without an exact frame rate'),
    );
  });

  test('a take of which nothing is usable, or with more parts than the form can number', () => {
    const cuts = (verdict: 'usable' | 'not usable', times: number) =>
      Array.from({ length: times }, () => [verdict, 1] as const);
    const nothing = resultOfTake({ cuts: cuts('not usable', 3), first: 0 }, RATE);
    expect(() => toEdl(nothing, 'a')).toThrow(
      complaint('argument/invalid', 'found 0 usable parts in 3 stretches'),
    );
    const many = (times: number) => resultOfTake({ cuts: cuts('usable', times), first: 0 }, RATE);
    expect(eventsOf(toEdl(many(999), 'a'))).toHaveLength(999);
    expect(() => toEdl(many(1000), 'a')).toThrow(
      complaint('argument/invalid', 'found 1000 usable'),
    );
  });

  test('a time code that drops where nothing is dropped', () => {
    expect(() => toEdl(resultOfTake(TAKE, RATE), 'a', { timecode: '01:00:00;00' })).toThrow(
      complaint('timecode/invalid', 'drop-frame time code at 25/1'),
    );
  });
});
