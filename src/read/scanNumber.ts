import { decodeText } from './text.js';

/** The bytes of the decimal notation. */
export const MINUS = 45;
export const POINT = 46;
export const COMMA = 44;
export const ZERO = 48;
const PLUS = 43;
const NINE = 57;
const UPPER_E = 69;
const LOWER_E = 101;

/** Powers of ten up to 10^22, which a double holds exactly, and beyond them the nearest doubles. */
export const POWERS_OF_TEN = Float64Array.from({ length: 45 }, (_, k) => Number(`1e${k}`));

/** What the doubles above miss: together both are 10^k exactly, as 5^44 has less than 106 bits. */
export const POWERS_REST = Float64Array.from({ length: 45 }, (_, k) =>
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
  let i = from;
  let byte = i < to ? bytes[i]! : 0;
  const negative = byte === MINUS;
  const plus = byte === PLUS;
  if (negative || plus) byte = ++i < to ? bytes[i]! : 0;
  const wholeFrom = i;
  while (byte === ZERO) byte = ++i < to ? bytes[i]! : 0;
  // Digits from the first that is not zero: nine and nine, which fit 32 bits, and one.
  let first = 0;
  let second = 0;
  let third = 0;
  let count = 0;
  let pointAt = -1;
  while (count < 9) {
    const digit = byte - ZERO;
    if (digit >= 0 && digit <= 9) {
      first = (Math.imul(first, 10) + digit) | 0;
      if (first > 0) count++;
    } else if (byte === decimal && pointAt < 0) pointAt = i;
    else break;
    byte = ++i < to ? bytes[i]! : 0;
  }
  if (count === 9) {
    while (count < 18) {
      const digit = byte - ZERO;
      if (digit >= 0 && digit <= 9) {
        second = (Math.imul(second, 10) + digit) | 0;
        count++;
      } else if (byte === decimal && pointAt < 0) pointAt = i;
      else break;
      byte = ++i < to ? bytes[i]! : 0;
    }
  }
  if (count === 18) {
    for (;;) {
      const digit = byte - ZERO;
      if (digit >= 0 && digit <= 9) {
        third = digit;
        count++;
      } else if (byte === decimal && pointAt < 0) pointAt = i;
      else break;
      byte = ++i < to ? bytes[i]! : 0;
    }
  }
  const decimals = pointAt < 0 ? 0 : i - pointAt - 1;
  const wholeDigits = (pointAt < 0 ? i : pointAt) - wholeFrom;
  if (wholeDigits + decimals === 0) return Number.NaN;
  const mantissaTo = i;
  let exponent = 0;
  if (byte === LOWER_E || byte === UPPER_E) {
    byte = ++i < to ? bytes[i]! : 0;
    const minus = byte === MINUS;
    if (minus || byte === PLUS) byte = ++i < to ? bytes[i]! : 0;
    const digitsFrom = i;
    for (; byte >= ZERO && byte <= NINE; byte = ++i < to ? bytes[i]! : 0) {
      // More than any text that fits a line can make up for by its count of digits.
      if (exponent < 1e8) exponent = exponent * 10 + byte - ZERO;
    }
    if (i === digitsFrom) return Number.NaN;
    if (minus) exponent = -exponent;
  }
  if (i < to) return Number.NaN;

  const power = exponent - decimals;
  if (count === 0) {
    form[0] = plus ? NO_FORM : formOf(bytes, wholeFrom, wholeDigits, decimals, pointAt, i);
    // The exponent of a zero is lost with its value.
    if (mantissaTo < i && exponent !== 0) form[0] = NO_FORM;
    return negative ? -0 : 0;
  }
  if (count > 19 || power > 44 || power < -44) {
    return Number(plainText(bytes, from, to, decimal));
  }
  let value = 0;
  let missed = 0;
  let slack = 0;
  const scale = POWERS_OF_TEN[power < 0 ? -power : power]!;
  if (count <= 15 && power <= 22 && power >= -22) {
    const mantissa = count <= 9 ? first : first * POWERS_OF_TEN[count - 9]! + second;
    value = power < 0 ? mantissa / scale : mantissa * scale;
    // It misses by half a unit in the last place: below 10^15 / 2^53 = 0.12 of the last digit.
  } else {
    // The mantissa as high + low: first × 10^k has at most 64 bits, split where both parts fit.
    const behind = count <= 9 ? 0 : count - 9;
    const shift = POWERS_OF_TEN[behind]!;
    const below = count <= 18 ? second : second * 10 + third;
    const top = first >>> 15;
    const upper = top * shift * 32768;
    const lower = (first & 32767) * shift + below;
    const high = upper + lower;
    const low = lower - (high - upper);
    const rest = POWERS_REST[power < 0 ? -power : power]!;
    let nearest = 0;
    let correction = 0;
    if (power < 0) {
      nearest = high / scale;
      const product = nearest * scale;
      const residue = high - product;
      const error = productError(nearest, scale, product);
      const beside = low - nearest * rest;
      correction = (residue - error + beside) / scale;
      // Five roundings of terms no larger than these, at 2^-53 each; 2^-50 covers eight.
      slack =
        ((Math.abs(residue) + Math.abs(error) + Math.abs(low) + Math.abs(nearest * rest)) / scale) *
        2 ** -50;
    } else {
      nearest = high * scale;
      const error = productError(high, scale, nearest);
      correction = error + (low * scale + high * rest);
      slack = (Math.abs(error) + Math.abs(low * scale) + Math.abs(high * rest)) * 2 ** -50;
    }
    value = nearest + correction;
    if (nearest + (correction - slack) !== nearest + (correction + slack)) {
      return Number(plainText(bytes, from, to, decimal));
    }
    missed = Math.abs(nearest - value + correction);
  }
  if (!plus && missed + slack < NEARLY_HALF * (power < 0 ? 1 / scale : scale)) {
    form[0] = formOf(bytes, wholeFrom, wholeDigits, decimals, pointAt, i);
  }
  return negative ? -value : value;
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
