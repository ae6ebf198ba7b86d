/** Summaries of shares join to that of the whole, in any order, or say why not. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import {
  mergeSummaries,
  readSummary,
  type Summary,
  summaryOf,
  summaryText,
} from '../../src/batch/summary.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { temporaryFolder } from '../temporaryFolder.js';

type Clip = Summary['clips'][number];

const corrected = (place: number): Clip => ({
  name: `aisle-${place}`,
  file: `aisle-${place}.csv`,
  ok: true,
  verdict: 'deliver',
  reasons: [],
  shot: 'travelling',
  confidence: 0.9,
  inputs: 'a1',
  outputs: { [`aisle-${place}.result.json`]: 'b2' },
  place,
});

const failed = (place: number): Clip => ({
  name: `aisle-${place}`,
  file: `aisle-${place}.csv`,
  ok: false,
  code: 'read/empty',
  message: `aisle-${place}.csv: found an empty file, expected numbers; export it again.`,
  place,
});

const clipsOf = (fates: readonly boolean[]): Clip[] =>
  fates.map((ok, place) => (ok ? corrected(place) : failed(place)));

/** What a file gives back. */
function stored(value: unknown): Summary {
  const path = join(temporaryFolder(), 'shoot.summary.json');
  writeFileSync(path, typeof value === 'string' ? value : JSON.stringify(value));
  return readSummary(path);
}

describe('merging', () => {
  test('shares of any number, in any order, some of them twice, are the bytes of the whole', () => {
    fc.assert(
      fc.property(
        fc.array(fc.boolean(), { minLength: 1, maxLength: 12 }),
        fc.integer({ min: 1, max: 15 }),
        fc.infiniteStream(fc.nat()),
        (fates, count, numbers) => {
          const clips = clipsOf(fates);
          const whole = summaryOf('m', clips.length, clips);
          const shares = Array.from({ length: count }, (_, k) => {
            const mine = clips.filter(({ place }) => place % count === k);
            return summaryOf('m', clips.length, mine.reverse());
          });
          const drawn = [...shares, shares[numbers.next().value! % count]!]
            .map((share) => ({ share, rank: numbers.next().value! }))
            .sort((a, b) => a.rank - b.rank)
            .map(({ share }) => share);
          expect(summaryText(mergeSummaries(drawn))).toBe(summaryText(whole));
        },
      ),
    );
  });

  test('merging parts first changes nothing, as long as the last has all', () => {
    const clips = clipsOf([true, false, true, true]);
    const whole = summaryOf('m', 4, clips);
    expect(summaryText(mergeSummaries([whole]))).toBe(summaryText(whole));
    const again = mergeSummaries([whole, summaryOf('m', 4, clips.slice(2))]);
    expect(summaryText(again)).toBe(summaryText(whole));
  });

  test.each<[string, Summary[], string]>([
    ['none at all', [], 'found no summary'],
    [
      'of two manifests',
      [summaryOf('m', 2, [corrected(0)]), summaryOf('n', 2, [corrected(1)])],
      'found summaries of different manifests',
    ],
    [
      'of two lengths',
      [summaryOf('m', 2, [corrected(0)]), summaryOf('m', 3, [corrected(1)])],
      'found summaries of different manifests',
    ],
    [
      'with a share missing',
      [summaryOf('m', 4, [corrected(0), corrected(2)])],
      'found 2 of 4 clips in no summary, the first is number 2',
    ],
    [
      'with the first clip missing',
      [summaryOf('m', 2, [corrected(1)])],
      'found 1 of 2 clips in no summary, the first is number 1',
    ],
    [
      'of which one says that a clip failed',
      [summaryOf('m', 1, [corrected(0)]), summaryOf('m', 1, [failed(0)])],
      'found two different outcomes of aisle-0',
    ],
    [
      'of which one has other results',
      [
        summaryOf('m', 1, [corrected(0)]),
        summaryOf('m', 1, [{ ...corrected(0), inputs: 'c3' } as Clip]),
      ],
      'found two different outcomes of aisle-0',
    ],
    [
      'of a thousand million clips',
      [summaryOf('m', 1e9, [corrected(0)])],
      'found 999999999 of 1000000000 clips in no summary, the first is number 2',
    ],
  ])('summaries %s are refused', (_, shares, found) => {
    expect(() => mergeSummaries(shares)).toThrow(complaint('manifest/invalid', found));
  });
});

describe('reading', () => {
  test('a summary comes back as it was', () => {
    const summary = summaryOf('m', 2, clipsOf([true, false]));
    expect(stored(summaryText(summary))).toEqual(summary);
  });

  const whole = summaryOf('m', 2, clipsOf([true, false]));
  const withClip = (clip: unknown) => ({ ...whole, clips: [clip] });

  test.each<[string, unknown]>([
    ['null', null],
    ['a list', []],
    ['another format', { ...whole, format: 'twinkeel-shoot' }],
    ['a later version', { ...whole, version: 2 }],
    ['no clips', { ...whole, clips: undefined }],
    ['clips that are no list', { ...whole, clips: {} }],
    ['no manifest', { ...whole, manifest: undefined }],
    ['a count as text', { ...whole, clipCount: '2' }],
    ['a count that is no whole number', { ...whole, clipCount: 2.5 }],
    ['a clip that is null', withClip(null)],
    ['a clip without a place', withClip({ ...corrected(0), place: undefined })],
    ['a place before the first', withClip({ ...corrected(0), place: -1 })],
    ['a place behind the last', withClip(corrected(2))],
    ['a place that is no whole number', withClip({ ...corrected(0), place: 0.5 })],
    ['a clip without a name', withClip({ ...corrected(0), name: undefined })],
    ['a clip of no known fate', withClip({ ...corrected(0), ok: 1 })],
    ['a corrected clip without a verdict', withClip({ ...corrected(0), verdict: undefined })],
    ['a reason that is null', withClip({ ...corrected(0), reasons: [null] })],
    ['a reason without a value', withClip({ ...corrected(0), reasons: [{ figure: 'bob' }] })],
    ['a failed clip without a message', withClip({ ...failed(0), message: undefined })],
  ])('%s is refused', (_, value) => {
    expect(() => stored(value)).toThrow(complaint('read/json', 'found JSON of another kind'));
  });

  test('what is no JSON is refused, naming the file', () => {
    expect(() => stored('{"format":')).toThrow(complaint('read/json', 'shoot.summary.json: found'));
  });
});
