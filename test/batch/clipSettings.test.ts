import { readFileSync, writeFileSync } from 'node:fs';
import { join, posix } from 'node:path';
import { describe, expect, test } from 'vitest';
import { entryNameOf, settingsFromOptions } from '../../src/batch/checkSettings.js';
import { loadSettings, parseFlip } from '../../src/batch/clipSettings.js';
import { readManifest } from '../../src/batch/manifest.js';
import {
  type ClipSettings,
  namedFiles,
  optionOf,
  SETTING_NAMES,
  SETTINGS,
  type SettingKey,
} from '../../src/batch/settings.js';
import { UsageError } from '../../src/batch/usage.js';
import { toCsv } from '../../src/handoff/csv.js';
import { toJson } from '../../src/handoff/json.js';
import { originalTimes } from '../../src/track/retiming.js';
import { largestGap } from '../apart.js';
import { complaint } from '../complaint.js';
import { resultOf } from '../handoff/results.js';
import { temporaryFolder } from '../temporaryFolder.js';
import { turn } from '../turns.js';

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
      '--clap: found "60", expected the frame of the clip and the second of the log, such as 132@7.25',
    ],
  ])('%s is a wrong call', async (_, options, message) => {
    await expect(hint(options)).rejects.toThrow(message);
  });
});

/** Corrections of frames 40 to 139 at 25 frames per second, as a file. */
function earlierFile(): string {
  const path = join(temporaryFolder(), 'first.corrections.csv');
  writeFileSync(path, toCsv(earlierResult()));
  return path;
}

function earlierResult() {
  const indexes = Array.from({ length: 100 }, (_, k) => k);
  return resultOf({
    intended: indexes.map(() => [0, 0, 0, 1]),
    corrections: indexes.map((k) => turn([1, 0, 0], 0.001 * k).q),
    rate: { numerator: 25, denominator: 1 },
  });
}

const earlierOf = async (settings: ClipSettings) => {
  const { correct } = await loadSettings({ rate: '25', earlier: earlierFile(), ...settings });
  return correct.earlier![0]!;
};

describe('settings of a clip', () => {
  test('a command line’s options have their kinds and names', () => {
    const options = {
      level: '0.5',
      'level-at': '3',
      limit: 'none',
      rig: 'rig.json',
      uncovered: '0.1',
      log: 'gyro.csv',
      'log-offset': '-2',
      earlier: 'k.csv',
      trim: '1..9',
      out: 'elsewhere',
      force: true,
    };
    expect(settingsFromOptions(options)).toEqual({
      level: 0.5,
      levelAt: 3,
      limit: 'none',
      rig: 'rig.json',
      uncovered: 0.1,
      log: 'gyro.csv',
      logOffset: -2,
      earlier: 'k.csv',
      trim: '1..9',
    });
  });

  test('the files that they name are listed, to be spared', () => {
    const settings = { mapping: 'how.txt', earlier: 'k.csv', retime: 'ramp.csv', trim: '1..2' };
    expect(namedFiles(settings)).toEqual(['how.txt', 'k.csv', 'ramp.csv']);
  });

  test.each<[Readonly<Record<string, unknown>>, string]>([
    [{ trim: '1..2' }, '--trim: found "1..2" without --earlier, expected both or neither'],
    [
      { retime: 'ramp.csv' },
      '--retime: found "ramp.csv" without --earlier, expected both or neither',
    ],
    [
      { trim: '1..2', retime: 'ramp.csv', earlier: 'k.csv' },
      '--trim: found "1..2" beside --retime, expected one of them',
    ],
    [
      { format: 'pollen' },
      '--format: found "pollen", expected one of tum, euroc-pose, euroc-imu, kitti, opentrackio',
    ],
    [{ flip: 'pan,yaw' }, '--flip: found "pan,yaw", expected pan, tilt, roll, with commas where'],
    [{ level: 2 }, '--level: found 2, expected a share from 0 to 1'],
    [{ picture: 'flat' }, '--picture: found "flat", expected one of half-equirect, fisheye'],
    [{ nearest: 1 }, '--nearest: found 1 without --rig, expected both or neither'],
    [
      { nearest: 0, rig: 'rig.json' },
      '--nearest: found 0, expected a distance from 0.05 to 10000 m',
    ],
  ])('%j is refused', async (settings, words) => {
    await expect(loadSettings(settings)).rejects.toThrow(words);
    await expect(loadSettings(settings)).rejects.toBeInstanceOf(UsageError);
  });

  test('the nearest subject of a clip takes the place of that of its rig, and is no longer assumed', async () => {
    const rig = join(temporaryFolder(), 'rig.json');
    writeFileSync(rig, '{"interaxialMm":60}');
    const loaded = await loadSettings({ rig, nearest: 0.4 });
    expect(loaded.correct.rig).toMatchObject({ interaxialMm: 60, nearestSubjectM: 0.4 });
    expect(loaded.rig!.assumed).not.toContain('nearestSubjectM');
    expect((await loadSettings({ rig })).rig!.assumed).toContain('nearestSubjectM');
  });

  test('a name from elsewhere stands in the refusal', async () => {
    const manifest = loadSettings({ trim: '1..2' }, entryNameOf);
    await expect(manifest).rejects.toThrow(
      '"trim": found "1..2" without "earlier", expected both or neither',
    );
  });

  test.each<[SettingKey, string | number, string]>([
    ['level', 2, '2'],
    ['level', 'full', 'full'],
    ['limit', 0, '0'],
    ['limit', 'non', 'non'],
    ['uncovered', 1.5, '1.5'],
    ['shot', 'traveling', 'traveling'],
    ['picture', 'flat', 'flat'],
    ['filter', 'splin', 'splin'],
    ['flip', 'yaw', 'yaw'],
    ['format', 'tom', 'tom'],
    ['shortestMove', 0.1, '0.1'],
    ['nearest', 0, '0'],
    ['clap', '7.25', '7.25'],
    ['rate', '59.94', '59.94'],
  ])(
    '%s %j is refused in the same sentence on the command line and in a manifest',
    (key, value, text) => {
      const path = join(temporaryFolder(), 'shoot.json');
      const manifest = {
        format: 'twinkeel-shoot',
        version: 1,
        clips: [{ file: 'a', [key]: value }],
      };
      writeFileSync(path, JSON.stringify(manifest));
      const sentence = (call: () => unknown) => {
        try {
          call();
        } catch (error) {
          return (error as Error).message;
        }
        return 'taken';
      };
      const own = sentence(() => settingsFromOptions({ [optionOf(key)]: text }));
      const where = `--${optionOf(key)}: `;
      expect(own.startsWith(where)).toBe(true);
      expect(sentence(() => readManifest(path))).toContain(
        `${path}, column "clips[0].${key}": ${own.slice(where.length)}`,
      );
    },
  );

  test('what the help loads of the table stays light: none of the rooms that compute', () => {
    const seen = new Set<string>();
    const follow = (file: string) => {
      if (seen.has(file)) return;
      seen.add(file);
      const source = readFileSync(new URL(`../../src/${file}`, import.meta.url), 'utf8');
      for (const [, what, from] of source.matchAll(
        /^(?:import|export) ([^;]*?) from '([^']+)';/gms,
      )) {
        if (what!.startsWith('type ')) continue;
        expect(from).toMatch(/^\./);
        follow(posix.join(posix.dirname(file), from!).replace(/\.js$/, '.ts'));
      }
    };
    follow('batch/settings.ts');
    expect([...seen].sort()).toEqual([
      ...['batch/settingKinds.ts', 'batch/settingWords.ts', 'batch/settings.ts', 'error.ts'],
      ...['motion/shortestMoves.ts', 'rig/nearestSubject.ts', 'track/frameRate.ts'],
    ]);
  });

  test('what a setting needs or stands instead of is a setting', () => {
    for (const key of SETTING_NAMES) {
      const { needs, insteadOf, commands } = SETTINGS[key];
      for (const other of [needs, insteadOf]) {
        if (other === undefined) continue;
        expect(SETTING_NAMES).toContain(other);
        // Whoever takes the one takes the other.
        expect(SETTINGS[other].commands ?? []).toEqual(commands ?? []);
      }
    }
  });

  test('format and signs go to the reader', async () => {
    const { read } = await loadSettings({ format: 'opentrackio', flip: 'pan,roll', rate: '25' });
    expect(read).toMatchObject({
      format: 'opentrackio',
      signs: { pan: -1, roll: -1 },
      frameRate: { numerator: 25, denominator: 1 },
    });
  });

  test('signs that are turned round are named with commas', () => {
    expect(parseFlip('tilt')).toEqual({ tilt: -1 });
    expect(parseFlip(undefined)).toEqual({});
    expect(() => parseFlip('pan,,roll')).toThrow('found "pan,,roll", expected pan, tilt, roll');
  });
});

describe('earlier corrections and how their footage was cut', () => {
  const shown = async (settings: ClipSettings, times: readonly number[]) => {
    const { retiming } = await earlierOf(settings);
    return originalTimes(retiming!, Float64Array.from(times));
  };
  // Seconds from frame 40 of frames 50 and 90: 10/25 and 50/25.
  const WANTED = [0.4, 2];

  test('a trim by frame numbers', async () => {
    expect(largestGap(await shown({ trim: '50..90' }, [0, 1.6]), WANTED)).toBeLessThan(1e-12);
  });

  test('a trim by time codes of the original', async () => {
    const trim = '01:00:00:10..01:00:02:00';
    const times = await shown({ trim, timecode: '01:00:00:00' }, [0, 1.6]);
    expect(largestGap(times, WANTED)).toBeLessThan(1e-12);
  });

  test('an end that is left out is that of the corrections', async () => {
    // Frame 139 is 99/25 s after frame 40.
    expect(largestGap(await shown({ trim: '50..' }, [0, 3.56]), [0.4, 3.96])).toBeLessThan(1e-12);
    expect(largestGap(await shown({ trim: '..90' }, [0, 2]), [0, 2])).toBeLessThan(1e-12);
  });

  test('a ramp from a file', async () => {
    const retime = join(temporaryFolder(), 'ramp.csv');
    writeFileSync(retime, 'edit_s,original_s\n0,0.4\n1,1.4\n2,3.4\n');
    expect(largestGap(await shown({ retime }, [0.5, 1.5]), [0.9, 2.4])).toBeLessThan(1e-12);
  });

  test('without a cut there is no retiming', async () => {
    const earlier = await earlierOf({});
    expect(earlier).not.toHaveProperty('retiming');
    expect(earlier.frames![0]).toBe(40);
  });

  test('the rate of a trim may stand in the mapping', async () => {
    const mapping = join(temporaryFolder(), 'how.txt');
    writeFileSync(
      mapping,
      'time: column "n" frames at 25\nquaternion: w "w" x "x" y "y" z "z" sense camera-to-world\n',
    );
    const { correct } = await loadSettings({ earlier: earlierFile(), trim: '50..90', mapping });
    expect(correct.earlier![0]!.frameRate).toEqual({ numerator: 25, denominator: 1 });
    expect(correct).not.toHaveProperty('frameRate');
    const times = originalTimes(correct.earlier![0]!.retiming!, Float64Array.of(0, 1.6));
    expect(largestGap(times, WANTED)).toBeLessThan(1e-12);
  });

  test('a result is taken as well as its corrections, and knows its own rate', async () => {
    const path = join(temporaryFolder(), 'first.result.json');
    writeFileSync(path, toJson(earlierResult()));
    const { correct } = await loadSettings({ earlier: path, trim: '50..90' });
    const [earlier] = correct.earlier!;
    expect(earlier!.quaternions).toEqual(earlierResult().corrections.quaternions);
    expect(earlier!.frameRate).toEqual({ numerator: 25, denominator: 1 });
    const times = originalTimes(earlier!.retiming!, Float64Array.of(0, 1.6));
    expect(largestGap(times, WANTED)).toBeLessThan(1e-12);
  });

  test('a result of another kind is refused, naming its file', async () => {
    const path = join(temporaryFolder(), 'first.result.json');
    writeFileSync(path, '{"trellis":1}');
    await expect(loadSettings({ earlier: path })).rejects.toThrow('first.result.json: found JSON');
  });

  test('a trim needs the rate of the original', async () => {
    const settings = { earlier: earlierFile(), trim: '50..90' };
    await expect(loadSettings(settings)).rejects.toThrow('--trim needs --rate');
  });

  test('a ramp that stands still is refused, naming its file', async () => {
    const retime = join(temporaryFolder(), 'ramp.csv');
    writeFileSync(retime, 'edit_s,original_s\n0,0.4\n1,0.4\n');
    await expect(earlierOf({ retime })).rejects.toThrow(
      complaint('argument/invalid', 'ramp.csv: found 1, 0.4 after 0, 0.4 in a retiming'),
    );
  });
});
