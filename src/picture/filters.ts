import { TwinkeelError } from '../error.js';

/** How the samples around a place become the value there, from quick to sharp. */
export type ResamplingFilter = 'bilinear' | 'bicubic' | 'lanczos3';

/** A filter that is the same across and down. */
export interface FilterKernel {
  /** How far it reaches, samples to each side. */
  readonly radius: number;
  /** Its weight at a distance, samples; zero beyond the radius. */
  readonly weight: (distance: number) => number;
}

/**
 * The kernels by name. Their weights at four or six neighbouring samples add up to 1 (Lanczos' to
 * within a hundredth), and are divided by their sum.
 *
 * @see Keys, "Cubic convolution interpolation for digital image processing", IEEE Trans. Acoust.
 *   Speech Signal Process. 29(6), 1981, eq. (4) with a = −1/2
 * @see Duchon, "Lanczos filtering in one and two dimensions", J. Appl. Meteorol. 18(8), 1979
 */
export const FILTERS: Readonly<Record<ResamplingFilter, FilterKernel>> = {
  bilinear: { radius: 1, weight: (t) => Math.max(0, 1 - Math.abs(t)) },
  bicubic: { radius: 2, weight: cubic },
  lanczos3: { radius: 3, weight: lanczos },
};

/** A kernel by its name. */
export function filterNamed(name: ResamplingFilter): FilterKernel {
  if (Object.hasOwn(FILTERS, name)) return FILTERS[name];
  throw new TwinkeelError('argument/invalid', {
    found: `the filter "${name}"`,
    expected: `one of ${Object.keys(FILTERS).join(', ')}`,
    remedy: 'correct the option',
  });
}

function cubic(distance: number): number {
  const t = Math.abs(distance);
  if (t < 1) return (1.5 * t - 2.5) * t * t + 1;
  if (t < 2) return ((-0.5 * t + 2.5) * t - 4) * t + 2;
  return 0;
}

function lanczos(distance: number): number {
  const t = Math.abs(distance);
  if (t >= 3) return 0;
  if (t < 1e-8) return 1;
  const angle = Math.PI * t;
  return (3 * Math.sin(angle) * Math.sin(angle / 3)) / (angle * angle);
}

/** Samples of the source per sample of the view up to which a filter keeps its width. */
export const WIDEN_FROM = 1.25;
/**
 * How much wider a filter becomes where several samples of the source fall on one of the view, so
 * that none is left out and fine detail does not turn into patterns. A steadying turn changes the
 * scale by a few per cent: up to 1.25 the picture keeps its sharpness, from 1.5 on the filter is as wide
 * as the map shrinks (both bounds are our judgement).
 *
 * @param scale - samples of the source per sample of the view, along one axis of the source; across a
 *   half-equirect counted as wide as samples are at its equator, since towards the poles it holds the same
 *   picture on more and more of them
 * @returns 1 and more
 */
export function widening(scale: number): number {
  return Math.max(1, Math.min(scale, 2 * scale - 1.5));
}
