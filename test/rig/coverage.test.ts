import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  axisSwings,
  bestMask,
  type CircularMask,
  centredMask,
  coveredHalfAngle,
  swingForShare,
  swingLimit,
  uncoveredShare,
} from '../../src/rig/coverage.js';
import type { LensMapping } from '../../src/rig/lens.js';
import { DEFAULT_RIG, type StereoRig } from '../../src/rig/stereoRig.js';
import { multiplyQuaternions, rotateVector, type Vector3 } from '../../src/rotation/quaternion.js';
import { fc } from '../seed.js';
import { rodrigues, type Turn, turn, turnsBy } from '../turns.js';

const deg = RADIANS_PER_DEGREE;
const HALF_SPHERE = 90 * deg;

const rigOf = (fieldDeg: number, outputFieldDeg = 180): StereoRig => ({
  ...DEFAULT_RIG,
  lens: { fieldDeg, mapping: { law: 'equidistant' } },
  outputFieldDeg,
});
const degrees = (min: number, max: number) =>
  fc.integer({ min: 100 * min, max: 100 * max }).map((k) => (k / 100) * deg);

describe('how far the optical axis may turn', () => {
  test.each([
    [180, 180, 0],
    [190, 180, 5],
    [200, 180, 10],
    [190, 160, 15],
    [170, 180, -5],
  ])('a lens of %d° under a view of %d° leaves %d°', (field, view, limit) => {
    expect(swingLimit(rigOf(field, view), 'fisheye') / deg).toBeCloseTo(limit, 12);
  });

  test('up to the limit nothing is uncovered, and beyond it something is', () => {
    fc.assert(
      fc.property(degrees(91, 110), degrees(60, 90), (lens, view) => {
        expect(uncoveredShare(lens - view, lens, view)).toBe(0);
        expect(uncoveredShare(lens - view + 0.01, lens, view)).toBeGreaterThan(0);
      }),
    );
  });
});

describe('the share of the view that is uncovered', () => {
  test.each([
    [190, 6, 0.215, 3],
    [190, 8, 0.98, 3],
    [190, 10, 1.9, 3],
    [190, 15, 4.43, 2],
    [190, 20, 7.09, 2],
    [185, 6, 1.44, 2],
    [185, 10, 3.55, 2],
    [200, 15, 1.53, 2],
    [200, 20, 3.79, 2],
    [180, 9, 5, 12],
    [180, 30, 100 / 6, 12],
  ])('a lens of %d° turned by %d° leaves %d % black', (field, swing, percent, decimals) => {
    const share = 100 * uncoveredShare(swing * deg, (field / 2) * deg, HALF_SPHERE);
    expect(Math.abs(share - percent)).toBeLessThanOrEqual(0.5 * 10 ** -decimals);
  });

  test('turned round altogether only the band that the lens sees behind itself is left', () => {
    // A lens of 190° holds all but a cap of 85°, which lies within the view of 180° from 175° on.
    for (const swing of [175, 177, 180]) {
      const share = uncoveredShare(swing * deg, 95 * deg, HALF_SPHERE);
      expect(Math.abs(share - (1 - Math.sin(5 * deg)))).toBeLessThan(1e-12);
    }
  });

  test('just beyond the limit it is (τ sin p − ε p)/π with cos p = ε/τ', () => {
    const near = [6, 8, 10].map((swing) => {
      const p = Math.acos(5 / swing);
      return ((swing * Math.sin(p) - 5 * p) * deg) / Math.PI;
    });
    for (const [k, swing] of [6, 8, 10].entries()) {
      const share = uncoveredShare(swing * deg, 95 * deg, HALF_SPHERE);
      // The sphere is flat to (τ² + ε²)/2 there.
      expect(Math.abs(share / near[k]! - 1)).toBeLessThan(((swing ** 2 + 25) / 2) * deg ** 2);
    }
  });

  test('is what counting evenly spread points gives', () => {
    const N = 100_000;
    const golden = Math.PI * (3 - Math.sqrt(5));
    const cases = fc.tuple(degrees(70, 115), degrees(50, 110), degrees(0, 60));
    fc.assert(
      fc.property(cases, ([lens, view, swing]) => {
        const whole = 1 - Math.cos(view);
        const edge = Math.cos(lens);
        let black = 0;
        for (let k = 0; k < N; k++) {
          const forward = 1 - (whole * (k + 0.5)) / N;
          const up = Math.sqrt(1 - forward * forward) * Math.cos(golden * k);
          if (forward * Math.cos(swing) + up * Math.sin(swing) < edge) black++;
        }
        // Points on a golden spiral count caps to N^(−3/4) (Aistleitner, Brauchart, Dick, "Point
        // sets on the sphere with small spherical cap discrepancy", 2012, from memory).
        const share = uncoveredShare(swing, lens, view);
        expect(Math.abs(black / N - share)).toBeLessThan(N ** -0.75);
      }),
      { numRuns: 60 },
    );
  });

  test('grows with the turn, from none to all that can be', () => {
    fc.assert(
      fc.property(degrees(60, 120), degrees(60, 120), degrees(0, 179), (lens, view, swing) => {
        const here = uncoveredShare(swing, lens, view);
        // Areas up to 4π round by some epsilons.
        expect(uncoveredShare(swing + deg, lens, view)).toBeGreaterThanOrEqual(here - 1e-14);
        expect(here).toBeGreaterThanOrEqual(0);
        expect(here).toBeLessThanOrEqual(1);
      }),
    );
  });

  test('turned to the other side, the lens shows what it covers beyond its half-sphere', () => {
    const share = uncoveredShare(Math.PI, 100 * deg, HALF_SPHERE);
    expect(share).toBeCloseTo(1 - Math.sin(10 * deg), 14);
    expect(uncoveredShare(Math.PI, 90 * deg, HALF_SPHERE)).toBe(1);
  });
});

describe('the turn for a share', () => {
  test('leaves just that share uncovered', () => {
    fc.assert(
      fc.property(degrees(90, 110), degrees(60, 90), degrees(0.5, 40), (lens, view, beyond) => {
        const share = uncoveredShare(lens - view + beyond, lens, view);
        const again = uncoveredShare(swingForShare(share, lens, view), lens, view);
        expect(again).toBeLessThanOrEqual(share);
        // One pixel of a view of 30,000 by 30,000.
        expect(share - again).toBeLessThan(1e-9);
      }),
    );
  });

  test('of none is the limit, of all half a turn', () => {
    // A share starts as (2 (τ − ε))^1.5 / (3π √ε): it needs 1e-9 rad to rise above 3e-14, which is
    // what the cosines of the corners, divided by sin 5°, lose to rounding.
    expect(Math.abs(swingForShare(0, 95 * deg, HALF_SPHERE) - 5 * deg)).toBeLessThan(1e-9);
    expect(swingForShare(1, 95 * deg, HALF_SPHERE)).toBeCloseTo(Math.PI, 12);
    expect(swingForShare(0, 85 * deg, HALF_SPHERE)).toBe(0);
  });

  test('for a lens of a half-sphere is the share of half a turn', () => {
    for (const share of [0.01, 0.05, 0.3]) {
      expect(swingForShare(share, HALF_SPHERE, HALF_SPHERE)).toBeCloseTo(share * Math.PI, 12);
    }
  });
});

describe('an image that is no circle', () => {
  const withBoundary = (boundaryDeg: readonly number[]) => {
    const { lens } = DEFAULT_RIG;
    return coveredHalfAngle({ ...DEFAULT_RIG, lens: { ...lens, boundaryDeg } }, 'fisheye') / deg;
  };

  test.each([8, 16, 36, 90, 360])('a circle given by %d samples loses little', (n) => {
    const covered = withBoundary(new Array(n).fill(95));
    expect(covered).toBeLessThanOrEqual(95);
    // A polygon of n corners reaches cos(π/n) of its circle.
    expect(covered).toBeGreaterThanOrEqual(95 * Math.cos(Math.PI / n) - 1e-12);
  });

  test('a straight edge between two samples is not believed to lie further out than it does', () => {
    const edges = fc.record({
      n: fc.integer({ min: 8, max: 90 }),
      edge: fc.integer({ min: 40, max: 105 }),
      towards: fc.integer({ min: 0, max: 359 }),
    });
    fc.assert(
      fc.property(edges, ({ n, edge, towards }) => {
        const samples = Array.from({ length: n }, (_, k) => {
          const off = Math.cos((2 * Math.PI * k) / n - towards * deg);
          return off * 110 > edge ? edge / off : 110;
        });
        expect(withBoundary(samples)).toBeLessThanOrEqual(edge + 1e-12);
      }),
    );
  });
});

describe('a picture that the sensor cuts, known at a few directions', () => {
  const LAWS: readonly LensMapping[] = [
    { law: 'equidistant' },
    { law: 'equisolid' },
    { law: 'stereographic' },
    { law: 'orthographic' },
  ];
  /** Focal lengths from the middle, as textbooks print the laws, and back. */
  const radius = {
    equidistant: (a: number) => a,
    equisolid: (a: number) => 2 * Math.sin(a / 2),
    stereographic: (a: number) => 2 * Math.tan(a / 2),
    orthographic: (a: number) => Math.sin(a),
  };
  const angleAt = {
    equidistant: (r: number) => r,
    equisolid: (r: number) => 2 * Math.asin(r / 2),
    stereographic: (r: number) => 2 * Math.atan(r / 2),
    orthographic: (r: number) => Math.asin(r),
  };
  const cut = fc.record({
    law: fc.constantFrom('equidistant', 'equisolid', 'stereographic', 'orthographic' as const),
    fieldDeg: fc.integer({ min: 120, max: 175 }),
    n: fc.constantFrom(8, 9, 12, 16, 36),
    // Straight edges of the sensor: how far out, of the circle's radius, and which way.
    edges: fc.array(fc.tuple(fc.integer({ min: 60, max: 120 }), fc.integer({ min: 0, max: 359 })), {
      minLength: 1,
      maxLength: 4,
    }),
  });

  test('is never believed to reach further than its nearest edge, under any law', () => {
    fc.assert(
      fc.property(cut, ({ law, fieldDeg, n, edges }) => {
        const circle = radius[law]((fieldDeg / 2) * deg);
        const reach = (around: number) =>
          edges.reduce((least, [percent, towards]) => {
            const off = Math.cos(around - towards * deg);
            return off > 0 ? Math.min(least, ((percent / 100) * circle) / off) : least;
          }, circle);
        const boundaryDeg = Array.from(
          { length: n },
          (_, k) => angleAt[law](reach((2 * Math.PI * k) / n)) / deg,
        );
        const nearest = Math.min(circle, ...edges.map(([percent]) => (percent / 100) * circle));
        const lens = { fieldDeg, mapping: LAWS.find((each) => each.law === law)!, boundaryDeg };
        const covered = coveredHalfAngle({ ...DEFAULT_RIG, lens }, 'fisheye');
        // The arc sine of an orthographic picture's edge loses half its digits.
        expect(covered).toBeLessThanOrEqual(angleAt[law](nearest) + 1e-7);
        // A polygon of n corners on a circle reaches cos(π/n) of it; here most corners lie further out.
        expect(covered).toBeGreaterThan(angleAt[law](Math.cos(Math.PI / n) * nearest) - 1e-7);
      }),
    );
  });
});

describe('the picture that is resampled', () => {
  test.each([
    [190, 'fisheye', 95],
    [190, 'half-equirect', 90],
    [170, 'fisheye', 85],
    [170, 'half-equirect', 85],
  ] as const)('of a lens of %d°, %s, holds %d° to either side', (field, picture, half) => {
    expect(coveredHalfAngle(rigOf(field), picture) / deg).toBeCloseTo(half, 12);
    expect(swingLimit(rigOf(field), picture) / deg).toBeCloseTo(half - 90, 12);
  });
});

const listOf = (turns: readonly Turn[]) => Float64Array.from(turns.flatMap(({ q }) => [...q]));

/** The largest angle from the optical axis at which any frame's lens must see the mask's rim. */
function furthestSeen(turns: readonly Turn[], { centre, opaqueFrom }: CircularMask): number {
  const [x, y, z] = centre;
  const level = Math.hypot(x, z);
  const side: Vector3 = [-z / level, 0, x / level];
  const up: Vector3 = [y * side[2], z * side[0] - x * side[2], -y * side[0]];
  let most = 0;
  for (let k = 0; k < 72; k++) {
    const [c, s] = [Math.cos(5 * k * deg), Math.sin(5 * k * deg)];
    const rim = [0, 1, 2].map(
      (i) => Math.cos(opaqueFrom) * centre[i]! + Math.sin(opaqueFrom) * (c * side[i]! + s * up[i]!),
    ) as unknown as Vector3;
    for (const { axis, angle } of turns) {
      const [a, b, back] = rodrigues({ axis, angle: -angle, q: [0, 0, 0, 1] }, rim);
      most = Math.max(most, Math.atan2(Math.hypot(a, b), -back));
    }
  }
  return most;
}

describe('the mask over a clip', () => {
  const clips = fc.array(turnsBy(degrees(0, 12)), { minLength: 1, maxLength: 12 });
  const lenses = degrees(85, 100);

  test('shows nothing that the lens of any frame does not cover', () => {
    fc.assert(
      fc.property(clips, lenses, (turns, lens) => {
        for (const maskOf of [centredMask, bestMask]) {
          const mask = maskOf(listOf(turns), lens, 2 * deg);
          // Two turns and a norm round by some epsilons of a radian.
          expect(furthestSeen(turns, mask)).toBeLessThanOrEqual(lens + 1e-14);
          expect(mask.clearUpTo).toBeCloseTo(mask.opaqueFrom - 2 * deg, 14);
        }
      }),
    );
  });

  test('around the middle it reaches as far as the frame that turns most allows', () => {
    fc.assert(
      fc.property(clips, lenses, (turns, lens) => {
        const { centre, opaqueFrom } = centredMask(listOf(turns), lens, 0);
        expect(centre).toEqual([0, 0, -1]);
        expect(opaqueFrom).toBe(lens - Math.max(...axisSwings(listOf(turns))));
      }),
    );
  });

  test('at its best place it is never smaller than around the middle', () => {
    fc.assert(
      fc.property(clips, lenses, (turns, lens) => {
        const best = bestMask(listOf(turns), lens, 0);
        const centred = centredMask(listOf(turns), lens, 0);
        // An axis is found to an epsilon.
        expect(best.opaqueFrom).toBeGreaterThanOrEqual(centred.opaqueFrom - 1e-15);
      }),
    );
  });

  test('of a camera that sways evenly about the middle it is the one around the middle', () => {
    const sway = listOf([-5, 5].map((angle) => turn([0, 1, 0], angle * deg)));
    const lens = 95 * deg;
    const best = bestMask(sway, lens, 0).opaqueFrom;
    expect(best).toBeGreaterThanOrEqual(centredMask(sway, lens, 0).opaqueFrom - 1e-15);
  });

  test('of many frames hides what the mask of each would', () => {
    // More frames than are searched one by one: a sway on an ellipse beside the middle.
    const sway = Array.from({ length: 6000 }, (_, k) => {
      const around = 0.37 * k;
      return turn([0.8, 0.6, 0], (4 + 2 * Math.cos(around)) * deg);
    });
    const mask = bestMask(listOf(sway), 95 * deg, 0);
    expect(furthestSeen([sway[0]!, sway[17]!, sway[4000]!], mask)).toBeLessThanOrEqual(
      95 * deg + 1e-14,
    );
    // Axes from 2° to 6° to one side lie within 2° of their middle.
    expect(mask.opaqueFrom / deg).toBeGreaterThan(93 - 0.01);
    expect(mask.opaqueFrom / deg).toBeLessThan(93 + 0.01);
  });

  test('at its best place it loses a thousandth of the largest turn at most', () => {
    fc.assert(
      fc.property(degrees(0.1, 12), degrees(0, 360), degrees(0, 12), (half, around, off) => {
        // The axes of three frames on a circle have that circle's middle for their own.
        const frames = [0, 110, 230].map((at) => {
          const angle = around + at * deg;
          return turn([Math.cos(angle), Math.sin(angle), 0], half);
        });
        const nod = turn([1, 0, 0], off).q;
        const turns = frames.map(({ q: [x, y, z, w] }) => [
          nod[3] * x + nod[0] * w,
          nod[3] * y - nod[0] * z,
          nod[3] * z + nod[0] * y,
          nod[3] * w - nod[0] * x,
        ]);
        const { opaqueFrom } = bestMask(Float64Array.from(turns.flat()), 95 * deg, 0);
        expect(95 * deg - opaqueFrom - half).toBeLessThanOrEqual(half / 1000);
      }),
    );
  });

  test('of a long clip is that of its furthest frames, whichever way these lie', () => {
    // Three frames span a cap of 5° around an axis that looks far aside; five thousand lie within 4.9°.
    const middle = turn([0, 1, 0], 30 * deg).q;
    const aside = (around: number, off: number) =>
      multiplyQuaternions(middle, turn([Math.cos(around), Math.sin(around), 0], off * deg).q);
    const inner = Array.from({ length: 5000 }, (_, k) => aside(2.4 * k, 4.9 * Math.sqrt(k / 5000)));
    for (const first of [0.3, 1.1, 1.9]) {
      const outer = [0, 1, 2].map((k) => aside(first + (2 * Math.PI * k) / 3, 5));
      const list = [...inner, ...outer].flatMap((q) => [...q]);
      const { centre, opaqueFrom } = bestMask(Float64Array.from(list), 95 * deg, 0);
      // A thousand steps find the cap to a thousandth of itself; its middle lies aside by as much as
      // a thousandth lets it: the root of 2 · 5² / 1000.
      expect(opaqueFrom).toBeGreaterThan((95 - 5.005) * deg);
      expect(opaqueFrom).toBeLessThan((95 - 5 + 1e-9) * deg);
      const [x, y, z] = rotateVector(middle, [0, 0, -1]);
      const gap = Math.hypot(centre[0] - x, centre[1] - y, centre[2] - z);
      expect(gap).toBeLessThan(Math.sqrt(2 / 1000) * 5 * deg);
    }
  });

  test('a lens that is turned away altogether leaves no window', () => {
    const away = listOf([turn([1, 0, 0], 100 * deg)]);
    expect(centredMask(away, 95 * deg, 0.1)).toMatchObject({ opaqueFrom: 0, clearUpTo: 0 });
  });
});

test('rolling about the optical axis does not turn it, heading and tilting do', () => {
  fc.assert(
    fc.property(degrees(0, 170), (angle) => {
      const axes = [[0, 0, 1] as const, [0, 1, 0] as const, [1, 0, 0] as const];
      const swings = axisSwings(listOf(axes.map((axis) => turn(axis, angle))));
      expect(swings[0]).toBe(0);
      expect(swings[1]).toBeCloseTo(angle, 13);
      expect(swings[2]).toBeCloseTo(angle, 13);
    }),
  );
});
