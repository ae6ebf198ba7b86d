import { TwinkeelError } from '../error.js';

/** Frames per second as an exact fraction: 60000/1001, 25/1. */
export interface FrameRate {
  /** Whole number above 0. */
  readonly numerator: number;
  /** Whole number above 0; 1 or 1001 in practice. */
  readonly denominator: number;
}

/**
 * A frame rate from words: `60000/1001`, `25`, `24/1`. Decimals such as 59.94 are refused, since
 * they stand for a fraction that only the person knows.
 *
 * @throws TwinkeelError `argument/invalid`
 * @example
 * parseFrameRate('60000/1001'); // { numerator: 60000, denominator: 1001 }
 */
export function parseFrameRate(text: string): FrameRate {
  const match = /^\s*(\d{1,7})(?:\s*\/\s*(\d{1,5}))?\s*$/.exec(text);
  const numerator = Number(match?.[1]);
  const denominator = Number(match?.[2] ?? 1);
  const perSecond = numerator / denominator;
  if (!match || !(perSecond >= SLOWEST && perSecond <= FASTEST)) {
    throw new TwinkeelError('argument/invalid', {
      found: `the frame rate "${text}"`,
      expected: `a whole number or an exact fraction such as 60000/1001, from ${SLOWEST} to ${FASTEST} frames per second`,
      remedy: 'write 23.976 as 24000/1001, 29.97 as 30000/1001, 59.94 as 60000/1001',
    });
  }
  return { numerator, denominator };
}

/**
 * Whether {@link parseFrameRate} takes the rate in words: what a program makes up shall be read back
 * from the files that state it.
 */
export function isFrameRate({ numerator, denominator }: FrameRate): boolean {
  const perSecond = numerator / denominator;
  return (
    Number.isInteger(numerator) &&
    Number.isInteger(denominator) &&
    numerator > 0 &&
    denominator > 0 &&
    numerator < 1e7 &&
    denominator < 1e5 &&
    perSecond >= SLOWEST &&
    perSecond <= FASTEST
  );
}

/** Frames per second that cameras take. */
const SLOWEST = 1;
const FASTEST = 1000;

/**
 * The fraction in words: `60000/1001`, `25`. {@link parseFrameRate} reads it back.
 *
 * @example
 * formatFrameRate({ numerator: 60000, denominator: 1001 }); // '60000/1001'
 */
export function formatFrameRate(rate: FrameRate): string {
  return rate.denominator === 1 ? `${rate.numerator}` : `${rate.numerator}/${rate.denominator}`;
}

/**
 * Time of frame `k` in seconds from frame 0, rounded once.
 *
 * @param rate - exact frame rate
 * @param k - frames from frame 0; negative before it
 * @returns s
 * @example
 * frameTime({ numerator: 60000, denominator: 1001 }, 60); // 1.001 s
 */
export function frameTime(rate: FrameRate, k: number): number {
  return (k * rate.denominator) / rate.numerator;
}

/**
 * Times of frames 0 … count − 1, seconds.
 *
 * @param rate - exact frame rate
 * @param count - how many frames
 * @returns s, length `count`
 * @example
 * frameTimes({ numerator: 25, denominator: 1 }, 3); // [0, 0.04, 0.08] s
 */
export function frameTimes(rate: FrameRate, count: number): Float64Array {
  return Float64Array.from({ length: count }, (_, k) => frameTime(rate, k));
}

/**
 * Frames per second as the nearest double: for figures, not for times, see {@link frameTime}.
 *
 * @example
 * framesPerSecond({ numerator: 60000, denominator: 1001 }); // 59.940 frames per second
 */
export function framesPerSecond(rate: FrameRate): number {
  return rate.numerator / rate.denominator;
}
