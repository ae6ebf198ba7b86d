import { decodeText } from './text.js';

/** The bytes of the decimal notation. */
export const MINUS = 45;
export const POINT = 46;
export const COMMA = 44;
export const ZERO = 48;
const PLUS = 43;
const UPPER_E = 69;
const LOWER_E = 101;

/** More digits do not fit the parts that they are taken in, and larger powers not two doubles. */
const MOST_DIGITS = 19;
const LARGEST_POWER = 44;

/** Powers of ten up to 10^22, which a double holds exactly, and beyond them the nearest doubles. */
export const POWERS_OF_TEN = Float64Array.from({ length: LARGEST_POWER + 1 }, (_, k) =>
  Number(`1e${k}`),
);

/** What the doubles above miss: together both are 10^k exactly, as 5^44 has less than 106 bits. */
export const POWERS_REST = Float64Array.from({ length: LARGEST_POWER + 1 }, (_, k) =>
  Number(10n ** BigInt(k) - BigInt(Number(`1e${k}`))),
);

/** Half a unit of a text's last digit, less a margin for the rounding of the comparison. */
const NEARLY_HALF = 0.4999;

/** A text that no form describes. */
export const NO_FORM = -1;

// A form is the count of decimals, plus these where the text has an exponent.
const MOST_DECIMALS = 31;
const SHORT_EXPONENT = 32;
const PADDED_EXPONENT = 64;
const UPPER_CASE = 128;

/**
 * The number written in bytes[from, to), or NaN where that is no decimal number. It is the double
 * nearest to the text, as `Number()` has it.
 *
 * Up to 15 digits and a power of ten up to 22 need one correctly rounded operation on exact
 * values. Up to 19 digits and a power of ten up to 44 are computed in two doubles, and taken where
 * the error of that cannot change the rounding. The rest goes through `Number()`.
 *
 * @param decimal - the byte that parts whole and fraction
 * @param form - where to put the form of the text, from which {@link textOfForm} writes it again,
 *   or {@link NO_FORM}
 * @see Clinger, "How to read floating point numbers accurately", PLDI 1990, the fast path
 * @see Dekker, "A floating-point technique for extending the available precision", 1971
 */
export function scanNumber(
  bytes: Uint8Array,
  from: number,
  to: number,
  decimal: number,
  form: Int32Array,
): number {
  form[0] = NO_FORM;
  const sign = from < to ? bytes[from]! : 0;
  const plus = sign === PLUS;
  const start = sign === MINUS || plus ? from + 1 : from;
  const mark = scanDigits(bytes, start, to, decimal);
  const pointAt = digits[POINT_AT]!;
  const decimals = pointAt < 0 ? 0 : mark - pointAt - 1;
  const wholeDigits = (pointAt < 0 ? mark : pointAt) - start;
  if (wholeDigits + decimals === 0) return Number.NaN;
  let exponent = 0;
  if (mark < to) {
    exponent = scanExponent(bytes, mark, to);
    if (Number.isNaN(exponent)) return Number.NaN;
  }
  const value = nearestDouble(exponent - decimals);
  if (Number.isNaN(value)) return Number(plainText(bytes, from, to, decimal));
  // The exponent of a zero is lost with its value.
  const lost = digits[COUNT] === 0 && exponent !== 0;
  if (!plus && !lost && missed[0]! < NEARLY_HALF) {
    form[0] = formOf(bytes, start, wholeDigits, decimals, pointAt, to);
  }
  return sign === MINUS ? -value : value;
}

/** What {@link scanDigits} found, where: the digits in numbers of 32 bits, nine, nine and one. */
const FIRST = 0;
const SECOND = 1;
const THIRD = 2;
/** How many digits there are from the first that is not zero. */
const COUNT = 3;
/** Where the point stands, or -1. */
const POINT_AT = 4;
const digits = new Int32Array(5);

/** By how much the last {@link nearestDouble} may miss its text, in units of the text's last digit. */
const missed = new Float64Array(1);

/**
 * Takes digits and one point into {@link digits}.
 *
 * @returns where something else stands, or `to`
 */
function scanDigits(bytes: Uint8Array, from: number, to: number, decimal: number): number {
  let first = 0;
  let second = 0;
  let third = 0;
  let count = 0;
  let pointAt = -1;
  const pointDigit = decimal - ZERO;
  let i = from;
  for (; i < to && count < 9; i++) {
    const digit = bytes[i]! - ZERO;
    if (digit >= 0 && digit <= 9) {
      first = (Math.imul(first, 10) + digit) | 0;
      if (first > 0) count++;
    } else if (digit === pointDigit && pointAt < 0) pointAt = i;
    else break;
  }
  if (count === 9) {
    for (; i < to; i++) {
      const digit = bytes[i]! - ZERO;
      if (digit >= 0 && digit <= 9) {
        if (count < 18) second = (Math.imul(second, 10) + digit) | 0;
        else third = digit;
        count++;
      } else if (digit === pointDigit && pointAt < 0) pointAt = i;
      else break;
    }
  }
  digits[FIRST] = first;
  digits[SECOND] = second;
  digits[THIRD] = third;
  digits[COUNT] = count;
  digits[POINT_AT] = pointAt;
  return i;
}

/** The exponent in bytes[mark, to), its letter first; NaN where it is none. */
function scanExponent(bytes: Uint8Array, mark: number, to: number): number {
  if (bytes[mark] !== LOWER_E && bytes[mark] !== UPPER_E) return Number.NaN;
  const sign = mark + 1 < to ? bytes[mark + 1] : 0;
  const from = sign === MINUS || sign === PLUS ? mark + 2 : mark + 1;
  if (from >= to) return Number.NaN;
  let exponent = 0;
  for (let i = from; i < to; i++) {
    const digit = bytes[i]! - ZERO;
    if (digit < 0 || digit > 9) return Number.NaN;
    // More than any text that fits a line can make up for by its count of digits.
    if (exponent < 1e8) exponent = exponent * 10 + digit;
  }
  return sign === MINUS ? -exponent : exponent;
}

/**
 * The double nearest to the {@link digits} times 10^power; NaN where two doubles cannot tell it. Says
 * in {@link missed} how far from the text it may be.
 */
function nearestDouble(power: number): number {
  const first = digits[FIRST]!;
  const second = digits[SECOND]!;
  const count = digits[COUNT]!;
  missed[0] = 0;
  if (count === 0) return 0;
  if (count > MOST_DIGITS || power > LARGEST_POWER || power < -LARGEST_POWER) return Number.NaN;
  const scale = POWERS_OF_TEN[power < 0 ? -power : power]!;
  if (count <= 15 && power <= 22 && power >= -22) {
    // It misses by half a unit in the last place: below 10^15 / 2^53 = 0.12 of the last digit.
    const mantissa = count <= 9 ? first : first * POWERS_OF_TEN[count - 9]! + second;
    return power < 0 ? mantissa / scale : mantissa * scale;
  }
  // The mantissa as high + low: first × 10^k has at most 64 bits, split where both parts fit.
  const shift = POWERS_OF_TEN[count <= 9 ? 0 : count - 9]!;
  const below = count <= 18 ? second : second * 10 + digits[THIRD]!;
  const upper = (first >>> 15) * shift * 32768;
  const lower = (first & 32767) * shift + below;
  const high = upper + lower;
  const low = lower - (high - upper);
  const rest = POWERS_REST[power < 0 ? -power : power]!;
  return power < 0
    ? nearestQuotient(high, low, scale, rest)
    : nearestProduct(high, low, scale, rest);
}

/** The double nearest to (high + low) / (scale + rest), or NaN. */
function nearestQuotient(high: number, low: number, scale: number, rest: number): number {
  const nearest = high / scale;
  const product = nearest * scale;
  const residue = high - product;
  const error = productError(nearest, scale, product);
  const correction = (residue - error + (low - nearest * rest)) / scale;
  // Five roundings of terms no larger than these, at 2^-53 each; 2^-50 covers eight.
  const size = Math.abs(residue) + Math.abs(error) + Math.abs(low) + Math.abs(nearest * rest);
  return decided(nearest, correction, (size / scale) * 2 ** -50, scale);
}

/** The double nearest to (high + low) × (scale + rest), or NaN. */
function nearestProduct(high: number, low: number, scale: number, rest: number): number {
  const nearest = high * scale;
  const error = productError(high, scale, nearest);
  const correction = error + (low * scale + high * rest);
  const size = Math.abs(error) + Math.abs(low * scale) + Math.abs(high * rest);
  return decided(nearest, correction, size * 2 ** -50, 1 / scale);
}

/**
 * The double nearest to nearest + correction, or NaN where an error of `slack` may make it another.
 *
 * @param perOne - how many units of the text's last digit make 1
 */
function decided(nearest: number, correction: number, slack: number, perOne: number): number {
  if (nearest + (correction - slack) !== nearest + (correction + slack)) return Number.NaN;
  const value = nearest + correction;
  missed[0] = (Math.abs(nearest - value + correction) + slack) * perOne;
  return value;
}

/**
 * The form of a number's text from its first digit: how many decimals and which kind of exponent,
 * where that says all about it that its value does not.
 */
function formOf(
  bytes: Uint8Array,
  wholeFrom: number,
  wholeDigits: number,
  decimals: number,
  pointAt: number,
  to: number,
): number {
  if (wholeDigits === 0 || decimals > MOST_DECIMALS || (decimals === 0 && pointAt >= 0)) {
    return NO_FORM;
  }
  const zero = bytes[wholeFrom] === ZERO;
  if (zero && wholeDigits > 1) return NO_FORM;
  const mark = (pointAt < 0 ? wholeFrom + wholeDigits : pointAt + decimals + 1) | 0;
  if (mark === to) return decimals;
  // With an exponent: one digit that is not zero before the point, unless all are zero.
  if (wholeDigits > 1) return NO_FORM;
  if (zero) {
    for (let i = wholeFrom; i < mark; i++) if (bytes[i]! > ZERO) return NO_FORM;
  }
  const sign = bytes[mark + 1];
  if (sign !== MINUS && sign !== PLUS) return NO_FORM;
  const exponentDigits = to - mark - 2;
  const padded = bytes[mark + 2] === ZERO;
  // A zero exponent of a lone digit is written +0, never −0.
  if (sign === MINUS && padded && exponentDigits < 3 && bytes[to - 1] === ZERO) return NO_FORM;
  if (exponentDigits > 2) return NO_FORM;
  const kind = exponentDigits === 1 ? SHORT_EXPONENT : PADDED_EXPONENT;
  return decimals + kind + (bytes[mark] === UPPER_E ? UPPER_CASE : 0);
}

/** The text that a value was read from, by its form, with a decimal point. */
export function textOfForm(value: number, form: number): string {
  const sign = Object.is(value, -0) ? '-' : '';
  const decimals = form & MOST_DECIMALS;
  if (form <= MOST_DECIMALS) return sign + value.toFixed(decimals);
  let text = value.toExponential(decimals);
  if (form & PADDED_EXPONENT) text = text.replace(/(?<=e[+-])\d$/, '0$&');
  if (form & UPPER_CASE) text = text.toUpperCase();
  return sign + text;
}

/** What the rounded product of two doubles lacks, exactly (Veltkamp's split, Dekker's product). */
function productError(a: number, b: number, product: number): number {
  const aLarge = a * 134217729;
  const aTop = aLarge - (aLarge - a);
  const aLow = a - aTop;
  const bLarge = b * 134217729;
  const bTop = bLarge - (bLarge - b);
  const bLow = b - bTop;
  return aLow * bLow - (product - aTop * bTop - aLow * bTop - aTop * bLow);
}

/** Text with a decimal point, which `Number()` reads. */
function plainText(bytes: Uint8Array, from: number, to: number, decimal: number): string {
  const text = decodeText(bytes.subarray(from, to));
  return decimal === COMMA ? text.replace(',', '.') : text;
}
