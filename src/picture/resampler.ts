import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { crowdingOf } from './cellRecords.js';
import { createKernel } from './createKernel.js';
import { filterNamed, type ResamplingFilter } from './filters.js';
import { type MaskPlane, maskPlane, openPlane } from './maskPlane.js';
import { createMesher, LARGEST_CELL, type Mesh } from './mesh.js';
import { frameBytes, type PixelFormat, type Plane, planesOf } from './pixelFormat.js';
import { type PlaneCells, planeCells } from './planeCells.js';
import type { PlaneKernel } from './planeKernel.js';
import { type EyeRays, raysOf, turnOf } from './rays.js';
import { resamplePlane } from './resamplePlane.js';
import { loadPlane, paddedLength, partOf, type Samples } from './sourcePlane.js';
import {
  checkFrame,
  type EyeName,
  eyePicture,
  eyeRectangle,
  type StereoFrame,
} from './stereoFrame.js';
import { typescriptKernel } from './typescriptKernel.js';

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
  /** `typescript` leaves WebAssembly out, which gives the same bytes, slower; default: what is faster. */
  readonly kernel?: 'typescript';
}

/** Makes corrected frames, one call each. */
export interface Resampler {
  /** Bytes of a frame of the movie. */
  readonly sourceBytes: number;
  /** Bytes of a frame that is made. */
  readonly targetBytes: number;
  /** How the pixels of both are stored. */
  readonly format: PixelFormat;
  /** Whether WebAssembly's vector instructions do the work. */
  readonly kernel: 'wasm' | 'typescript';
  /**
   * Makes one frame.
   *
   * @param frameIndex - index into the result's frames, from 0
   * @param source - the movie's frame; stays as it is
   * @param target - takes the corrected frame; must not share memory with the source
   * @throws TwinkeelError `argument/invalid` for a frame outside the result, `argument/shape` for arrays
   *   of another length
   */
  readonly resample: (frameIndex: number, source: Uint8Array, target: Uint8Array) => void;
  /**
   * Makes a part of one frame: bands of rows of each eye, so that several workers can share it.
   *
   * @param part - which, from 0
   * @param parts - of how many; together they make the whole frame, the same bytes
   */
  readonly resampleRows: (
    frameIndex: number,
    source: Uint8Array,
    target: Uint8Array,
    part: number,
    parts: number,
  ) => void;
}

const EYES = ['left', 'right'] as const;

/**
 * Prepares the one resampling of a clip: alignment, correction, an upside-down mount, rolling shutter
 * and mask in one look-up per pixel, from any of the layouts and projections into any other. Each place
 * lies within 0.02 pixels of its exact ray. What the lens did not see is black. A frame that needs no
 * change is copied bit for bit.
 *
 * @param result - of {@link index!correct}
 * @param options - what the frames look like
 * @returns functions for each frame, which keep memory of about a third of a frame to work in
 * @throws TwinkeelError `argument/invalid` for frames or a filter that it cannot do
 * @example
 * const eye = { projection: 'half-equirect' } as const;
 * const source = { widthPx: 64, heightPx: 32, layout: 'side-by-side', left: eye, right: eye } as const;
 * const format = pixelFormatNamed('yuv420p');
 * const { resample, sourceBytes, targetBytes } = planResampling(result, { source, format });
 * const steady = new Uint8Array(targetBytes);
 * resample(0, new Uint8Array(sourceBytes).fill(128), steady);
 * steady[64 * 16 + 16]; // 128
 */
export function planResampling(result: CorrectionResult, options: ResamplingOptions): Resampler {
  const { source, format } = options;
  const { bits } = format;
  const half = { projection: 'half-equirect' } as const;
  const target = options.target ?? { ...source, left: half, right: half };
  checkFrame(source, format, 'source');
  checkFrame(target, format, 'target');
  const filter = filterNamed(options.filter ?? 'bicubic');
  const mask = options.mask === false ? undefined : result.mask;
  const frames = result.corrections.times.length;
  const sourceBytes = frameBytes(format, source.widthPx, source.heightPx);
  const targetBytes = frameBytes(format, target.widthPx, target.heightPx);
  const sourcePlanes = planesOf(format, source.widthPx, source.heightPx);
  const targetPlanes = planesOf(format, target.widthPx, target.heightPx);
  const makeKernel = options.kernel === 'typescript' ? typescriptKernel : createKernel;
  let made: PlaneKernel | undefined;
  // Its memory is taken when the first frame comes: who only asks for sizes needs none.
  const kernelOf = () => {
    made ??= makeKernel({
      format,
      filter,
      sourceLength: paddedLength(partOf(sourcePlanes[0]!, eyeRectangle(source, 'left'))),
      outLength: eyeSamples(target),
    });
    return made;
  };
  const raysOfFrame = raysOf(result);
  const views = EYES.map((eye) => viewOf(eye));
  const sameFrame = sameValue(source, target);

  function viewOf(eye: EyeName) {
    const lens: EyeName = result.swapEyes ? (eye === 'left' ? 'right' : 'left') : eye;
    const [picture, into] = [eyePicture(source, lens), eyePicture(target, eye)];
    const parts = targetPlanes.map((plane) => partOf(plane, eyeRectangle(target, eye)));
    let masks: readonly MaskPlane[] | undefined;
    return {
      lens,
      picture,
      into,
      parts,
      mesher: createMesher(into, picture),
      crowding: crowdingOf(picture),
      masks: (look: EyeRays['look']): readonly MaskPlane[] => {
        masks ??= targetPlanes.map((plane, p) => {
          const { width, height } = parts[p]!;
          return mask ? maskPlane(mask, look, plane, width, height) : openPlane(width);
        });
        return masks;
      },
    };
  }

  function resampleRows(
    k: number,
    from: Uint8Array,
    to: Uint8Array,
    part: number,
    parts: number,
  ): void {
    check(k, from, to, part, parts);
    if (sameFrame && turnsNothing(result, k) && !mask) {
      if (part === 0) to.set(from);
      return;
    }
    const kernel = kernelOf();
    const inside = words(from, format);
    const outside = words(to, format, to);
    let before: { rays: EyeRays; mesh: Mesh; sorted: (PlaneCells | undefined)[] } | undefined;
    views.forEach((view, index) => {
      const { lens, picture, into } = view;
      const rays = raysOfFrame(k, lens, into, picture);
      const [top, bottom] = bandOf(into.heightPx, part, parts);
      if (top === bottom) return;
      const other = views[1 - index]!;
      const same =
        before &&
        sameValue(picture, other.picture) &&
        sameValue(into, other.into) &&
        sameTurn(before.rays, rays, result, k);
      if (!(same && before)) {
        const mesh = view.mesher({ rays, mask, rig: result.rig }, top, bottom);
        before = { rays, mesh, sorted: [] };
      }
      const { mesh, sorted } = before;
      targetPlanes.forEach((plane, p) => {
        const sourcePlane = sourcePlanes[p]!;
        const padded = loadPlane(
          kernel.source,
          planeSamples(inside, sourcePlane, format),
          sourcePlane,
          partOf(sourcePlane, eyeRectangle(source, lens)),
          picture,
        );
        const { x, y, width, height } = view.parts[p]!;
        // Both planes of colour lie alike.
        const like = Math.min(p, 1);
        sorted[like] ??= planeCells(mesh, plane, width, height, view.crowding, bits);
        resamplePlane({
          mesh,
          sorted: sorted[like]!,
          rays,
          filter,
          kernel,
          crowding: view.crowding,
          source: padded,
          plane,
          width,
          height,
          bits,
        });
        const samples = planeSamples(outside, plane, format);
        const [firstRow, lastRow] = [top, bottom].map((row) =>
          Math.min(height, Math.max(0, Math.ceil((row - plane.first[1]) / plane.step[1]))),
        ) as [number, number];
        view
          .masks(rays.look)
          [p]!.copyRows(
            kernel.out,
            samples.subarray(y * plane.width + x),
            plane.width,
            firstRow,
            lastRow,
          );
      });
    });
    if (outside !== to) to.set(outside);
  }

  function check(k: number, from: Uint8Array, to: Uint8Array, part: number, parts: number): void {
    const refuse = (code: 'argument/invalid' | 'argument/shape', found: string, expected: string) =>
      new TwinkeelError(code, { found, expected, remedy: 'correct the value' });
    if (!(Number.isInteger(k) && k >= 0 && k < frames)) {
      throw refuse('argument/invalid', `the frame index ${k}`, `0 to ${frames - 1}`);
    }
    if (!(Number.isInteger(part) && Number.isInteger(parts) && part >= 0 && part < parts)) {
      throw refuse('argument/invalid', `part ${part} of ${parts}`, 'a part from 0 to their number');
    }
    if (from.length !== sourceBytes) {
      throw refuse('argument/shape', `a source of ${from.length} bytes`, `${sourceBytes}`);
    }
    if (to.length !== targetBytes) {
      throw refuse('argument/shape', `a target of ${to.length} bytes`, `${targetBytes}`);
    }
    const apart =
      from.buffer !== to.buffer ||
      from.byteOffset + from.length <= to.byteOffset ||
      to.byteOffset + to.length <= from.byteOffset;
    if (!apart) {
      throw refuse('argument/invalid', 'a target in the memory of its source', 'memory of its own');
    }
  }

  return {
    sourceBytes,
    targetBytes,
    format,
    get kernel() {
      return kernelOf().kind;
    },
    resample: (k, from, to) => resampleRows(k, from, to, 0, 1),
    resampleRows,
  };

  function eyeSamples(frame: StereoFrame): number {
    const { widthPx, heightPx } = eyeRectangle(frame, 'left');
    return widthPx * heightPx;
  }
}

/** Rows of a band, at bounds of the mesh's largest cells. */
function bandOf(heightPx: number, part: number, parts: number): [number, number] {
  const rows = Math.ceil(heightPx / LARGEST_CELL);
  const bound = (k: number) => Math.min(heightPx, LARGEST_CELL * Math.floor((rows * k) / parts));
  return [bound(part), bound(part + 1)];
}

/** Whether a frame stays as it is: no turn in either eye, no rows, no exchange. */
function turnsNothing(result: CorrectionResult, k: number): boolean {
  if (result.swapEyes || (result.rig && result.rig.readoutMs > 0)) return false;
  return EYES.every((eye) => {
    const q = turnOf(result, k, eye);
    return q[0] === 0 && q[1] === 0 && q[2] === 0 && Math.abs(q[3]!) === 1;
  });
}

/** Whether both eyes' rays are the same, so that one mesh does for both. */
function sameTurn(a: EyeRays, b: EyeRays, result: CorrectionResult, k: number): boolean {
  if (a.rows && b.rows) return a.rows.every((value, i) => value === b.rows![i]);
  if (a.rows || b.rows) return false;
  const [left, right] = [turnOf(result, k, 'left'), turnOf(result, k, 'right')];
  return left.every((value, i) => value === right[i]);
}

function sameValue(a: unknown, b: unknown): boolean {
  return JSON.stringify(a) === JSON.stringify(b);
}

/** A frame at a place where words of 16 bits can be read; copied where it is not. */
function words(frame: Uint8Array, { bytesPerSample }: PixelFormat, own?: Uint8Array): Uint8Array {
  if (frame.byteOffset % bytesPerSample === 0) return frame;
  return own ? new Uint8Array(own) : frame.slice();
}

function planeSamples(frame: Uint8Array, plane: Plane, format: PixelFormat): Samples {
  const start = frame.byteOffset + plane.offset;
  const length = plane.width * plane.height;
  return format.bytesPerSample === 1
    ? new Uint8Array(frame.buffer, start, length)
    : new Uint16Array(frame.buffer, start, length);
}
