import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { readMatchesFile } from '../../src/files/readMatches.js';
import { largestGap } from '../apart.js';
import { complaint } from '../complaint.js';
import { temporaryFolder } from '../temporaryFolder.js';

const DIRECTIONS = 'left_x,left_y,left_z,right_x,right_y,right_z';
const POINTS = 'left_x_px,left_y_px,right_x_px,right_y_px';
const PICTURE = {
  lens: { fieldDeg: 180, mapping: { law: 'equidistant' } },
  circle: { centrePx: [2048, 2048], diameterPx: 4096 },
} as const;

function file(text: string): string {
  const path = join(temporaryFolder(), 'blooms.csv');
  writeFileSync(path, text);
  return path;
}

describe('matches from a table', () => {
  test('of directions become unit vectors', async () => {
    const path = file(`${DIRECTIONS}\n0,0,-1,0.1,0,-1\n3,0,-4,0,5,-12\n`);
    const { left, right } = await readMatchesFile(path);
    expect([...left]).toEqual([0, 0, -1, 0.6, 0, -0.8]);
    const s = Math.hypot(0.1, 1);
    // Quotients round by one epsilon.
    expect(largestGap(right, [0.1 / s, 0, -1 / s, 0, 5 / 13, -12 / 13])).toBeLessThan(3e-16);
  });

  test('are found by the names of the columns, whatever their order', async () => {
    const path = file('right_z,n,left_x,left_y,left_z,right_x,right_y\n-1,7,1,0,0,0,0\n');
    const { left, right } = await readMatchesFile(path);
    expect([...left]).toEqual([1, 0, 0]);
    expect([...right]).toEqual([0, 0, -1]);
  });

  test('of points become directions by lens and image circle', async () => {
    const path = file(`${POINTS}\n2048,2048,4096,2048\n2048,0,1024,2048\n`);
    const { left, right } = await readMatchesFile(path, PICTURE);
    expect(largestGap(left, [0, 0, -1, 0, 1, 0])).toBeLessThan(1e-15);
    expect(largestGap(right, [1, 0, 0, -Math.SQRT1_2, 0, -Math.SQRT1_2])).toBeLessThan(1e-15);
  });

  test('quoted cells are read as well', async () => {
    const quoted = DIRECTIONS.replace(/\w+/g, '"$&"');
    const { left } = await readMatchesFile(file(`${quoted}\n"0","0","-2",0,0,-1\n`));
    expect([...left]).toEqual([0, 0, -1]);
  });
});

describe('a table that cannot be used is refused in one sentence', () => {
  test.each<[string, string, string]>([
    [
      'without the columns',
      'x,y\n1,2\n',
      'blooms.csv: found the columns x, y, expected left_x,left_y',
    ],
    [
      'of points without a picture',
      `${POINTS}\n1,2,3,4\n`,
      'right_y_px and no image circle, expected',
    ],
    [
      'with a direction of no length',
      `${DIRECTIONS}\n0,0,-1,0,0,-1\n0,0,-1,0,0,0\n`,
      'blooms.csv, row 3, column "right_x": found a direction of length 0',
    ],
    [
      'with a cell that is no number',
      `${DIRECTIONS}\n0,0,-1,0,dew,-1\n`,
      'blooms.csv, row 2, column "right_y": found "dew"',
    ],
    ['with no row', `${DIRECTIONS}\n`, 'blooms.csv: found a header and no rows'],
  ])('%s', async (_, text, words) => {
    const refused = expect.objectContaining({
      name: 'TwinkeelError',
      message: expect.stringContaining(words),
    });
    await expect(readMatchesFile(file(text))).rejects.toThrow(refused);
  });

  test('with a point outside the image circle, which shows nothing', async () => {
    const path = file(`${POINTS}\n2048,2048,2048,2048\n100,100,2048,2048\n`);
    await expect(readMatchesFile(path, PICTURE)).rejects.toThrow(complaint('read/cell', 'row 3'));
  });

  test('that is not there', async () => {
    await expect(readMatchesFile(join(temporaryFolder(), 'gone.csv'))).rejects.toThrow(
      complaint('file/missing', 'gone.csv'),
    );
  });
});
