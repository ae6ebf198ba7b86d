/**
 * What lies behind the errors: how much of steps and tremor is left, what happens where turns end,
 * and at both ends of a clip. One row per filter.
 */
import { wrapAngle } from '../../src/math.js';
import { type FilterName, separate } from '../../src/motion/separate.js';
import { powerDensity } from '../../src/numeric/fourier.js';
import {
  composeQuaternions,
  invertQuaternions,
  quaternionAt,
  rotationVectorsFromQuaternions,
} from '../../src/rotation/arrays.js';
import { headingTiltRollFromQuaternion } from '../../src/rotation/headingTiltRoll.js';
import { errorsOf, pooled, targetOf, trackOf } from './evaluate.js';
import { printTable } from './table.js';
import { makeWalk, type SyntheticWalk, WALK_KINDS, type WalkKind } from './walks.js';

const FILTERS: readonly FilterName[] = [
  'gaussian',
  'butterworth',
  'savitzky-golay',
  'spline',
  'structural',
];

const DEGREES = 180 / Math.PI;
/** Half width of a line of the steps, Hz. */
const LINE = 0.15;

/** Prints attenuations, overshoots and errors at the ends, on fresh seeds. */
export function printDetails(firstSeed = 100700, count = 12): void {
  const walks = (kind: WalkKind, overrides = {}) =>
    Array.from({ length: count }, (_, k) => makeWalk(kind, firstSeed + k, overrides));
  const groups = {
    heading: walks('heading'),
    roaming: walks('roaming'),
    turns: [...walks('turn90', { swayScale: 0.1 }), ...walks('panhold', { swayScale: 0.1 })],
    all: WALK_KINDS.filter((kind) => kind !== 'tripod').flatMap((kind) => walks(kind)),
  };
  const rows = FILTERS.map((filter) => {
    const paths = (list: readonly SyntheticWalk[]) =>
      list.map((walk) => ({
        walk,
        path: separate(trackOf(walk), { filter }).intended.quaternions,
      }));
    const [heading, roaming] = [paths(groups.heading), paths(groups.roaming)];
    const overshoots = paths(groups.turns).flatMap(({ walk, path }) => overshootsOf(walk, path));
    const all = paths(groups.all).map(({ walk, path }) => errorsOf(walk, path));
    return [
      filter,
      median(heading.map(({ walk, path }) => attenuation(walk, path, isStep(walk)))).toFixed(1),
      median(roaming.map(({ walk, path }) => attenuation(walk, path, isStep(walk)))).toFixed(1),
      median(heading.map(({ walk, path }) => attenuation(walk, path, isTremor))).toFixed(1),
      median(overshoots),
      Math.max(...overshoots),
      pooled(all.map(({ ends }) => ends)),
      pooled(all.map(({ middle }) => middle)),
    ];
  });
  const raw = groups.all.map((walk) => errorsOf(walk, walk.measured));
  printTable(
    `Seeds ${firstSeed}–${firstSeed + count - 1}: median attenuation of steps (straight ahead, roaming) and tremor in dB, overshoot after turns (median, worst; sway × 0.1) and error in the first and last two seconds and in the middle in degrees`,
    ['filter', 'steps', 'steps roaming', 'tremor', 'overshoot', 'worst', 'ends', 'middle'],
    [
      ...rows,
      [
        'raw',
        ...Array.from({ length: 5 }, () => '–'),
        pooled(raw.map(({ ends }) => ends)),
        pooled(raw.map(({ middle }) => middle)),
      ],
    ],
  );
}

/** Decibels by which the departure from what was meant is smaller than the camera's, in a band. */
function attenuation(
  walk: SyntheticWalk,
  path: Float64Array,
  within: (frequency: number) => boolean,
): number {
  const power = (quaternions: Float64Array) => {
    const off = rotationVectorsFromQuaternions(
      composeQuaternions(invertQuaternions(targetOf(walk).kept), quaternions),
    );
    return [0, 1, 2].reduce((sum, axis) => {
      const signal = off.filter((_, i) => i % 3 === axis);
      const { frequencies, density } = powerDensity(signal, walk.frameRate, 1024);
      return sum + density.reduce((p, d, k) => p + (within(frequencies[k]!) ? d : 0), 0);
    }, 0);
  };
  return 10 * Math.log10(power(walk.measured) / power(path));
}

/** The lines of stride, step and their first overtones, at the mean pace of a walk. */
function isStep({ stepFrequency }: SyntheticWalk): (frequency: number) => boolean {
  const pace = stepFrequency.reduce((sum, f) => sum + f, 0) / stepFrequency.length;
  return (frequency) =>
    [0.5, 1, 1.5, 2].some((multiple) => Math.abs(frequency - multiple * pace) < LINE);
}

const isTremor = (frequency: number) => frequency >= 6 && frequency <= 12;

/** How far the heading goes beyond the end of each turn within three seconds, degrees. */
function overshootsOf(walk: SyntheticWalk, path: Float64Array): number[] {
  const off = walk.times.map((_, k) =>
    wrapAngle(
      headingTiltRollFromQuaternion(quaternionAt(path, k)).heading - walk.truth.heading[k]!,
    ),
  );
  const turns = walk.events.filter(({ what }) => what === 'turn');
  return turns.map(({ end, angle }, i) => {
    const until = Math.min(end + 3, turns[i + 1]?.start ?? Number.POSITIVE_INFINITY);
    return off.reduce(
      (worst, x, k) =>
        walk.times[k]! >= end && walk.times[k]! < until
          ? Math.max(worst, x * Math.sign(angle) * DEGREES)
          : worst,
      0,
    );
  });
}

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[values.length >> 1]!;
}
