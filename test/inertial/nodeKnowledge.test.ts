import { describe, expect, test } from 'vitest';
import type { LogQuality } from '../../src/inertial/logQuality.js';
import { chooseNodes, knowledgeOfNodes, nodesDuring } from '../../src/inertial/nodeKnowledge.js';
import type { Span } from '../../src/inertial/spans.js';
import { largestGap } from '../apart.js';
import { fc } from '../seed.js';

const RATE = 200;
/** Ten seconds of samples. */
const times = Float64Array.from({ length: 10 * RATE + 1 }, (_, k) => k / RATE);
const sound = {
  gaps: [],
  filledRate: [],
  filledForce: [],
  clippedRate: [],
  clippedForce: [],
  vibration: [],
  rests: [],
} as unknown as LogQuality;
const sum = (values: ArrayLike<number>) =>
  Array.from(values).reduce((all, value) => all + value, 0);

describe('nodes', () => {
  test('stand every twentieth of a second, the first and the last sample among them', () => {
    const nodes = chooseNodes(times, sound);
    expect([...nodes]).toEqual(Array.from({ length: 201 }, (_, k) => 10 * k));
    expect([...chooseNodes(times.subarray(0, 2), sound)]).toEqual([0, 1]);
    expect([...chooseNodes(times.subarray(0, 1), sound)]).toEqual([0]);
  });

  test.each(['gaps', 'filledRate', 'filledForce'] as const)('stand at the ends of %s', (kind) => {
    const spans = [{ from: times[433]!, to: times[871]! }];
    const nodes = [...chooseNodes(times, { ...sound, [kind]: spans })];
    expect(nodes).toEqual(expect.arrayContaining([0, 433, 871, 2000]));
    // Nowhere further apart than two spacings, and never twice.
    nodes.slice(1).forEach((node, k) => {
      expect(node - nodes[k]!).toBeGreaterThan(0);
      expect(node - nodes[k]!).toBeLessThanOrEqual(20);
    });
    expect(nodes.length).toBeLessThanOrEqual(201 + 2);
  });

  test('stand as close between many short holes as elsewhere', () => {
    // The ends of holes are nodes besides; each may put off the next one by half a spacing at most.
    const spans = fc.array(
      fc.tuple(fc.integer({ min: 0, max: 1990 }), fc.integer({ min: 1, max: 5 })),
    );
    fc.assert(
      fc.property(spans, (list) => {
        const gaps = list.map(([k, length]) => ({ from: times[k]!, to: times[k + length]! }));
        const nodes = [...chooseNodes(times, { ...sound, gaps })];
        const apart = nodes.slice(1).map((node, k) => node - nodes[k]!);
        expect(Math.max(...apart)).toBeLessThanOrEqual(15);
      }),
    );
  });

  test('stand at every sample where these are further apart than a node from the next', () => {
    const sparse = Float64Array.from({ length: 30 }, (_, k) => k / 8);
    expect([...chooseNodes(sparse, sound)]).toEqual(Array.from(sparse.keys()));
  });
});

describe('the stretch before a node', () => {
  const nodes = chooseNodes(times, sound);
  const spans = fc
    .uniqueArray(fc.integer({ min: 0, max: 1000 }), { minLength: 2, maxLength: 12 })
    .map((list) => {
      const ends = list.sort((a, b) => a - b).map((k) => k / 100);
      return Array.from({ length: ends.length >> 1 }, (_, k) => ({
        from: ends[2 * k]!,
        to: ends[2 * k + 1]!,
      }));
    });

  test('is told of every span that it overlaps, and by how much', () => {
    fc.assert(
      fc.property(spans, (list) => {
        const found = new Map<Span, number[]>(list.map((span) => [span, []]));
        nodesDuring(times, nodes, list, (k, overlap, span) => {
          const [before, after] = [times[nodes[k - 1]!]!, times[nodes[k]!]!];
          const expected = Math.min(after, span.to) - Math.max(before, span.from);
          expect(overlap).toBe(expected);
          expect(overlap).toBeGreaterThanOrEqual(0);
          found.get(span)!.push(overlap);
        });
        // All of a span is told; no more than its 200 rounded ends are lost.
        for (const [{ from, to }, overlaps] of found) {
          expect(Math.abs(sum(overlaps) - (to - from))).toBeLessThan(200 * 10 * Number.EPSILON);
        }
      }),
    );
  });
});

describe('what is not known after', () => {
  const known = (parts: Partial<Record<keyof LogQuality, readonly Span[]>>) => {
    const quality = { ...sound, ...parts } as LogQuality;
    const nodes = chooseNodes(times, quality);
    return { nodes, ...knowledgeOfNodes(times, nodes, quality) };
  };
  const span = (length: number) => [{ from: 3, to: 3 + length }];

  // A camera turns unseen at 0.5 rad/s, one way for a second at most; a force of 4 m/s² likewise.
  test.each([0.2, 0.7, 1])('%d s without samples is a turn at half a radian a second', (length) => {
    for (const kind of ['gaps', 'filledRate'] as const) {
      const { lostAttitude } = known({ [kind]: span(length) });
      expect(Math.sqrt(sum(lostAttitude))).toBeCloseTo(0.5 * length, 12);
    }
    for (const kind of ['gaps', 'filledForce', 'clippedForce'] as const) {
      const { lostVelocity } = known({ [kind]: span(length) });
      expect(Math.sqrt(sum(lostVelocity))).toBeCloseTo(4 * length, 12);
    }
  });

  test('longer holes grows with the root of their length', () => {
    const { lostAttitude, lostVelocity } = known({ gaps: span(4) });
    expect(Math.sqrt(sum(lostAttitude))).toBeCloseTo(0.5 * Math.sqrt(4), 12);
    expect(Math.sqrt(sum(lostVelocity))).toBeCloseTo(4 * Math.sqrt(4), 12);
  });

  test('a clipped rate is a radian a second, node by node', () => {
    const { lostAttitude, lostVelocity } = known({ clippedRate: span(0.2) });
    expect(sum(lostAttitude)).toBeCloseTo(4 * 0.05 ** 2, 12);
    expect(sum(lostVelocity)).toBe(0);
  });

  test('a filled force is nothing of the attitude, a filled rate nothing of the velocity', () => {
    expect(sum(known({ filledForce: span(1) }).lostAttitude)).toBe(0);
    expect(sum(known({ filledRate: span(1) }).lostVelocity)).toBe(0);
  });

  test('shaking is a velocity that is trusted ten times less there, and as usual elsewhere', () => {
    const { nodes, velocityDeviation } = known({ vibration: span(1) });
    nodes.forEach((node, k) => {
      const overlaps = k > 0 && times[node]! >= 3 && times[nodes[k - 1]!]! <= 4;
      expect(velocityDeviation[k]).toBe(overlaps ? 10 : 1);
    });
  });

  test('only whole stretches at rest tell a bias', () => {
    const { nodes, resting } = known({ rests: [{ from: 3.02, to: 4.02 }] });
    const expected = Float64Array.from(nodes, (node, k) =>
      Number(k > 0 && times[nodes[k - 1]!]! >= 3.02 && times[node]! <= 4.02),
    );
    expect(largestGap(resting, expected)).toBe(0);
    expect(sum(resting)).toBe(19);
  });

  test('more than a second without either sensor is a new start, at its end', () => {
    const restarts = (parts: Parameters<typeof known>[0]) => {
      const { nodes, restart } = known(parts);
      return [...nodes].filter((_, k) => restart[k] === 1).map((node) => times[node]);
    };
    expect(restarts({ gaps: span(1) })).toEqual([]);
    expect(restarts({ gaps: span(1.1) })).toEqual([4.1]);
    expect(restarts({ filledRate: span(3) })).toEqual([]);
    expect(restarts({ filledForce: span(3) })).toEqual([]);
    // Both were filled from 4 s to 6 s only.
    const [filledRate, filledForce] = [span(3), [{ from: 4, to: 8 }]];
    expect(restarts({ filledRate, filledForce })).toEqual([6]);
    // Rows were missing before and after.
    const gaps = [
      { from: 1, to: 2.5 },
      { from: 8.5, to: 9.75 },
    ];
    expect(restarts({ gaps, filledRate, filledForce })).toEqual([2.5, 6, 9.75]);
  });
});
