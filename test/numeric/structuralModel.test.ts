import { readFileSync } from 'node:fs';
import { determinant, Matrix, solve } from 'ml-matrix';
import { describe, expect, test } from 'vitest';
import { newOscillator, type StructuralModel } from '../../src/numeric/structuralModel.js';
import { logLikelihood, smoothStructure } from '../../src/numeric/structuralSmoother.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const EPSILON = Number.EPSILON;
const SAMPLE_RATE = 10;
/** Variance of the unknown level, velocity and acceleration at the first sample. */
const START = 10;
/** Innovations that only find the start and do not count. */
const UNSCORED = 3;

const share = fc.integer({ min: 0, max: 1000 }).map((k) => k / 1000);
const positive = fc.integer({ min: 1, max: 1000 }).map((k) => k / 1000);
const series = (n: number, values: fc.Arbitrary<number>) =>
  fc.array(values, { minLength: n, maxLength: n }).map((list) => Float64Array.from(list));

/** A signal of −1 to 1 and any model of it, with up to two oscillators, seen always or now and then. */
const problems = fc.integer({ min: 4, max: 14 }).chain((n) =>
  fc.record({
    signal: series(
      n,
      share.map((x) => 2 * x - 1),
    ),
    model: fc.record({
      sampleRate: fc.constant(SAMPLE_RATE),
      order: fc.constantFrom(2 as const, 3 as const),
      trendNoise: series(n, share),
      noise: positive.map((x) => 0.01 + x),
      oscillators: fc.array(
        fc
          .record({
            variance: positive,
            step: series(n, share),
            lifetime: positive,
            weight: fc.option(series(n, share), { nil: undefined }),
          })
          .map(({ variance, step, lifetime, weight }) =>
            newOscillator(variance, step, lifetime, SAMPLE_RATE, weight),
          ),
        { maxLength: 2 },
      ),
    }),
  }),
);

/** Covariance of a trend: a Taylor series of its unknown start, and a ramp from every shock on. */
function trendCovariance({ order, trendNoise, sampleRate }: StructuralModel): Matrix {
  const n = trendNoise.length;
  const power = (p: number, steps: number) => (steps / sampleRate) ** p / [1, 1, 2][p]!;
  return matrixOf(n, (t, s) => {
    let sum = 0;
    for (let p = 0; p < order; p++) sum += START * power(p, t) * power(p, s);
    for (let j = 0; j < Math.min(t, s); j++) {
      sum +=
        (trendNoise[j]! / sampleRate) * power(order - 1, t - j - 1) * power(order - 1, s - j - 1);
    }
    return sum;
  });
}

/** Covariance of an oscillation as it is seen: it turns and forgets, but keeps its size. */
function oscillationCovariance(
  { oscillators, trendNoise }: StructuralModel,
  index: number,
): Matrix {
  const { variance, damping, cosine, sine, weight } = oscillators[index]!;
  const phase = cosine.map((c, t) => Math.atan2(sine[t]!, c));
  return matrixOf(
    trendNoise.length,
    (t, s) =>
      (weight?.[t] ?? 1) *
      (weight?.[s] ?? 1) *
      variance *
      damping ** Math.abs(t - s) *
      Math.cos(phase[t]! - phase[s]!),
  );
}

function matrixOf(n: number, at: (t: number, s: number) => number): Matrix {
  return new Matrix(
    Array.from({ length: n }, (_, t) => Array.from({ length: n }, (_, s) => at(t, s))),
  );
}

/** The signal as one Gaussian vector: its parts given all of it, and its log density. */
function conditioned(signal: Float64Array, model: StructuralModel) {
  const n = signal.length;
  const trend = trendCovariance(model);
  const oscillations = model.oscillators.map((_, k) => oscillationCovariance(model, k));
  const whole = [trend, ...oscillations].reduce(
    (sum, part) => sum.add(part),
    Matrix.eye(n).mul(model.noise),
  );
  const off = Matrix.columnVector(signal.map((y) => y - signal[0]!));
  const given = (part: Matrix) => Float64Array.from(part.mmul(solve(whole, off)).to1DArray());
  const density = (count: number) => {
    const block = whole.subMatrix(0, count - 1, 0, count - 1);
    const y = off.subMatrix(0, count - 1, 0, 0);
    return -0.5 * (Math.log(determinant(block)) + y.transpose().mmul(solve(block, y)).get(0, 0));
  };
  return {
    trend: given(trend).map((x) => x + signal[0]!),
    oscillations: oscillations.map(given),
    likelihood: density(n) - density(UNSCORED),
    condition: whole.trace() / model.noise,
  };
}

describe('the Kalman filter and its smoother', () => {
  // Elimination, and the filter's taking covariances off each other, lose at most as many digits
  // as the trace of the covariance holds above the noise; n steps on signals of up to 2.
  const rounding = (n: number, condition: number) => 2 * 2 * n * condition * EPSILON;

  test('find the parts that conditioning one large Gaussian vector finds', () => {
    fc.assert(
      fc.property(problems, ({ signal, model }) => {
        const expected = conditioned(signal, model);
        const found = smoothStructure(signal, model);
        const tolerance = rounding(signal.length, expected.condition);
        expect(largestGap(found.trend, expected.trend)).toBeLessThan(tolerance);
        found.oscillations.forEach((part, k) => {
          expect(largestGap(part, expected.oscillations[k]!)).toBeLessThan(tolerance);
        });
      }),
    );
  });

  test('find the likelihood of all but the first three samples given those', () => {
    fc.assert(
      fc.property(problems, ({ signal, model }) => {
        const { likelihood, condition } = conditioned(signal, model);
        // A square of up to 2² is divided by no less than the noise.
        const tolerance = rounding(signal.length, condition) * (1 + 2 / model.noise);
        expect(Math.abs(logLikelihood(signal, model) - likelihood)).toBeLessThan(tolerance);
      }),
    );
  });

  test('follow a straight line as closely as the noise makes them doubt its slope', () => {
    fc.assert(
      fc.property(problems, share, share, ({ signal, model }, level, slope) => {
        const line = signal.map((_, t) => level + (slope * t) / SAMPLE_RATE);
        const { trend } = smoothStructure(line, { ...model, oscillators: [] });
        // The trend makes Σ (line − trend)²/noise + (what start and shocks cost) least; the line
        // itself costs slope²/START, so no term of the sum is larger.
        const doubt = Math.sqrt(model.noise / START) * slope;
        const condition = trendCovariance(model).trace() / model.noise;
        expect(largestGap(trend, line)).toBeLessThan(doubt + rounding(line.length, 1 + condition));
      }),
    );
  });

  test('leave the signal and the model as they were', () => {
    fc.assert(
      fc.property(problems, ({ signal, model }) => {
        const before = structuredClone({ signal, model });
        logLikelihood(signal, model);
        smoothStructure(signal, model);
        expect({ signal, model }).toEqual(before);
      }),
    );
  });
});

const reference: {
  sampleRate: number;
  noise: number;
  signal: number[];
  trendNoise: number[];
  oscillators: { variance: number; lifetime: number; step: number[]; weight?: number[] }[];
  smoothed: { order: 2 | 3; likelihood: number; trend: number[]; oscillations: number[][] }[];
} = JSON.parse(
  readFileSync(new URL('../reference/structural_kalman.json', import.meta.url), 'utf8'),
);

describe.each(reference.smoothed)('with a trend of order $order a step that opens', (expected) => {
  const { sampleRate, noise, order, ...rest } = { ...reference, ...expected };
  const signal = Float64Array.from(rest.signal);
  const model: StructuralModel = {
    sampleRate,
    noise,
    order,
    trendNoise: Float64Array.from(rest.trendNoise),
    oscillators: rest.oscillators.map(({ variance, step, lifetime, weight }) =>
      newOscillator(
        variance,
        Float64Array.from(step),
        lifetime,
        sampleRate,
        weight && Float64Array.from(weight),
      ),
    ),
  };
  const size = order + 2 * model.oscillators.length;
  // On both sides a step sums `size` products of covariances up to 10, of which a noise of 0.01 is
  // left; signals are below 4. numpy wrote half a unit of the twelfth decimal.
  const tolerance = 2 * 4 * signal.length * size * (START / noise) * EPSILON + 0.5e-12;

  test('is split as whole matrices in numpy split it', () => {
    const { trend, oscillations } = smoothStructure(signal, model);
    expect(largestGap(trend, expected.trend)).toBeLessThan(tolerance);
    oscillations.forEach((part, k) => {
      expect(largestGap(part, expected.oscillations[k]!)).toBeLessThan(tolerance);
    });
  });

  test('has the likelihood that numpy gives it', () => {
    // Each of 57 innovations below 4 is squared and divided by at least 0.01; nine decimals.
    const gap = Math.abs(logLikelihood(signal, model) - expected.likelihood);
    expect(gap).toBeLessThan(tolerance * (1 + (2 * 4) / noise) + 0.5e-9);
  });
});

test('an oscillator has turned by the sum of the steps before, and keeps 1/e of its amplitude over a lifetime', () => {
  fc.assert(
    fc.property(series(5, share), positive, (step, lifetime) => {
      const { damping, cosine, sine } = newOscillator(1, step, lifetime, SAMPLE_RATE);
      expect(Math.abs(damping ** (SAMPLE_RATE * lifetime) - Math.exp(-1))).toBeLessThan(
        // The power magnifies the rounding of its base by its exponent, at most 10.
        2 * SAMPLE_RATE * EPSILON,
      );
      let turned = 0;
      step.forEach((angle, t) => {
        // Four sums of up to 4 before a cosine or sine of it.
        expect(Math.abs(cosine[t]! - Math.cos(turned))).toBeLessThan(20 * EPSILON);
        expect(Math.abs(sine[t]! - Math.sin(turned))).toBeLessThan(20 * EPSILON);
        turned += angle;
      });
    }),
  );
});

test('an oscillator that is seen now and then keeps its weights, another has none', () => {
  fc.assert(
    fc.property(series(5, share), (weight) => {
      expect(newOscillator(1, weight, 1, SAMPLE_RATE, weight).weight).toBe(weight);
      expect('weight' in newOscillator(1, weight, 1, SAMPLE_RATE)).toBe(false);
    }),
  );
});
