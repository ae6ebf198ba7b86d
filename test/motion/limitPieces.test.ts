import { describe, expect, test } from 'vitest';
import { boundsOf } from '../../src/motion/correctionLimit.js';
import { limitPath } from '../../src/motion/limit.js';
import { piecesNearBounds, takeOver } from '../../src/motion/limitPieces.js';
import { costAndGradient, type LimitProblem } from '../../src/motion/limitProblem.js';
import { solveWithinLimit } from '../../src/motion/limitSolver.js';
import {
  quaternionsFromRotationVectors,
  rotationVectorsFromQuaternions,
} from '../../src/rotation/arrays.js';
import { fc } from '../seed.js';

/** Samples a second, a shortest move of which makes a margin of 20 samples. */
const RATE = 5;
const SHORTEST_MOVE = 2;
const MARGIN = 20;

/** Minutes in which a limit is now and then near, and sometimes overstepped. */
const clips = fc
  .array(
    fc.record({
      seconds: fc.integer({ min: 1, max: 200 }),
      fraction: fc.constantFrom(0, 0.5, 0.95, 1.2, 3),
    }),
    { minLength: 1, maxLength: 8 },
  )
  .map((parts) =>
    Float64Array.from(
      parts.flatMap(({ seconds, fraction }) => new Array(seconds * RATE).fill(fraction)),
    ),
  );

describe('the pieces of a clip', () => {
  test('take over in full wherever a bound is overstepped, and nowhere a margin away from what is near', () => {
    fc.assert(
      fc.property(clips, (fractions) => {
        const out = new Float64Array(3 * fractions.length);
        for (const piece of piecesNearBounds(fractions, RATE, SHORTEST_MOVE)) {
          takeOver(out, new Float64Array(3 * (piece.to - piece.from)).fill(1), piece);
        }
        fractions.forEach((fraction, k) => {
          const [x, y, z] = out.subarray(3 * k, 3 * k + 3);
          expect([y, z]).toEqual([x, x]);
          if (fraction > 1) expect(x).toBe(1);
          const around = fractions.subarray(Math.max(0, k - MARGIN), k + MARGIN + 1);
          if (!around.some((each) => each > 0.9)) expect(x).toBe(0);
        });
      }),
    );
  });

  test('are none where no bound is overstepped', () => {
    expect(piecesNearBounds(new Float64Array(500).fill(0.99), RATE, SHORTEST_MOVE)).toEqual([]);
  });

  test('overlap by a margin, each in full before the last one’s end, and none is longer than needed', () => {
    const n = 300 * RATE;
    const pieces = piecesNearBounds(new Float64Array(n).fill(2), RATE, SHORTEST_MOVE);
    expect(pieces.length).toBe(5);
    expect(pieces[0]!.fadeIn).toBeUndefined();
    expect(pieces.at(-1)!.to).toBe(n);
    pieces.slice(1).forEach(({ from, fadeIn }, i) => {
      const before = pieces[i]!;
      expect(before.fadeOut).toBeUndefined();
      expect(before.to - from).toBe(MARGIN);
      expect([fadeIn!.from - from, before.to - fadeIn!.to]).toEqual([MARGIN / 4, MARGIN / 4]);
    });
    for (const { from, to } of pieces) expect(to - from).toBeLessThanOrEqual(60 * RATE + MARGIN);
  });

  test('fade without a step: neighbouring samples differ by 15/8 of an even share at most', () => {
    const fractions = new Float64Array(200 * RATE);
    fractions.fill(2, 80 * RATE, 90 * RATE);
    const out = new Float64Array(3 * fractions.length);
    for (const piece of piecesNearBounds(fractions, RATE, SHORTEST_MOVE)) {
      takeOver(out, new Float64Array(3 * (piece.to - piece.from)).fill(1), piece);
    }
    for (let i = 3; i < out.length; i++) {
      // The quintic rises by 15/8 of its mean slope at most.
      expect(Math.abs(out[i]! - out[i - 3]!)).toBeLessThanOrEqual(15 / 8 / (MARGIN / 2));
    }
  });
});

/** A camera that stands still and is to turn about one axis only, rad: rotations add up exactly. */
function heldTo(most: number, headings: Float64Array) {
  const n = headings.length;
  const wanted = Float64Array.from({ length: 3 * n }, (_, i) =>
    i % 3 === 1 ? headings[Math.floor(i / 3)]! : 0,
  );
  const still = quaternionsFromRotationVectors(new Float64Array(3 * n));
  const limit = { total: new Float64Array(n).fill(most) };
  const path = limitPath(still, quaternionsFromRotationVectors(wanted), limit, RATE, SHORTEST_MOVE);
  const whole: LimitProblem = {
    target: new Float64Array(3 * n),
    watched: new Int32Array(n).map((_, k) => k),
    correction: wanted,
    jacobians: new Float64Array(9 * n).map((_, i) =>
      Number(i % 9 === 0 || i % 9 === 4 || i % 9 === 8),
    ),
    bounds: boundsOf(limit, wanted),
    jerkOfBase: new Float64Array(3 * n),
    penalty: (2 * Math.sin(Math.PI / SHORTEST_MOVE / RATE)) ** -6,
  };
  const costOf = (x: Float64Array) => costAndGradient(whole, x, new Float64Array(3 * n));
  const inside = wanted.map((e) => Math.sign(e) * Math.min(Math.abs(e), 0.9 * most) - e);
  return {
    limited: path.limited,
    least: costOf(solveWithinLimit(whole, inside, 1e-6).x),
    found: costOf(rotationVectorsFromQuaternions(path.quaternions).map((e, i) => e - wanted[i]!)),
  };
}

test('minutes held to a limit in pieces cost hardly more than solved as a whole', () => {
  const n = 300 * RATE;
  const { limited, least, found } = heldTo(
    0.09,
    Float64Array.from(
      { length: n },
      (_, k) => 0.1 * Math.sin(k / RATE / 1.3) + 0.08 * Math.sin(k / RATE / 2.9 + 1),
    ),
  );
  expect(piecesNearBounds(new Float64Array(n).fill(2), RATE, SHORTEST_MOVE).length).toBe(5);
  expect(limited).toBeGreaterThan(n / 4);
  // Each piece ends within 1e-3 of its least; the overlaps cost 2e-5 (measured on an hour's walk).
  expect(found).toBeLessThan(least * (1 + 2e-3));
  expect(found).toBeGreaterThan(least * (1 - 1e-5));
});

test('where the path swings out to a bound that no wanted sample came near, that bound counts too', () => {
  // Before a turn far beyond the limit the calmest path swings to the other side, and beyond it from here.
  const { least, found } = heldTo(
    0.1,
    Float64Array.from({ length: 60 * RATE }, (_, k) => {
      const t = k / RATE;
      return t > 25 && t < 35 ? 0.9 : -0.049;
    }),
  );
  expect(found).toBeLessThan(least * (1 + 1e-3));
  expect(found).toBeGreaterThan(least * (1 - 1e-5));
});
