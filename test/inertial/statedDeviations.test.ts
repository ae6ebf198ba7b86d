import { describe, expect, test } from 'vitest';
import { GRADES, makeGradedLog, makeHandheldLog } from '../../bench/accuracy/handheldLog.js';
import { orientLog } from '../../src/inertial/orientLog.js';
import { tiltsDeg } from './horizons.js';

const KINDS = ['roaming', 'turn90', 'heading', 'locked', 'panhold', 'tilt'] as const;

/** Every grade on every kind of walk, half a minute each. */
const LOGS = Object.keys(GRADES).flatMap((grade) =>
  KINDS.map((kind, k) => {
    const made = makeGradedLog(grade, kind, 61 + k, 30);
    return { ...made, oriented: orientLog(made.log) };
  }),
);

/**
 * Bounds of a share that should lie in [low, high], of n logs. Errors within a log belong together,
 * so that a log counts once; the mean of n shares varies no more than that of n single events, whose
 * standard deviation is √(p(1 − p)/n). Three of them.
 */
function bounds(low: number, high: number, n: number): readonly [number, number] {
  const spread = (p: number) => 3 * Math.sqrt((p * (1 - p)) / n);
  return [low - spread(low), high + spread(high)];
}

function expectCovered(ratios: readonly (readonly number[])[]) {
  const share = (within: number) =>
    ratios.reduce((sum, log) => sum + log.filter((r) => r < within).length / log.length, 0) /
    ratios.length;
  for (const [within, low, high] of [
    [1, 0.6, 0.75],
    [2, 0.9, 0.98],
  ] as const) {
    const [least, most] = bounds(low, high, ratios.length);
    expect(share(within)).toBeGreaterThan(least);
    expect(share(within)).toBeLessThan(most);
  }
}

describe('over walks of four grades of sensors', () => {
  test('the stated deviation covers the errors of the horizon', () => {
    expectCovered(
      LOGS.map(({ log, truth, oriented: { track, quality } }) => {
        const tilts = tiltsDeg(track.quaternions, truth);
        return Array.from(quality.times, (time, k) => {
          const sample = Math.round(time * 200);
          expect(log.times[sample]).toBeCloseTo(time, 9);
          return (tilts[sample]! * Math.PI) / 180 / quality.tiltDeviation[k]!;
        });
      }),
    );
  });

  test('the stated deviations of the accelerometer cover its errors', () => {
    expectCovered(
      LOGS.map(({ accelBias, oriented: { accelBias: found } }) =>
        found.value.map((value, i) => Math.abs(value - accelBias[i]!) / found.deviation[i]!),
      ),
    );
  });

  test('what is stated of the gyroscope covers its errors, and nothing is invented', () => {
    for (const { gyroBias, oriented } of LOGS) {
      const { value, deviation } = oriented.gyroBias;
      value.forEach((found, i) => {
        // Six of its deviations where scales of a hundredth are part of the error; where it is
        // unknown, no more than believed beforehand: 3 °/s, or what is there.
        const most = Number.isFinite(deviation[i])
          ? 8 * deviation[i]!
          : (3 * Math.PI) / 180 + Math.abs(gyroBias[i]!);
        expect(Math.abs(found - gyroBias[i]!)).toBeLessThan(most);
      });
    }
  });
});

test('without a rest a level camera does not know its gyroscope about the vertical', () => {
  const { log, gyroBias } = makeHandheldLog('locked', 71, 30, {
    gyroBiasDegPerS: 2,
    accelBias: 0.03,
  });
  const level = orientLog(log);
  const [right, up, back] = level.gyroBias.deviation;
  expect(right).toBeLessThan(0.2 * (Math.PI / 180));
  expect(back).toBeLessThan(0.2 * (Math.PI / 180));
  expect(up).toBe(Number.POSITIVE_INFINITY);
  // Nor is anything invented: what is found stays below what was there.
  expect(Math.abs(level.gyroBias.value[1])).toBeLessThan(Math.abs(gyroBias[1]!) + 1e-3);
  expect(level.track.warnings).toContainEqual(
    expect.objectContaining({ code: 'log/heading-drift' }),
  );
});
