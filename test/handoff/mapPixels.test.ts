import { describe, expect, test } from 'vitest';
import { readExr, toExr } from '../../src/handoff/exr.js';
import { toStMap } from '../../src/handoff/stMap.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import { eyesWith } from '../rig/eyes.js';
import { residualsOf } from './residual.js';
import { type Eye, renderEye, SHORTEST_WAVE_PX } from './room.js';
import {
  ALIGNMENT,
  correctiveOf,
  measuredBy,
  resultFor,
  SIZE,
  upTo,
  wanted,
} from './shakenWalk.js';
import {
  lightAt,
  longestOf,
  type Picture,
  TILE_MIDDLES,
  tilePatch,
  tileShift,
} from './tileShift.js';

describe('pixels looked up by ST maps', () => {
  /**
   * Cubic polynomials, in the look-up and in the measuring, misplace a wave of 6.8 px by up to
   * 0.0025 px each on each axis; the search ends within 0.001 px and 8 bits leave 0.002 px.
   */
  const MAP_PX = Math.SQRT2 * (2 * 0.0025 + 0.001 + 0.002);
  const some = [0, 17, 34, 51];
  const result = resultFor(upTo(60), { ...DEFAULT_RIG, eyes: eyesWith({ alignment: ALIGNMENT }) });

  test('the measuring finds a known shift of the shortest waves', () => {
    const number = (2 * Math.PI) / SHORTEST_WAVE_PX;
    const light = (x: number, y: number) =>
      126 + 50 * (Math.sin(number * x) + Math.cos(number * y));
    const middle = TILE_MIDDLES[1]!;
    const patch = tilePatch(middle, SIZE);
    const ideal = Float64Array.from({ length: patch.widthPx * patch.heightPx }, (_, i) =>
      light(patch.x + (i % patch.widthPx), patch.y + Math.floor(i / patch.widthPx)),
    );
    const shifted = Uint8Array.from({ length: SIZE * SIZE }, (_, i) =>
      Math.round(light((i % SIZE) + 0.37, Math.floor(i / SIZE) - 1.21)),
    );
    const [x, y] = tileShift({ sizePx: SIZE, light: shifted }, ideal, patch);
    expect(Math.hypot(x - 0.37, y + 1.21)).toBeLessThanOrEqual(MAP_PX);
  });

  test.each([
    { lens: 'half-equirect', origin: 'bottom-left' },
    { lens: { fisheyeDeg: 190 }, origin: 'top-left' },
  ] as const)(
    'they lie on the wanted path: $lens, counted from the $origin',
    { timeout: 60_000 },
    ({ lens, origin }) => {
      const source =
        lens === 'half-equirect'
          ? ({ projection: lens } as const)
          : ({ projection: 'fisheye', widthPx: SIZE, heightPx: SIZE } as const);
      const lookedUp = (k: number, eye: Eye): Picture => {
        const light8 = renderEye(eye, measuredBy(eye, k), lens, SIZE).map(Math.round);
        const seen: Picture = { sizePx: SIZE, light: light8 };
        const map = readExr(
          toExr(toStMap(result, k, { eye, widthPx: SIZE, heightPx: SIZE, source, origin })),
        );
        const light = Float64Array.from(map.s, (s, i) => {
          const t = origin === 'top-left' ? map.t[i]! : 1 - map.t[i]!;
          return lightAt(seen, s * SIZE, t * SIZE);
        });
        return { sizePx: SIZE, light };
      };
      const correction = (k: number, eye: Eye) => correctiveOf(eye, k);
      const ideal = { sizePx: SIZE, wanted, correction, source: lens };
      const found = residualsOf(some, lookedUp, ideal).map((each) => each.measured);
      expect(longestOf(found)).toBeLessThanOrEqual(MAP_PX);
    },
  );
});
