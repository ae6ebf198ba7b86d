import { expect, test } from 'vitest';
import { readTrack } from '../../src/read/readTrack.js';
import { isUnitRow } from '../../src/read/unitRow.js';

test.each([
  [['s', 'deg', 'deg', 'deg']],
  [['[seconds]', '(degrees)', '{radians}', '<°>']],
  [['milliseconds', 'rad/sec', 'degrees/second', 'm/s^2']],
  [['frames', 'none', '-', 'n/a']],
  [['HH:MM:SS:FF', '°', '', '']],
  [['usec', 'dps', 'g', '°C']],
])('%j are units', (cells) => {
  expect(isUnitRow(cells)).toBe(true);
});

test.each([[['0', '1', '2']], [['moonflower', 's']], [['', '']], [['1', '-']], [['gs', 'degs/s']]])(
  '%j are no units',
  (cells) => {
    expect(isUnitRow(cells)).toBe(false);
  },
);

test('a row of units below the header is no row of the track', () => {
  const mapping =
    'time: column "t" unit ms\nangles: turn "a" degrees about up, then "b" degrees about right, then "c" degrees about back';
  const table = (units: string) => `t,a,b,c\n${units}0,0,0,0\n40,1,0,0\n`;
  expect(readTrack(table('milliseconds,degrees,degrees,degrees\n'), { mapping })).toEqual(
    readTrack(table(''), { mapping }),
  );
});
