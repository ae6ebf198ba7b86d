import { expect, test } from 'vitest';
import { type Marker, markSamples } from '../../src/motion/markers.js';
import { refusal } from '../refusal.js';
import { fc } from '../seed.js';

const SAMPLE_RATE = 15;
const COUNT = 151;

const stretch = (intent: Marker['intent'], from: number, to: number): Marker => ({
  from,
  to,
  intent,
});
const markers = fc.array(
  fc
    .tuple(
      fc.constantFrom<Marker['intent']>('move', 'hold'),
      fc.integer({ min: -20, max: 99 }),
      fc.integer({ min: 1, max: 120 }),
    )
    .map(([intent, start, length]) => stretch(intent, start / 10, (start + length) / 10))
    .filter(({ to }) => to > 0),
  { maxLength: 5 },
);

test('a sample carries the mark of the last stretch that covers it', () => {
  fc.assert(
    fc.property(markers, (list) => {
      markSamples(list, COUNT, SAMPLE_RATE).forEach((mark, k) => {
        // Half a sample beside its ends a stretch may cover the next one or not.
        const clear = list.filter(
          ({ from, to }) => k > from * SAMPLE_RATE + 0.51 && k < to * SAMPLE_RATE - 0.51,
        );
        const near = list.filter(
          ({ from, to }) => k > from * SAMPLE_RATE - 0.51 && k < to * SAMPLE_RATE + 0.51,
        );
        if (clear.at(-1) !== near.at(-1)) return;
        expect(mark).toBe(near.length === 0 ? 0 : near.at(-1)!.intent === 'move' ? 1 : -1);
      });
    }),
  );
});

test('a move from 2 s to 4 s marks the samples at both ends as well', () => {
  const marks = markSamples([stretch('move', 2, 4)], COUNT, SAMPLE_RATE);
  expect([29, 30, 60, 61].map((k) => marks[k])).toEqual([0, 1, 1, 0]);
});

test('a stretch may begin before the clip and end after it', () => {
  const marks = markSamples([stretch('hold', -3, 30)], COUNT, SAMPLE_RATE);
  expect(marks).toEqual(new Int8Array(COUNT).fill(-1));
});

test.each([
  ['ends before it starts', stretch('move', 5, 4), '"move" from 5 s to 4 s'],
  ['lasts no time', stretch('hold', 5, 5), '"hold" from 5 s to 5 s'],
  ['starts after the clip', stretch('move', 10, 12), '"move" from 10 s to 12 s'],
  ['ends before the clip', stretch('move', -2, 0), '"move" from -2 s to 0 s'],
  ['starts nowhere', stretch('move', Number.NaN, 2), '"move" from NaN s to 2 s'],
  [
    'says something else',
    { from: 1, to: 2, intent: 'bloom' } as unknown as Marker,
    '"bloom" from 1 s to 2 s',
  ],
])('a marker that %s is refused by its number', (_what, wrong, found) => {
  const right = stretch('move', 1, 2);
  expect(() => markSamples([right, wrong], COUNT, SAMPLE_RATE)).toThrow(
    refusal('argument/invalid', `marker 2, ${found}`),
  );
});
