import { describe, expect, test } from 'vitest';
import { type ClockState, limited, PRIOR, stepped, surprise } from '../../src/sync/clockState.js';
import { apart, largestGap } from '../apart.js';
import { turn } from '../turns.js';

const UNKNOWNS = Object.keys(PRIOR) as (keyof typeof PRIOR)[];
const expected: ClockState = {
  offset: 12,
  drift: 0,
  axes: turn([0, 0.6, 0.8], 0.4).q,
  gain: [1, 1, 1],
  bias: [0, 0, 0],
  smoothing: 0,
};

test('a clock as it was expected surprises in nothing', () => {
  for (const unknown of UNKNOWNS) expect(surprise(expected, unknown)).toBe(0);
});

describe('a step along one unknown', () => {
  // Offset and turn have no expectation that they could leave.
  test.each(UNKNOWNS)('of %s is a surprise in that alone', (unknown) => {
    const step = 0.0625;
    const calibration = ['gainX', 'gainY', 'gainZ', 'biasX', 'biasY', 'biasZ'] as const;
    const solved = [unknown, ...calibration.filter((one) => one !== unknown)];
    const state = stepped(expected, solved, [step, 0, 0, 0, 0, 0, 0]);
    for (const one of UNKNOWNS) {
      const felt = one === unknown && PRIOR[one] < Number.POSITIVE_INFINITY;
      expect(surprise(state, one)).toBe(felt ? step : 0);
    }
    expect(state.offset).toBe(unknown === 'offset' ? 12 + step : 12);
  });

  test('of a turn is a rotation in the camera, after the axes', () => {
    const state = stepped(expected, ['turnX', 'turnZ'], [0.3, 0.4]);
    const [a, b] = [turn([0.6, 0, 0.8], 0.5).q, expected.axes];
    const product = [
      a[3] * b[0] + a[0] * b[3] + a[1] * b[2] - a[2] * b[1],
      a[3] * b[1] - a[0] * b[2] + a[1] * b[3] + a[2] * b[0],
      a[3] * b[2] + a[0] * b[1] - a[1] * b[0] + a[2] * b[3],
      a[3] * b[3] - a[0] * b[0] - a[1] * b[1] - a[2] * b[2],
    ] as const;
    expect(apart(state.axes, product)).toBeLessThan(16 * Number.EPSILON);
  });

  test('leaves the calibration as it is where that is not sought', () => {
    const { gain, bias } = stepped(expected, ['offset', 'drift'], [1, 1e-3]);
    expect(gain).toBe(expected.gain);
    expect(bias).toBe(expected.bias);
  });
});

test('one iteration goes no further than is asked, nor beyond what it may, either way', () => {
  const most = [0.05, 2e-3, ...[0.3, 0.3, 0.3], ...[0.1, 0.1, 0.1], ...[0.2, 0.2, 0.2]];
  const free = UNKNOWNS.slice(0, -1);
  for (const sign of [-1, 1]) {
    expect(
      largestGap(
        free.map((u) => limited(expected, u, sign * 9)),
        most.map((m) => sign * m),
      ),
    ).toBe(0);
    for (const u of free) expect(limited(expected, u, sign * 1e-3)).toBe(sign * 1e-3);
  }
  // A bell has no negative variance.
  const smoothed = { ...expected, smoothing: 0.003 };
  expect(limited(smoothed, 'smoothing', -1)).toBe(-0.003);
  expect(limited({ ...expected, smoothing: 0.1 }, 'smoothing', -1)).toBe(-0.004);
  expect(limited(smoothed, 'smoothing', 1)).toBe(0.004);
});
