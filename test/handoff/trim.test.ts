import { describe, expect, test } from 'vitest';
import { orientationsOf } from '../../src/handoff/poses.js';
import { takeParts } from '../../src/handoff/takeParts.js';
import { trimResult } from '../../src/handoff/trim.js';
import { eyeCorrections } from '../../src/rig/eyeCorrections.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import { largestGap } from '../apart.js';
import { complaint } from '../complaint.js';
import { eyesWith } from '../rig/eyes.js';
import { fc } from '../seed.js';
import { turn } from '../turns.js';
import { anyResults, RATE, resultOf } from './results.js';
import { resultOfTake } from './takes.js';

const FRAMES = [40, 41, 42, 43, 44];
const parts = {
  intended: FRAMES.map((frame) => turn([0, 1, 0], 0.1 * (frame - 40)).q),
  corrections: FRAMES.map((frame) => turn([1, 0, 0], 0.01 * (frame - 40)).q),
};
const whole = resultOf(parts);

describe('a trimmed result', () => {
  test('keeps both ends and their frames’ rotations to the last bit; time starts again', () => {
    const { corrections, intended } = trimResult(whole, 41, 43);
    expect(corrections.frames).toEqual(Int32Array.of(41, 42, 43));
    expect(intended.frames).toEqual(corrections.frames);
    expect(corrections.quaternions).toEqual(whole.corrections.quaternions.slice(4, 16));
    expect(intended.quaternions).toEqual(whole.intended.quaternions.slice(4, 16));
    expect(corrections.times[0]).toBe(0);
    // Differences of times below 1 s: one rounding.
    const times = Float64Array.of(0, 1001 / 60000, 2002 / 60000);
    expect(largestGap(corrections.times, times)).toBeLessThan(Number.EPSILON);
    expect(intended.times).toEqual(corrections.times);
    expect(corrections.frameRate).toEqual(whole.corrections.frameRate);
  });

  test('any span gives each of its frames what the whole gave it', () => {
    const ends = fc.tuple(fc.nat(9), fc.nat(9)).map(([a, b]) => [Math.min(a, b), Math.max(a, b)]);
    fc.assert(
      fc.property(anyResults, ends, (drawn, [from, to]) => {
        fc.pre(from! < drawn.intended.length);
        const result = resultOf(drawn);
        const cut = trimResult(result, 40 + from!, 40 + to!);
        cut.corrections.frames!.forEach((frame, k) => {
          const index = frame - 40;
          for (const motion of ['intended', 'correction'] as const) {
            expect(quaternionAt(orientationsOf(cut, motion), k)).toEqual(
              quaternionAt(orientationsOf(result, motion), index),
            );
          }
        });
        expect(cut.corrections.frames).toHaveLength(
          Math.min(drawn.intended.length, to! + 1) - from!,
        );
      }),
    );
  });

  test('both lenses keep their alignments', () => {
    const alignment = { left: turn([0, 0, 1], 0.1).q, right: turn([0, 1, 0], 0.2).q };
    const result = resultOf({ ...parts, rig: { ...DEFAULT_RIG, eyes: eyesWith({ alignment }) } });
    const cut = trimResult(result, 42, 44);
    for (const eye of ['left', 'right'] as const) {
      expect(eyeCorrections(cut, eye)).toEqual(eyeCorrections(result, eye).slice(8));
    }
  });

  test('has the stretches of its frames, from and to its own ends', () => {
    const take = resultOfTake(
      {
        cuts: [
          ['usable', 4],
          ['not usable', 4],
          ['with care', 4],
        ],
        first: 40,
      },
      RATE,
    );
    const cut = trimResult(take, 42, 45);
    expect(cut.stretches.map(({ fromFrame, toFrame }) => [fromFrame, toFrame])).toEqual([
      [42, 43],
      [44, 45],
    ]);
    expect(cut.stretches.map(({ verdict }) => verdict)).toEqual(['usable', 'not usable']);
    const ends = cut.stretches.flatMap(({ fromSeconds, toSeconds }) => [fromSeconds, toSeconds]);
    // Frames of 1001/60000 s; differences of times below 1 s: one rounding.
    const wanted = [0, 2, 2, 4].map((frame) => (frame * 1001) / 60000);
    expect(largestGap(ends, wanted)).toBeLessThan(Number.EPSILON);
    // The end of the take is that of the last stretch, as it was.
    expect(trimResult(take, 40, 51).stretches).toEqual(take.stretches);
  });

  test('the stamp of the first frame goes with it', () => {
    const stamped = resultOf({ ...parts, startNs: 1_000_000_000_000_000_001n });
    // Two frames of 60000/1001: 33 366 667 ns, rounded.
    expect(trimResult(stamped, 42, 44).intended.startNs).toBe(1_000_000_000_033_366_668n);
  });

  test('ends beyond the clip are the clip’s own; a single frame is a part too', () => {
    expect(trimResult(whole, -Infinity, 41).corrections.frames).toEqual(Int32Array.of(40, 41));
    expect(trimResult(whole, 44, 900).corrections.frames).toEqual(Int32Array.of(44));
  });

  test('frames that have no numbers are counted from 0', () => {
    const { frames: _, ...corrections } = whole.corrections;
    expect(trimResult({ ...whole, corrections }, 1, 2).corrections.frames).toEqual(
      Int32Array.of(1, 2),
    );
  });

  test.each([
    [45, 50],
    [0, 39],
    [43, 41],
    [Number.NaN, 44],
  ])('%d to %d is no part of it', (from, to) => {
    expect(() => trimResult(whole, from, to)).toThrow(
      complaint('argument/invalid', `found the frames ${from} to ${to}, expected a part of`),
    );
  });
});

test('the time code of the first frame goes on by what was cut before it, and editors get it unasked', () => {
  const take = { cuts: [['usable', 100]], first: 0 } as const;
  const whole = { ...resultOfTake(take, RATE), timecode: '10:00:00:00' };
  const cut = trimResult(whole, 30, 60);
  // 60 labels a second at 60000/1001, counted without dropping.
  expect(cut.timecode).toBe('10:00:00:30');
  expect(takeParts(cut).codeAt(0)).toBe('10:00:00:30');
  expect(takeParts(cut, { firstFrame: 0 }).codeAt(0)).toBe('10:00:00:30');
  expect(takeParts(cut, { timecode: '01:00:00:00', firstFrame: 0 }).codeAt(0)).toBe('01:00:00:30');
});
