import { expect, test } from 'vitest';
import { nextAfterHandoff } from '../../src/batch/nextCommand.js';

const done = { file: 'corrected/aisle.result.json', stem: 'aisle', folder: 'out' } as const;

test('after the ffmpeg files comes their script', () => {
  expect(nextAfterHandoff({ ...done, targets: ['csv', 'ffmpeg'] })).toBe(
    'sh out/aisle.ffmpeg/steady.sh MOVIE aisle.steady.mov',
  );
});

test('after everything else comes the movie, of the part that was handed over', () => {
  expect(nextAfterHandoff({ ...done, targets: ['otio'] })).toBe(
    'twinkeel resample MOVIE --result corrected/aisle.result.json --out aisle.steady.mkv',
  );
  const part = { trim: '01:00:00;00..', timecode: '00:59:00;00' };
  expect(nextAfterHandoff({ ...done, ...part, targets: ['csv'] })).toBe(
    "twinkeel resample MOVIE --result corrected/aisle.result.json --frames '01:00:00;00..' --timecode '00:59:00;00' --out aisle.steady.mkv",
  );
});

test('names that a shell would take apart stand in quotes', () => {
  const odd = {
    ...done,
    file: "bed's end.result.json",
    stem: "bed's end",
    targets: ['csv'],
  } as const;
  expect(nextAfterHandoff(odd)).toBe(
    "twinkeel resample MOVIE --result 'bed'\\''s end.result.json' --out 'bed'\\''s end.steady.mkv'",
  );
});
