import { parseString } from 'fast-csv';
import { expect, test } from 'vitest';
import { toMarkersCsv } from '../../src/handoff/markersCsv.js';
import { parseFrameRate } from '../../src/track/frameRate.js';
import { fc } from '../seed.js';
import { anyTakes, BECAUSE, labelsFrom, resultOfTake } from './takes.js';

/** The rows as another program's reader gives them. */
function rowsOf(text: string): Promise<Record<string, string>[]> {
  return new Promise((resolve, reject) => {
    const rows: Record<string, string>[] = [];
    parseString(text, { headers: true })
      .on('data', (row: Record<string, string>) => rows.push(row))
      .on('error', reject)
      .on('end', () => resolve(rows));
  });
}

test('one row per stretch: frames, seconds, time codes, verdict, cause and sentence', async () => {
  const rate = parseFrameRate('25');
  const take = {
    cuts: [
      ['usable', 50],
      ['not usable', 30],
    ],
    first: 40,
  } as const;
  const rows = await rowsOf(toMarkersCsv(resultOfTake(take, rate), { timecode: '10:00:00:00' }));
  expect(rows).toEqual([
    {
      ...{ frame: '40', time_s: '0.000000', timecode: '10:00:00:00', frames: '50' },
      ...{ duration_s: '2.000000', verdict: 'usable', cause: '', sentence: 'usable' },
    },
    {
      ...{ frame: '90', time_s: '2.000000', timecode: '10:00:02:00', frames: '30' },
      ...{ duration_s: '1.200000', verdict: 'not usable', cause: 'operator' },
      sentence:
        'not usable: turning of the view 41 °/s (from 30 °/s); caused by the operator; next time: turn more slowly',
    },
  ]);
});

test('rows cover the take, each with the label of its first frame', async () => {
  await fc.assert(
    fc.asyncProperty(anyTakes, async (take) => {
      const result = resultOfTake(take, parseFrameRate('30000/1001'));
      const total = result.corrections.times.length;
      const labels = labelsFrom([0, 59, 58, 0], 30, true, total);
      const rows = await rowsOf(toMarkersCsv(result, { timecode: '00:59:58;00' }));
      let at = 0;
      for (const [k, [verdict, count]] of take.cuts.entries()) {
        const { frame, frames, timecode, verdict: found } = rows[k]!;
        expect([frame, frames, timecode, found]).toEqual([
          ...[String(take.first + at), String(count), labels[at], verdict],
        ]);
        at += count;
      }
      expect(rows).toHaveLength(take.cuts.length);
    }),
    { numRuns: 25 },
  );
});

test('without an exact rate the time codes are left out, and nothing else', async () => {
  const take = { cuts: [['usable', 5]], first: 0 } as const;
  const [row] = await rowsOf(
    toMarkersCsv(resultOfTake(take, parseFrameRate('25'), { rate: 'none' })),
  );
  expect(row).toMatchObject({ frame: '0', timecode: '', frames: '5' });
});

test('a sentence with quotes and commas stays one cell', async () => {
  const take = { cuts: [['with care', 5]], first: 0 } as const;
  const result = resultOfTake(take, parseFrameRate('25'));
  const because = { ...BECAUSE, figure: 'a "leaf", close', now: 'step back, slowly' };
  const stretches = result.stretches.map((stretch) => ({ ...stretch, because }));
  const [row] = await rowsOf(toMarkersCsv({ ...result, stretches }));
  expect(row!.sentence).toBe(
    'with care: a "leaf", close 41 °/s (from 30 °/s); caused by the operator; now: step back, slowly; next time: turn more slowly',
  );
});
