/**
 * The shortest decimal text that reads back as the same double, in positional notation with at
 * least nine decimals.
 *
 * @param value - finite
 * @example
 * formatDecimal(0.5); // '0.500000000'
 * formatDecimal(1e-12); // '0.000000000001'
 */
export function formatDecimal(value: number): string {
  const text = Object.is(value, -0) ? '-0' : String(value);
  const exponentAt = text.indexOf('e');
  if (exponentAt >= 0)
    return positional(text.slice(0, exponentAt), Number(text.slice(exponentAt + 1)));
  const point = text.indexOf('.');
  if (point < 0) return `${text}.000000000`;
  const missing = LEAST_DECIMALS - (text.length - point - 1);
  return missing > 0 ? text + '0'.repeat(missing) : text;
}

const LEAST_DECIMALS = 9;

/** Moves the decimal point of a mantissa by an exponent. */
function positional(mantissa: string, exponent: number): string {
  const sign = mantissa.startsWith('-') ? '-' : '';
  const digits = mantissa.replace(/[-.]/g, '');
  if (exponent < 0) {
    return `${sign}0.${('0'.repeat(-exponent - 1) + digits).padEnd(LEAST_DECIMALS, '0')}`;
  }
  return `${sign}${digits.padEnd(exponent + 1, '0')}.${'0'.repeat(LEAST_DECIMALS)}`;
}
