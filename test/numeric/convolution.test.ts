import { describe, expect, test } from 'vitest';
import {
  convolveCentred,
  type Extension,
  extend,
  normalisedKernel,
  planConvolution,
} from '../../src/numeric/convolution.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const EPSILON = Number.EPSILON;
const unit = fc.integer({ min: -1000, max: 1000 }).map((k) => k / 1000);
const lists = (minLength: number, maxLength: number) =>
  fc.array(unit, { minLength, maxLength }).map((list) => Float64Array.from(list));
const extensions = fc.constantFrom<Extension[]>('odd', 'even', 'hold');

/** Symmetric kernels of up to 15 weights, positive and of sum 1. */
const kernels = lists(1, 8).map((side) => {
  const half = side.map((x) => 0.01 + Math.abs(x));
  return normalisedKernel(Float64Array.of(...half.slice(1).reverse(), ...half));
});

// A weighted mean of values up to 3, of 15 products and sums, and the sum of the weights.
const MEAN = 3 * 2 * 15 * EPSILON;

describe('beyond its ends a signal', () => {
  test.each<[string, Extension, number[]]>([
    ['is mirrored in its end points', 'odd', [-6, -1, 1, 3, 8, 6, 4, 9]],
    ['is mirrored', 'even', [8, 3, 1, 3, 8, 6, 8, 3]],
    ['stands still', 'hold', [1, 1, 1, 3, 8, 6, 6, 6]],
  ])('%s (%s)', (_what, extension, expected) => {
    expect([...extend(Float64Array.of(1, 3, 8, 6), 2, extension)]).toEqual(expected);
  });

  test('bounces from end to end when it is shorter than what is asked for', () => {
    const signal = Float64Array.of(0, 1, 2);
    expect([...extend(signal, 5, 'even')]).toEqual([1, 0, 1, 2, 1, 0, 1, 2, 1, 0, 1, 2, 1]);
    expect([...extend(signal, 5, 'odd')]).toEqual([-5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 6, 7]);
  });

  test('goes on as one value when it has no more', () => {
    fc.assert(
      fc.property(extensions, (extension) => {
        expect([...extend(Float64Array.of(4), 2, extension)]).toEqual([4, 4, 4, 4, 4]);
      }),
    );
  });
});

describe('convolution with a symmetric kernel', () => {
  test('an impulse returns the kernel around it', () => {
    fc.assert(
      fc.property(kernels, extensions, (kernel, extension) => {
        const signal = new Float64Array(41).fill(1, 20, 21);
        const half = kernel.length >> 1;
        const out = convolveCentred(signal, kernel, extension);
        expect(largestGap(out.subarray(20 - half, 21 + half), kernel)).toBe(0);
        expect(out.filter((x) => x !== 0)).toHaveLength(kernel.length);
      }),
    );
  });

  test('backwards in time it does the same', () => {
    fc.assert(
      fc.property(lists(1, 40), kernels, extensions, (signal, kernel, extension) => {
        const there = convolveCentred(signal, kernel, extension);
        const back = convolveCentred(signal.slice().reverse(), kernel, extension).reverse();
        expect(largestGap(there, back)).toBeLessThan(MEAN);
      }),
    );
  });

  test('a constant stays as it is', () => {
    fc.assert(
      fc.property(unit, kernels, extensions, (value, kernel, extension) => {
        const signal = new Float64Array(20).fill(value);
        expect(largestGap(convolveCentred(signal, kernel, extension), signal)).toBeLessThan(MEAN);
      }),
    );
  });

  test('mirrored in its end points a straight line stays as it is, and any signal keeps its ends', () => {
    fc.assert(
      fc.property(unit, lists(20, 40), kernels, (slope, signal, kernel) => {
        const line = Float64Array.from({ length: 20 }, (_, k) => (slope * k) / 20);
        expect(largestGap(convolveCentred(line, kernel, 'odd'), line)).toBeLessThan(MEAN);
        const out = convolveCentred(signal, kernel, 'odd');
        expect(Math.abs(out[0]! - signal[0]!)).toBeLessThan(MEAN);
        expect(Math.abs(out.at(-1)! - signal.at(-1)!)).toBeLessThan(MEAN);
      }),
    );
  });

  test('the signal is left as it was', () => {
    const signal = Float64Array.of(1, 2, 4);
    convolveCentred(signal, Float64Array.of(0.25, 0.5, 0.25), 'odd');
    expect([...signal]).toEqual([1, 2, 4]);
  });
});

test('a kernel divided by its sum has the sum 1 and the same proportions', () => {
  expect([...normalisedKernel(Float64Array.of(1, 2, 1))]).toEqual([0.25, 0.5, 0.25]);
});

describe('a plan for many signals', () => {
  // Values of any size side by side; kernels on both sides of where transforms take over, signals
  // shorter than a kernel, as long as a block of the transform, and longer.
  const kernels = [31, 127, 129, 301];
  const lengths = [1, 5, 200, 1747, 1749, 4000];
  const signal = (n: number, phase: number) =>
    Float64Array.from({ length: n }, (_, k) => Math.sin(12.9898 * (k + 1) * (k % 7) + phase) + 0.3);

  test.each(['odd', 'even', 'hold'] as const)(
    'with ends that are %s gives what each gives',
    (ends) => {
      for (const taps of kernels) {
        const kernel = normalisedKernel(
          Float64Array.from(
            { length: taps },
            (_, j) => 2 + Math.cos((6 * (j - (taps >> 1))) / taps),
          ),
        );
        const plan = planConvolution(kernel, ends);
        for (const n of lengths) {
          // Three, so that blocks of two signals meet in one transform and one is left alone.
          const signals = [signal(n, 1), signal(n, 2), signal(n + 60, 3)];
          const found = plan(...signals);
          const fitted = planConvolution(kernel, ends, n + 60)(...signals);
          // Odd mirrors of n values reach taps/n times their range; transforms round 2 · 2 · 11 stages.
          const size = 1.3 * (1 + (4 * taps) / n);
          signals.forEach((each, which) => {
            const expected = convolveCentred(each, kernel, ends);
            expect(largestGap(found[which]!, expected)).toBeLessThan(50 * size * Number.EPSILON);
            // A shorter block rounds in fewer stages.
            expect(largestGap(fitted[which]!, expected)).toBeLessThan(50 * size * Number.EPSILON);
          });
        }
      }
    },
  );
});
