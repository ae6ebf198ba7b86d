/** Numbers and times as a person reads them. */

/** Minutes, seconds and tenths from the first frame: `0:12.5`. */
export function clockTime(seconds: number): string {
  const tenths = Math.round(seconds * 10);
  return `${Math.floor(tenths / 600)}:${((tenths % 600) / 10).toFixed(1).padStart(4, '0')}`;
}

/** As many digits as a person reads: no decimals from 10 on, two digits below, two decimals under a tenth. */
export function rounded(value: number): string {
  const size = Math.abs(value);
  if (size < 0.005) return '0';
  return minus(
    size >= 9.95 ? value.toFixed(0) : size >= 0.095 ? value.toPrecision(2) : value.toFixed(2),
  );
}

/** A figure with its unit: `3.4°`, `12 arcmin`. */
export function withUnit(value: number, unit: string): string {
  return `${rounded(value)}${unit === '°' || unit === '%' ? '' : ' '}${unit === '%' ? ' %' : unit}`;
}

/** Parts of 100, rounded so that neither some nor nearly all becomes nothing or all: `less than 1 %`. */
export function percent(share: number): string {
  if (share > 0 && share < 0.01) return 'less than 1 %';
  if (share < 1 && share > 0.99) return 'over 99 %';
  return `${(100 * share).toFixed(0)} %`;
}

/** The minus of typography for the hyphen of programs. */
function minus(text: string): string {
  return text.replace('-', '−');
}
