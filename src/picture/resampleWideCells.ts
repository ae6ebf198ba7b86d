import { RECORD_LENGTH } from './cellRecords.js';
import type { KernelShape } from './planeKernel.js';
import type { Samples } from './sourcePlane.js';
import { PER_SAMPLE } from './tapTables.js';

/**
 * How wide a filter may be here: a row's sum of 14 bits of weight, which in sum is up to 1.3 times the
 * width, and the sample's bits must fit into 31, and the weights into their room.
 */
export function widest(bits: number): number {
  return Math.min(MOST_WIDE, Math.floor(2 ** (31 - 14 - bits) / 1.35));
}

const MOST_WIDE = 128;

/** Room for the weights of the widest filter, six of them to a sample's width. */
const [ACROSS, DOWN] = [new Int16Array(1024), new Int16Array(1024)];

/**
 * Fills the samples of cells in which the filter is widened, as `wasm/assembly/kernel.ts` does, bit for
 * bit: weights and rows are whole numbers, the last division is one of doubles.
 *
 * @param weights - by distance, {@link PER_SAMPLE} to a sample
 */
export function resampleWideCells(
  records: Float64Array,
  count: number,
  source: Samples,
  out: Samples,
  { stride, rows, outStride, step, black }: KernelShape,
  weights: Int16Array,
  radius: number,
  bits: number,
): void {
  const [stepX, stepY] = step;
  const largest = (1 << bits) - 1;
  const at = (r: number, k: number, v: number) =>
    records[r + k]! + v * (records[r + k + 6]! + v * records[r + k + 12]!);
  for (let c = 0, r = 0; c < count; c++, r += RECORD_LENGTH) {
    const [width, height] = [records[r + 2]!, records[r + 3]!];
    let v = records[r + 5]!;
    for (let j = 0; j < height; j++, v += stepY) {
      const [before, behind] = [v - 0.5 * stepY, v + 0.5 * stepY];
      const [ax, bx, cx] = [at(r, 6, v), at(r, 8, v), at(r, 10, v)];
      const [ay, by, cy] = [at(r, 7, v), at(r, 9, v), at(r, 11, v)];
      const dax = at(r, 6, behind) - at(r, 6, before);
      const dbx = at(r, 8, behind) - at(r, 8, before);
      const dcx = at(r, 10, behind) - at(r, 10, before);
      const day = at(r, 7, behind) - at(r, 7, before);
      const dby = at(r, 9, behind) - at(r, 9, before);
      const dcy = at(r, 11, behind) - at(r, 11, before);
      let u = records[r + 4]!;
      let to = (records[r + 1]! + j) * outStride + records[r]!;
      for (let i = 0; i < width; i++, u += stepX, to++) {
        const x = ax + u * (bx + u * cx);
        const y = ay + u * (by + u * cy);
        const away = y - records[r + 24]!;
        const crowding = records[r + 25]! + away * (records[r + 26]! + away * records[r + 27]!);
        const wide = widthOf(stepX * (bx + u * 2 * cx), dax + u * (dbx + u * dcx), crowding);
        const high = widthOf(stepX * (by + u * 2 * cy), day + u * (dby + u * dcy), 1);
        const left = Math.ceil(x - radius * wide);
        const right = Math.floor(x + radius * wide);
        const upper = Math.ceil(y - radius * high);
        const lower = Math.floor(y + radius * high);
        const sumX = spread(left, right, x, PER_SAMPLE / wide, weights, ACROSS);
        const sumY = spread(upper, lower, y, PER_SAMPLE / high, weights, DOWN);
        const [first, last] = [Math.max(left, 0), Math.min(right, stride - 1)];
        let sum = 0;
        for (let row = Math.max(upper, 0); row <= Math.min(lower, rows - 1); row++) {
          let line = 0;
          for (let k = first; k <= last; k++) {
            line += (source[row * stride + k]! - black) * ACROSS[k - left]!;
          }
          sum += DOWN[row - upper]! * line;
        }
        const value = Math.floor(black + sum / (sumX * sumY) + 0.5);
        out[to] = Math.max(0, Math.min(value, largest));
      }
    }
  }
}

/** `widening` of the length of (du, dv), less the crowding. */
function widthOf(du: number, dv: number, crowding: number): number {
  const scale = Math.sqrt(du * du + dv * dv) * crowding;
  return Math.max(1, Math.min(scale, scale * 2 - 1.5));
}

function spread(
  first: number,
  last: number,
  place: number,
  perSample: number,
  weights: Int16Array,
  out: Int16Array,
): number {
  // Distances in 65536ths of an entry.
  const step = Math.floor(perSample * 65536 + 0.5);
  let distance = Math.floor((first - place) * (perSample * 65536) + 0.5);
  let sum = 0;
  for (let k = first; k <= last; k++, distance += step) {
    const weight = weights[(Math.abs(distance) + 32768) >> 16]!;
    out[k - first] = weight;
    sum += weight;
  }
  return sum;
}
