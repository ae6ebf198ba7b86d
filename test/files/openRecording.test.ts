import { mkdirSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import {
  openRecording,
  openTable,
  readMotionLogFile,
  readTrackFile,
} from '../../src/files/openRecording.js';
import { readMotionLog } from '../../src/read/readMotionLog.js';
import { readTrack } from '../../src/read/readTrack.js';
import { complaint } from '../complaint.js';
import { temporaryFolder } from '../temporaryFolder.js';

const TRACK = 'time_s,x,y,z,w\n0,0,0,0,1\n0.5,0,0.6,0,0.8\n';
const LOG = 'time_s,gx,gy,gz\n0,0,0.1,0\n0.5,0,0.2,0\n';
const quoted = (text: string) => text.replace(/[^,\n]+/g, '"$&"');

function fileOf(text: string): string {
  const path = join(temporaryFolder(), 'walk.csv');
  writeFileSync(path, text);
  return path;
}

describe('openRecording', () => {
  test('a track and a log are told apart by their header', async () => {
    expect(await openRecording(fileOf(TRACK))).toEqual({ kind: 'track', track: readTrack(TRACK) });
    expect(await openRecording(fileOf(LOG))).toEqual({ kind: 'log', log: readMotionLog(LOG) });
  });

  test('or by their mapping', async () => {
    const mapping =
      'time: column 1 unit s\nrate: x 2 y 3 z 4 deg/s\naxes sensor: x right, y up, z back';
    expect(await openRecording(fileOf('0,0,1,0\n1,0,1,0\n'), { mapping })).toMatchObject({
      kind: 'log',
    });
  });

  test('any other file is refused by name, with a mapping to start from', async () => {
    const path = fileOf('a,b\n0,1\n');
    await expect(openRecording(path)).rejects.toThrow(
      complaint('read/unknown-layout', `${path}: found the columns "a", "b"`),
    );
  });
});

describe('reading files', () => {
  test('quoted or not, a file says what its text says', async () => {
    for (const write of [quoted, (text: string) => text]) {
      expect(await readTrackFile(fileOf(write(TRACK)))).toEqual(readTrack(TRACK));
      expect(await readMotionLogFile(fileOf(write(LOG)))).toEqual(readMotionLog(LOG));
    }
  });

  test('JSON is no quoted table', async () => {
    const json = '\uFEFF {"time_s":[0,1],"x":[0,0],"y":[0,0],"z":[0,0],"w":[1,1]}';
    expect((await readTrackFile(fileOf(json))).times).toHaveLength(2);
  });

  test.each([
    ['a bad cell', TRACK.replace('0.6', 'six'), 'row 3, column "y": found "six"'],
    ['a bad quoted cell', quoted(TRACK.replace('0.6', 'six')), 'row 3, column "y": found "six"'],
    [
      'time that stands still',
      TRACK.replace('0.5,', '0,'),
      'row 3, column time: found the time 0 s',
    ],
    ['an empty file', '', 'found an empty file'],
  ])('%s is refused by file, row and column', async (_, text, words) => {
    const path = fileOf(text);
    const place = words.startsWith('row') ? `${path}, ` : `${path}: `;
    await expect(readTrackFile(path)).rejects.toThrow(`${place}${words}`);
  });

  test('a file that is not there is refused by its path', async () => {
    const path = join(temporaryFolder(), 'lost.csv');
    await expect(readTrackFile(path)).rejects.toThrow(
      complaint('file/missing', `${path}: found no such file, expected a readable file`),
    );
  });

  test('a folder is no file', async () => {
    const path = join(temporaryFolder(), 'walks');
    mkdirSync(path);
    await expect(readMotionLogFile(path)).rejects.toThrow(
      complaint('file/missing', `${path}: found a folder`),
    );
  });
});

describe('tables of several mebibytes', () => {
  const rows = Array.from({ length: 60_000 }, (_, k) => `${k / 64},0,${Math.sin(k / 1e4)},0,0.5`);
  const text = `time_s,x,y,z,w\n${rows.join('\n')}\n`;

  test('say what their text says, wherever pieces are cut', async () => {
    expect(text.length).toBeGreaterThan(2 ** 21);
    const table = await openTable(fileOf(text));
    expect(table.rowCount).toBe(rows.length);
    expect(table.lineOf(59_999)).toBe(60_001);
    expect(table.numbers(2)).toEqual(Float64Array.from(rows, (_, k) => Math.sin(k / 1e4)));
  });

  test('quotes in the last row still count', async () => {
    const table = await openTable(fileOf(`${text}937.5,"0","0","0","1"\n`));
    expect(table.numbers(4)[60_000]).toBe(1);
  });

  test('a remark may have quotes', async () => {
    const table = await openTable(fileOf(`# the "old" tank\n0,"1"\n# and\n1,2\n`));
    expect(table.texts(1)).toEqual(['1', '2']);
    expect((await openTable(fileOf('# a\nt,x\n0,1\n# the "old" tank\n1,2\n'))).rowCount).toBe(2);
  });

  test('a quoted name may hold a separator', async () => {
    const table = await openTable(fileOf('t,"x, to the right"\n0,1\n'));
    expect(table.header).toEqual(['t', 'x, to the right']);
  });

  test.each([
    ['JSON', '['],
    ['quoted cells', `"t","x"\n${'0,1\n'.repeat(2 ** 18)}`],
  ])('%s beyond 512 MiB are refused before they are read', async (kind, start) => {
    const path = fileOf(start);
    truncateSync(path, 2 ** 29);
    await expect(openTable(path)).rejects.toThrow(
      complaint('file/too-large', `${path}: found 512 MiB of ${kind}, expected at most 512 MiB`),
    );
  });
});
