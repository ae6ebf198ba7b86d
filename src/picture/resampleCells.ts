import { RECORD_LENGTH } from './cellRecords.js';
import type { KernelShape } from './planeKernel.js';
import type { Samples } from './sourcePlane.js';
import type { TapTables } from './tapTables.js';

/** Adding and subtracting it rounds a number to 1024ths, to the even one half-way. */
const TO_1024THS = 1.5 * 2 ** 42;

/**
 * Fills the samples of cells in whole numbers, as `wasm/assembly/kernel.ts` does, bit for bit: each row
 * of taps is summed to 14 bits in pairs, then the rows.
 */
export function resampleCells(
  records: Float64Array,
  count: number,
  source: Samples,
  out: Samples,
  { stride, rows, outStride, step }: KernelShape,
  { taps, spacing, across, down }: TapTables,
  bits: number,
): void {
  const [stepX, stepY] = step;
  const [mostX, mostY] = [stride - spacing, rows - taps];
  const before = taps / 2 - 1;
  const half = 1 << (bits - 1);
  const round = 1 << (27 - bits);
  const shift = 28 - bits;
  const most = (1 << bits) - 1;
  const downSpacing = down.length / (across.length / spacing);
  const repeats = downSpacing / taps;
  for (let c = 0, r = 0; c < count; c++, r += RECORD_LENGTH) {
    const [width, height] = [records[r + 2]!, records[r + 3]!];
    let v = records[r + 5]!;
    for (let j = 0; j < height; j++, v += stepY) {
      const ax = records[r + 6]! + v * (records[r + 12]! + v * records[r + 18]!);
      const ay = records[r + 7]! + v * (records[r + 13]! + v * records[r + 19]!);
      const bx = records[r + 8]! + v * (records[r + 14]! + v * records[r + 20]!);
      const by = records[r + 9]! + v * (records[r + 15]! + v * records[r + 21]!);
      const dx = records[r + 10]! + v * (records[r + 16]! + v * records[r + 22]!);
      const dy = records[r + 11]! + v * (records[r + 17]! + v * records[r + 23]!);
      let u = records[r + 4]!;
      let to = (records[r + 1]! + j) * outStride + records[r]!;
      for (let i = 0; i < width; i++, u += stepX, to++) {
        const x = (ax + u * (bx + u * dx) + TO_1024THS - TO_1024THS) * 1024;
        const y = (ay + u * (by + u * dy) + TO_1024THS - TO_1024THS) * 1024;
        const column = Math.max(0, Math.min(mostX, (x >> 10) - before));
        const row = Math.max(0, Math.min(mostY, (y >> 10) - before));
        const wx = spacing * (x & 1023);
        const wy = downSpacing * (y & 1023);
        let from = row * stride + column;
        let sum = 0;
        for (let t = 0; t < taps; t++, from += stride) {
          let line =
            ((source[from]! * across[wx]! + source[from + 1]! * across[wx + 1]! + half) >> bits) +
            ((source[from + 2]! * across[wx + 2]! + source[from + 3]! * across[wx + 3]! + half) >>
              bits);
          if (taps === 6) {
            line +=
              (source[from + 4]! * across[wx + 4]! + source[from + 5]! * across[wx + 5]! + half) >>
              bits;
          }
          sum += line * down[wy + repeats * t]!;
        }
        const value = (sum + round) >> shift;
        out[to] = Math.max(0, Math.min(value, most));
      }
    }
  }
}
