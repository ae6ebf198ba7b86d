import { describe, expect, test } from 'vitest';
import type { CorrectionResult } from '../../src/correct.js';
import type { ResamplingFilter } from '../../src/picture/filters.js';
import { pixelFormatNamed } from '../../src/picture/pixelFormat.js';
import { planResampling, type ResamplingOptions } from '../../src/picture/resampler.js';
import type { EyeImage, StereoFrame } from '../../src/picture/stereoFrame.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import { complaint } from '../complaint.js';
import { eyesWith } from '../rig/eyes.js';
import { turn } from '../turns.js';
import { corrected, frameOf, HALF, LENS, LEVEL, waves } from './pictures.js';
import { planesIn, referenceFrame } from './reference.js';

const K = turn([0.6, 0.64, 0.48], 0.12).q;
const FORMAT = pixelFormatNamed('yuv420p');
const MASK = { centre: [Math.sin(0.1), 0, -Math.cos(0.1)], opaqueFrom: 1.3, clearUpTo: 1 } as const;

function resampled(
  result: CorrectionResult,
  frame: Uint8Array,
  options: ResamplingOptions,
  k = 0,
): Uint8Array {
  const { resample, targetBytes } = planResampling(result, options);
  const out = new Uint8Array(targetBytes).fill(77);
  resample(k, frame, out);
  return out;
}

/** Largest difference in codes from the slow and plain way. */
function differences(
  result: CorrectionResult,
  source: StereoFrame,
  target: StereoFrame,
  name: string,
  filter: ResamplingFilter = 'bicubic',
): number {
  const format = pixelFormatNamed(name);
  const frame = waves(source, format);
  const out = resampled(result, frame, { source, target, format, filter });
  const made = planesIn(out, target, format);
  const plain = referenceFrame(result, 0, frame, { source, target, format, filter });
  return Math.max(
    ...plain.map((plane, p) =>
      plane.reduce(
        (worst, value, i) => Math.max(worst, Math.abs(made[p]![i]! - Math.round(value))),
        0,
      ),
    ),
  );
}

describe('values lie within one code of a ray and a filter sum for each sample', () => {
  // Slopes of the waves reach 0.2 of the range per sample: a place 0.01 px off moves a code of 8 bits by
  // 0.5 and one of 10 bits by 2. The mesh of such small pictures strays by far less than its bound.
  test.each([
    ['yuv420p', 'bicubic', 'side-by-side', 'side-by-side', HALF, HALF, 1],
    ['yuv420p', 'lanczos3', 'side-by-side', 'top-bottom', LENS, HALF, 1],
    ['yuv420p', 'bilinear', 'top-bottom', 'side-by-side', HALF, LENS, 1],
    ['yuv422p10le', 'bicubic', 'side-by-side', 'side-by-side', LENS, LENS, 1],
    ['yuv444p', 'lanczos3', 'side-by-side', 'side-by-side', LENS, HALF, 1],
    ['yuv422p', 'bilinear', 'side-by-side', 'side-by-side', LENS, HALF, 1],
    ['yuv420p10le', 'lanczos3', 'side-by-side', 'side-by-side', LENS, HALF, 1],
    ['yuv420p', 'bicubic', 'side-by-side', 'side-by-side', HALF, HALF, 3],
    ['yuv420p10le', 'lanczos3', 'side-by-side', 'side-by-side', LENS, HALF, 2],
    ['yuv422p', 'bilinear', 'side-by-side', 'side-by-side', HALF, LENS, 2],
  ] as const)(
    '%s by %s, %s into %s (case %#)',
    (name, filter, from, into, seen, shown, smaller) => {
      const source = frameOf(seen, 96, from);
      const target = frameOf(shown, 96 / smaller, into);
      expect(differences(corrected(K), source, target, name, filter)).toBeLessThanOrEqual(1);
    },
  );

  test('of 12 bits within what a hundredth of a pixel makes of the slope', () => {
    const source = frameOf(LENS, 96);
    // 0.2 of 4095 codes per sample times 0.01, and a code of rounding.
    expect(differences(corrected(K), source, frameOf(HALF, 96), 'yuv444p12le')).toBeLessThan(9.2);
  });

  test('with masks, alignments, an upside-down mount and exchanged eyes', () => {
    const alignment = { left: turn([0, 0, 1], 0.02).q, right: turn([1, 0, 0], -0.03).q };
    const result = corrected(turn([0, 0, 1], Math.PI - 0.1).q, {
      rig: { ...DEFAULT_RIG, eyes: eyesWith({ alignment }) },
      mask: MASK,
      swapEyes: true,
    });
    const circle = { centrePx: [50, 45], diameterPx: 100 } as const;
    const source = { ...frameOf(HALF, 96), right: { ...LENS, circle } as EyeImage };
    expect(differences(result, source, frameOf(HALF, 96), 'yuv420p')).toBeLessThanOrEqual(1);
  });
});

describe('both kernels', () => {
  test.each([
    ['yuv420p', 'bicubic'],
    ['yuv422p10le', 'bicubic'],
    ['yuv420p', 'lanczos3'],
    ['yuv444p12le', 'lanczos3'],
    ['yuv420p10le', 'bilinear'],
  ] as const)('give the same bits: %s by %s', (name, filter) => {
    const format = pixelFormatNamed(name);
    const source = frameOf(LENS, 100);
    for (const target of [frameOf(HALF, 100), frameOf(HALF, 44)]) {
      const options = { source, target, format, filter };
      const frame = waves(source, format);
      const vectors = planResampling(corrected(K), options);
      const plain = planResampling(corrected(K), { ...options, kernel: 'typescript' });
      expect([vectors.kernel, plain.kernel]).toEqual(['wasm', 'typescript']);
      const [a, b] = [new Uint8Array(vectors.targetBytes), new Uint8Array(plain.targetBytes)];
      vectors.resample(0, frame, a);
      plain.resample(0, frame, b);
      expect(a).toEqual(b);
    }
  });
});

describe('one frame', () => {
  const source = frameOf(HALF, 64);
  const frame = waves(source, FORMAT);

  test('that needs no turn is copied bit for bit', () => {
    const out = resampled(corrected(LEVEL), frame, { source, format: FORMAT });
    expect(out).toEqual(frame);
    const fisheye = frameOf(LENS, 64);
    const same = { source: fisheye, target: fisheye, format: FORMAT };
    expect(resampled(corrected(LEVEL), frame, same)).toEqual(frame);
  });

  test('turns both eyes alike: the same picture in both stays the same in both', () => {
    const twice = frame.slice();
    // The left eye's samples in the right eye's place, in all three planes.
    for (const [start, width, rows] of [
      [0, 128, 64],
      [8192, 64, 32],
      [10240, 64, 32],
    ] as const) {
      for (let j = 0; j < rows; j++) {
        const row = start + j * width;
        twice.copyWithin(row + width / 2, row, row + width / 2);
      }
    }
    const [luma] = planesIn(
      resampled(corrected(K), twice, { source, format: FORMAT }),
      source,
      FORMAT,
    );
    const rows = Array.from({ length: 64 }, (_, j) => luma!.slice(128 * j, 128 * j + 128));
    for (const row of rows) expect(row.slice(0, 64)).toEqual(row.slice(64));
    expect(new Set(luma).size).toBeGreaterThan(60);
  });

  test('no sample crosses into the other eye', () => {
    // The left eye black, the right one white: black and white they stay, up to the border.
    const planes = Uint8Array.from({ length: frame.length }, (_, i) =>
      i < 8192 ? (i % 128 < 64 ? 16 : 235) : 128,
    );
    const side = turn([0, 1, 0], 0.3).q;
    const [luma] = planesIn(
      resampled(corrected(side), planes, { source, format: FORMAT, filter: 'lanczos3' }),
      source,
      FORMAT,
    );
    luma!.forEach((code, i) => {
      if (i % 128 < 64) expect(code).toBe(16);
    });
  });

  test('what the lens did not see is black, in light and colour, not smeared', () => {
    const white = new Uint8Array(frame.length).fill(235, 0, 8192).fill(90, 8192);
    // 0.3 rad to the left: 64 · 0.3/π = 6.1 columns were not seen.
    const side = turn([0, 1, 0], 0.3).q;
    const [luma, blue] = planesIn(
      resampled(corrected(side), white, { source, format: FORMAT }),
      source,
      FORMAT,
    );
    const row = luma!.slice(128 * 32, 128 * 32 + 64);
    expect(row.slice(-6)).toEqual([16, 16, 16, 16, 16, 16]);
    expect(row.slice(0, -9).every((code) => code === 235)).toBe(true);
    expect(blue!.slice(64 * 16 + 29, 64 * 16 + 32)).toEqual([128, 128, 128]);
  });

  test('exchanged eyes come from the other half', () => {
    const plain = resampled(corrected(K), frame, { source, format: FORMAT });
    const swapped = resampled(corrected(K, { swapEyes: true }), frame, { source, format: FORMAT });
    const [a] = planesIn(plain, source, FORMAT);
    const [b] = planesIn(swapped, source, FORMAT);
    for (let j = 0; j < 64; j++) {
      expect(b!.slice(128 * j, 128 * j + 64)).toEqual(a!.slice(128 * j + 64, 128 * j + 128));
    }
  });

  test('the mask may be left out', () => {
    const options = { source, format: FORMAT, mask: false };
    const open = resampled(corrected(K), frame, { source, format: FORMAT });
    expect(resampled(corrected(K, { mask: MASK }), frame, options)).toEqual(open);
    const masked = resampled(corrected(K, { mask: MASK }), frame, { source, format: FORMAT });
    expect(masked).not.toEqual(open);
  });

  test('made in bands is the same frame', () => {
    const large = frameOf(HALF, 200);
    const picture = waves(large, FORMAT);
    const result = corrected(K, { mask: MASK });
    const { resampleRows, targetBytes } = planResampling(result, { source: large, format: FORMAT });
    for (const parts of [2, 3, 7]) {
      const out = new Uint8Array(targetBytes);
      for (let part = 0; part < parts; part++) resampleRows(0, picture, out, part, parts);
      expect(out).toEqual(resampled(result, picture, { source: large, format: FORMAT }));
    }
  });

  test('may lie at an odd byte', () => {
    const format = pixelFormatNamed('yuv420p10le');
    const words = waves(source, format);
    const { resample, targetBytes } = planResampling(corrected(K), { source, format });
    const [even, odd] = [new Uint8Array(targetBytes), new Uint8Array(targetBytes + 1).subarray(1)];
    const shifted = new Uint8Array(words.length + 1).subarray(1);
    shifted.set(words);
    resample(0, words, even);
    resample(0, shifted, odd);
    expect(odd).toEqual(even);
  });

  test('leaves its source as it is', () => {
    const before = frame.slice();
    resampled(corrected(K, { mask: MASK }), frame, { source, format: FORMAT });
    expect(frame).toEqual(before);
  });
});

test('K₂ after K₁ in one resample is K₂K₁', () => {
  // The result of a second pass on footage that K₁ had steadied replaces both; resampled at once it is
  // the frame that K₂ makes of K₁'s, but for what two filters blur.
  const source = frameOf(HALF, 256);
  const format = pixelFormatNamed('yuv444p12le');
  const wide = { ...frameOf(HALF, 256) };
  const smooth = slowWaves(wide);
  const [k1, k2] = [turn([0, 1, 0], 0.1).q, turn([1, 0, 0], 0.08).q];
  const both = turnProduct(k2, k1);
  const once = resampled(corrected(both), smooth, { source, format });
  const first = resampled(corrected(k1), smooth, { source, format });
  const twice = resampled(corrected(k2), first, { source, format });
  const [a, b] = [planesIn(once, source, format)[0]!, planesIn(twice, source, format)[0]!];
  // In the middle of the view. Slopes of 12 codes per pixel: 0.02 px is a quarter of a code; three
  // roundings make up to 1.5 codes.
  for (let j = 64; j < 192; j++) {
    for (let i = 64; i < 192; i++) {
      expect(Math.abs(a[512 * j + i]! - b[512 * j + i]!)).toBeLessThanOrEqual(2);
    }
  }

  function slowWaves(frame: StereoFrame): Uint8Array {
    const bytes = waves(frame, format);
    const view = new Uint16Array(bytes.buffer);
    for (let i = 0; i < view.length; i++) {
      const [x, y] = [i % 256, Math.floor(i / 512) % 256];
      view[i] = Math.round(2048 + 80 * Math.sin(0.1 * x) + 60 * Math.cos(0.12 * y + 0.05 * x));
    }
    return bytes;
  }

  function turnProduct(
    [ax, ay, az, aw]: typeof k1,
    [bx, by, bz, bw]: typeof k1,
  ): [number, number, number, number] {
    return [
      aw * bx + ax * bw + ay * bz - az * by,
      aw * by - ax * bz + ay * bw + az * bx,
      aw * bz + ax * by - ay * bx + az * bw,
      aw * bw - ax * bx - ay * by - az * bz,
    ];
  }
});

describe('refused is', () => {
  const source = frameOf(HALF, 32);
  const plan = (more: Partial<ResamplingOptions> = {}) =>
    planResampling(corrected(K), { source, format: FORMAT, ...more });
  const { sourceBytes, targetBytes, resample, resampleRows } = plan();
  const [from, to] = [new Uint8Array(sourceBytes), new Uint8Array(targetBytes)];

  test('an unknown filter', () => {
    expect(() => plan({ filter: 'spline' as 'bicubic' })).toThrow(
      complaint('argument/invalid', 'found the filter "spline", expected one of bilinear'),
    );
  });

  test('a target that does not fit its pixels', () => {
    expect(() => plan({ target: { ...source, widthPx: 50 } })).toThrow(
      complaint('argument/invalid', 'found target: a frame of 50 × 32'),
    );
  });

  test.each([-1, 2, 0.5, Number.NaN])('frame %d of two', (k) => {
    expect(() => resample(k, from, to)).toThrow(
      complaint('argument/invalid', `found the frame index ${k}, expected 0 to 1`),
    );
  });

  test('a frame of another length', () => {
    expect(() => resample(0, from.subarray(1), to)).toThrow(
      complaint('argument/shape', `found a source of ${sourceBytes - 1} bytes`),
    );
    expect(() => resample(0, from, new Uint8Array(3))).toThrow(
      complaint('argument/shape', 'found a target of 3 bytes'),
    );
  });

  test('a target in the memory of its source', () => {
    expect(() => resample(0, from, from)).toThrow(
      complaint('argument/invalid', 'found a target in the memory of its source'),
    );
  });

  test('a part beyond their number', () => {
    expect(() => resampleRows(0, from, to, 2, 2)).toThrow(
      complaint('argument/invalid', 'found part 2 of 2'),
    );
  });
});
