import { describe, expect, test } from 'vitest';
import { axesFromWords, directionFromWord } from '../../src/read/axes.js';
import { complaint } from '../complaint.js';
import { type AxisWords, DIRECTION, handedness, sentence, TRIPLES, WORDS } from './fileAxes.js';

const perpendicular = TRIPLES.filter((words) => handedness(words) !== 0);

describe('axesFromWords', () => {
  test('of 216 ways to name three axes, the 48 perpendicular ones are axes', () => {
    expect(perpendicular).toHaveLength(48);
    for (const words of perpendicular) {
      const { matrix, mirrored } = axesFromWords(sentence(words), 'camera');
      words.forEach((word, column) => {
        const along = [0, 3, 6].map((row) => matrix[row + column]);
        expect(along).toEqual([...DIRECTION[word]]);
      });
      expect(mirrored).toBe(handedness(words) < 0);
    }
  });

  test('all others are refused, and the error shows a line to write', () => {
    for (const words of TRIPLES.filter((triple) => handedness(triple) === 0)) {
      const text = sentence(words);
      expect(() => axesFromWords(text, 'sensor')).toThrow(
        complaint('mapping/axes', `found "axes sensor: ${text}"`),
      );
      expect(() => axesFromWords(text, 'sensor')).toThrow(
        'write for example "axes sensor: x right, y down, z forward"',
      );
    }
  });

  test.each<AxisWords>([
    ['right', 'up', 'back'],
    ['right', 'down', 'forward'],
    ['right', 'forward', 'up'],
    ['forward', 'left', 'up'],
  ])('x %s, y %s, z %s are right-handed', (...words) => {
    expect(axesFromWords(sentence(words), 'camera').mirrored).toBe(false);
  });

  test.each<AxisWords>([
    ['right', 'back', 'up'],
    ['forward', 'right', 'up'],
  ])('x %s, y %s, z %s are left-handed', (...words) => {
    expect(axesFromWords(sentence(words), 'camera').mirrored).toBe(true);
  });

  test('the points of the compass lie where a heading of zero looks north', () => {
    for (const words of perpendicular) {
      expect(axesFromWords(sentence(words, true), 'world')).toEqual(
        axesFromWords(sentence(words), 'world'),
      );
    }
  });

  test('the order of the axes in the sentence does not matter', () => {
    expect(axesFromWords('z forward, x right, y down', 'camera')).toEqual(
      axesFromWords('x right, y down, z forward', 'camera'),
    );
  });

  test.each([
    'x right, y up',
    'x right, y up, z back, x left',
    'x right, x up, z back',
    'x rightwards, y up, z back',
    'right, up, back',
    'w right, y up, z back',
    'x constructor, y up, z back',
    '',
  ])('"%s" is not three axes', (words) => {
    expect(() => axesFromWords(words, 'camera')).toThrow(
      complaint('mapping/axes', `found "axes camera: ${words}"`),
    );
  });
});

test('only words for directions have a direction', () => {
  for (const word of WORDS) expect(directionFromWord(word)).toEqual(DIRECTION[word]);
  for (const word of ['x', 'Right', 'upwards', 'toString', '']) {
    expect(directionFromWord(word)).toBeUndefined();
  }
});
