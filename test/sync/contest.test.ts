import { describe, expect, test } from 'vitest';
import type { ClockLook } from '../../src/sync/clockLook.js';
import { contestBetween, explained } from '../../src/sync/contest.js';

const FRAMES = 100;

/** A look whose residual is 1 about one axis at some frames, and 0 elsewhere. */
function lookOf(misfit: number, frames: readonly number[]): ClockLook {
  const residual = new Float64Array(3 * FRAMES);
  for (const frame of frames) residual[3 * frame] = 1;
  const clock = { residual, weights: new Float64Array(FRAMES).fill(1) };
  return { misfit, motion: 0.1, trusted: FRAMES, clock } as unknown as ClockLook;
}

const close = (found: number, expected: number) =>
  // Sums of a hundred terms, and a logarithm.
  expect(Math.abs(found / expected - 1)).toBeLessThan(1000 * Number.EPSILON);

describe('the contest of two clocks', () => {
  test('what a clock explains is its frames times the logarithm of motion over misfit', () => {
    close(explained(lookOf(0.001, [50])), FRAMES * Math.log(100));
  });

  test('residuals without likeness count three axes of every frame', () => {
    const found = contestBetween(lookOf(0.001, [50]), lookOf(0.002, [50]));
    close(found, 3 * FRAMES * Math.log(2));
  });

  test('neighbours that share their residual count once', () => {
    const found = contestBetween(lookOf(0.001, [50, 51]), lookOf(0.002, [50]));
    // Likeness at one frame: one product over 99 pairs, against two over 100 frames; on both sides.
    const alike = 1 + 2 * (1 / 99 / (2 / 100));
    close(found, (3 * FRAMES * Math.log(2)) / alike);
  });

  test('no likeness is read from frames further apart than a fourth of the clip', () => {
    // Alike everywhere: the 24 lags below 25 frames count on both sides, and no more.
    const everywhere = lookOf(
      0.001,
      Array.from({ length: FRAMES }, (_, k) => k),
    );
    const found = contestBetween(everywhere, lookOf(0.002, [50]));
    close(found, (3 * FRAMES * Math.log(2)) / (1 + 2 * 24));
  });

  test('without a rival nothing contests', () => {
    expect(contestBetween(lookOf(0.001, [50]), undefined)).toBe(Number.MAX_VALUE);
  });
});
