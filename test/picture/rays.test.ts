import { describe, expect, test } from 'vitest';
import { raysOf, trace } from '../../src/picture/rays.js';
import type { EyeImage, EyePicture } from '../../src/picture/stereoFrame.js';
import type { LensMapping } from '../../src/rig/lens.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import { composeQuaternions, quaternionAt } from '../../src/rotation/arrays.js';
import { fc } from '../seed.js';
import { turn, turnsBy } from '../turns.js';
import { corrected, HALF, LEVEL } from './pictures.js';

const LAWS: readonly LensMapping[] = [
  { law: 'equidistant' },
  { law: 'equisolid' },
  { law: 'stereographic' },
  { law: 'orthographic' },
  { law: 'polynomial', coefficients: [-0.03, 0.002] },
];
const fisheye = (mapping: LensMapping, fieldDeg = 170): EyeImage => ({
  projection: 'fisheye',
  mapping,
  fieldDeg,
});
const small = turnsBy(fc.integer({ min: 0, max: 300 }).map((k) => k / 1000));
const places = fc.tuple(fc.integer({ min: 1, max: 299 }), fc.integer({ min: 1, max: 299 }));
/** Some units in the last place of some hundred pixels, enlarged by lenses that are steep at their edge. */
const ROUNDING = 1e-9;

const size = { widthPx: 300, heightPx: 300 };

describe('without a turn a point of the view lies at the same point of the source', () => {
  test.each([HALF, ...LAWS.map((mapping) => fisheye(mapping))])('case %#', (image) => {
    const picture: EyePicture = { image, ...size };
    const rays = raysOf(corrected(LEVEL))(0, 'left', picture, picture);
    const at = new Float64Array(2);
    fc.assert(
      fc.property(places, ([x, y]) => {
        const inside = Math.hypot(x - 150, y - 150) < 149.9;
        const shown = trace(rays, x, y, at);
        if (image.projection === 'fisheye') expect(shown).toBe(Math.hypot(x - 150, y - 150) <= 150);
        if (image.projection === 'fisheye' && !inside) return;
        expect(Math.hypot(at[0]! - x, at[1]! - y)).toBeLessThan(ROUNDING);
      }),
    );
  });
});

test('K₂ after K₁ leads to the same point as K₂K₁', () => {
  const view: EyePicture = { image: HALF, ...size };
  const between = new Float64Array(2);
  const at = new Float64Array(2);
  const whole = new Float64Array(2);
  fc.assert(
    fc.property(small, small, fc.constantFrom(...LAWS), places, (k1, k2, law, [x, y]) => {
      const source: EyePicture = { image: fisheye(law), ...size };
      const product = quaternionAt(composeQuaternions(Float64Array.from(k2.q), k1.q), 0);
      const second = raysOf(corrected(k2.q))(0, 'left', view, view);
      const first = raysOf(corrected(k1.q))(0, 'left', view, source);
      const once = raysOf(corrected(product))(0, 'left', view, source);
      // Behind the picture in between, a point of it means another direction.
      if (!trace(second, x, y, between)) return;
      const seen = trace(first, between[0]!, between[1]!, at);
      if (trace(once, x, y, whole) !== seen || !seen) return;
      expect(Math.hypot(at[0]! - whole[0]!, at[1]! - whole[1]!)).toBeLessThan(ROUNDING);
    }),
  );
});

test('the margin is positive where the lens saw a point and negative where not, but for a hair', () => {
  const image = fisheye({ law: 'equisolid' }, 200);
  const circle = { centrePx: [140, 160], diameterPx: 310 } as const;
  fc.assert(
    fc.property(small, places, fc.constantFrom(true, false), ({ q }, [x, y], cropped) => {
      const source: EyePicture = {
        image: cropped && image.projection === 'fisheye' ? { ...image, circle } : HALF,
        ...size,
      };
      const rig = { ...DEFAULT_RIG, lens: { ...DEFAULT_RIG.lens, fieldDeg: 160 } };
      const rays = raysOf(corrected(q, { rig }))(0, 'right', { image: HALF, ...size }, source);
      const at = new Float64Array(2);
      const seen = trace(rays, x, y, at);
      const margin = rays.margin(at);
      if (Math.abs(margin) > 1e-6) expect(margin > 0).toBe(seen);
    }),
  );
});

test('a view of a fisheye shows nothing beyond its circle', () => {
  const picture: EyePicture = { image: fisheye({ law: 'equidistant' }), ...size };
  const rays = raysOf(corrected(turn([0, 1, 0], 0.2).q))(0, 'left', picture, picture);
  const view = new Float64Array(3);
  expect(rays.look(150, 0.001, view)).toBe(true);
  expect(rays.look(150, -0.001, view)).toBe(false);
  expect(rays.blank(0, 0, 40, 40)).toBe(true);
  expect(rays.blank(0, 0, 45, 45)).toBe(false);
});
