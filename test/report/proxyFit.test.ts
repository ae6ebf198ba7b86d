import { describe, expect, test } from 'vitest';
import { type FoundMovie, FrameStamps, misfits } from '../../src/report/page/proxyFit.js';

const CLIP = { frameRate: { numerator: 60000, denominator: 1001 }, frames: 600 };
const RATE = 60000 / 1001;

const fitting = (): FoundMovie => ({
  ...{ durationS: 600 / RATE, width: 640, height: 320, stamps: new FrameStamps() },
});

/** Seeks as the preview does: the middle of a frame is asked for, the frame that is shown then comes. */
function seekThrough(stamps: FrameStamps, rate: number, frames: readonly number[]): void {
  for (const frame of frames) {
    const shown = Math.floor(((frame + 0.5) / RATE) * rate) / rate;
    // Some containers round stamps to a millisecond.
    stamps.sought(CLIP, frame, Math.round(1000 * shown) / 1000);
  }
}

describe('a movie beside its clip', () => {
  test('nothing is said of one that fits, stamps rounded to a millisecond or not', () => {
    const movie = fitting();
    seekThrough(movie.stamps, RATE, [0, 1, 2, 17, 301, 599]);
    for (let k = 0; k < 60; k++) movie.stamps.played(Math.round((1000 * k) / RATE) / 1000);
    expect(misfits(CLIP, movie, 'side-by-side')).toEqual([]);
  });

  test('nor of one that a slow machine shows every third frame of', () => {
    const movie = fitting();
    for (let k = 0; k < 60; k++) movie.stamps.played((3 * k) / RATE);
    expect(misfits(CLIP, movie, 'side-by-side')).toEqual([]);
  });

  test('a frame more or less is the container’s rounding, three are not', () => {
    const lasting = (frames: number) =>
      misfits(CLIP, { ...fitting(), durationS: frames / RATE }, 'side-by-side');
    expect([lasting(599), lasting(601)]).toEqual([[], []]);
    expect(lasting(603)).toEqual([
      'It lasts 0:10.1 min, the clip 0:10.0 min: 3 frames of the clip longer, so it may begin elsewhere.',
    ]);
    expect(lasting(480)[0]).toMatch(/: 120 frames of the clip shorter/);
  });

  test.each([
    ['half the rate', 30000 / 1001],
    ['24 frames per second', 24],
  ])('%s shows when a frame is asked for, and is named once it was played', (_, rate) => {
    const movie = fitting();
    seekThrough(movie.stamps, rate, [0, 1, 2, 3]);
    expect(misfits(CLIP, movie, 'side-by-side')).toEqual([
      'At 0.017 s it shows the frame of 0.000 s; the clip has 600 frames, 59.94 per second: make the proxy at the clip’s rate.',
    ]);
    for (let k = 0; k < 30; k++) movie.stamps.played(k / rate);
    expect(misfits(CLIP, movie, 'side-by-side')[0]).toContain(
      `It runs at ${rate.toFixed(2)} frames per second, some ${Math.round((600 / RATE) * rate)} in all;`,
    );
  });

  test('a faster one shows by playing', () => {
    const movie = fitting();
    for (let k = 0; k < 30; k++) movie.stamps.played(k / 120);
    expect(misfits(CLIP, movie, 'side-by-side')[0]).toContain(
      'It runs at 120.00 frames per second',
    );
  });

  test('a picture of the other order of eyes is named', () => {
    expect(misfits(CLIP, fitting(), 'top-bottom')).toEqual([
      'Its picture is 640 × 320, which looks like the other order of the eyes: side by side.',
    ]);
    expect(misfits(CLIP, { ...fitting(), height: 1280 }, 'side-by-side')[0]).toMatch(
      /top and bottom\.$/,
    );
  });
});
