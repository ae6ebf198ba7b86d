/**
 * How calm real hand-held motion becomes, and at what movement of the view, beside the frontier of a
 * plain spline and each classic filter at the same movement. Runs where the recordings lie beside the
 * project.
 */
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { CLASSIC_FILTERS, type SignalFilter } from '../../src/motion/classicFilters.js';
import { levelPath } from '../../src/motion/horizon.js';
import { limitPath } from '../../src/motion/limit.js';
import {
  anglesOf,
  mapCoordinates,
  orientationsOfAngles,
} from '../../src/motion/pathCoordinates.js';
import { separate } from '../../src/motion/separate.js';
import { type Calmness, calmnessOf, frontierAt, frontierOf } from './frontier.js';
import { HANDHELD_FOLDER, readRealTrack, realTrackNames } from './realTracks.js';
import { printTable } from './table.js';

const RATE = 60000 / 1001;
const MOVES = [1, 2, 4, 8];
const LIMITS = [6, 10, 15];
const FILTERS = Object.entries(CLASSIC_FILTERS);

/** Prints a table of free paths, one of limited ones, and one of classic filters at the same cost. */
export function printRealMotion(folder = HANDHELD_FOLDER): void {
  const names = realTrackNames(folder);
  if (names.length === 0) {
    console.log(`Real motion: skipped, no recordings in ${folder}\n`);
    return;
  }
  const free: (string | number)[][] = [];
  const beside: (string | number)[][] = [];
  const within: (string | number)[][] = [];
  const ratios = new Map(MOVES.map((seconds) => [seconds, [] as number[]]));
  for (const name of names) {
    const track = readRealTrack(name, folder);
    const measured = track.quaternions;
    const raw = calmnessOf(measured, levelPath(measured, 1), RATE);
    const frontier = frontierOf(measured, RATE);
    for (const seconds of MOVES) {
      const path = levelPath(separate(track, { shortestMove: seconds }).intended.quaternions, 1);
      const ours = calmnessOf(measured, path, RATE);
      const plain = frontierAt(frontier, ours.cost, 'shake');
      ratios.get(seconds)!.push(ours.shake / plain);
      free.push([
        name,
        `${seconds} s`,
        raw.shake.toFixed(1),
        ours.shake.toFixed(3),
        ours.tremor.toFixed(3),
        ours.jerk.toFixed(1),
        ours.cost.toFixed(2),
        plain.toFixed(3),
        (ours.shake / plain).toFixed(2),
        (ours.jerk / frontierAt(frontier, ours.cost, 'jerk')).toFixed(2),
      ]);
      beside.push([
        name,
        `${seconds} s`,
        ours.cost.toFixed(2),
        ours.shake.toFixed(3),
        ...FILTERS.map(([, filter]) => atCost(measured, filter, ours.cost)?.toFixed(3) ?? '–'),
      ]);
      if (seconds === 1) continue;
      within.push([
        name,
        `${seconds} s`,
        ours.shake.toFixed(2),
        ...LIMITS.map((most) => {
          const total = new Float64Array(track.times.length).fill(most * RADIANS_PER_DEGREE);
          const { quaternions } = limitPath(measured, path, { total }, RATE, seconds);
          return calmnessOf(measured, quaternions, RATE).shake.toFixed(2);
        }),
      ]);
    }
  }
  printTable(
    'Real motion without a limit, roll levelled: shake (0.6–12 Hz) and tremor (3–12 Hz) in °/s, jerk in °/s³, root mean square movement of the view in degrees, the plain spline at the same movement and ratios to it',
    [
      'track',
      'shortest move',
      'raw',
      'shake',
      'tremor',
      'jerk',
      'moved',
      'spline',
      'ratio',
      'jerk ratio',
    ],
    free,
  );
  for (const [seconds, values] of ratios) {
    const mean = Math.exp(values.reduce((sum, x) => sum + Math.log(x), 0) / values.length);
    console.log(
      `shortest move ${seconds} s: ratio ${mean.toFixed(2)} (geometric mean), worst ${Math.max(...values).toFixed(2)}`,
    );
  }
  printTable(
    '\nShake of classic filters at the same movement of the view, °/s (heading, tilt and roll filtered alike, roll levelled; – where no cut-off from 0.05 to 8 Hz moves it as much)',
    ['track', 'shortest move', 'moved', 'ours', ...FILTERS.map(([name]) => name)],
    beside,
  );
  printTable(
    'Shake within a limit of the whole correction, °/s',
    ['track', 'shortest move', 'no limit', ...LIMITS.map((most) => `${most}°`)],
    within,
  );
}

/** Shake of a filter at the cut-off that moves the view as much, by bisection of its logarithm. */
function atCost(measured: Float64Array, filter: SignalFilter, cost: number): number | undefined {
  const angles = anglesOf(measured);
  const at = (cutoff: number): Calmness => {
    const smooth = mapCoordinates(angles, (signal) => filter(signal, RATE, cutoff));
    return calmnessOf(measured, levelPath(orientationsOfAngles(smooth), 1), RATE);
  };
  let [slow, fast] = [0.05, 8];
  if (at(slow).cost < cost || at(fast).cost > cost) return undefined;
  for (let round = 0; round < 12; round++) {
    const middle = Math.sqrt(slow * fast);
    if (at(middle).cost > cost) slow = middle;
    else fast = middle;
  }
  return at(Math.sqrt(slow * fast)).shake;
}
