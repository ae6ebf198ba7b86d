import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../bench/accuracy/random.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { alignLenses } from '../../src/rig/alignment.js';
import {
  invertQuaternion,
  multiplyQuaternions,
  type Quaternion,
  rotateVector,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import {
  quaternionFromRotationVector,
  rotationVectorFromQuaternion,
} from '../../src/rotation/rotationVector.js';
import { refusal } from '../refusal.js';

const deg = RADIANS_PER_DEGREE;
const ARCMIN = 60 / deg;

interface Scene {
  readonly matches: number;
  readonly seed: number;
  /** Standard deviation of each direction, arcmin. */
  readonly noise?: number;
  /** Share of matches that miss by about 2°. */
  readonly outliers?: number;
  /** Nearest and furthest subject, m. */
  readonly depth?: readonly [number, number];
  /** Which way wrong matches miss: any way (default), or all upwards by so many arcmin. */
  readonly upwards?: number;
  /** Half angle of the cap that the matches fill, degrees. */
  readonly cap?: number;
  readonly exchanged?: boolean;
}

/** The right eye looks up by 0.5°, to the right by 0.4°, and leans by 0.7°. */
const RIGHT_EYE: Quaternion = quaternionFromRotationVector([0.5 * deg, -0.4 * deg, 0.7 * deg]);

/** From the left lens to the right one, in the left eye's axes, 65 mm and a little askew. */
const BASELINE: Vector3 = (() => {
  const [y, z] = [0.003, -0.004];
  return [0.065 * Math.sqrt(1 - y * y - z * z), 0.065 * y, 0.065 * z];
})();

/** Blooms all around, evenly over the cap and in inverse depth, as both eyes see them. */
function blooms(scene: Scene) {
  const { matches, seed, noise = 0, outliers = 0, depth = [0.8, 50], cap = 85, exchanged } = scene;
  const upwards = scene.upwards === undefined ? undefined : scene.upwards / ARCMIN;
  const random = seededRandom(`blooms ${seed}`);
  const jittered = (v: Vector3, sd: number): Vector3 => {
    const w = v.map((x) => x + sd * random.normal());
    const norm = Math.hypot(...w);
    return [w[0]! / norm, w[1]! / norm, w[2]! / norm];
  };
  const left: number[] = [];
  const right: number[] = [];
  for (let k = 0; k < matches; k++) {
    const forward = random.uniform(Math.cos(cap * deg), 1);
    const around = random.uniform(0, 2 * Math.PI);
    const across = Math.sqrt(1 - forward * forward);
    const distance = 1 / random.uniform(1 / depth[1], 1 / depth[0]);
    const point: Vector3 = [
      distance * across * Math.cos(around),
      distance * across * Math.sin(around),
      -distance * forward,
    ];
    const side = exchanged ? -1 : 1;
    const fromRight = point.map((x, i) => x - side * BASELINE[i]!) as unknown as Vector3;
    const wrong = random.chance(outliers) ? 2 * deg : 0;
    const sd = (noise / ARCMIN) as number;
    left.push(...jittered(jittered(point, 0), sd));
    const seen = jittered(rotateVector(invertQuaternion(RIGHT_EYE), fromRight), 0);
    const good = jittered(seen, sd);
    if (upwards === undefined) right.push(...jittered(good, wrong));
    else right.push(...jittered([good[0], good[1] + (wrong > 0 ? upwards : 0), good[2]], 0));
  }
  return { left: Float64Array.from(left), right: Float64Array.from(right) };
}

const align = (scene: Scene) => {
  const { left, right } = blooms(scene);
  return alignLenses(left, right);
};

/** The error of the turn between the eyes about x, y and z, arcmin. */
const turnError = ({ left, right }: { left: Quaternion; right: Quaternion }): Vector3 => {
  const turn = multiplyQuaternions(invertQuaternion(left), right);
  const [x, y, z] = rotationVectorFromQuaternion(
    multiplyQuaternions(turn, invertQuaternion(RIGHT_EYE)),
  );
  return [x * ARCMIN, y * ARCMIN, z * ARCMIN];
};

/** Largest vertical disparity of noise-free blooms once both eyes are rectified, arcmin. */
function worstVertical(rotations: { left: Quaternion; right: Quaternion }): number {
  const { left, right } = blooms({ matches: 500, seed: 9999, cap: 80 });
  let worst = 0;
  for (let i = 0; i < left.length; i += 3) {
    const [a, b] = [
      rotateVector(rotations.left, [left[i]!, left[i + 1]!, left[i + 2]!]),
      rotateVector(rotations.right, [right[i]!, right[i + 1]!, right[i + 2]!]),
    ];
    const apart = Math.atan2(a[1], -a[2]) - Math.atan2(b[1], -b[2]);
    worst = Math.max(worst, Math.abs(apart) * Math.hypot(a[1], a[2]) * ARCMIN);
  }
  return worst;
}

describe('two lenses aligned by what both see', () => {
  test.each([200, 1000])(
    '%d matches without noise give the turn to a millionth of an arcmin',
    (n) => {
      const found = align({ matches: n, seed: 1 });
      expect(Math.max(...turnError(found).map(Math.abs))).toBeLessThan(1e-6);
      expect(worstVertical(found)).toBeLessThan(1e-6);
      expect(found.matches).toBe(n);
    },
  );

  test('a fifth of wrong matches does no harm to good ones', () => {
    const found = align({ matches: 1000, seed: 2, outliers: 0.2 });
    expect(Math.max(...turnError(found).map(Math.abs))).toBeLessThan(1e-6);
    expect(worstVertical(found)).toBeLessThan(1e-6);
  });

  test.each([
    [200, 1.5, 12],
    [200, 0.5, 12],
    [200, 3, 12],
    [1000, 1.5, 8],
    [1000, 3, 8],
    [5000, 1.5, 3],
  ])(
    '%d matches of %d arcmin, a fifth of them wrong, err as much as is said',
    (n, noise, seeds) => {
      for (let seed = 0; seed < seeds; seed++) {
        const found = align({ matches: n, seed, noise, outliers: 0.2 });
        const { deviation } = found.relativeArcmin;
        turnError(found).forEach((error, axis) => {
          // Four standard deviations; one draw in 16,000 lies beyond.
          expect(Math.abs(error)).toBeLessThan(4 * deviation[axis]!);
        });
        const [x, y, z] = rotateVector(found.left, BASELINE);
        const askew = Math.atan2(Math.hypot(y, z), x) / deg;
        expect(askew).toBeLessThan(4 * found.baselineDeviationDeg);
        // Off the plane of the baseline a turn error moves a direction by its own size at most, and a
        // baseline error by the parallax of the nearest bloom, 65 mm at 0.8 m.
        const turns = 4 * Math.hypot(...deviation);
        const baseline = 4 * found.baselineDeviationDeg * 60 * (0.065 / 0.8);
        expect(worstVertical(found)).toBeLessThan(turns + baseline);
        expect(found.eyes).toBe('as named');
      }
    },
  );

  test.each([0.2, 0.3, 0.4])(
    'a share of %d that all miss upwards by 20 arcmin pull no further than is said',
    (outliers) => {
      const found = Array.from({ length: 6 }, (_, seed) =>
        align({ matches: 1000, seed, noise: 1.5, outliers, upwards: 20 }),
      );
      const mean = (values: readonly number[]) =>
        Math.sqrt(values.reduce((sum, x) => sum + x * x, 0) / values.length);
      const turns = mean(found.map((each) => turnError(each)[0]));
      const said = mean(found.map(({ relativeArcmin }) => relativeArcmin.deviation[0]));
      // The root mean square of six errors lies below 1.7 deviations in 99 of 100 draws (χ² of six,
      // 16.8). Without the pull it is up to 8 of them.
      expect(turns).toBeLessThan(1.7 * said);
      const askew = found.map(({ left }) => {
        const [x, y, z] = rotateVector(left, BASELINE);
        return Math.atan2(Math.hypot(y, z), x) / deg;
      });
      expect(mean(askew)).toBeLessThan(1.7 * mean(found.map((each) => each.baselineDeviationDeg)));
    },
  );

  test('five times as many matches halve the deviations, by the root of five', () => {
    const [few, many] = [1000, 5000].map(
      (matches) => align({ matches, seed: 3, noise: 1.5, outliers: 0.2 }).relativeArcmin.deviation,
    );
    few!.forEach((deviation, axis) => {
      // 1000 matches know their own scatter to 1/√(2 · 1000), some spread of the scene on top.
      expect(deviation / many![axis]! / Math.sqrt(5)).toBeGreaterThan(0.85);
      expect(deviation / many![axis]! / Math.sqrt(5)).toBeLessThan(1.15);
    });
  });

  test('a right eye that looks up, to the right, and leans is told as it is', () => {
    const { value } = align({ matches: 1000, seed: 4 }).relativeArcmin;
    value.forEach((found, axis) => {
      expect(found).toBeCloseTo([30, -24, 42][axis]!, 6);
    });
  });

  test('in the rig the baseline is x and the mean of both axes straight ahead of it', () => {
    const { left, right } = align({ matches: 1000, seed: 5 });
    const [, y, z] = rotateVector(left, BASELINE);
    expect(Math.hypot(y, z) / 0.065).toBeLessThan(1e-8);
    const [a, b] = [left, right].map((q) => rotateVector(q, [0, 0, -1]));
    expect(a![1] + b![1]).toBeCloseTo(0, 8);
  });
});

describe('which eye is which', () => {
  test.each([200, 1000])('shows in the sense of parallax of %d matches', (matches) => {
    for (let seed = 0; seed < 10; seed++) {
      const scene = { matches, seed, noise: 1.5, outliers: 0.2 };
      expect(align(scene).eyes).toBe('as named');
      expect(align({ ...scene, exchanged: true }).eyes).toBe('exchanged');
    }
  });

  test('does not show when all is far', () => {
    const found = align({ matches: 1000, seed: 1, noise: 1, depth: [5000, 1e6] });
    expect(found.eyes).toBe('undecided');
  });
});

describe('what far blooms leave open', () => {
  test('the baseline is then known no better than makers place it', () => {
    const found = align({ matches: 1000, seed: 2, noise: 1, depth: [5000, 1e6] });
    // Half a degree each way; 65 mm at 5 km are 0.05 arcmin, far below the noise.
    expect(found.baselineDeviationDeg).toBeGreaterThan(0.9 * 0.5 * Math.SQRT2);
    expect(found.baselineDeviationDeg).toBeLessThan(1.01 * 0.5 * Math.SQRT2);
  });
});

describe('matches that cannot tell are refused', () => {
  test('fewer than 200', () => {
    expect(() => align({ matches: 199, seed: 1 })).toThrow(
      refusal('rig/alignment', '199 matches, expected matches that fix the turn'),
    );
  });

  test('all within a few degrees', () => {
    expect(() => align({ matches: 400, seed: 1, cap: 15 })).toThrow(
      refusal('rig/alignment', 'matches within 11° of each other'),
    );
  });

  test('with errors of a degree and more', () => {
    expect(() => align({ matches: 200, seed: 1, noise: 120 })).toThrow(
      refusal('rig/alignment', 'a turn between the eyes known only to'),
    );
  });

  test('lists of different length', () => {
    const { left, right } = blooms({ matches: 300, seed: 1 });
    expect(() => alignLenses(left, right.subarray(3))).toThrow(
      refusal('argument/shape', '900 and 897 numbers'),
    );
    expect(() => alignLenses(left.subarray(1), right.subarray(1))).toThrow(
      refusal('argument/shape', '899 and 899 numbers'),
    );
  });
});
