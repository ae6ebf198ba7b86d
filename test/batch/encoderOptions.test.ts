import { describe, expect, test } from 'vitest';
import {
  defaultPicture,
  requireEnding,
  sortEncoderOptions,
} from '../../src/batch/encoderOptions.js';

describe('options for ffmpeg', () => {
  test('those of the sound and of the file go to the last run, the others to the picture', () => {
    const words =
      '-c:v prores_ks -profile:v 3 -c:a aac -b:a 192k -movflags +faststart -metadata title=x -qmin -1';
    expect(sortEncoderOptions(words.split(' '))).toEqual({
      picture: '-c:v prores_ks -profile:v 3 -qmin -1'.split(' '),
      join: '-c:a aac -b:a 192k -movflags +faststart -metadata title=x'.split(' '),
    });
  });

  test.each([
    [['out.mov'], 'found "out.mov"'],
    [['-c:v', 'ffv1', 'out.mov'], 'found "out.mov"'],
    [['-c:v'], 'found -c:v without a value'],
    [['-y', '-c:v', 'ffv1'], 'found -y without a value'],
    [['-c:v', '-crf'], 'found -c:v without a value'],
    ...['-r', '-vf', '-filter:v', '-ss', '-i', '-map', '-s', '-t', '-vsync', '-f', '-y'].map(
      (name): [string[], string] => [[name, 'x'], `found ${name}, expected options of the encoder`],
    ),
  ])('%j is refused', (words, found) => {
    expect(() => sortEncoderOptions(words)).toThrow(found);
  });

  test('a filter of the sound is the sound’s affair', () => {
    expect(sortEncoderOptions(['-filter:a', 'volume=2']).join).toEqual(['-filter:a', 'volume=2']);
  });
});

test('without options nothing is lost; mp4 files want to know', () => {
  expect(defaultPicture('a.mkv', false, 4096)).toContain('ffv1');
  expect(defaultPicture('a.mov', false, 256)).toContain('ffv1');
  expect(defaultPicture('a.mp4', true, 256)).toContain('libx264');
  expect(() => defaultPicture('a.MP4', false, 4096)).toThrow('found a.MP4 and no encoder');
});

test.each(['a', 'a.avi', '.mkv', 'mov'])('%s is no name of a movie', (name) => {
  expect(() => requireEnding(name)).toThrow('ending in .mkv, .mov, .mp4');
});

test.each(['a.mkv', 'a.MOV', 'b c.mp4'])('%s is', (name) => {
  expect(() => requireEnding(name)).not.toThrow();
});
