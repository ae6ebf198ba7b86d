import { TwinkeelError } from '../error.js';

/** How many samples of colour there are beside those of brightness. */
export type Chroma = '4:2:0' | '4:2:2' | '4:4:4';

/**
 * Where a sample of colour lies among those of brightness: `left` on the left one of each pair and
 * half-way between two rows, `center` in the middle of the four, `top-left` on the first of them.
 *
 * @see ITU-T H.273, chroma_sample_loc_type: 0 is `left`, 1 `center`, 2 `top-left`
 */
export type ChromaSiting = 'left' | 'center' | 'top-left';

/** How a frame's planes are stored: Y, Cb and Cr one after the other, rows from the top, no gaps. */
export interface PixelFormat {
  /** The name ffmpeg gives it, such as `yuv420p10le`. */
  readonly name: string;
  /** How many samples of colour there are. */
  readonly chroma: Chroma;
  /** Bits of a sample. */
  readonly bits: 8 | 10 | 12;
  /** 1, or 2 with the low byte first. */
  readonly bytesPerSample: 1 | 2;
  /** Where the samples of colour lie. */
  readonly siting: ChromaSiting;
  /** Whether black is 16 of 8 bits (`limited`, most video) or 0 (`full`). */
  readonly range: 'limited' | 'full';
}

/** One plane of a frame. */
export interface Plane {
  /** Samples in a row. */
  readonly width: number;
  /** Rows. */
  readonly height: number;
  /** Where its first sample stands in the frame, bytes. */
  readonly offset: number;
  /** Pixels from one sample to the next, across and down. */
  readonly step: readonly [number, number];
  /** Place of its first sample, pixels from the left and from the top edge of the frame. */
  readonly first: readonly [number, number];
  /** Code of black. */
  readonly black: number;
}

const NAME = /^yuv(j?)(420|422|444)p(10le|12le)?$/;

/**
 * A planar format by the name that ffmpeg gives it. With 4:2:2 only the side of the siting counts,
 * with 4:4:4 nothing of it.
 *
 * @param name - `yuv420p`, `yuv422p` or `yuv444p`, with `10le` or `12le` behind it for more than 8 bits
 * @param options - what the name does not say: siting (default `left`, as in MPEG-2 and most video
 *   since) and range (default `limited`; the old names `yuvj…` mean `full`)
 * @throws TwinkeelError `argument/invalid` for any other name
 * @see ITU-T H.273 for siting and range
 * @example
 * pixelFormatNamed('yuv420p10le').bits; // 10
 */
export function pixelFormatNamed(
  name: string,
  options: Partial<Pick<PixelFormat, 'siting' | 'range'>> = {},
): PixelFormat {
  const found = NAME.exec(name);
  if (!found) {
    throw new TwinkeelError('argument/invalid', {
      found: `the pixel format "${name}"`,
      expected: 'yuv420p, yuv422p or yuv444p, of 8 bits or with 10le or 12le behind it',
      remedy: 'convert the movie to one of them, which ffmpeg does with -pix_fmt',
    });
  }
  const [, full, samples, depth] = found;
  const { siting = 'left', range = full === 'j' ? 'full' : 'limited' } = options;
  return {
    name,
    chroma: samples === '420' ? '4:2:0' : samples === '422' ? '4:2:2' : '4:4:4',
    bits: depth === '12le' ? 12 : depth === '10le' ? 10 : 8,
    bytesPerSample: depth ? 2 : 1,
    siting,
    range,
  };
}

/** Pixels for one sample of colour, across and down. */
export function chromaStep({ chroma }: PixelFormat): readonly [number, number] {
  return chroma === '4:2:0' ? [2, 2] : chroma === '4:2:2' ? [2, 1] : [1, 1];
}

/**
 * The three planes of a frame.
 *
 * @param format - how it is stored
 * @param widthPx - a multiple of the colour's step
 * @param heightPx - a multiple of the colour's step
 * @example
 * planesOf(pixelFormatNamed('yuv420p'), 64, 32)[1]!.offset; // 2048, behind the brightness
 */
export function planesOf(format: PixelFormat, widthPx: number, heightPx: number): readonly Plane[] {
  const { siting, bits, bytesPerSample, range } = format;
  const step = chromaStep(format);
  // The middle of a pixel lies half a pixel from its edges; that of a pair one pixel from the first.
  const across = step[0] === 2 && siting === 'center' ? 1 : 0.5;
  const down = step[1] === 2 && siting !== 'top-left' ? 1 : 0.5;
  const [width, height] = [widthPx / step[0], heightPx / step[1]];
  const luma: Plane = {
    width: widthPx,
    height: heightPx,
    offset: 0,
    step: [1, 1],
    first: [0.5, 0.5],
    black: range === 'full' ? 0 : 16 << (bits - 8),
  };
  const colour = (offset: number): Plane => {
    return { width, height, offset, step, first: [across, down], black: 128 << (bits - 8) };
  };
  const behind = widthPx * heightPx * bytesPerSample;
  return [luma, colour(behind), colour(behind + width * height * bytesPerSample)];
}

/**
 * Bytes of one frame.
 *
 * @example
 * frameBytes(pixelFormatNamed('yuv420p10le'), 8192, 4096); // 100663296
 */
export function frameBytes(format: PixelFormat, widthPx: number, heightPx: number): number {
  return planesOf(format, widthPx, heightPx).reduce(
    (sum, { width, height }) => sum + width * height * format.bytesPerSample,
    0,
  );
}
