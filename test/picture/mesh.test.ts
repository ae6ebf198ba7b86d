import { describe, expect, test } from 'vitest';
import { placeInCell } from '../../src/picture/cellRecords.js';
import {
  CELL,
  CELL_LENGTH,
  createMesher,
  type Mesh,
  TOLERANCE_PX,
} from '../../src/picture/mesh.js';
import { raysOf, trace } from '../../src/picture/rays.js';
import type { EyeImage, EyePicture } from '../../src/picture/stereoFrame.js';
import type { LensMapping } from '../../src/rig/lens.js';
import { DEFAULT_RIG, type StereoRig } from '../../src/rig/stereoRig.js';
import { RATE, resultOf } from '../handoff/results.js';
import { eyesWith } from '../rig/eyes.js';
import { fc } from '../seed.js';
import { turn, turnsBy } from '../turns.js';
import { corrected, HALF, LEVEL } from './pictures.js';

const degrees = Math.PI / 180;
const mappings: fc.Arbitrary<LensMapping> = fc.oneof(
  fc.constantFrom(
    ...(['equidistant', 'equisolid', 'stereographic', 'orthographic'] as const).map((law) => ({
      law,
    })),
  ),
  fc
    .tuple(fc.integer({ min: -40, max: 60 }), fc.integer({ min: -3, max: 6 }))
    .map(([a, b]) => ({ law: 'polynomial' as const, coefficients: [a / 1000, b / 1000] })),
);
const images: fc.Arbitrary<EyeImage> = fc.oneof(
  fc.constant(HALF),
  fc.tuple(mappings, fc.integer({ min: 100, max: 220 })).map(([mapping, wide]) => ({
    projection: 'fisheye' as const,
    mapping,
    fieldDeg: mapping.law === 'orthographic' ? Math.min(wide, 170) : wide,
  })),
);
const sizes = fc.tuple(fc.integer({ min: 9, max: 900 }), fc.integer({ min: 9, max: 900 }));
const pictures: fc.Arbitrary<EyePicture> = fc
  .tuple(images, sizes)
  .map(([image, [widthPx, heightPx]]) => ({ image, widthPx, heightPx }));
/** Steadying turns, and now and then any at all. */
const anyTurn = turnsBy(
  fc.oneof(
    { weight: 4, arbitrary: fc.integer({ min: 0, max: 300 }).map((k) => (k / 10) * degrees) },
    { weight: 1, arbitrary: fc.integer({ min: 0, max: 180 }).map((k) => k * degrees) },
  ),
);

/** Largest distance of a mesh's places from the exact rays, over scattered points of all cells. */
function strays(mesh: Mesh, rays: Parameters<typeof trace>[0], perCell = 6): number {
  let state = 1;
  const random = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32 - 0.5;
  };
  const [found, exact] = [new Float64Array(2), new Float64Array(2)];
  let worst = 0;
  for (let n = 0, c = 0; n < mesh.count; n++, c += CELL_LENGTH) {
    if (mesh.kinds[n] !== CELL.seen && mesh.kinds[n] !== CELL.edge) continue;
    const [x, y, w, h] = mesh.cells.subarray(c, c + 4) as unknown as number[];
    for (let k = 0; k < perCell; k++) {
      // Of a cell one pixel wide or high only its middle and its edges are asked for.
      const inside = (length: number) => (length === 1 ? (k % 3) / 2 - 0.5 : length * random());
      const [u, v] = [inside(w!), inside(h!)];
      placeInCell(mesh.cells, c, u, v, found);
      trace(rays, x! + w! / 2 + u, y! + h! / 2 + v, exact);
      worst = Math.max(worst, Math.hypot(found[0]! - exact[0]!, found[1]! - exact[1]!));
    }
  }
  return worst;
}

/** Rounding of places up to some thousand pixels. */
const ROUNDING = 1e-9;

test('no place strays further from its exact ray than the bound says', { timeout: 60_000 }, () => {
  fc.assert(
    fc.property(anyTurn, pictures, pictures, ({ q }, target, source) => {
      const rays = raysOf(corrected(q))(0, 'left', target, source);
      const mesh = createMesher(target, source)({ rays }, 0, target.heightPx);
      expect(strays(mesh, rays)).toBeLessThanOrEqual(TOLERANCE_PX + ROUNDING);
    }),
    { numRuns: 150, interruptAfterTimeLimit: 40_000 },
  );
});

test('a wider tolerance is used and kept', () => {
  const picture = { image: HALF, widthPx: 512, heightPx: 512 };
  const rays = raysOf(corrected(turn([0.6, 0.64, 0.48], 0.1).q))(0, 'left', picture, picture);
  const mesh = createMesher(picture, picture);
  const fine = mesh({ rays, tolerancePx: 0.001 }, 0, 512).count;
  const coarse = mesh({ rays, tolerancePx: 1 }, 0, 512);
  expect(coarse.count).toBeLessThan(fine / 2);
  const worst = strays(coarse, rays);
  expect(worst).toBeLessThan(1);
  // It is no empty promise: places stray visibly.
  expect(worst).toBeGreaterThan(0.05);
});

describe('a rolling shutter', () => {
  const omega = 2 * Math.PI * 2;
  /** Up to 60 °/s, smoothly. */
  const swaying = (k: number) =>
    ((60 * degrees) / omega) * Math.sin((omega * k * RATE.denominator) / RATE.numerator);
  /** To and fro by a degree from frame to frame, 60 °/s: in the middle row the turn reverses. */
  const trembling = (k: number) => (k % 2) * degrees;
  const fisheye: EyeImage = { projection: 'fisheye', ...DEFAULT_RIG.lens };

  test.each([
    ['half-equirect, swaying', HALF, swaying],
    ['fisheye, swaying', fisheye, swaying],
    // In large pictures cells are large, and a kink within one shows.
    ['half-equirect, trembling', HALF, trembling, 2400],
    ['fisheye, trembling', fisheye, trembling, 2400],
  ])(
    'no place strays further than the bound says: %s',
    { timeout: 120_000 },
    (...[, image, angle, size = 500]) => {
      const rows = { startMs: -7, firstRow: 'top' } as const;
      const rig: StereoRig = {
        ...DEFAULT_RIG,
        readoutMs: 14,
        eyes: eyesWith({ readout: { left: rows } }),
      };
      const walk = Array.from({ length: 12 }, (_, k) => turn([0.6, 0.64, 0.48], angle(k)).q);
      const result = resultOf({ intended: walk.map(() => LEVEL), corrections: walk, rig });
      const target = { image: HALF, widthPx: size, heightPx: size };
      const source = { image, widthPx: size, heightPx: size };
      for (const k of size > 1000 ? [5] : [5, 8]) {
        const rays = raysOf(result)(k, 'left', target, source);
        const mesh = createMesher(target, source)({ rays, rig }, 0, target.heightPx);
        const kinds = mesh.kinds.subarray(0, mesh.count);
        expect(kinds.filter((kind) => kind === CELL.seen).length).toBeGreaterThan(50);
        expect(strays(mesh, rays, 8)).toBeLessThanOrEqual(TOLERANCE_PX + ROUNDING);
      }
    },
  );
});

test('cells tile the view: each point lies in one', () => {
  fc.assert(
    fc.property(anyTurn, pictures, pictures, ({ q }, target, source) => {
      const rays = raysOf(corrected(q))(0, 'right', target, source);
      const { count, cells } = createMesher(target, source)({ rays }, 0, target.heightPx);
      const seen = new Uint8Array(target.widthPx * target.heightPx);
      for (let n = 0, c = 0; n < count; n++, c += CELL_LENGTH) {
        const [x, y, w, h] = cells.subarray(c, c + 4) as unknown as number[];
        for (let j = y!; j < y! + h!; j++) {
          for (let i = x!; i < x! + w!; i++) seen[j * target.widthPx + i]!++;
        }
      }
      expect(seen.every((times) => times === 1)).toBe(true);
    }),
    { numRuns: 40, interruptAfterTimeLimit: 20_000 },
  );
});

test('a cell that is black shows nothing that the lens saw', () => {
  fc.assert(
    fc.property(anyTurn, pictures, pictures, ({ q }, target, source) => {
      const rays = raysOf(corrected(q))(0, 'left', target, source);
      const { count, cells, kinds } = createMesher(target, source)({ rays }, 0, target.heightPx);
      const at = new Float64Array(2);
      for (let n = 0, c = 0; n < count; n++, c += CELL_LENGTH) {
        if (kinds[n] !== CELL.black && kinds[n] !== CELL.seen) continue;
        const [x, y, w, h] = cells.subarray(c, c + 4) as unknown as number[];
        for (const [u, v] of [
          [0.01, 0.01],
          [0.99, 0.01],
          [0.01, 0.99],
          [0.99, 0.99],
          [0.5, 0.5],
        ]) {
          const found = trace(rays, x! + u! * w!, y! + v! * h!, at);
          expect(found).toBe(kinds[n] === CELL.seen);
        }
      }
    }),
    { numRuns: 60, interruptAfterTimeLimit: 20_000 },
  );
});
