/**
 * Trend filtering with absolute differences as a peer: the path that minimises
 * Σ(y − x)² + λ₁ Σ|Δx| + λ₂ Σ|Δ²x| + λ₃ Σ|Δ³x| is made of rests, steady pans and even swings. Its
 * weights are tuned on development seeds, for each kind of walk and for all kinds at once.
 *
 * @see Kim, Koh, Boyd and Gorinevsky, "ℓ₁ trend filtering", SIAM Review 51(2), 2009
 */
import { trackStepFrequency } from '../../src/motion/gait.js';
import { buildGaitModel } from '../../src/motion/gaitModel.js';
import { type Coordinates, mapCoordinates } from '../../src/motion/pathCoordinates.js';
import { separate } from '../../src/motion/separate.js';
import {
  addOuterProduct,
  factorBanded,
  newBandedMatrix,
  solveFactored,
} from '../../src/numeric/banded.js';
import { smoothStructure } from '../../src/numeric/structuralSmoother.js';
import { errorsOf, pooled, trackOf } from './evaluate.js';
import { unrollWalk } from './oracle.js';
import { printTable } from './table.js';
import { makeWalk, type SyntheticWalk, WALK_KINDS, type WalkKind } from './walks.js';

/** Weights of the first, second and third differences, degrees. */
type Weights = readonly [number, number, number];

/** Whether the filter sees the camera as it was, or with the steps of our own model taken off. */
type Input = 'raw' | 'stepless';

interface Setting {
  readonly input: Input;
  readonly weights: Weights;
}

const DEGREE = Math.PI / 180;
const DIFFERENCES: readonly (readonly number[])[] = [
  [-1, 1],
  [1, -2, 1],
  [-1, 3, -3, 1],
];
/** Differences below this count as zero, degrees. */
const LEAST = 1e-5;

/**
 * The filtered signal, degrees, by reweighted least squares: |u| is replaced by u²/2|u₀| + |u₀|/2,
 * which touches it at the previous u₀ and lies above it elsewhere. After 25 rounds the sum is within
 * a thousandth of its least value.
 */
export function l1TrendFilter(
  signal: Float64Array,
  weights: Weights,
  reweightings = 25,
): Float64Array {
  const n = signal.length;
  let x = signal.slice();
  for (let round = 0; round < reweightings; round++) {
    const matrix = newBandedMatrix(n, 3);
    for (let k = 0; k < n; k++) matrix.band[4 * k] = 1;
    DIFFERENCES.forEach((difference, order) => {
      const weight = weights[order]!;
      if (weight === 0) return;
      for (let k = 0; k + difference.length <= n; k++) {
        let u = 0;
        for (let i = 0; i < difference.length; i++) u += difference[i]! * x[k + i]!;
        addOuterProduct(matrix, k, difference, weight / (2 * Math.max(Math.abs(u), LEAST)));
      }
    });
    factorBanded(matrix);
    x = signal.slice();
    solveFactored(matrix, x);
  }
  return x;
}

/** A walk at the working rate, degrees, where all filters work. */
interface Clip {
  readonly walk: SyntheticWalk;
  readonly inputs: Readonly<Record<Input, Coordinates>>;
  readonly truth: Coordinates;
  readonly orientations: (coordinates: Coordinates) => Float64Array;
}

function prepare(kind: WalkKind, seed: number): Clip {
  const walk = makeWalk(kind, seed);
  const { measured, truth, orientations, sampleRate } = unrollWalk(walk);
  const scaled = (coordinates: Coordinates, scale: number) =>
    mapCoordinates(coordinates, (signal) => signal.map((x) => x * scale));
  return {
    walk,
    inputs: {
      raw: scaled(measured, 1 / DEGREE),
      stepless: scaled(withoutSteps(measured, sampleRate), 1 / DEGREE),
    },
    truth: scaled(truth, 1 / DEGREE),
    orientations: (coordinates) => orientations(scaled(coordinates, DEGREE)),
  };
}

/** The signals less what oscillators at the steps take up beside a permissive trend. */
function withoutSteps(coordinates: Coordinates, sampleRate: number): Coordinates {
  const gait = trackStepFrequency(coordinates, sampleRate);
  if (gait.score < 2.8) return coordinates;
  const { oscillators } = buildGaitModel(coordinates, sampleRate, gait);
  return mapCoordinates(coordinates, (signal, axis) => {
    const { oscillations } = smoothStructure(signal, {
      sampleRate,
      order: 2,
      trendNoise: new Float64Array(signal.length).fill(30 * DEGREE ** 2),
      oscillators: oscillators[axis],
      noise: 2.5e-3 * DEGREE ** 2,
    });
    return signal.map((x, k) => oscillations.reduce((rest, part) => rest - part[k]!, x));
  });
}

const SETTINGS: readonly Setting[] = (['raw', 'stepless'] as const).flatMap((input) =>
  [0, 0.1, 0.3, 1, 3, 10, 30, 100].flatMap((first) =>
    [
      [0, 0],
      ...[0.1, 1, 10, 100, 1000, 10_000, 100_000].map((second) => [second, 0] as const),
      ...[1, 10, 100, 1000, 10_000, 100_000].map((third) => [0, third] as const),
    ].map(([second, third]) => ({ input, weights: [first, second!, third!] as const })),
  ),
);

/** Mean square errors of a clip for each setting, degrees²: of heading and tilt, and of roll. */
function costsOf(clip: Clip): readonly { aim: number; roll: number }[] {
  const { truth, inputs } = clip;
  return SETTINGS.map(({ input, weights }) => {
    const miss = (axis: keyof Coordinates) => {
      const x = l1TrendFilter(inputs[input][axis], weights);
      return x.reduce((sum, value, k) => sum + (value - truth[axis][k]!) ** 2, 0) / x.length;
    };
    return { aim: miss('heading') + miss('tilt'), roll: miss('roll') };
  });
}

/** One setting for heading and tilt, and one for roll. */
interface Choice {
  readonly aim: Setting;
  readonly roll: Setting;
}

/** The settings with the least mean of a figure of the errors. */
function choose(
  costs: readonly (readonly { aim: number; roll: number }[])[],
  figure: (square: number) => number,
): Choice {
  const best = (part: 'aim' | 'roll') => {
    const totals = SETTINGS.map((_, s) =>
      costs.reduce((sum, clip) => sum + figure(clip[s]![part]), 0),
    );
    return SETTINGS[totals.indexOf(Math.min(...totals))]!;
  };
  return { aim: best('aim'), roll: best('roll') };
}

function filtered({ inputs, orientations }: Clip, choice: Choice): Float64Array {
  return orientations(
    mapCoordinates(inputs.raw, (_, axis) => {
      const { input, weights } = axis === 'roll' ? choice.roll : choice.aim;
      return l1TrendFilter(inputs[input][axis], weights);
    }),
  );
}

const words = ({ input, weights }: Setting) => `${input} ${weights.join('/')}`;

/** Tunes on development seeds and prints errors on fresh ones. */
export function printL1(developmentSeeds = 6, firstFresh = 100400, freshSeeds = 12): void {
  const perKind = new Map<WalkKind, Choice>();
  const all: (readonly { aim: number; roll: number }[])[] = [];
  for (const kind of WALK_KINDS) {
    const costs = Array.from({ length: developmentSeeds }, (_, seed) =>
      costsOf(prepare(kind, seed)),
    );
    perKind.set(
      kind,
      choose(costs, (square) => square),
    );
    all.push(...costs);
  }
  const bySquare = choose(all, (square) => square);
  const byRatio = choose(all, Math.log);
  printTable(
    `Weights chosen on development seeds 0–${developmentSeeds - 1} among ${SETTINGS.length}: input, first/second/third differences`,
    ['kind', 'heading and tilt', 'roll'],
    [
      ...[...perKind].map(([kind, { aim, roll }]) => [kind, words(aim), words(roll)]),
      ['one for all, least mean square', words(bySquare.aim), words(bySquare.roll)],
      ['one for all, least mean logarithm', words(byRatio.aim), words(byRatio.roll)],
    ],
  );

  const methods: Record<string, (clip: Clip) => Float64Array> = {
    raw: ({ walk }) => walk.measured,
    'L1, weights per kind': (clip) => filtered(clip, perKind.get(clip.walk.kind)!),
    'L1, one for all (square)': (clip) => filtered(clip, bySquare),
    'L1, one for all (logarithm)': (clip) => filtered(clip, byRatio),
    structural: ({ walk }) => separate(trackOf(walk)).intended.quaternions,
  };
  const names = Object.keys(methods);
  const columns = WALK_KINDS.map((kind) => {
    const clips = Array.from({ length: freshSeeds }, (_, k) => prepare(kind, firstFresh + k));
    return names.map((name) => clips.map((clip) => errorsOf(clip.walk, methods[name]!(clip))));
  });
  for (const roll of ['levelled', 'kept'] as const) {
    printTable(
      `Fresh seeds ${firstFresh}–${firstFresh + freshSeeds - 1}: roll ${roll}, degrees`,
      ['method', ...WALK_KINDS],
      names.map((name, m) => [
        name,
        ...columns.map((column) => pooled(column[m]!.map((error) => error[roll]))),
      ]),
    );
  }
}
