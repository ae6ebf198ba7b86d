import { describe, expect, test } from 'vitest';
import { loadSettings, settingsFromOptions } from '../../src/batch/clipSettings.js';

describe('hints at when a log starts', () => {
  const hint = async (options: Record<string, string>) =>
    (await loadSettings(settingsFromOptions({ log: 'gyro.csv', ...options }))).log?.offset;

  test('none is needed', async () => {
    expect(await hint({})).toBeUndefined();
  });

  test('seconds are taken as they are', async () => {
    expect(await hint({ 'log-offset': '-1.5' })).toEqual({ value: -1.5, within: 5 });
  });

  test('two time codes give the frames between them, over the exact rate', async () => {
    const codes = { 'log-timecode': '01:00:00:00', timecode: '01:00:02:15', rate: '30000/1001' };
    // 75 frames of 1001/30000 s.
    expect((await hint(codes))?.value).toBeCloseTo(2.5025, 12);
  });

  test('drop-frame codes leave out two labels at the full minute (SMPTE ST 12-1)', async () => {
    const codes = { 'log-timecode': '00:00:59;29', timecode: '00:01:00;02', rate: '30000/1001' };
    expect((await hint(codes))?.value).toBeCloseTo(1001 / 30000, 12);
  });

  test('a clap at frame 60 of the clip and at 8 s of the log starts the log 7 s earlier at 60 per second', async () => {
    expect(await hint({ clap: '60@8', rate: '60' })).toEqual({ value: 7, within: 0.5 });
  });

  test.each<[string, Record<string, string>, string]>([
    ['a clap without a rate', { clap: '60@8' }, '--clap needs --rate'],
    [
      'a time code without a rate',
      { 'log-timecode': '00:00:00:00' },
      '--log-timecode needs --rate',
    ],
    [
      'a time code of the log alone',
      { 'log-timecode': '00:00:00:00', rate: '25' },
      '--log-timecode needs --timecode',
    ],
    [
      'a clap in other words',
      { clap: '60', rate: '25' },
      '--clap 60 is not the frame of the clip and the second of the log, such as 132@7.25',
    ],
  ])('%s is a wrong call', async (_, options, message) => {
    await expect(hint(options)).rejects.toThrow(message);
  });
});
