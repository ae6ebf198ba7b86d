import { cellText, QUOTE } from './layout.js';
import { decodeText } from './text.js';

/** The first row and byte list are of this length; they double when full. */
const START = 64;

/**
 * The cells of one column whose text their number does not give back, as bytes one behind the
 * other: words, empty cells, whole numbers too wide for a double. Rows must come in order.
 */
export class KeptCells {
  count = 0;
  private rows = new Uint32Array(START);
  /** Where each cell's bytes end; a double, as texts may sum up to more than 4 GiB. */
  private ends = new Float64Array(START);
  private bytes = new Uint8Array(START);

  add(row: number, from: Uint8Array, start: number, stop: number): void {
    const { count } = this;
    if (count === this.rows.length) {
      this.rows = grown(this.rows, new Uint32Array(2 * count));
      this.ends = grown(this.ends, new Float64Array(2 * count));
    }
    let end = this.startOf(count);
    const needed = end + stop - start;
    if (needed > this.bytes.length) {
      this.bytes = grown(this.bytes, new Uint8Array(Math.max(needed, 2 * this.bytes.length)));
    }
    for (let i = start; i < stop; i++) this.bytes[end++] = from[i]!;
    this.rows[count] = row;
    this.ends[count] = end;
    this.count = count + 1;
  }

  /** The row of the k-th kept cell. */
  rowOf(k: number): number {
    return this.rows[k]!;
  }

  /** The trimmed text of the k-th kept cell, without quotes around it. */
  textOf(k: number): string {
    return cellText(decodeText(this.bytes.subarray(this.startOf(k), this.ends[k])));
  }

  /** The number of the kept cell of a row, or -1. */
  find(row: number): number {
    let low = 0;
    let high = this.count;
    while (low < high) {
      const middle = (low + high) >>> 1;
      if (this.rows[middle]! < row) low = middle + 1;
      else high = middle;
    }
    return low < this.count && this.rows[low] === row ? low : -1;
  }

  /** Whether the kept cell of a row has quotes. */
  isQuoted(row: number): boolean {
    const k = this.find(row);
    return k >= 0 && this.bytes.subarray(this.startOf(k), this.ends[k]).includes(QUOTE);
  }

  private startOf(k: number): number {
    return k === 0 ? 0 : this.ends[k - 1]!;
  }
}

function grown<T extends Float64Array | Uint32Array | Uint8Array>(from: T, into: T): T {
  into.set(from);
  return into;
}
