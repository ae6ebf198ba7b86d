import { describe, expect, test } from 'vitest';
import { correct } from '../../src/correct.js';
import { measuredGreenhouseWalk } from '../../src/demo/greenhouseWalk.js';
import { aimKeysOn, markersOn } from '../../src/motion/frameKeys.js';
import { frameTime, frameTimes, parseFrameRate } from '../../src/track/frameRate.js';
import { createTrack } from '../../src/track/orientationTrack.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';

const RATE = parseFrameRate('60000/1001');
const COUNT = 200;
const still = Float64Array.from({ length: 4 * COUNT }, (_, i) => Number(i % 4 === 3));
const frames = Int32Array.from({ length: COUNT }, (_, k) => 40 + k);
const track = createTrack({
  times: frameTimes(RATE, COUNT),
  quaternions: still,
  frames,
  frameRate: RATE,
});
const look = { heading: 0.1, tilt: 0.2 };

describe('keys at frames', () => {
  test('lie at the seconds of their frames, by number and counted from the first', () => {
    fc.assert(
      fc.property(fc.nat(COUNT - 1), (k) => {
        // Times go through one subtraction of the first, which is 0.
        const time = frameTime(RATE, k);
        expect(aimKeysOn(track, [{ frame: 40 + k, ...look }])).toEqual([{ time, ...look }]);
        const counted = { framesIn: k, rate: RATE };
        expect(aimKeysOn(track, [{ frame: counted, ...look }])).toEqual([{ time, ...look }]);
      }),
    );
  });

  test('of markers keep both ends; what is said in seconds stays', () => {
    const seconds = { from: 1, to: 2, intent: 'move' } as const;
    const to = { framesIn: 60, rate: { numerator: 120000, denominator: 2002 } };
    expect(markersOn(track, [{ fromFrame: 70, toFrame: to, intent: 'hold' }, seconds])).toEqual([
      { from: frameTime(RATE, 30), to: frameTime(RATE, 60), intent: 'hold' },
      seconds,
    ]);
    expect(aimKeysOn(track, [{ time: 1, ...look }])).toEqual([{ time: 1, ...look }]);
  });

  test('correct a clip as the same moments in seconds do, to the last bit', () => {
    const times = frameTimes(RATE, 600);
    const walk = createTrack({
      times,
      quaternions: Float64Array.from([...times].flatMap((time) => measuredGreenhouseWalk(time))),
      frames: Int32Array.from(times, (_, k) => 40 + k),
      frameRate: RATE,
    });
    const inSeconds = correct(walk, {
      aim: [{ time: walk.times[120]!, ...look }],
      markers: [{ from: walk.times[300]!, to: walk.times[400]!, intent: 'hold' }],
    });
    const atFrames = correct(walk, {
      aim: [{ frame: { framesIn: 120, rate: RATE }, ...look }],
      markers: [{ fromFrame: 340, toFrame: 440, intent: 'hold' }],
    });
    expect(atFrames.corrections).toEqual(inSeconds.corrections);
    expect(atFrames.corrections).not.toEqual(correct(walk).corrections);
  });
});

describe('refused', () => {
  test.each([
    [39, 'frame 39: found aim key 1 at frame 39, expected a frame of the clip, 40 to 239'],
    [240, 'found aim key 1 at frame 240'],
    [41.5, 'found aim key 1 at frame 41.5'],
    [Number.NaN, 'found aim key 1 at frame NaN'],
    [{ framesIn: 200, rate: RATE }, 'found aim key 1 at frame 240 (200 after the first)'],
    [{ framesIn: -1, rate: RATE }, 'found aim key 1 at frame 39 (-1 after the first)'],
    [
      { framesIn: 3, rate: parseFrameRate('25') },
      "found aim key 1 counted at 25 frames per second, expected the clip's own rate, 60000/1001",
    ],
  ] as const)('%j', (frame, words) => {
    expect(() => aimKeysOn(track, [{ frame, ...look }])).toThrow(
      complaint('argument/invalid', words),
    );
  });

  test('frames of a clip that numbers none', () => {
    const { frames: _, frameRate: __, ...unnumbered } = track;
    const marker = { fromFrame: 41, toFrame: 50, intent: 'hold' } as const;
    expect(() => markersOn(unnumbered, [marker])).toThrow(
      complaint('argument/invalid', 'found marker 1 at a frame, expected a clip whose frames are'),
    );
  });
});
