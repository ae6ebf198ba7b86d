import type { CircularMask } from '../rig/coverage.js';
import { maskShare } from './mask.js';
import type { Plane } from './pixelFormat.js';
import type { EyeRays } from './rays.js';
import type { Samples } from './sourcePlane.js';

/** What a mask leaves of one eye's part of a plane; the same in every frame. */
export interface MaskPlane {
  /**
   * Copies rows of a finished part into the frame, through the mask.
   *
   * @param from - the part, without gaps
   * @param to - the frame's plane, from the part's first sample
   * @param stride - of the frame's plane
   */
  readonly copyRows: (
    from: Samples,
    to: Samples,
    stride: number,
    firstRow: number,
    lastRow: number,
  ) => void;
}

/** Without a mask rows are copied as they are. */
export function openPlane(width: number): MaskPlane {
  return {
    copyRows: (from, to, stride, firstRow, lastRow) => {
      for (let j = firstRow; j < lastRow; j++) {
        to.set(from.subarray(j * width, (j + 1) * width), j * stride);
      }
    },
  };
}

/**
 * Looks once at every sample of a part: what is clear is copied, what is outside is black, and on the
 * soft edge black and picture are mixed by the share.
 */
export function maskPlane(
  mask: CircularMask,
  look: EyeRays['look'],
  plane: Plane,
  width: number,
  height: number,
): MaskPlane {
  const view = new Float64Array(3);
  // Of each row: runs of one kind, as first column, kind and where their shares begin.
  const rows: Int32Array[] = [];
  let shares = new Float32Array(1024);
  let used = 0;
  for (let j = 0; j < height; j++) {
    const runs: number[] = [];
    let kind = -1;
    for (let i = 0; i < width; i++) {
      const shown = look(
        plane.first[0] + i * plane.step[0],
        plane.first[1] + j * plane.step[1],
        view,
      );
      const share = shown ? maskShare(mask, view) : 0;
      const here = share === 0 ? RUN.black : share === 1 ? RUN.clear : RUN.soft;
      if (here !== kind) runs.push(i, here, used);
      kind = here;
      if (here !== RUN.soft) continue;
      if (used === shares.length) {
        const larger = new Float32Array(2 * used);
        larger.set(shares);
        shares = larger;
      }
      shares[used++] = share;
    }
    rows.push(Int32Array.from(runs));
  }
  const { black } = plane;
  return {
    copyRows: (from, to, stride, firstRow, lastRow) => {
      for (let j = firstRow; j < lastRow; j++) {
        const runs = rows[j]!;
        const [start, into] = [j * width, j * stride];
        for (let r = 0; r < runs.length; r += 3) {
          const left = runs[r]!;
          const right = runs[r + 3] ?? width;
          if (runs[r + 1] === RUN.clear) {
            to.set(from.subarray(start + left, start + right), into + left);
          } else if (runs[r + 1] === RUN.black) {
            to.fill(black, into + left, into + right);
          } else {
            for (let i = left, s = runs[r + 2]!; i < right; i++, s++) {
              to[into + i] = Math.round(black + shares[s]! * (from[start + i]! - black));
            }
          }
        }
      }
    },
  };
}

const RUN = { black: 0, soft: 1, clear: 2 } as const;
