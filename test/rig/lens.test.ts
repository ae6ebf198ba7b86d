import { describe, expect, test } from 'vitest';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  angleOfRadius,
  directionOfPoint,
  imageRadius,
  type LensMapping,
} from '../../src/rig/lens.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const deg = RADIANS_PER_DEGREE;

const POLYNOMIAL: LensMapping = { law: 'polynomial', coefficients: [-0.03, 0.002, -0.0005] };

describe('from an angle to a distance from the middle', () => {
  test.each<[Exclude<LensMapping['law'], 'polynomial'>, readonly number[]]>([
    ['equidistant', [0.523599, 1.047198, 1.570796]],
    ['equisolid', [0.517638, 1, 1.414214]],
    ['stereographic', [0.535898, 1.154701, 2]],
    ['orthographic', [0.5, 0.866025, 1]],
  ])('%s at 30°, 60° and 90°', (law, printed) => {
    const found = [30, 60, 90].map((angle) => imageRadius({ law }, angle * deg));
    // Half a unit of the sixth decimal.
    expect(largestGap(found, printed)).toBeLessThanOrEqual(0.5e-6);
  });

  test('a polynomial multiplies the angle by a series in its square', () => {
    const mapping = { law: 'polynomial', coefficients: [0.25, -0.5] } as const;
    expect(imageRadius(mapping, 2)).toBe(2 * (1 + 0.25 * 4 - 0.5 * 16));
    expect(imageRadius({ law: 'polynomial', coefficients: [0] }, 1.5)).toBe(1.5);
  });
});

test('the way back from the distance leads to the same angle', () => {
  const limits = [
    ['equidistant', 1.8],
    ['equisolid', 1.8],
    ['stereographic', 1.8],
    ['orthographic', 1.5],
    ['polynomial', 1.8],
  ] as const;
  const cases = fc.tuple(fc.constantFrom(...limits), fc.integer({ min: 0, max: 1000 }));
  fc.assert(
    fc.property(cases, ([[law, limit], k]) => {
      const mapping: LensMapping = law === 'polynomial' ? POLYNOMIAL : { law };
      const angle = (limit * k) / 1000;
      const back = angleOfRadius(mapping, imageRadius(mapping, angle), limit);
      // A radius rounds by 2 epsilons; at 86° the orthographic one grows 14 times slower.
      expect(Math.abs(back - angle)).toBeLessThan(64 * Number.EPSILON);
    }),
  );
});

describe('a point of a picture of 4096 pixels that holds 180°', () => {
  const LENS = { fieldDeg: 180, mapping: { law: 'equidistant' } } as const;
  const CIRCLE = { centrePx: [2048, 2048], diameterPx: 4096 } as const;

  // Middles of pixels of the half equirectangular view, and where numpy finds them in the picture,
  // in pixels from its left and top edges.
  test.each<[number, number, number, number, number]>([
    [2048, 2048, 2048.4999999755, 2048.5000000123, 10],
    [3071, 1023, 2835.6710183, 932.7824954, 7],
    [4095, 2048, 4095.4998495, 2048.7852064, 7],
  ])('column %d and row %d of the view', (column, row, x, y, decimals) => {
    const lon = ((column + 0.5) / 4096 - 0.5) * 180 * deg;
    const lat = (0.5 - (row + 0.5) / 4096) * 180 * deg;
    const shown = [
      Math.cos(lat) * Math.sin(lon),
      Math.sin(lat),
      -Math.cos(lat) * Math.cos(lon),
    ] as const;
    const found = directionOfPoint([x, y], LENS, CIRCLE);
    // Half a unit of the printed decimal in both ways, and a pixel shows 180°/4096.
    const tolerance = 0.5 * Math.SQRT2 * 10 ** -decimals * (Math.PI / 4096);
    expect(largestGap(found, shown)).toBeLessThan(tolerance + 4 * Number.EPSILON);
  });

  test('the direction of column 3071 and row 1023 is as printed', () => {
    const found = directionOfPoint([2835.6710183, 932.7824954], LENS, CIRCLE);
    const printed = [0.4996165, 0.7073779, -0.49999985];
    expect(largestGap(found, printed)).toBeLessThanOrEqual(0.51e-7);
    expect(Math.acos(-found[2]) / deg).toBeCloseTo(60.00001, 6);
  });

  test('its middle looks straight ahead and its edges square to that', () => {
    expect(directionOfPoint([2048, 2048], LENS, CIRCLE)).toEqual([0, 0, -1]);
    for (const [point, direction] of [
      [
        [4096, 2048],
        [1, 0, 0],
      ],
      [
        [2048, 0],
        [0, 1, 0],
      ],
      [
        [0, 2048],
        [-1, 0, 0],
      ],
      [
        [2048, 4096],
        [0, -1, 0],
      ],
    ] as const) {
      expect(largestGap(directionOfPoint(point, LENS, CIRCLE), direction)).toBeLessThan(1e-15);
    }
  });
});

test('every direction comes back from the point that shows it', () => {
  const drawn = fc.tuple(
    fc.constantFrom<LensMapping>(
      { law: 'equidistant' },
      { law: 'equisolid' },
      { law: 'stereographic' },
      POLYNOMIAL,
    ),
    fc.integer({ min: 0, max: 95 }),
    fc.integer({ min: 0, max: 360 }),
  );
  fc.assert(
    fc.property(drawn, ([mapping, off, around]) => {
      const lens = { fieldDeg: 190, mapping };
      const circle = { centrePx: [1000.5, 990], diameterPx: 1900 } as const;
      const scale = 950 / imageRadius(mapping, 95 * deg);
      const radius = scale * imageRadius(mapping, off * deg);
      const point = [
        1000.5 + radius * Math.cos(around * deg),
        990 - radius * Math.sin(around * deg),
      ] as const;
      const direction = [
        Math.sin(off * deg) * Math.cos(around * deg),
        Math.sin(off * deg) * Math.sin(around * deg),
        -Math.cos(off * deg),
      ];
      // A point is held to an epsilon of 1950 pixels, of which the middle has some 500 to a radian.
      const tolerance = (8 * 1950 * Number.EPSILON) / 500;
      expect(largestGap(directionOfPoint(point, lens, circle), direction)).toBeLessThan(tolerance);
    }),
  );
});
