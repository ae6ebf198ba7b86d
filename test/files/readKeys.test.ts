import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { readAimFile, readMarkersFile } from '../../src/files/readKeys.js';
import { complaint } from '../complaint.js';
import { temporaryFolder } from '../temporaryFolder.js';

function keyFile(text: string): string {
  const path = join(temporaryFolder(), 'keys.csv');
  writeFileSync(path, text);
  return path;
}

describe('readAimFile', () => {
  test('aim keys are read in degrees and given in radians', async () => {
    const path = keyFile('time_s,heading_deg,tilt_deg,roll_deg\n0,90,-45,0\n2.5,180,0,30\n');
    expect(await readAimFile(path)).toEqual([
      { time: 0, heading: Math.PI / 2, tilt: -Math.PI / 4, roll: 0 },
      { time: 2.5, heading: Math.PI, tilt: 0, roll: 30 * (Math.PI / 180) },
    ]);
  });

  test('without a roll column the roll of the path is left alone', async () => {
    const [key] = await readAimFile(keyFile('tilt_deg;time_s;heading_deg\n0;1;0\n'));
    expect(key).toEqual({ time: 1, heading: 0, tilt: 0 });
  });

  test.each([
    ['time_s,tilt_deg\n0,0\n', 'mapping/column', ': found the columns time_s, tilt_deg, expected'],
    ['0,0,0\n', 'mapping/column', ': found the columns (no header), expected a column time_s'],
    [
      'time_s,heading_deg,tilt_deg\n0,0,0\n1,left,0\n',
      'read/cell',
      ', row 3, column "heading_deg"',
    ],
    ['', 'read/empty', ': found an empty file'],
  ] as const)('%j is refused by file and place', async (text, code, words) => {
    const path = keyFile(text);
    await expect(readAimFile(path)).rejects.toThrow(complaint(code, `${path}${words}`));
  });
});

describe('readMarkersFile', () => {
  test('stretches are read with what the operator meant there', async () => {
    const path = keyFile('from_s,to_s,intent\n0,2.5,hold\n4,"6","move"\n');
    expect(await readMarkersFile(path)).toEqual([
      { from: 0, to: 2.5, intent: 'hold' },
      { from: 4, to: 6, intent: 'move' },
    ]);
  });

  test.each([
    [
      'from_s,to_s,intent\n0,1,hold\n2,3,wait\n',
      'read/cell',
      ', row 3, column "intent": found "wait"',
    ],
    ['from_s,intent\n0,hold\n', 'mapping/column', ': found the columns from_s, intent, expected'],
  ] as const)('%j is refused by file and place', async (text, code, words) => {
    const path = keyFile(text);
    await expect(readMarkersFile(path)).rejects.toThrow(complaint(code, `${path}${words}`));
  });
});
