/**
 * The inner loop of reading tables in AssemblyScript: decimal numbers, cell after cell and row after
 * row, up to eight digits at a time. `npm run build:kernel` makes `../scannerBytes.ts` of it.
 *
 * What it reads it reads as `scanNumber.ts` does, to the same bits; at anything else it stops.
 */

const RETURN: u32 = 13;
const NEWLINE: u32 = 10;
const TAB: u32 = 9;
const SPACE: u32 = 32;
const PLUS: u32 = 43;
const MINUS: u32 = 45;
const ZERO: u32 = 48;
const NINE: u32 = 57;
const LOWER_E: u32 = 101;

/** As in `scanNumber.ts`: no form, and what is added to the count of decimals. */
const NO_FORM: i32 = -1;
const MOST_DECIMALS: i32 = 31;
const SHORT_EXPONENT: i32 = 32;
const PADDED_EXPONENT: i32 = 64;
const UPPER_CASE: i32 = 128;

/** Powers of ten as doubles, what these miss, and powers up to 10^8 as whole numbers, in this order. */
const POWERS: usize = 45;
const LARGEST_POWER: i32 = POWERS - 1;
/** Powers of ten up to this are exact in a double. */
const LARGEST_EXACT: i32 = 22;
/** More digits do not fit 64 bits. */
const MOST_DIGITS: i32 = 19;
/**
 * Below this a whole number and its quotient by a power of ten miss the text by less than a quarter of
 * its last digit: 2^51 × 2^-53.
 */
const SHORT: u64 = 1 << 51;
const NEARLY_HALF: f64 = 0.4999;
const ZEROS: u64 = 0x3030303030303030;

/**
 * Reads cells from `from` on into `values`, at the slot of each, and `forms`; `count` cells are there
 * already. It goes on up to the
 * first cell of another kind, the first line that may be no row or has another count of cells, or the
 * `most`-th cell.
 *
 * @param to - behind a line end
 * @param separator - byte between cells, or -1
 * @param comment - first byte of comments, or -1
 * @param usual - the form that each column is expected to have
 * @param kept - where to list the cells whose value and form do not give their text back: cell, start
 *   and stop, 32 bits each
 * @param counts - where to put how many cells there are then, how many of those are listed, and not 0 where
 *   a form is not the usual one
 * @returns where the cell of another kind starts, or where the next line does
 */
export function scan(
  from: usize,
  to: usize,
  separator: i32,
  decimal: u32,
  comment: i32,
  columnCount: i32,
  count: i32,
  most: i32,
  values: usize,
  slots: usize,
  forms: usize,
  usual: usize,
  kept: usize,
  powers: usize,
  counts: usize,
): usize {
  let cell = count;
  let column = cell % columnCount;
  let unusual: i32 = 0;
  let keptTo = kept;
  let i = from;
  let start = from;
  for (;;) {
    start = i;
    let byte: u32 = load<u8>(i);
    while (byte == SPACE) byte = load<u8>(++i);
    const textFrom = i;
    const minus = <u32>(byte == MINUS);
    i += minus;
    const wholeFrom = i;
    let sum: u64 = 0;
    let digit = <u32>load<u8>(i) - ZERO;
    while (digit <= 9) {
      sum = sum * 10 + digit;
      digit = <u32>load<u8>(++i) - ZERO;
    }
    const wholeDigits = <i32>(i - wholeFrom);
    if (wholeDigits == 0) break;
    let plain = load<u8>(wholeFrom) != ZERO || wholeDigits == 1;
    byte = load<u8>(i);
    let decimals: i32 = 0;
    if (byte == decimal) {
      const partFrom = ++i;
      for (;;) {
        const digits = load<u64>(i) ^ ZEROS;
        const bits = digitBits(digits);
        if (bits == 0) break;
        sum = sum * wholePower(powers, bits) + numberOf(digits, bits);
        // Sums of constants, so that the next cell's place is guessed and not waited for.
        switch (<i32>bits >> 3) {
          case 1:
            i += 1;
            break;
          case 2:
            i += 2;
            break;
          case 3:
            i += 3;
            break;
          case 4:
            i += 4;
            break;
          case 5:
            i += 5;
            break;
          case 6:
            i += 6;
            break;
          case 7:
            i += 7;
            break;
          default:
            i += 8;
        }
        if (bits < 64) break;
      }
      decimals = <i32>(i - partFrom);
      byte = load<u8>(i);
      if (decimals == 0) plain = false;
    }
    if (wholeDigits + decimals > MOST_DIGITS && significant(wholeFrom, i) > MOST_DIGITS) break;
    let form = decimals;
    let power = -decimals;
    if ((byte | 32) == LOWER_E) {
      const mark = i;
      const sign: u32 = load<u8>(++i);
      if (sign == PLUS || sign == MINUS) i++;
      const exponentFrom = i;
      let exponent: i32 = 0;
      for (byte = load<u8>(i); byte >= ZERO && byte <= NINE; byte = load<u8>(++i)) {
        // More than any text that fits a line can make up for by its count of digits.
        exponent = min(exponent * 10 + <i32>(byte - ZERO), 100000000);
      }
      const exponentDigits = <i32>(i - exponentFrom);
      if (exponentDigits == 0) break;
      plain =
        plain &&
        wholeDigits == 1 &&
        exponentFrom - mark == 2 &&
        exponentDigits <= 2 &&
        // A zero exponent is written +0, and one digit that is not zero stands before the point.
        (exponent != 0 || sign == PLUS) &&
        (sum == 0 ? exponent == 0 : load<u8>(wholeFrom) != ZERO);
      form += exponentDigits == 1 ? SHORT_EXPONENT : PADDED_EXPONENT;
      if (load<u8>(mark) != LOWER_E) form += UPPER_CASE;
      power += sign == MINUS ? -exponent : exponent;
    }
    if (decimals > MOST_DECIMALS) plain = false;
    const size = power < 0 ? -power : power;
    let value: f64;
    if (sum < SHORT && size <= LARGEST_EXACT) {
      const scale = load<f64>(powers + (<usize>size << 3));
      value = power <= 0 ? <f64>sum / scale : <f64>sum * scale;
    } else if (sum == 0) {
      value = 0;
    } else {
      if (size > LARGEST_POWER) break;
      value = nearest(sum, power, powers + (<usize>size << 3));
      // NaN stands for a number that two doubles cannot tell.
      if (value != value) break;
      if (far) plain = false;
    }
    const textTo = i;
    if (byte == RETURN && load<u8>(i + 1) == NEWLINE) {
      i++;
      byte = NEWLINE;
    }
    if (byte == <u32>separator) {
      if (byte == SPACE) {
        while (byte == SPACE || byte == TAB || byte == RETURN) byte = load<u8>(++i);
        if (byte != NEWLINE) i--;
      }
    } else if (byte != NEWLINE) break;
    const last = column + 1 == columnCount;
    // A row too long or too short is for others to refuse.
    if (last != (byte == NEWLINE)) break;
    const slot = <usize>load<u32>(slots + (<usize>cell << 2));
    store<u64>(values + (slot << 3), reinterpret<u64>(value) | (<u64>minus << 63));
    if (!plain) form = NO_FORM;
    store<i16>(forms + (<usize>cell << 1), <i16>form);
    unusual |= form ^ <i32>load<i16>(usual + (<usize>column << 1));
    if (!plain) {
      store<u32>(keptTo, cell);
      store<u32>(keptTo, textFrom, 4);
      store<u32>(keptTo, textTo, 8);
      keptTo += 12;
    }
    cell++;
    column++;
    i++;
    if (last) {
      column = 0;
      byte = i == to ? 0 : load<u8>(i);
      if (byte <= SPACE || byte == <u32>comment || cell >= most) {
        start = i;
        break;
      }
    }
  }
  store<i32>(counts, cell);
  store<u32>(counts, (keptTo - kept) / 12, 4);
  store<i32>(counts, unusual, 8);
  return start;
}

/** How many of eight bytes are digits up to the first other one, times eight. */
// @ts-ignore: decorator
@inline
function digitBits(digits: u64): u64 {
  // A byte above nine sets its highest bit here.
  const others = (((digits & 0x7f7f7f7f7f7f7f7f) + 0x7676767676767676) | digits) & 0x8080808080808080;
  return ctz(others) & 0x78;
}

/** The number of the first digits of eight, the first of them in the lowest byte. */
// @ts-ignore: decorator
@inline
function numberOf(digits: u64, bits: u64): u64 {
  const eight = digits << (64 - bits);
  const pairs = eight * 10 + (eight >> 8);
  return (
    ((pairs & 0x000000ff000000ff) * 0x000f424000000064 +
      ((pairs >> 16) & 0x000000ff000000ff) * 0x0000271000000001) >>
    32
  );
}

/** 10 to the power of bits / 8. */
// @ts-ignore: decorator
@inline
function wholePower(powers: usize, bits: u64): u64 {
  return load<u32>(powers + (<usize>bits >> 1), 2 * POWERS * 8);
}

/** How many digits are left when zeros before the first other one are not counted. */
function significant(from: usize, to: usize): i32 {
  let digits: i32 = 0;
  for (let i = from; i < to; i++) {
    const digit = <u32>load<u8>(i) - ZERO;
    if (digit <= 9 && (digit > 0 || digits > 0)) digits++;
  }
  return digits;
}

/** Whether the last result of {@link nearest} is too far from its text to give it back. */
let far: bool = false;

/**
 * The double nearest to whole × 10^power, computed in two doubles; NaN where their error may change
 * the rounding. See `scanNumber.ts`.
 *
 * @param place - of 10^|power|
 */
function nearest(whole: u64, power: i32, place: usize): f64 {
  const scale = load<f64>(place);
  const rest = load<f64>(place, POWERS * 8);
  const inverse = 1 / scale;
  const high = <f64>whole;
  const low = <f64>(<i64>(whole - <u64>high));
  let first: f64;
  let correction: f64;
  let slack: f64;
  if (power < 0) {
    first = high / scale;
    const product = first * scale;
    const residue = high - product;
    const error = productError(first, scale, product);
    const beside = low - first * rest;
    correction = (residue - error + beside) * inverse;
    // Seven roundings of terms no larger than these, at 2^-53 each; 2^-50 covers eight.
    slack = (abs(residue) + abs(error) + abs(low) + abs(first * rest)) * inverse * 8.881784197001252e-16;
  } else {
    first = high * scale;
    const error = productError(high, scale, first);
    correction = error + (low * scale + high * rest);
    slack = (abs(error) + abs(low * scale) + abs(high * rest)) * 8.881784197001252e-16;
  }
  if (first + (correction - slack) != first + (correction + slack)) return NaN;
  const value = first + correction;
  far = !(abs(first - value + correction) + slack < NEARLY_HALF * (power < 0 ? inverse : scale));
  return value;
}

/** What the rounded product of two doubles lacks, exactly. */
// @ts-ignore: decorator
@inline
function productError(a: f64, b: f64, product: f64): f64 {
  const aLarge = a * 134217729;
  const aTop = aLarge - (aLarge - a);
  const aLow = a - aTop;
  const bLarge = b * 134217729;
  const bTop = bLarge - (bLarge - b);
  const bLow = b - bTop;
  return aLow * bLow - (product - aTop * bTop - aLow * bTop - aTop * bLow);
}
