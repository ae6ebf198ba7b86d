import { meant } from '../nearestWord.js';

/** Standard gravity, m/s² (CGPM 1901). */
const STANDARD_GRAVITY = 9.80665;

/** Units as people write them, each with what one of it is in seconds, rad, rad/s or m/s². */
export type Units = Readonly<Record<string, number>>;

const spelt = (words: string, factor: number): Units =>
  Object.fromEntries(words.split(' ').map((word) => [word, factor]));

export const TIME_UNITS: Units = {
  ...spelt('s sec secs second seconds', 1),
  ...spelt('ms msec millisecond milliseconds', 1e-3),
  ...spelt('us µs μs usec microsecond microseconds', 1e-6),
  ...spelt('ns nsec nanosecond nanoseconds', 1e-9),
};

const DEGREE = Math.PI / 180;

export const ANGLE_UNITS: Units = {
  ...spelt('rad radian radians', 1),
  ...spelt('deg degree degrees °', DEGREE),
};

export const RATE_UNITS: Units = {
  ...spelt('rad/s rad/sec radian/s radians/s radians/second', 1),
  ...spelt('deg/s deg/sec degree/s degrees/s degrees/second °/s dps', DEGREE),
};

export const ACCELERATION_UNITS: Units = {
  ...spelt('m/s2 m/s² m/s^2 m/s/s', 1),
  ...spelt('g', STANDARD_GRAVITY),
};

/** The words of some units, for a pattern; the longest first, so that none hides behind its beginning. */
export function unitPattern(units: Units): string {
  const words = Object.keys(units).sort((a, b) => b.length - a.length);
  return `(${words.map((word) => word.replace(/[\^]/g, '\\$&')).join('|')})`;
}

/** Words that stand in sentences besides units, columns and axes. */
const WORDS =
  'column unit frames at timecode drop turn then about fixed sense camera-to-world world-to-camera rows counts of at-rest up down left right forward back north south east west where is separator comment skip every tab space yes unknown';

/**
 * What was probably meant by the first word of a sentence that means nothing, as a remedy; undefined
 * where every word is known or none is near. Columns in quotes may be called anything.
 *
 * @param subjects - what a sentence may begin with
 */
export function meantInSentence(sentence: string, subjects: readonly string[]): string | undefined {
  // Nobody writes so long a sentence.
  if (sentence.length > 500) return undefined;
  const [, subject = '', rest = ''] = /^([^:"]*)(.*)$/.exec(sentence) ?? [];
  const units = [TIME_UNITS, ANGLE_UNITS, RATE_UNITS, ACCELERATION_UNITS].flatMap(Object.keys);
  const known = [...WORDS.split(' '), ...units];
  if (!subjects.includes(subject.trim().toLowerCase())) return meant(subject.trim(), subjects);
  const words = rest.replace(/"[^"]*"/g, ' ').match(/[^\s,:;.]{2,}/g) ?? [];
  for (const word of words) {
    if (known.includes(word) || /\d/.test(word)) continue;
    const near = meant(word, known);
    if (near !== undefined) return near;
  }
  return undefined;
}
