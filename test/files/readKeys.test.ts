import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { readAimFile } from '../../src/files/readKeys.js';
import { complaint } from '../complaint.js';
import { temporaryFolder } from '../temporaryFolder.js';

function aimFile(text: string): string {
  const path = join(temporaryFolder(), 'aim.csv');
  writeFileSync(path, text);
  return path;
}

test('aim keys are read in degrees and given in radians', async () => {
  const path = aimFile('time_s,heading_deg,tilt_deg,roll_deg\n0,90,-45,0\n2.5,180,0,30\n');
  expect(await readAimFile(path)).toEqual([
    { time: 0, heading: Math.PI / 2, tilt: -Math.PI / 4, roll: 0 },
    { time: 2.5, heading: Math.PI, tilt: 0, roll: 30 * (Math.PI / 180) },
  ]);
});

test('without a roll column the roll of the path is left alone', async () => {
  const [key] = await readAimFile(aimFile('tilt_deg;time_s;heading_deg\n0;1;0\n'));
  expect(key).toEqual({ time: 1, heading: 0, tilt: 0 });
});

test.each([
  [
    'time_s,heading,tilt_deg\n0,0,0\n',
    'mapping/column',
    ': found the columns time_s, heading, tilt_deg',
  ],
  ['0,0,0\n', 'mapping/column', ': found the columns (no header)'],
  ['time_s,heading_deg,tilt_deg\n0,0,0\n1,left,0\n', 'read/cell', ', row 3, column "heading_deg"'],
  ['', 'read/empty', ': found an empty file'],
] as const)('%j is refused by file and place', async (text, code, words) => {
  const path = aimFile(text);
  await expect(readAimFile(path)).rejects.toThrow(complaint(code, `${path}${words}`));
});
