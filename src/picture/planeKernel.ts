import type { FilterKernel } from './filters.js';
import type { PixelFormat } from './pixelFormat.js';
import type { Samples } from './sourcePlane.js';

/** Records that a kernel takes at once: few, since an engine makes its code faster between calls. */
export const RECORDS_AT_ONCE = 256;

/** What fills cells with samples, and its places to work in. */
export interface PlaneKernel {
  /** `wasm` with vector instructions, or `typescript` where those are missing; the same bits. */
  readonly kind: 'wasm' | 'typescript';
  /** Room for {@link RECORDS_AT_ONCE} records. */
  readonly records: Float64Array;
  /** One eye's part of a plane with its margin. */
  readonly source: Samples;
  /** One eye's part of a plane that is made. */
  readonly out: Samples;
  /** Fills the samples of the first `count` records. */
  readonly fill: (count: number, shape: KernelShape) => void;
  /** The same where the filter is widened, up to `widest(bits)`. */
  readonly fillWide: (count: number, shape: KernelShape) => void;
}

/** Sizes that differ from plane to plane. */
export interface KernelShape {
  /** Samples from one row of the source to the next. */
  readonly stride: number;
  /** Rows of the source, margins included. */
  readonly rows: number;
  /** Samples from one row of `out` to the next. */
  readonly outStride: number;
  /** Pixels from one sample to the next. */
  readonly step: readonly [number, number];
  /** Code of black. */
  readonly black: number;
}

/** What a kernel is made for. */
export interface KernelNeeds {
  readonly format: PixelFormat;
  readonly filter: FilterKernel;
  /** Samples of the largest source part with its margin, and of the largest part that is made. */
  readonly sourceLength: number;
  readonly outLength: number;
}
