/** How well a motion log's clock and axes are found on synthetic takes: one row per kind of take. */

import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { angularDistances } from '../../src/rotation/arrays.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { alignClocks, type ClockAlignment } from '../../src/sync/alignClocks.js';
import { type ClockTakeKind, type ClockTakeOptions, makeClockTake } from './clockTakes.js';
import { printTable } from './table.js';

const FIRST_SEED = 100300;
const COUNT = 8;

const CASES: readonly (readonly [string, ClockTakeKind, ClockTakeOptions])[] = [
  ['walk 60 s', 'walk', {}],
  ['walk 5 s', 'walk', { duration: 5 }],
  ['gimbal 60 s', 'gimbal', {}],
  ['gimbal 20 s', 'gimbal', { duration: 20 }],
  ['pan 40° 60 s', 'pan', {}],
  ['yaw only 20 s', 'yaw only', { duration: 20 }],
  ['almost static 60 s', 'almost static', {}],
  ['static 60 s', 'static', {}],
  ['log of another take', 'walk', { logSeed: 77 }],
  ['walk 60 s, bursts of wild frames', 'walk', { wildRuns: 'bursts' }],
];

/** Eight seeds each of every kind; errors and the deviations that were claimed. */
export function printClock(): void {
  printTable(
    `Clock of a log, seeds ${FIRST_SEED}–${FIRST_SEED + COUNT - 1}: errors median / largest (median deviation claimed)`,
    ['take', 'offset, ms', 'drift, ppm', 'axes, °', 'consistency', 'contest, least', 'verdicts'],
    CASES.map(([name, kind, options]) => {
      const found = Array.from({ length: COUNT }, (_, i) => {
        const take = makeClockTake(kind, FIRST_SEED + i, options);
        return { take, alignment: alignClocks(take.log, take.track) };
      });
      const column = (
        digits: number,
        error: (one: (typeof found)[number]) => number,
        deviation: (alignment: ClockAlignment) => number,
      ) => {
        const errors = found.map((one) => Math.abs(error(one)));
        const claimed = found.map(({ alignment }) => deviation(alignment));
        const shown = [median(errors), Math.max(...errors), median(claimed)];
        const [middle, largest, deviated] = shown.map((value) => value.toFixed(digits));
        return `${middle} / ${largest} (${deviated})`;
      };
      const consistency = found.map(({ alignment }) => alignment.consistency);
      return [
        name,
        column(
          2,
          ({ take, alignment }) => 1000 * (alignment.offset - take.offset),
          ({ offsetDeviationMs }) => offsetDeviationMs,
        ),
        column(
          0,
          ({ take, alignment }) => alignment.driftPpm - take.driftPpm,
          ({ driftDeviationPpm }) => driftDeviationPpm,
        ),
        column(
          2,
          ({ take, alignment }) => angleDeg(alignment.axes, take.axes),
          ({ axesDeviationDeg }) => axesDeviationDeg.worst,
        ),
        `${Math.min(...consistency).toFixed(2)}–${Math.max(...consistency).toFixed(2)}`,
        Math.min(...found.map(({ alignment }) => alignment.contest)).toFixed(0),
        tally(found.map(({ alignment }) => alignment.verdict)),
      ];
    }),
  );
}

function angleDeg(a: Quaternion, b: Quaternion): number {
  return angularDistances(Float64Array.from(a), Float64Array.from(b))[0]! / RADIANS_PER_DEGREE;
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length / 2;
  return (sorted[Math.ceil(half) - 1]! + sorted[Math.floor(half)]!) / 2;
}

function tally(verdicts: readonly string[]): string {
  return [...new Set(verdicts)]
    .map((verdict) => `${verdicts.filter((other) => other === verdict).length} ${verdict}`)
    .join(', ');
}
