import { describe, expect, test } from 'vitest';
import { describeMove, pictureMove } from '../../src/handoff/pictureMove.js';
import { describeHandoff } from '../../src/handoff/sidecar.js';
import { raysOf, trace } from '../../src/picture/rays.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { fc } from '../seed.js';
import { turn } from '../turns.js';
import { resultOf } from './results.js';

const SIZE = [3840, 3840] as const;
const DEG = Math.PI / 180;
const small = fc.double({ min: -0.5, max: 0.5, noNaN: true });

/** Where the source shows what stands at a point of the corrected view, both half-equirect, pixels. */
function sourceOf(correction: ReturnType<typeof turn>['q'], x: number, y: number) {
  const [widthPx, heightPx] = SIZE;
  const picture = { image: { projection: 'half-equirect' }, widthPx, heightPx } as const;
  const made = resultOf({
    intended: [correction, correction],
    corrections: [correction, correction],
  });
  const at = new Float64Array(2);
  trace(raysOf(made)(0, 'left', picture, picture), x, y, at);
  return at;
}

describe('what a correction does to the picture', () => {
  test('is where the exact rays of the resampling look the picture’s middle up', () => {
    fc.assert(
      fc.property(small, small, small, (heading, tilt, roll) => {
        const k = quaternionFromHeadingTiltRoll(heading, tilt, roll);
        const { right, up, clockwise } = pictureMove(k);
        const perRadian = SIZE[0] / Math.PI;
        const [x, y] = [SIZE[0] / 2 + right * perRadian, SIZE[1] / 2 - up * perRadian];
        const middle = sourceOf(k, x, y);
        // A thousandth of a pixel: rounding of a few products at 3840 pixels is a millionth of that.
        expect(Math.hypot(middle[0]! - SIZE[0] / 2, middle[1]! - SIZE[1] / 2)).toBeLessThan(1e-3);
        // A step along what was up in the source, turned clockwise, leads up in the source: to first
        // order, so the step of 2 px is off by its own square over a radian's 1222 px, and by tan 0.5
        // for the rows that lie closer together away from the middle.
        const step = 2;
        const ahead = sourceOf(
          k,
          x + (step * Math.sin(clockwise)) / Math.cos(up),
          y - step * Math.cos(clockwise),
        );
        expect(Math.abs(ahead[0]! - middle[0]!)).toBeLessThan((2 * step * step) / perRadian);
        expect(Math.abs(middle[1]! - ahead[1]! - step)).toBeLessThan((2 * step * step) / perRadian);
      }),
    );
  });

  test.each([
    ['to the right', turn([0, 1, 0], -2 * DEG).q, 'moves 2.0° right'],
    ['to the left', turn([0, 1, 0], 2 * DEG).q, 'moves 2.0° left'],
    ['up', turn([1, 0, 0], 2 * DEG).q, 'moves 2.0° up'],
    ['down', turn([1, 0, 0], -2 * DEG).q, 'moves 2.0° down'],
    ['clockwise', turn([0, 0, 1], -3.4 * DEG).q, 'stays where it is, turns 3.4° clockwise'],
    ['nowhere', turn([0, 0, 1], 0.01 * DEG).q, 'stays where it is'],
  ] as const)('%s is said so', (_, correction, words) => {
    expect(describeMove(correction)).toBe(words);
  });

  test('is said in pixels where their number is known', () => {
    const k = quaternionFromHeadingTiltRoll(-0.9 * DEG, 0.4 * DEG, 3.4 * DEG);
    // 3840 px over 180°: 19.2 px and 8.53 px.
    expect(describeMove(k, SIZE)).toBe(
      'moves 19 px right, 8.5 px up, turns 3.4° counter-clockwise',
    );
  });
});

describe('the text beside handed-over files', () => {
  const still = turn([0, 1, 0], 0).q;
  const made = resultOf({
    intended: [still, still],
    corrections: [still, turn([0, 1, 0], -DEG).q],
  });

  test('says it in degrees, or in the pixels of the stated picture', () => {
    expect(describeHandoff(made, 'csv')).toContain(
      '- frame 41: the picture moves 1.0° right, as a viewer sees its middle\n',
    );
    expect(describeHandoff(made, 'csv', { mapSize: SIZE })).toContain(
      '- frame 41: the picture, half-equirect of 3840 × 3840 px for an eye, moves 21 px right, as a viewer sees its middle\n',
    );
  });

  test('says it for ST maps in the pixels of the map', () => {
    expect(describeHandoff(made, 'st-maps')).toContain(
      'half-equirect of 1024 × 1024 px for an eye, moves 5.7 px right',
    );
  });
});
