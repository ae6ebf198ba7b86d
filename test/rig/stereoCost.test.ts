import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  baselineTurnLimit,
  stereoCost,
  verticalDisparity,
  worstDisparities,
} from '../../src/rig/stereoCost.js';
import type { Vector3 } from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { fc } from '../seed.js';
import { directions, rodrigues, turn, turnsBy } from '../turns.js';

const deg = RADIANS_PER_DEGREE;
const ARCMIN = 60 / deg;

/** Where both lenses see a point of the corrected view, turned by the correction ray by ray. */
function elevations(k: ReturnType<typeof turn>, baseM: number, point: Vector3): [number, number] {
  const [x, y, z] = rodrigues({ ...k, angle: -k.angle }, point);
  const [left, right] = [1, -1].map((side) => {
    const ray = rodrigues(k, [x + (side * baseM) / 2, y, z]);
    return Math.atan2(ray[1], -ray[2]);
  });
  return [left!, right!];
}

const angles = (max: number) => fc.integer({ min: -1000, max: 1000 }).map((k) => (k * max) / 1000);
const places = fc.record({ azimuth: angles(69 * deg), elevation: angles(69 * deg) });

describe('what a common rotation costs', () => {
  test('the closed form is what turning the rays of both lenses gives', () => {
    const random = seededRandom('moonflower rays');
    let worst = 0;
    for (let run = 0; run < 20_000; run++) {
      const raw = [random.normal(), random.normal(), random.normal()];
      const norm = Math.hypot(...raw);
      const k = turn([raw[0]! / norm, raw[1]! / norm, raw[2]! / norm], random.uniform(0, 50 * deg));
      const [mm, m] = [random.uniform(55, 70), random.uniform(0.5, 10)];
      const azimuth = random.uniform(-69, 69) * deg;
      const elevation = random.uniform(-69, 69) * deg;
      const across = m * Math.cos(elevation);
      const point: Vector3 = [
        across * Math.sin(azimuth),
        m * Math.sin(elevation),
        -across * Math.cos(azimuth),
      ];
      const [left, right] = elevations(k, mm / 1000, point);
      const found = verticalDisparity(k.q, mm, m, { azimuth, elevation }).elevationArcmin;
      worst = Math.max(worst, Math.abs(found / ARCMIN - (left - right)));
    }
    // Two turns round a ray by some 20 epsilons of its length, which is at most 8 times its part
    // across the baseline, and both elevations round by one: 2 · 20 · 8 epsilons.
    expect(worst).toBeLessThan(320 * Number.EPSILON);
  });

  test('nodding costs nothing, by any angle', () => {
    fc.assert(
      fc.property(angles(Math.PI), places, (angle, place) => {
        const nod = turn([1, 0, 0], angle).q;
        expect(stereoCost(nod, 64, 0.3)).toEqual({
          effectiveInteraxialMm: expect.closeTo(64, 12),
          verticalOffsetMm: expect.closeTo(0, 12),
          forwardOffsetMm: expect.closeTo(0, 12),
          worstDisparityArcmin: expect.closeTo(0, 12),
        });
        expect(verticalDisparity(nod, 64, 0.3, place).elevationArcmin).toBeCloseTo(0, 12);
      }),
    );
  });

  test('the three offsets are parts of the whole base', () => {
    fc.assert(
      fc.property(turnsBy(angles(Math.PI)), ({ q }) => {
        const cost = stereoCost(q, 64, 1);
        const base = Math.hypot(
          cost.effectiveInteraxialMm,
          cost.verticalOffsetMm,
          cost.forwardOffsetMm,
        );
        // A column of a rotation matrix rounds by a few epsilons.
        expect(Math.abs(base / 64 - 1)).toBeLessThan(8 * Number.EPSILON);
      }),
    );
  });

  test('each eye bridges what is said of the middle between them, to b/(2d − b)', () => {
    const turned = turnsBy(fc.constantFrom(0.01, 0.05));
    fc.assert(
      fc.property(turned, places, fc.constantFrom(0.5, 1, 3), (k, place, d) => {
        const { elevationArcmin, greatCircleArcmin } = verticalDisparity(k.q, 64, d, place);
        const level = d * Math.cos(place.elevation);
        const point: Vector3 = [
          level * Math.sin(place.azimuth),
          d * Math.sin(place.elevation),
          -level * Math.cos(place.azimuth),
        ];
        const [x, y, z] = rodrigues({ ...k, angle: -k.angle }, point);
        for (const side of [1, -1]) {
          const ray = rodrigues(k, [x + side * 0.032, y, z]);
          const own = (elevationArcmin * Math.hypot(ray[1], ray[2])) / Math.hypot(...ray);
          // A base line that is turned by δ also moves the eye off it, by b/2 sin δ, where the point is
          // d cos 69° off it at least.
          const off = (0.032 * Math.sin(k.angle)) / (d * Math.cos(69 * deg));
          const most = 0.064 / (2 * d - 0.064) + 1.07 * off;
          expect(Math.abs(own - greatCircleArcmin)).toBeLessThanOrEqual(
            most * Math.abs(greatCircleArcmin) + 1e-12,
          );
        }
      }),
    );
  });

  test('no direction shows more than the worst, and one shows as much', () => {
    fc.assert(
      fc.property(turnsBy(angles(0.5)), places, ({ q }, place) => {
        const cost = stereoCost(q, 64, 1);
        const worst = cost.worstDisparityArcmin;
        const found = verticalDisparity(q, 64, 1, place).greatCircleArcmin;
        expect(Math.abs(found)).toBeLessThanOrEqual(worst + 1e-12);
        const elevation = Math.atan2(-cost.forwardOffsetMm, cost.verticalOffsetMm);
        const there = verticalDisparity(q, 64, 1, { azimuth: 0, elevation }).greatCircleArcmin;
        // 2 atan(x/2) falls short of x by x³/12, and x is at most 0.064.
        expect(worst - Math.abs(there)).toBeLessThanOrEqual((worst * 0.064 ** 2) / 12 + 1e-12);
      }),
    );
  });

  test('the worst of every frame of a list is that of the frame', () => {
    fc.assert(
      fc.property(fc.array(turnsBy(angles(1)), { minLength: 1, maxLength: 9 }), (turns) => {
        const flat = Float64Array.from(turns.flatMap(({ q }) => [...q]));
        expect([...worstDisparities(flat, 60, 0.8)]).toEqual(
          turns.map(({ q }) => stereoCost(q, 60, 0.8).worstDisparityArcmin),
        );
      }),
    );
  });
});

describe('the turn that a tolerance allows', () => {
  const rigs = fc.record({
    tolerance: fc.integer({ min: 1, max: 60 }),
    mm: fc.integer({ min: 30, max: 90 }),
    m: fc.constantFrom(0.3, 0.5, 1, 3, 20),
  });

  test('keeps the worst disparity within the tolerance for any correction', () => {
    const upTo = fc.integer({ min: 0, max: 1000 }).map((k) => k / 1000);
    fc.assert(
      fc.property(rigs, directions, upTo, angles(1), ({ tolerance, mm, m }, axis, share, nod) => {
        const limit = Math.min(baselineTurnLimit(tolerance, mm, m), 2.9);
        const across = Math.hypot(axis[1], axis[2]) || 1;
        const scale = (share * limit) / across;
        const k = quaternionFromRotationVector([nod, scale * axis[1], scale * axis[2]]);
        const { worstDisparityArcmin } = stereoCost(k, mm, m);
        expect(worstDisparityArcmin).toBeLessThanOrEqual(tolerance * (1 + 1e-12));
      }),
    );
  });

  test('is used up by a turn about the vertical, or about the optical axis', () => {
    fc.assert(
      fc.property(rigs, ({ tolerance, mm, m }) => {
        const limit = baselineTurnLimit(tolerance, mm, m);
        fc.pre(limit < Number.POSITIVE_INFINITY);
        for (const axis of [[0, 1, 0] as const, [0, 0, 1] as const]) {
          const { worstDisparityArcmin } = stereoCost(turn(axis, limit).q, mm, m);
          expect(Math.abs(worstDisparityArcmin / tolerance - 1)).toBeLessThan(1e-13);
        }
      }),
    );
  });

  test('is without end where even a quarter turn stays within', () => {
    expect(baselineTurnLimit(15, 64, 20)).toBe(Number.POSITIVE_INFINITY);
    expect(stereoCost(turn([0, 0, 1], Math.PI / 2).q, 64, 20).worstDisparityArcmin).toBeLessThan(
      15,
    );
  });
});
