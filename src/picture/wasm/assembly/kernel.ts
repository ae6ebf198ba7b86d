/**
 * The inner loop of the resampling in AssemblyScript, with the vector instructions of WebAssembly: the
 * same whole-number arithmetic as `resampleCells.ts`, bit for bit, two rows of taps at a time.
 * `npm run build:kernel` makes `../kernelBytes.ts` of it.
 */

/** Numbers of a cell's record; see `cellRecords.ts`. */
const RECORD: usize = 28 * 8;
/** Added to a number of 32 bits below 4096 it leaves the number's 1024ths, rounded, in its low bits. */
const TO_1024THS: f32 = 12288.0;
const BITS_OF_IT: i32 = 0x46400000;

/** How many taps a row has: the size of this type. */
type Four = i32;
type Eight = i64;

/** Fills the cells of a plane of 8 bits, four taps. */
export function fill4x8(
  records: usize, count: i32, source: usize, stride: i32, rows: i32, out: usize, outStride: i32,
  stepX: f64, stepY: f64, bits: i32, tableX: usize, tableY: usize,
): void {
  fill<u8, Four>(
    records, count, source, stride, rows, out, outStride, stepX, stepY, bits, tableX, tableY,
  );
}

/** The same of 10 or 12 bits. */
export function fill4x16(
  records: usize, count: i32, source: usize, stride: i32, rows: i32, out: usize, outStride: i32,
  stepX: f64, stepY: f64, bits: i32, tableX: usize, tableY: usize,
): void {
  fill<u16, Four>(
    records, count, source, stride, rows, out, outStride, stepX, stepY, bits, tableX, tableY,
  );
}

/** Fills the cells of a plane of 8 bits, six taps; two more in a row weigh nothing. */
export function fill6x8(
  records: usize, count: i32, source: usize, stride: i32, rows: i32, out: usize, outStride: i32,
  stepX: f64, stepY: f64, bits: i32, tableX: usize, tableY: usize,
): void {
  fill<u8, Eight>(
    records, count, source, stride, rows, out, outStride, stepX, stepY, bits, tableX, tableY,
  );
}

/** The same of 10 or 12 bits. */
export function fill6x16(
  records: usize, count: i32, source: usize, stride: i32, rows: i32, out: usize, outStride: i32,
  stepX: f64, stepY: f64, bits: i32, tableX: usize, tableY: usize,
): void {
  fill<u16, Eight>(
    records, count, source, stride, rows, out, outStride, stepX, stepY, bits, tableX, tableY,
  );
}

function fill<T, Taps>(
  records: usize, count: i32, source: usize, stride: i32, rows: i32, out: usize, outStride: i32,
  stepX: f64, stepY: f64, bits: i32, tableX: usize, tableY: usize,
): void {
  const before = sizeof<Taps>() == 4 ? 1 : 2;
  const mostX = i32x4.splat(stride - <i32>sizeof<Taps>());
  const mostY = i32x4.splat(rows - (sizeof<Taps>() == 4 ? 4 : 6));
  const zero = i32x4.splat(0);
  const strides = i32x4.splat(stride);
  const phases = i32x4.splat(1023);
  const magic = f32x4.splat(TO_1024THS);
  const magicBits = i32x4.splat(BITS_OF_IT);
  const half = i32x4.splat(1 << (bits - 1));
  const round = i32x4.splat(1 << (27 - bits));
  const largest = i32x4.splat((1 << bits) - 1);
  const shift = 28 - bits;
  const line = <usize>stride * sizeof<T>();
  const forward = f32x4.splat(<f32>(4.0 * stepX));
  for (let c = 0; c < count; c++, records += RECORD) {
    const first = <i32>load<f64>(records);
    const top = <i32>load<f64>(records, 8);
    const width = <i32>load<f64>(records, 16);
    const height = <i32>load<f64>(records, 24);
    const u0 = load<f64>(records, 32);
    const start = f32x4(
      <f32>u0, <f32>(u0 + stepX), <f32>(u0 + 2.0 * stepX), <f32>(u0 + 3.0 * stepX),
    );
    let v = load<f64>(records, 40);
    for (let j = 0; j < height; j++, v += stepY) {
      const vv = f64x2.splat(v);
      const a = along(records, 48, vv);
      const b = along(records, 64, vv);
      const d = along(records, 80, vv);
      // Places count from a whole sample near the middle of the row: 32 bits are enough for the rest.
      const whole = f64x2.floor(a);
      const rest = f64x2.sub(a, whole);
      const ax = f32x4.splat(<f32>f64x2.extract_lane(rest, 0));
      const ay = f32x4.splat(<f32>f64x2.extract_lane(rest, 1));
      const bx = f32x4.splat(<f32>f64x2.extract_lane(b, 0));
      const by = f32x4.splat(<f32>f64x2.extract_lane(b, 1));
      const dx = f32x4.splat(<f32>f64x2.extract_lane(d, 0));
      const dy = f32x4.splat(<f32>f64x2.extract_lane(d, 1));
      const wholeX = i32x4.splat(<i32>f64x2.extract_lane(whole, 0) - before);
      const wholeY = i32x4.splat(<i32>f64x2.extract_lane(whole, 1) - before);
      let to = out + <usize>((top + j) * outStride + first) * sizeof<T>();
      let u = start;
      for (let i = 0; i < width; i += 4, to += 4 * sizeof<T>()) {
        const x = i32x4.sub(
          f32x4.add(f32x4.add(ax, f32x4.mul(u, f32x4.add(bx, f32x4.mul(u, dx)))), magic),
          magicBits,
        );
        const y = i32x4.sub(
          f32x4.add(f32x4.add(ay, f32x4.mul(u, f32x4.add(by, f32x4.mul(u, dy)))), magic),
          magicBits,
        );
        u = f32x4.add(u, forward);
        const column = i32x4.max_s(
          i32x4.min_s(i32x4.add(i32x4.shr_s(x, 10), wholeX), mostX), zero,
        );
        const row = i32x4.max_s(i32x4.min_s(i32x4.add(i32x4.shr_s(y, 10), wholeY), mostY), zero);
        let at = i32x4.add(i32x4.mul(row, strides), column);
        if (sizeof<T>() == 2) at = i32x4.shl(at, 1);
        const px = v128.and(x, phases);
        const py = v128.and(y, phases);
        // Four weights take 8 bytes across and 16 down, six take 16 and 48.
        const wx = i32x4.shl(px, sizeof<Taps>() == 4 ? 3 : 4);
        let wy = i32x4.shl(py, 4);
        if (sizeof<Taps>() == 8) wy = i32x4.add(wy, i32x4.shl(py, 5));
        const p0 = taps<T, Taps>(
          source + <usize>i32x4.extract_lane(at, 0), line,
          tableX + <usize>i32x4.extract_lane(wx, 0), tableY + <usize>i32x4.extract_lane(wy, 0),
          half, bits,
        );
        const p1 = taps<T, Taps>(
          source + <usize>i32x4.extract_lane(at, 1), line,
          tableX + <usize>i32x4.extract_lane(wx, 1), tableY + <usize>i32x4.extract_lane(wy, 1),
          half, bits,
        );
        const p2 = taps<T, Taps>(
          source + <usize>i32x4.extract_lane(at, 2), line,
          tableX + <usize>i32x4.extract_lane(wx, 2), tableY + <usize>i32x4.extract_lane(wy, 2),
          half, bits,
        );
        const p3 = taps<T, Taps>(
          source + <usize>i32x4.extract_lane(at, 3), line,
          tableX + <usize>i32x4.extract_lane(wx, 3), tableY + <usize>i32x4.extract_lane(wy, 3),
          half, bits,
        );
        const sum = i32x4.shr_s(i32x4.add(sums(p0, p1, p2, p3), round), shift);
        if (sizeof<T>() == 1) {
          const words = i16x8.narrow_i32x4_s(sum, sum);
          store8(to, i8x16.narrow_i16x8_u(words, words), width - i);
        } else {
          store16(to, i16x8.narrow_i32x4_u(i32x4.min_s(sum, largest), sum), width - i);
        }
      }
    }
  }
}

/** One factor of a row's parabola, across and down at once: c₀ + v (c₁ + v c₂). */
// @ts-ignore: a decorator of AssemblyScript
@inline
function along(records: usize, at: usize, v: v128): v128 {
  const c0 = v128.load(records + at);
  const c1 = v128.load(records + at, 48);
  const c2 = v128.load(records + at, 96);
  return f64x2.add(c0, f64x2.mul(v, f64x2.add(c1, f64x2.mul(v, c2))));
}

/** Partial sums of one sample of the view, out of 4 × 4 or 6 × 6 samples. */
// @ts-ignore: a decorator of AssemblyScript
@inline
function taps<T, Taps>(
  from: usize, line: usize, tableX: usize, tableY: usize, half: v128, bits: i32,
): v128 {
  if (sizeof<Taps>() == 8) {
    const wx = v128.load(tableX);
    return sixLines(
      lineOf(eight<T>(from), wx, half, bits),
      lineOf(eight<T>(from + line), wx, half, bits),
      lineOf(eight<T>(from + 2 * line), wx, half, bits),
      lineOf(eight<T>(from + 3 * line), wx, half, bits),
      lineOf(eight<T>(from + 4 * line), wx, half, bits),
      lineOf(eight<T>(from + 5 * line), wx, half, bits),
      tableY,
    );
  }
  const wx = v128.load64_splat(tableX);
  let upper: v128;
  let lower: v128;
  if (sizeof<T>() == 1) {
    let four = v128.load32_zero(from);
    four = v128.load32_lane(from + line, four, 1);
    four = v128.load32_lane(from + 2 * line, four, 2);
    four = v128.load32_lane(from + 3 * line, four, 3);
    upper = i16x8.extend_low_i8x16_u(four);
    lower = i16x8.extend_high_i8x16_u(four);
  } else {
    upper = v128.load64_lane(from + line, v128.load64_zero(from), 1);
    lower = v128.load64_lane(from + 3 * line, v128.load64_zero(from + 2 * line), 1);
  }
  const lines = i16x8.narrow_i32x4_s(
    lineOf(upper, wx, half, bits),
    lineOf(lower, wx, half, bits),
  );
  return i32x4.dot_i16x8_s(lines, v128.load(tableY));
}

/** Eight samples of a row as words of 16 bits. */
// @ts-ignore: a decorator of AssemblyScript
@inline
function eight<T>(from: usize): v128 {
  return sizeof<T>() == 1 ? v128.load8x8_u(from) : v128.load(from);
}

// @ts-ignore: a decorator of AssemblyScript
@inline
function lineOf(taps: v128, wx: v128, half: v128, bits: i32): v128 {
  return i32x4.shr_s(i32x4.add(i32x4.dot_i16x8_s(taps, wx), half), bits);
}

// @ts-ignore: a decorator of AssemblyScript
@inline
function sixLines(l0: v128, l1: v128, l2: v128, l3: v128, l4: v128, l5: v128, wy: usize): v128 {
  const s0 = i32x4.dot_i16x8_s(i16x8.narrow_i32x4_s(l0, l1), v128.load(wy));
  const s1 = i32x4.dot_i16x8_s(i16x8.narrow_i32x4_s(l2, l3), v128.load(wy, 16));
  const s2 = i32x4.dot_i16x8_s(i16x8.narrow_i32x4_s(l4, l5), v128.load(wy, 32));
  return i32x4.add(i32x4.add(s0, s1), s2);
}

/** The sum of the lanes of each of four vectors. */
// @ts-ignore: a decorator of AssemblyScript
@inline
function sums(p0: v128, p1: v128, p2: v128, p3: v128): v128 {
  const a = i32x4.add(i32x4.shuffle(p0, p1, 0, 4, 1, 5), i32x4.shuffle(p0, p1, 2, 6, 3, 7));
  const b = i32x4.add(i32x4.shuffle(p2, p3, 0, 4, 1, 5), i32x4.shuffle(p2, p3, 2, 6, 3, 7));
  return i32x4.add(i64x2.shuffle(a, b, 0, 2), i64x2.shuffle(a, b, 1, 3));
}

/** Stores the first samples of a group of four; the last of a row may be fewer. */
// @ts-ignore: a decorator of AssemblyScript
@inline
function store8(to: usize, bytes: v128, count: i32): void {
  if (count >= 4) {
    v128.store32_lane(to, bytes, 0);
    return;
  }
  v128.store8_lane(to, bytes, 0);
  if (count > 1) v128.store8_lane(to + 1, bytes, 1);
  if (count > 2) v128.store8_lane(to + 2, bytes, 2);
}

// @ts-ignore: a decorator of AssemblyScript
@inline
function store16(to: usize, words: v128, count: i32): void {
  if (count >= 4) {
    v128.store64_lane(to, words, 0);
    return;
  }
  v128.store16_lane(to, words, 0);
  if (count > 1) v128.store16_lane(to + 2, words, 1);
  if (count > 2) v128.store16_lane(to + 4, words, 2);
}

/** Entries of a filter's table of weights per sample of distance. */
const PER_SAMPLE: f64 = 1024.0;

/** Fills cells in which the filter is widened, 8 bits. */
export function fillWide8(
  records: usize,
  count: i32,
  source: usize,
  stride: i32,
  rows: i32,
  out: usize,
  outStride: i32,
  stepX: f64,
  stepY: f64,
  bits: i32,
  weights: usize,
  scratch: usize,
  radius: f64,
  black: i32,
): void {
  fillWide<u8>(
    records,
    count,
    source,
    stride,
    rows,
    out,
    outStride,
    stepX,
    stepY,
    bits,
    weights,
    scratch,
    radius,
    black,
  );
}

/** The same of 10 or 12 bits. */
export function fillWide16(
  records: usize,
  count: i32,
  source: usize,
  stride: i32,
  rows: i32,
  out: usize,
  outStride: i32,
  stepX: f64,
  stepY: f64,
  bits: i32,
  weights: usize,
  scratch: usize,
  radius: f64,
  black: i32,
): void {
  fillWide<u16>(
    records,
    count,
    source,
    stride,
    rows,
    out,
    outStride,
    stepX,
    stepY,
    bits,
    weights,
    scratch,
    radius,
    black,
  );
}

function fillWide<T>(
  records: usize,
  count: i32,
  source: usize,
  stride: i32,
  rows: i32,
  out: usize,
  outStride: i32,
  stepX: f64,
  stepY: f64,
  bits: i32,
  weights: usize,
  scratch: usize,
  radius: f64,
  black: i32,
): void {
  const largest = <f64>((1 << bits) - 1);
  const scratchY = scratch + 2048;
  for (let c = 0; c < count; c++, records += RECORD) {
    const first = <i32>load<f64>(records);
    const top = <i32>load<f64>(records, 8);
    const width = <i32>load<f64>(records, 16);
    const height = <i32>load<f64>(records, 24);
    const u0 = load<f64>(records, 32);
    let v = load<f64>(records, 40);
    for (let j = 0; j < height; j++, v += stepY) {
      const vv = f64x2.splat(v);
      const a = along(records, 48, vv);
      const b = along(records, 64, vv);
      const d = along(records, 80, vv);
      // What one row of the view further down adds.
      const before = f64x2.splat(v - 0.5 * stepY);
      const behind = f64x2.splat(v + 0.5 * stepY);
      const da = f64x2.sub(along(records, 48, behind), along(records, 48, before));
      const db = f64x2.sub(along(records, 64, behind), along(records, 64, before));
      const dd = f64x2.sub(along(records, 80, behind), along(records, 80, before));
      const row = out + <usize>((top + j) * outStride + first) * sizeof<T>();
      let u = u0;
      for (let i = 0; i < width; i++, u += stepX) {
        const uu = f64x2.splat(u);
        const at = f64x2.add(a, f64x2.mul(uu, f64x2.add(b, f64x2.mul(uu, d))));
        const du = f64x2.mul(
          f64x2.splat(stepX),
          f64x2.add(b, f64x2.mul(f64x2.mul(uu, f64x2.splat(2.0)), d)),
        );
        const dv = f64x2.add(da, f64x2.mul(uu, f64x2.add(db, f64x2.mul(uu, dd))));
        const away = f64x2.extract_lane(at, 1) - load<f64>(records, 192);
        const crowding =
          load<f64>(records, 200) +
          away * (load<f64>(records, 208) + away * load<f64>(records, 216));
        const scale = f64x2.mul(
          f64x2.sqrt(f64x2.add(f64x2.mul(du, du), f64x2.mul(dv, dv))),
          f64x2(crowding, 1.0),
        );
        // 1 up to 1.25, the scale itself from 1.5 on.
        const wider = f64x2.sub(f64x2.mul(scale, f64x2.splat(2.0)), f64x2.splat(1.5));
        const wide = f64x2.max(f64x2.splat(1.0), f64x2.min(scale, wider));
        const x = f64x2.extract_lane(at, 0);
        const y = f64x2.extract_lane(at, 1);
        const wideX = f64x2.extract_lane(wide, 0);
        const wideY = f64x2.extract_lane(wide, 1);
        const left = <i32>ceil(x - radius * wideX);
        const right = <i32>floor(x + radius * wideX);
        const upper = <i32>ceil(y - radius * wideY);
        const lower = <i32>floor(y + radius * wideY);
        const from = max(left, 0);
        const to = min(right, stride - 1);
        const firstRow = max(upper, 0);
        const lastRow = min(lower, rows - 1);
        const sumX = spread(left, right, x, PER_SAMPLE / wideX, weights, scratch);
        const sumY = spread(upper, lower, y, PER_SAMPLE / wideY, weights, scratchY);
        let sum: f64 = 0.0;
        if (from <= to) {
          let light = 0;
          const start = scratch + <usize>((from - left) << 1);
          for (let k = from; k <= to; k++)
            light += <i32>load<i16>(scratch + <usize>((k - left) << 1));
          // Behind the last weight there are zeros, but only where no sample was cut off.
          const tail = to < right ? 0 : 8;
          for (let r = firstRow; r <= lastRow; r++) {
            const weight = <f64>(<i32>load<i16>(scratchY + <usize>((r - upper) << 1)));
            const samples = source + <usize>(r * stride + from) * sizeof<T>();
            let line: i32;
            if (tail) {
              let lanes = i32x4.splat(0);
              for (let k = 0; k <= to - from; k += 8) {
                const eight =
                  sizeof<T>() == 1
                    ? v128.load8x8_u(samples + <usize>k)
                    : v128.load(samples + <usize>(k << 1));
                lanes = i32x4.add(
                  lanes,
                  i32x4.dot_i16x8_s(eight, v128.load(start + <usize>(k << 1))),
                );
              }
              line =
                i32x4.extract_lane(lanes, 0) +
                i32x4.extract_lane(lanes, 1) +
                i32x4.extract_lane(lanes, 2) +
                i32x4.extract_lane(lanes, 3);
            } else {
              line = 0;
              for (let k = 0; k <= to - from; k++) {
                line +=
                  <i32>load<T>(samples + <usize>k * sizeof<T>()) *
                  <i32>load<i16>(start + <usize>(k << 1));
              }
            }
            sum += weight * <f64>(line - black * light);
          }
        }
        const value = floor(<f64>black + sum / (sumX * sumY) + 0.5);
        store<T>(row + <usize>i * sizeof<T>(), <T>(<i32>max<f64>(0.0, min<f64>(value, largest))));
      }
    }
  }
}

/** Weights of the samples from one to another around a place, eight zeros behind them; their sum. */
function spread(
  first: i32,
  last: i32,
  place: f64,
  perSample: f64,
  weights: usize,
  scratch: usize,
): f64 {
  // Distances in 65536ths of an entry.
  const step = <i32>floor(perSample * 65536.0 + 0.5);
  let distance = <i32>floor((<f64>first - place) * (perSample * 65536.0) + 0.5);
  let sum = 0;
  for (let k = first; k <= last; k++, scratch += 2, distance += step) {
    const weight = <i32>load<i16>(weights + <usize>(((abs(distance) + 32768) >> 16) << 1));
    store<i16>(scratch, <i16>weight);
    sum += weight;
  }
  v128.store(scratch, i32x4.splat(0));
  return <f64>sum;
}
