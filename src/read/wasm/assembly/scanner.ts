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
/** Up to so many digits are exact in a double, and miss their text by an eighth of the last digit. */
const SHORT: i32 = 15;
/** Whole numbers below this are so too, and miss by a quarter: 2^51 × 2^-53. */
const EXACT: u64 = 1 << 51;
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
    const minus = <u64>(byte == MINUS);
    i += <usize>minus;
    const wholeFrom = i;
    let sum: u64 = 0;
    let digit = <u32>load<u8>(i) - ZERO;
    while (digit <= 9) {
      sum = sum * 10 + digit;
      digit = <u32>load<u8>(++i) - ZERO;
    }
    const wholeDigits = <i32>(i - wholeFrom);
    let form: i32 = 0;
    let odd = (wholeDigits > 1 && load<u8>(wholeFrom) == ZERO) || wholeDigits == 0;
    if (digit + ZERO == decimal) {
      const partFrom = ++i;
      for (;;) {
        const digits = load<u64>(i) ^ ZEROS;
        const bits = digitBits(digits);
        if (bits == 0) break;
        sum = sum * wholePower(powers, bits) + numberOf(digits, bits);
        i = behind(i, bits);
        if (bits < 64 || <u32>load<u8>(i) - ZERO > 9) break;
      }
      form = <i32>(i - partFrom);
      odd = odd || form == 0;
    }
    let value: f64;
    if (odd || wholeDigits + form > MOST_DIGITS || (<u32>load<u8>(i) | 32) == LOWER_E) {
      i = anyNumber(start, decimal, powers);
      if (i == 0) break;
      value = numberRead;
      form = formRead;
    } else {
      const scale = powers + (<usize>form << 3);
      if (wholeDigits + form <= SHORT) value = <f64>sum / load<f64>(scale);
      else {
        value = nearest(sum, -form, scale);
        if (value != value) break;
        if (far) form = NO_FORM;
        textRead = start;
      }
      value = reinterpret<f64>(reinterpret<u64>(value) | (minus << 63));
    }
    const textTo = i;
    byte = load<u8>(i);
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
    store<f64>(values + (<usize>load<u32>(slots + (<usize>cell << 2)) << 3), value);
    store<i16>(forms + (<usize>cell << 1), <i16>form);
    unusual |= form ^ <i32>load<i16>(usual + (<usize>column << 1));
    if (form == NO_FORM) {
      store<u32>(keptTo, cell);
      store<u32>(keptTo, textRead, 4);
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

/** What {@link anyNumber} read: the number, its form, and where its text starts. */
let numberRead: f64 = 0;
let formRead: i32 = NO_FORM;
let textRead: usize = 0;

/**
 * Reads any decimal number behind blanks.
 *
 * @returns where its text ends, or 0 where there is none, or where two doubles cannot tell it
 */
function anyNumber(from: usize, decimal: u32, powers: usize): usize {
  let i = from;
  let byte: u32 = load<u8>(i);
  while (byte == SPACE) byte = load<u8>(++i);
  textRead = i;
  const minus = <u64>(byte == MINUS);
  const signed = byte == MINUS || byte == PLUS;
  if (signed) i++;
  const wholeFrom = i;
  let sum: u64 = 0;
  let digit = <u32>load<u8>(i) - ZERO;
  while (digit <= 9) {
    sum = sum * 10 + digit;
    digit = <u32>load<u8>(++i) - ZERO;
  }
  const wholeDigits = <i32>(i - wholeFrom);
  let decimals: i32 = 0;
  const pointed = digit + ZERO == decimal;
  if (pointed) {
    const partFrom = ++i;
    for (;;) {
      const digits = load<u64>(i) ^ ZEROS;
      const bits = digitBits(digits);
      if (bits == 0) break;
      sum = sum * wholePower(powers, bits) + numberOf(digits, bits);
      i = behind(i, bits);
      if (bits < 64) break;
    }
    decimals = <i32>(i - partFrom);
  }
  if (wholeDigits + decimals == 0) return 0;
  if (wholeDigits + decimals > MOST_DIGITS && significant(wholeFrom, i) > MOST_DIGITS) return 0;
  // Whether the value and the form may give the text back.
  let plain =
    !(signed && minus == 0) &&
    (wholeDigits == 1 || (wholeDigits > 1 && load<u8>(wholeFrom) != ZERO)) &&
    !(pointed && decimals == 0) &&
    decimals <= MOST_DECIMALS;
  let form = decimals;
  let power = -decimals;
  if (((<u32>load<u8>(i)) | 32) == LOWER_E) {
    const mark = i;
    i = exponent(mark);
    if (i == 0) return 0;
    // One digit that is not zero before the point, unless all are zero.
    plain =
      plain &&
      exponentKind > 0 &&
      wholeDigits == 1 &&
      (sum == 0 ? exponentRead == 0 : load<u8>(wholeFrom) != ZERO);
    form += exponentKind;
    power += exponentRead;
  }
  const size = power < 0 ? -power : power;
  let value: f64 = 0;
  if (sum > 0) {
    if (size > LARGEST_POWER) return 0;
    value = nearest(sum, power, powers + (<usize>size << 3));
    if (value != value) return 0;
    plain = plain && !far;
  }
  numberRead = reinterpret<f64>(reinterpret<u64>(value) | (minus << 63));
  formRead = plain ? form : NO_FORM;
  return i;
}

/** What {@link exponent} read, and its part of a form; 0 where no form has it. */
let exponentRead: i32 = 0;
let exponentKind: i32 = 0;

/** Reads an exponent from its letter on; returns where it ends, or 0 where it has no digit. */
function exponent(mark: usize): usize {
  let i = mark + 1;
  const sign: u32 = load<u8>(i);
  if (sign == PLUS || sign == MINUS) i++;
  const from = i;
  let size: i32 = 0;
  for (let digit = <u32>load<u8>(i) - ZERO; digit <= 9; digit = <u32>load<u8>(++i) - ZERO) {
    // More than any text that fits a line can make up for by its count of digits.
    size = min(size * 10 + <i32>digit, 100000000);
  }
  const digits = <i32>(i - from);
  exponentRead = sign == MINUS ? -size : size;
  // A zero exponent is written +0, never -0.
  const written = from - mark == 2 && digits <= 2 && (size != 0 || sign == PLUS);
  exponentKind = digits == 1 ? SHORT_EXPONENT : PADDED_EXPONENT;
  if (load<u8>(mark) != LOWER_E) exponentKind += UPPER_CASE;
  if (!written) exponentKind = 0;
  return digits == 0 ? 0 : i;
}

/** The place behind digits, as a sum of constants: a processor guesses it and need not wait for it. */
// @ts-ignore: decorator
@inline
function behind(place: usize, bits: u64): usize {
  switch (<i32>bits >> 3) {
    case 1:
      return place + 1;
    case 2:
      return place + 2;
    case 3:
      return place + 3;
    case 4:
      return place + 4;
    case 5:
      return place + 5;
    case 6:
      return place + 6;
    case 7:
      return place + 7;
    default:
      return place + 8;
  }
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
  if (whole < EXACT && power >= -LARGEST_EXACT && power <= LARGEST_EXACT) {
    far = false;
    return power < 0 ? <f64>whole / scale : <f64>whole * scale;
  }
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
