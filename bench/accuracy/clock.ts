/** How well a motion log's clock and axes are found on synthetic takes: one row per kind of take. */

import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { angularDistances } from '../../src/rotation/arrays.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { alignClocks } from '../../src/sync/alignClocks.js';
import type { AcceptedClock, ClockAlignment } from '../../src/sync/clockAlignment.js';
import { CLOCK_KINDS, type ClockKind, drawClockTake } from './clockKinds.js';
import {
  type ClockTake,
  type ClockTakeKind,
  type ClockTakeOptions,
  makeClockTake,
} from './clockTakes.js';
import { printTable } from './table.js';

const FIRST_SEED = 100300;
const COUNT = 8;
/** Of the kinds on which a clock is easily refused; half a hundred wrong logs of each. */
const KINDS = { first: 110000, right: 20, wrong: 50 };
/** An offset that is off by more is another one, ms: a quarter of the shortest step. */
const WRONG_MS = 20;

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

/** A take with what was found of it. */
interface Found {
  readonly take: ClockTake;
  readonly alignment: ClockAlignment;
}

/** What was accepted of a take, and by how much it is off. */
interface Told extends Found {
  readonly alignment: AcceptedClock;
  readonly offsetMs: number;
  readonly driftPpm: number;
  readonly axesDeg: number;
}

/** Eight seeds each of plain kinds; twenty right and fifty wrong logs each of hard ones. */
export function printClock(): void {
  printTable(
    `Clock of a log, seeds ${FIRST_SEED}–${FIRST_SEED + COUNT - 1}: errors median / largest (median deviation claimed)`,
    ['take', 'offset, ms', 'drift, ppm', 'axes, °', 'consistency', 'contest, least', 'verdicts'],
    CASES.map(([name, kind, options]) => {
      const found = Array.from({ length: COUNT }, (_, i) =>
        align(makeClockTake(kind, FIRST_SEED + i, options)),
      );
      const told = found.flatMap(toldOf);
      const consistency = found.map(({ alignment }) => alignment.consistency);
      return [
        name,
        ...errorCells(told),
        `${Math.min(...consistency).toFixed(2)}–${Math.max(...consistency).toFixed(2)}`,
        Math.min(...found.map(({ alignment }) => alignment.contest)).toFixed(0),
        tally(
          found.map(({ alignment }) => (alignment.accepted ? alignment.verdict : alignment.code)),
        ),
      ];
    }),
  );
  const kinds = Object.keys(CLOCK_KINDS) as ClockKind[];
  const seeds = (count: number) => Array.from({ length: count }, (_, i) => KINDS.first + i);
  const rows = kinds.map((kind) => {
    const right = seeds(KINDS.right).map((seed) => align(drawClockTake(kind, seed)));
    const wrong = seeds(KINDS.wrong).map((seed) => align(drawClockTake(kind, seed, true)));
    return { kind, right, told: right.flatMap(toldOf), wrong };
  });
  const all = { kind: 'all', ...joined(rows) };
  printTable(
    `Clock of kinds that are easily refused, seeds from ${KINDS.first}: errors median / largest (median deviation claimed); truth within two deviations`,
    [
      'take',
      'offset, ms',
      'drift, ppm',
      'axes, °',
      'offset within',
      'drift within',
      'axes within',
      'refused',
      `off by ${WRONG_MS} ms`,
      'wrong logs accepted',
    ],
    [...rows, all].map(({ kind, right, told, wrong }) => [
      kind,
      ...errorCells(told),
      within(told.map((one) => one.offsetMs / one.alignment.offsetDeviationMs)),
      within(
        told
          .filter(({ alignment }) => alignment.driftEstimated)
          .map((one) => one.driftPpm / one.alignment.driftDeviationPpm),
      ),
      within(told.map((one) => one.axesDeg / one.alignment.axesDeviationDeg.worst)),
      `${right.length - told.length} of ${right.length}`,
      `${told.filter(({ offsetMs }) => Math.abs(offsetMs) > WRONG_MS).length}`,
      `${wrong.filter(({ alignment }) => alignment.accepted).length} of ${wrong.length}`,
    ]),
  );
}

function joined(rows: readonly { right: Found[]; told: Told[]; wrong: Found[] }[]) {
  return {
    right: rows.flatMap(({ right }) => right),
    told: rows.flatMap(({ told }) => told),
    wrong: rows.flatMap(({ wrong }) => wrong),
  };
}

function align(take: ClockTake): Found {
  return { take, alignment: alignClocks(take.log, take.track) };
}

/** The errors of an accepted clock; nothing for a refused one. */
function toldOf({ take, alignment }: Found): Told[] {
  if (!alignment.accepted) return [];
  // The truth is that of the middle of the clip, the clock's of the middle of what the log covers.
  const aside = (alignment.from + alignment.to) / 2 - take.track.times.at(-1)! / 2;
  const offset = take.offset + take.driftPpm * 1e-6 * aside;
  return [
    {
      take,
      alignment,
      offsetMs: 1000 * (alignment.offset - offset),
      driftPpm: alignment.driftPpm - take.driftPpm,
      axesDeg: angleDeg(alignment.axes, take.axes),
    },
  ];
}

/** Median and largest error of offset, drift (where it was estimated) and axes. */
function errorCells(told: readonly Told[]): string[] {
  const drifting = told.filter(({ alignment }) => alignment.driftEstimated);
  return [
    errorCell(2, told, (one) => [one.offsetMs, one.alignment.offsetDeviationMs]),
    errorCell(0, drifting, (one) => [one.driftPpm, one.alignment.driftDeviationPpm]),
    errorCell(2, told, (one) => [one.axesDeg, one.alignment.axesDeviationDeg.worst]),
  ];
}

function errorCell(
  digits: number,
  told: readonly Told[],
  of: (one: Told) => readonly [error: number, claimed: number],
): string {
  if (told.length === 0) return '–';
  const errors = told.map((one) => Math.abs(of(one)[0]));
  const shown = [median(errors), Math.max(...errors), median(told.map((one) => of(one)[1]))];
  const [middle, largest, claimed] = shown.map((value) => value.toFixed(digits));
  return `${middle} / ${largest} (${claimed})`;
}

/** How many errors lie within two of their deviations, in percent, and the largest. */
function within(ratios: readonly number[]): string {
  if (ratios.length === 0) return '–';
  const inside = ratios.filter((ratio) => Math.abs(ratio) <= 2).length;
  const largest = Math.max(...ratios.map(Math.abs));
  return `${((100 * inside) / ratios.length).toFixed(0)} % (${largest.toFixed(1)} σ)`;
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
