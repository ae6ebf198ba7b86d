import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { readAimFile, readMarkersFile } from '../../src/files/readKeys.js';
import { parseFrameRate } from '../../src/track/frameRate.js';
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

/** 25 frames a second; the first one carries an hour. */
const CLOCK = { rate: parseFrameRate('25'), timecode: '01:00:00:00' };

describe('moments in frames or time codes', () => {
  test('aim keys at frames', async () => {
    const path = keyFile('frame,heading_deg,tilt_deg\n40,90,0\n65,0,-90\n');
    expect(await readAimFile(path)).toEqual([
      { frame: 40, heading: Math.PI / 2, tilt: 0 },
      { frame: 65, heading: 0, tilt: -Math.PI / 2 },
    ]);
  });

  test('aim keys at time codes, counted from that of the clip’s first frame', async () => {
    const path = keyFile('timecode,heading_deg,tilt_deg\n01:00:00:00,0,0\n01:00:02:05,0,0\n');
    const [first, second] = await readAimFile(path, CLOCK);
    expect(first).toMatchObject({ frame: { framesIn: 0, rate: CLOCK.rate } });
    expect(second).toMatchObject({ frame: { framesIn: 55, rate: CLOCK.rate } });
    // Of a second pass the number of the frame is known.
    const [, known] = await readAimFile(path, { ...CLOCK, firstFrame: 1000 });
    expect(known).toMatchObject({ frame: 1055 });
  });

  test('markers from frame to frame and from code to code', async () => {
    const frames = keyFile('from_frame,to_frame,intent\n40,90,hold\n');
    expect(await readMarkersFile(frames)).toEqual([{ fromFrame: 40, toFrame: 90, intent: 'hold' }]);
    const codes = keyFile('from_timecode,to_timecode,intent\n01:00:00:10,01:00:01:00,move\n');
    const { rate } = CLOCK;
    expect(await readMarkersFile(codes, CLOCK)).toEqual([
      { fromFrame: { framesIn: 10, rate }, toFrame: { framesIn: 25, rate }, intent: 'move' },
    ]);
  });

  test.each([
    [
      'timecode,heading_deg,tilt_deg\n01:00:00:00,0,0\n',
      { timecode: '01:00:00:00' },
      'argument/invalid',
      ', column "timecode": found time codes, expected an exact frame rate',
    ],
    [
      'timecode,heading_deg,tilt_deg\n01:00:00:00,0,0\n',
      { rate: CLOCK.rate },
      'argument/invalid',
      'expected the time code of the clip’s first frame, to count from; say it with --timecode',
    ],
    [
      'timecode,heading_deg,tilt_deg\n01:00:00:00,0,0\n01:00:00:25,0,0\n',
      CLOCK,
      'read/cell',
      ', row 3, column "timecode": found the time code "01:00:00:25"',
    ],
    [
      'timecode,heading_deg,tilt_deg\n01:00:00:00,0,0\n01:00:02;00,0,0\n',
      CLOCK,
      'read/cell',
      ', row 3, column "timecode": found the time code 01:00:02;00, expected one that counts as',
    ],
    [
      'frame,heading_deg,tilt_deg\n40.5,0,0\n',
      {},
      'read/cell',
      ', row 2, column "frame": found the frame 40.5, expected a whole number',
    ],
    [
      'frame,time_s,heading_deg,tilt_deg\n40,1,0,0\n',
      {},
      'mapping/column',
      ': found the columns time_s and frame, expected one way to say when',
    ],
  ] as const)('%j is refused by file and place', async (text, clock, code, words) => {
    const path = keyFile(text);
    await expect(readAimFile(path, clock)).rejects.toThrow(complaint(code, words));
    await expect(readAimFile(path, clock)).rejects.toThrow(path);
  });

  test('markers that begin one way and end another are refused', async () => {
    const path = keyFile('from_frame,to_s,intent\n40,2,hold\n');
    await expect(readMarkersFile(path)).rejects.toThrow(
      complaint('mapping/column', 'expected a column to_frame'),
    );
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
