import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { filterNamed, type ResamplingFilter, widening } from './filters.js';
import { maskShare } from './mask.js';
import { frameBytes, type PixelFormat, type Plane, planesOf } from './pixelFormat.js';
import { type EyeRays, raysOf, trace } from './rays.js';
import { filteredAt, loadPlane, paddedLength, partOf, type Samples } from './sourcePlane.js';
import {
  checkFrame,
  type EyeName,
  eyePicture,
  eyeRectangle,
  type StereoFrame,
} from './stereoFrame.js';

/** What is resampled into what. */
export interface ResamplingOptions {
  /** The frames of the movie. */
  readonly source: StereoFrame;
  /** The frames to make; default: a half-equirect pair of the source's size and layout. */
  readonly target?: StereoFrame;
  /** How the pixels of both are stored. */
  readonly format: PixelFormat;
  /** Default `bicubic`. */
  readonly filter?: ResamplingFilter;
  /** Whether the result's mask is drawn; default true. */
  readonly mask?: boolean;
}

/** Makes corrected frames, one call each. */
export interface Resampler {
  /** Bytes of a frame of the movie. */
  readonly sourceBytes: number;
  /** Bytes of a frame that is made. */
  readonly targetBytes: number;
  /** How the pixels of both are stored. */
  readonly format: PixelFormat;
  /**
   * Makes one frame.
   *
   * @param frameIndex - index into the result's frames, from 0
   * @param source - the movie's frame; stays as it is
   * @param target - takes the corrected frame
   */
  readonly resample: (frameIndex: number, source: Uint8Array, target: Uint8Array) => void;
}

/**
 * Prepares the one resampling of a clip: alignment, correction, an upside-down mount, rolling shutter
 * and mask in one look-up per pixel, from any of the layouts and projections into any other.
 *
 * @param result - of {@link correct}
 * @param options - what the frames look like
 * @returns a function for each frame; it changes nothing but the target
 * @throws TwinkeelError `argument/invalid` for frames or a filter that it cannot do
 */
export function planResampling(result: CorrectionResult, options: ResamplingOptions): Resampler {
  const { source, format } = options;
  const half = { projection: 'half-equirect' } as const;
  const target = options.target ?? { ...source, left: half, right: half };
  checkFrame(source, format, 'source');
  checkFrame(target, format, 'target');
  const filter = filterNamed(options.filter ?? 'bicubic');
  const mask = options.mask === false ? undefined : result.mask;
  const rays = raysOf(result);
  const frames = result.corrections.times.length;
  const sourcePlanes = planesOf(format, source.widthPx, source.heightPx);
  const targetPlanes = planesOf(format, target.widthPx, target.heightPx);
  const sourceBytes = frameBytes(format, source.widthPx, source.heightPx);
  const targetBytes = frameBytes(format, target.widthPx, target.heightPx);
  const most = 2 ** format.bits - 1;
  const [view, at] = [new Float64Array(3), new Float64Array(2)];

  const resample = (k: number, from: Uint8Array, to: Uint8Array) => {
    if (!(Number.isInteger(k) && k >= 0 && k < frames)) {
      throw new TwinkeelError('argument/invalid', {
        found: `the frame index ${k}`,
        expected: `0 to ${frames - 1}`,
        remedy: 'correct the value',
      });
    }
    for (const eye of ['left', 'right'] as const) {
      const lens: EyeName = result.swapEyes ? (eye === 'left' ? 'right' : 'left') : eye;
      const ofEye = rays(k, lens, eyePicture(target, eye), eyePicture(source, lens));
      sourcePlanes.forEach((plane, p) => {
        const part = partOf(plane, eyeRectangle(source, lens));
        const padded = loadPlane(
          emptySamples(format, paddedLength(part)),
          planeSamples(from, plane, format),
          plane,
          part,
          eyePicture(source, lens),
        );
        const into = targetPlanes[p]!;
        const out = planeSamples(to, into, format);
        const { x, y, width, height } = partOf(into, eyeRectangle(target, eye));
        for (let j = 0; j < height; j++) {
          for (let i = 0; i < width; i++) {
            const u = into.first[0] + i * into.step[0];
            const v = into.first[1] + j * into.step[1];
            let value = plane.black;
            if (trace(ofEye, u, v, at)) {
              const [cx, cy] = [sampleAt(at[0]!, plane, 0), sampleAt(at[1]!, plane, 1)];
              const [wide, high] = scales(ofEye, u, v, plane);
              value = filteredAt(padded, filter, cx, cy, widening(wide), widening(high));
            }
            if (mask) {
              ofEye.look(u, v, view);
              value = plane.black + maskShare(mask, view) * (value - plane.black);
            }
            out[(y + j) * into.width + x + i] = Math.min(Math.max(Math.round(value), 0), most);
          }
        }
      });
    }
  };
  return { sourceBytes, targetBytes, format, resample };
}

/** A place in pixels as one in samples of a plane, the middle of whose first sample lies at ½. */
function sampleAt(place: number, { first, step }: Plane, axis: 0 | 1): number {
  return (place - first[axis]) / step[axis] + 0.5;
}

const [BEFORE, BEHIND] = [new Float64Array(2), new Float64Array(2)];

/** Samples of the source that one sample of the view spans, across and down. */
function scales(rays: EyeRays, u: number, v: number, { step }: Plane): [number, number] {
  let [across, down] = [0, 0];
  for (const [du, dv] of [
    [step[0] / 2, 0],
    [0, step[1] / 2],
  ] as const) {
    trace(rays, u - du, v - dv, BEFORE);
    trace(rays, u + du, v + dv, BEHIND);
    across += ((BEHIND[0]! - BEFORE[0]!) / step[0]) ** 2;
    down += ((BEHIND[1]! - BEFORE[1]!) / step[1]) ** 2;
  }
  return [Math.sqrt(across), Math.sqrt(down)];
}

function emptySamples({ bytesPerSample }: PixelFormat, length: number): Samples {
  return bytesPerSample === 1 ? new Uint8Array(length) : new Uint16Array(length);
}

function planeSamples(frame: Uint8Array, plane: Plane, format: PixelFormat): Samples {
  const start = frame.byteOffset + plane.offset;
  const length = plane.width * plane.height;
  return format.bytesPerSample === 1
    ? new Uint8Array(frame.buffer, start, length)
    : new Uint16Array(frame.buffer, start, length);
}
