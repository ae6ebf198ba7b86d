/**
 * Twice the bytes take about twice the time, whatever they are: each pattern once took the square of
 * its length, or is of the kind that does.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { readQuotedTable } from '../../src/files/quotedTable.js';
import { readersIn } from './readers.js';

const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const READERS = readersIn(folder);

const HEADER = 'time_s,x,y,z,w\n';
const SAMPLES =
  '#usda 1.0\n    timeCodesPerSecond = 60\ndef Xform "intended"\nxformOp:orient.timeSamples = {\n';

/** Reader, what stands before, what is repeated, what stands behind. */
const PATTERNS: readonly (readonly [string, string, string, string])[] = [
  ['quoted', HEADER, '0,"a\n', ''],
  ['quoted', `${HEADER}"`, 'x\n', ''],
  ['readTrack', '', '1', 'x,y\n1,2\n'],
  ['readTrack', '', 'q', ',y\n1,2\n'],
  ['readTrack', '', 'g ', 'y\n1 2\n'],
  ['readTrack', '', 'time', ',y\n1,2\n'],
  ['readTrack', '', '00:00:00', '\n'],
  ['readTrack', '{}', '\n', ''],
  ['readTrack', '{', '} ', '\n'],
  ['readTrack', '{"a":1}', ' \n', 'x'],
  ['readTrack', '', '[', ''],
  ['readTrack', '', '{"a":', ''],
  ['readTrack', HEADER, ' ', ''],
  ['readTrack', HEADER, '"', ''],
  ['readUsda', SAMPLES, '1', '}'],
  ['readUsda', SAMPLES, '1: (', '}'],
  ['readUsda', SAMPLES, '1: (1, ', '}'],
  ['readUsda', '', '\n', '}'],
  ['readUsda', '', ' ', 'timeCodesPerSecond'],
  ['readGltf of text', '{"buffers":[{"uri":"data:', ';base64', '"}]}'],
  ['parseMapping', 'time: ', 'column "', ''],
  ['parseMapping', 'angles: ', 'then ', ''],
  ['parseMapping', '', '"', ''],
  ['parseMapping', 'quaternion: ', ' sense', ''],
  ['readCorrections', 'frame,time_s,x,y,z,w\n', '1', ''],
  ['readResult', '', '[', ''],
  ['readOpenTrackIo', '{}', '\n', ''],
];

async function secondsOf(reader: string, bytes: Uint8Array): Promise<number> {
  const start = performance.now();
  try {
    await (reader === 'quoted' ? readQuotedTable(bytes) : READERS[reader]!.read(bytes));
  } catch {
    // Whether it is refused, and how, is for others to test.
  }
  return (performance.now() - start) / 1000;
}

test.each(PATTERNS)('%s: %j and again %j', async (reader, before, unit, behind) => {
  const ofSize = (size: number) =>
    Buffer.from(before + unit.repeat(Math.ceil(size / unit.length)) + behind);
  /** The least of three, which another process did not slow down. */
  const least = async (size: number) => {
    const bytes = ofSize(size);
    const all = [];
    for (let k = 0; k < 3; k++) all.push(await secondsOf(reader, bytes));
    return Math.min(...all);
  };
  // Eight times the length: 8 where it is linear, 64 where it is the square. What a call costs in any
  // case and pauses of the machine are given a hundredth of a second.
  const [short, long] = [await least(2 ** 14), await least(2 ** 17)];
  expect(long).toBeLessThan(24 * (short + 0.01));
});
