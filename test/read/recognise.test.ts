import { describe, expect, test } from 'vitest';
import type { TwinkeelError } from '../../src/error.js';
import { readMotionLog } from '../../src/read/readMotionLog.js';
import { readTrack } from '../../src/read/readTrack.js';
import { mappedKind, recogniseHeader } from '../../src/read/recognise.js';
import { complaint } from '../complaint.js';

/** The sentences that the refusal of a file suggests. */
function suggested(read: () => unknown): string {
  try {
    read();
  } catch (error) {
    const { code, remedy } = error as TwinkeelError;
    expect(code).toBe('read/unknown-layout');
    return remedy.split(/--mapping[^\n]*:\n/)[1]!;
  }
  throw new Error('the file was read');
}

const kindOf = (header: string) => {
  const mapping = recogniseHeader(header.split(','));
  return mapping && mappedKind(mapping);
};

describe('recogniseHeader', () => {
  test.each([
    ['time_s,x,y,z,w', 'track'],
    ['frame,time_s,x,y,z,w', 'track'],
    ['time_s,gx,gy,gz', 'log'],
    ['time_s,gx,gy,gz,ax,ay,az', 'log'],
  ])('our own header %s is a %s', (header, kind) => {
    expect(kindOf(header)).toBe(kind);
  });

  test.each([
    'time_s,w,x,y,z',
    'time,x,y,z,w',
    'time_s,x,y,z,w,note',
    'time_s,x,y,z',
    'frame,x,y,z,w',
  ])('%s is not recognised, however near', (header) => {
    expect(kindOf(header)).toBeUndefined();
  });

  test('a file without a header is not recognised', () => {
    expect(recogniseHeader(undefined)).toBeUndefined();
  });
});

describe('a file with an unknown layout', () => {
  test('the columns that were found are named', () => {
    expect(() => readTrack('stamp,qw,qx,qy,qz\n0,1,0,0,0\n')).toThrow(
      complaint('read/unknown-layout', 'the columns "stamp", "qw", "qx", "qy", "qz", expected'),
    );
    expect(() => readTrack('0,1,0,0,0\n')).toThrow('5 columns without a header');
  });

  test('the suggested sentences for a track read it as it stands', () => {
    const text = 'stamp,rot_w,rot_x,rot_y,rot_z\n0,1,0,0,0\n1,0,1,0,0\n';
    const track = readTrack(text, { mapping: suggested(() => readTrack(text)) });
    expect([...track.times]).toEqual([0, 1]);
  });

  test('the suggested sentences for a log read it as it stands', () => {
    const text = 'time [s],gx,gy,gz,acc_x,acc_y,acc_z\n0,1,2,3,4,5,6\n1,1,2,3,4,5,6\n';
    const log = readMotionLog(text, { mapping: suggested(() => readMotionLog(text)) });
    expect([...log.rate.subarray(0, 3)]).toEqual([1, 2, 3]);
    expect([...log.acceleration!.subarray(0, 3)]).toEqual([4, 5, 6]);
  });

  test('no column is suggested for two axes', () => {
    const text = 'time [s],gyro_x,gyro_y,gyro_z\n0,1,2,3\n1,1,2,3\n';
    expect(suggested(() => readMotionLog(text))).toMatch('x "gyro_x" y "gyro_y" z "gyro_z"');
  });

  test('positions are not suggested as components of a quaternion', () => {
    const text = 't,x,y,z,qx,qy,qz,qw\n0,1,2,3,0,0,0,1\n1,1,2,3,0,0,0,1\n';
    expect(suggested(() => readTrack(text))).toMatch('x "qx" y "qy" z "qz" w "qw"');
  });

  test('a column that cannot be told is left for the person to fill in', () => {
    expect(suggested(() => readTrack('when,a,b,c,d\n0,0,0,0,1\n'))).toMatch(
      /^ {2}time: column "TIME" unit s\n {2}quaternion: x "QX" y "QY" z "QZ" w "QW"/,
    );
  });

  test('without a header the columns are suggested by number', () => {
    const text = '0,0,0,0,1\n1,0,0,0,1\n';
    expect(suggested(() => readTrack(text))).toMatch(/time: column 1 unit s/);
  });
});
