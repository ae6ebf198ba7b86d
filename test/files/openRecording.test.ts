import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { openRecording, readMotionLogFile, readTrackFile } from '../../src/files/openRecording.js';
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
