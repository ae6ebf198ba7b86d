/**
 * The inner loop of the resampling in AssemblyScript, with the vector instructions of WebAssembly: the
 * same whole-number arithmetic as `resampleCells.ts`, bit for bit, two rows of taps at a time.
 * `npm run build:kernel` makes `../kernelBytes.ts` of it.
 */

/** Numbers of a cell's record; see `cellRecords.ts`. */
const RECORD: usize = 28 * 8;
/** Added to a number below 2^41 it leaves the number's 1024ths, rounded, in the low half of the bits. */
const TO_1024THS: f64 = 6597069766656.0;

/** Fills the cells of a plane of 8 bits, four taps. */
export function fill4x8(
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
  tableX: usize,
  tableY: usize,
): void {
  const most = i32x4(stride - 4, rows - 4, stride - 4, rows - 4);
  const half = i32x4.splat(1 << (bits - 1));
  const round = i32x4.splat(1 << (27 - bits));
  const shift = 28 - bits;
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
      let to = out + <usize>((top + j) * outStride + first);
      let u = u0;
      for (let i = 0; i < width; i += 4, to += 4) {
        const p0 = tap4x8(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const p1 = tap4x8(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const p2 = tap4x8(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const p3 = tap4x8(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const sum = i32x4.shr_s(i32x4.add(sums(p0, p1, p2, p3), round), shift);
        const words = i16x8.narrow_i32x4_s(sum, sum);
        store8(to, i8x16.narrow_i16x8_u(words, words), width - i);
      }
    }
  }
}

/** The same of 10 or 12 bits. */
export function fill4x16(
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
  tableX: usize,
  tableY: usize,
): void {
  const most = i32x4(stride - 4, rows - 4, stride - 4, rows - 4);
  const half = i32x4.splat(1 << (bits - 1));
  const round = i32x4.splat(1 << (27 - bits));
  const largest = i32x4.splat((1 << bits) - 1);
  const shift = 28 - bits;
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
      let to = out + <usize>(2 * ((top + j) * outStride + first));
      let u = u0;
      for (let i = 0; i < width; i += 4, to += 8) {
        const p0 = tap4x16(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const p1 = tap4x16(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const p2 = tap4x16(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const p3 = tap4x16(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const sum = i32x4.shr_s(i32x4.add(sums(p0, p1, p2, p3), round), shift);
        const words = i16x8.narrow_i32x4_u(i32x4.min_s(sum, largest), sum);
        store16(to, words, width - i);
      }
    }
  }
}

/** Fills the cells of a plane of 8 bits, six taps. */
export function fill6x8(
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
  tableX: usize,
  tableY: usize,
): void {
  const most = i32x4(stride - 8, rows - 6, stride - 8, rows - 6);
  const half = i32x4.splat(1 << (bits - 1));
  const round = i32x4.splat(1 << (27 - bits));
  const shift = 28 - bits;
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
      let to = out + <usize>((top + j) * outStride + first);
      let u = u0;
      for (let i = 0; i < width; i += 4, to += 4) {
        const p0 = tap6x8(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const p1 = tap6x8(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const p2 = tap6x8(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const p3 = tap6x8(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const sum = i32x4.shr_s(i32x4.add(sums(p0, p1, p2, p3), round), shift);
        const words = i16x8.narrow_i32x4_s(sum, sum);
        store8(to, i8x16.narrow_i16x8_u(words, words), width - i);
      }
    }
  }
}

/** The same of 10 or 12 bits. */
export function fill6x16(
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
  tableX: usize,
  tableY: usize,
): void {
  const most = i32x4(stride - 8, rows - 6, stride - 8, rows - 6);
  const half = i32x4.splat(1 << (bits - 1));
  const round = i32x4.splat(1 << (27 - bits));
  const largest = i32x4.splat((1 << bits) - 1);
  const shift = 28 - bits;
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
      let to = out + <usize>(2 * ((top + j) * outStride + first));
      let u = u0;
      for (let i = 0; i < width; i += 4, to += 8) {
        const p0 = tap6x16(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const p1 = tap6x16(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const p2 = tap6x16(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const p3 = tap6x16(a, b, d, u, most, source, stride, half, bits, tableX, tableY);
        u += stepX;
        const sum = i32x4.shr_s(i32x4.add(sums(p0, p1, p2, p3), round), shift);
        const words = i16x8.narrow_i32x4_u(i32x4.min_s(sum, largest), sum);
        store16(to, words, width - i);
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

/** Where a point is found, across and down, in 1024ths of a sample. */
// @ts-ignore: a decorator of AssemblyScript
@inline
function place(a: v128, b: v128, d: v128, u: f64): v128 {
  const uu = f64x2.splat(u);
  const at = f64x2.add(a, f64x2.mul(uu, f64x2.add(b, f64x2.mul(uu, d))));
  return f64x2.add(at, f64x2.splat(TO_1024THS));
}

/** The first tap's column and row in lanes 0 and 2's places 0 and 1, inside the margin. */
// @ts-ignore: a decorator of AssemblyScript
@inline
function firstTap(at: v128, before: i32, most: v128): v128 {
  const packed = i8x16.shuffle(at, at, 0, 1, 2, 3, 8, 9, 10, 11, 0, 1, 2, 3, 8, 9, 10, 11);
  const whole = i32x4.sub(i32x4.shr_s(packed, 10), i32x4.splat(before));
  return i32x4.max_s(i32x4.min_s(whole, most), i32x4.splat(0));
}

/** Four partial sums of one sample of the view, out of 4 × 4 samples of 8 bits. */
// @ts-ignore: a decorator of AssemblyScript
@inline
function tap4x8(
  a: v128,
  b: v128,
  d: v128,
  u: f64,
  most: v128,
  source: usize,
  stride: i32,
  half: v128,
  bits: i32,
  tableX: usize,
  tableY: usize,
): v128 {
  const at = place(a, b, d, u);
  const tap = firstTap(at, 1, most);
  const from = source + <usize>(i32x4.extract_lane(tap, 1) * stride + i32x4.extract_lane(tap, 0));
  const wx = v128.load64_splat(tableX + <usize>((i32x4.extract_lane(at, 0) & 1023) << 3));
  const wy = v128.load(tableY + <usize>((i32x4.extract_lane(at, 2) & 1023) << 4));
  let taps = v128.load32_zero(from);
  taps = v128.load32_lane(from + <usize>stride, taps, 1);
  taps = v128.load32_lane(from + <usize>(2 * stride), taps, 2);
  taps = v128.load32_lane(from + <usize>(3 * stride), taps, 3);
  const upper = i32x4.dot_i16x8_s(i16x8.extend_low_i8x16_u(taps), wx);
  const lower = i32x4.dot_i16x8_s(i16x8.extend_high_i8x16_u(taps), wx);
  const lines = i16x8.narrow_i32x4_s(
    i32x4.shr_s(i32x4.add(upper, half), bits),
    i32x4.shr_s(i32x4.add(lower, half), bits),
  );
  return i32x4.dot_i16x8_s(lines, wy);
}

/** The same out of samples of 16 bits. */
// @ts-ignore: a decorator of AssemblyScript
@inline
function tap4x16(
  a: v128,
  b: v128,
  d: v128,
  u: f64,
  most: v128,
  source: usize,
  stride: i32,
  half: v128,
  bits: i32,
  tableX: usize,
  tableY: usize,
): v128 {
  const at = place(a, b, d, u);
  const tap = firstTap(at, 1, most);
  const row = <usize>(2 * stride);
  const from =
    source + <usize>(2 * (i32x4.extract_lane(tap, 1) * stride + i32x4.extract_lane(tap, 0)));
  const wx = v128.load64_splat(tableX + <usize>((i32x4.extract_lane(at, 0) & 1023) << 3));
  const wy = v128.load(tableY + <usize>((i32x4.extract_lane(at, 2) & 1023) << 4));
  let two = v128.load64_zero(from);
  two = v128.load64_lane(from + row, two, 1);
  let four = v128.load64_zero(from + 2 * row);
  four = v128.load64_lane(from + 3 * row, four, 1);
  const upper = i32x4.dot_i16x8_s(two, wx);
  const lower = i32x4.dot_i16x8_s(four, wx);
  const lines = i16x8.narrow_i32x4_s(
    i32x4.shr_s(i32x4.add(upper, half), bits),
    i32x4.shr_s(i32x4.add(lower, half), bits),
  );
  return i32x4.dot_i16x8_s(lines, wy);
}

/** Four partial sums out of 6 × 6 samples of 8 bits; two more of each row weigh nothing. */
// @ts-ignore: a decorator of AssemblyScript
@inline
function tap6x8(
  a: v128,
  b: v128,
  d: v128,
  u: f64,
  most: v128,
  source: usize,
  stride: i32,
  half: v128,
  bits: i32,
  tableX: usize,
  tableY: usize,
): v128 {
  const at = place(a, b, d, u);
  const tap = firstTap(at, 2, most);
  const row = <usize>stride;
  const from = source + <usize>(i32x4.extract_lane(tap, 1) * stride + i32x4.extract_lane(tap, 0));
  const wx = v128.load(tableX + <usize>((i32x4.extract_lane(at, 0) & 1023) << 4));
  const wy = tableY + <usize>((i32x4.extract_lane(at, 2) & 1023) * 48);
  const l0 = line(v128.load8x8_u(from), wx, half, bits);
  const l1 = line(v128.load8x8_u(from + row), wx, half, bits);
  const l2 = line(v128.load8x8_u(from + 2 * row), wx, half, bits);
  const l3 = line(v128.load8x8_u(from + 3 * row), wx, half, bits);
  const l4 = line(v128.load8x8_u(from + 4 * row), wx, half, bits);
  const l5 = line(v128.load8x8_u(from + 5 * row), wx, half, bits);
  return sixLines(l0, l1, l2, l3, l4, l5, wy);
}

/** The same out of samples of 16 bits. */
// @ts-ignore: a decorator of AssemblyScript
@inline
function tap6x16(
  a: v128,
  b: v128,
  d: v128,
  u: f64,
  most: v128,
  source: usize,
  stride: i32,
  half: v128,
  bits: i32,
  tableX: usize,
  tableY: usize,
): v128 {
  const at = place(a, b, d, u);
  const tap = firstTap(at, 2, most);
  const row = <usize>(2 * stride);
  const from =
    source + <usize>(2 * (i32x4.extract_lane(tap, 1) * stride + i32x4.extract_lane(tap, 0)));
  const wx = v128.load(tableX + <usize>((i32x4.extract_lane(at, 0) & 1023) << 4));
  const wy = tableY + <usize>((i32x4.extract_lane(at, 2) & 1023) * 48);
  const l0 = line(v128.load(from), wx, half, bits);
  const l1 = line(v128.load(from + row), wx, half, bits);
  const l2 = line(v128.load(from + 2 * row), wx, half, bits);
  const l3 = line(v128.load(from + 3 * row), wx, half, bits);
  const l4 = line(v128.load(from + 4 * row), wx, half, bits);
  const l5 = line(v128.load(from + 5 * row), wx, half, bits);
  return sixLines(l0, l1, l2, l3, l4, l5, wy);
}

// @ts-ignore: a decorator of AssemblyScript
@inline
function line(taps: v128, wx: v128, half: v128, bits: i32): v128 {
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
