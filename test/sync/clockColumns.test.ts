import { describe, expect, test } from 'vitest';
import {
  composeQuaternions,
  invertQuaternions,
  rotationVectorsFromQuaternions,
} from '../../src/rotation/arrays.js';
import { clockColumns, UNKNOWNS, type Unknown } from '../../src/sync/clockColumns.js';
import { type ClockState, stepped } from '../../src/sync/clockState.js';
import { type LogRows, loggedMotion } from '../../src/sync/loggedMotion.js';
import { logTimes, motionAt } from '../../src/sync/refineClock.js';
import { largestGap } from '../apart.js';
import { turn } from '../turns.js';

/** A thousand rows a second of a motion about all axes, up to 1 rad/s, nothing faster than 1.3 Hz. */
const n = 8000;
const FASTEST = 2 * Math.PI * 1.3;
const rows: LogRows = {
  times: Float64Array.from({ length: n }, (_, k) => k / 1000),
  rate: Float64Array.from({ length: 3 * n }, (_, i) => {
    const time = Math.floor(i / 3) / 1000;
    return 0.6 * Math.sin(FASTEST * time + (i % 3)) + 0.3 * Math.cos(2.1 * time * (1 + (i % 3)));
  }),
  interval: 1e-3,
};
const STATE: ClockState = {
  offset: 2,
  drift: 0,
  axes: turn([0.36, 0.48, 0.8], 1.1).q,
  gain: [1.02, 0.97, 1.01],
  bias: [0.02, -0.01, 0.03],
  smoothing: 0,
};
const times = Float64Array.from({ length: 40 }, (_, k) => k / 10);
const MIDDLE = 1.5;

function modelOf(state: ClockState) {
  const at = logTimes(state, times, MIDDLE);
  const logged = loggedMotion(rows, state);
  return { at, logged, motion: motionAt(logged, at, state.axes) };
}

/** What a small step of one unknown to either side turns the model by, left of it, for a unit of it. */
function turnedBy(unknown: Unknown, state: ClockState, step: number): Float64Array {
  const [less, more] = [-step, step].map((by) => {
    const steps = UNKNOWNS.map((one) => (one === unknown ? by : 0));
    return modelOf(stepped(state, UNKNOWNS, steps)).motion;
  });
  const turn = composeQuaternions(more!, invertQuaternions(less!));
  return rotationVectorsFromQuaternions(turn).map((value) => value / (2 * step));
}

function columnOf(unknown: Unknown, state: ClockState): Float64Array {
  const { logged, motion, at } = modelOf(state);
  return clockColumns(UNKNOWNS, logged, motion, state.axes, at, times, MIDDLE)[
    UNKNOWNS.indexOf(unknown)
  ]!;
}

describe('derivatives of the model', () => {
  test.each([
    // Whole rows to either side, 2 ms: h² ω″/6 with ω″ of 1 rad/s at the fastest swing is 5e-5 rad/s.
    ['offset', 2e-3, 5e-5],
    // The same times up to 2.5 s from the middle; between rows, straight ways are off by as much again.
    ['drift', 1e-3, 2 * 2.5 * 5e-5],
    // A turn of 1e-4 rad is off by its third power.
    ['turnX', 1e-4, 1e-7],
    ['turnY', 1e-4, 1e-7],
    ['turnZ', 1e-4, 1e-7],
    // Trapezoids over rows of 1 ms: h²/12 times a second derivative of 100 rad/s³ over 6 s is 5e-5 rad.
    ['gainX', 1e-4, 1e-4],
    ['gainY', 1e-4, 1e-4],
    ['gainZ', 1e-4, 1e-4],
    ['biasX', 1e-4, 1e-4],
    ['biasY', 1e-4, 1e-4],
    ['biasZ', 1e-4, 1e-4],
  ] as const)('by %s are those of small steps', (unknown, step, tolerance) => {
    expect(largestGap(columnOf(unknown, STATE), turnedBy(unknown, STATE, step))).toBeLessThan(
      tolerance,
    );
  });

  test('by smoothing half the angular acceleration, as far as the bell is narrow', () => {
    // From a bell of 4 rows on; the fastest swing keeps exp(−½ (8.2 · 0.004)²) = 0.9995 of itself.
    const state = { ...STATE, smoothing: 16e-6 };
    const column = columnOf('smoothing', state);
    const found = turnedBy('smoothing', state, 4e-6);
    const size = Math.max(...column.map(Math.abs));
    // Rates 10 ms to either side tell their growth to (8.2 · 0.01)²/6 = 1.1e-3. The mean of turns about
    // several axes is turned by the square of the rates as well, which has no direction of its own.
    expect(largestGap(column, found) / size).toBeLessThan(0.02);
  });
});
