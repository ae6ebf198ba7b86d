import { expect, test } from 'vitest';
import { stampExpression } from '../../src/files/stampExpression.js';
import { fc } from '../seed.js';

/** An independent reading of the few words of ffmpeg's language that are used: as JavaScript's. */
function valueAt(expression: string, frame: number): number {
  const script = expression
    .replaceAll('if(', 'choose(')
    .replace(/lt\(N,(\d+)\),/g, (_, bound) => `N < ${bound}, `)
    .replaceAll('N', 'frame');
  const choose = (condition: boolean, yes: number, no: number) => (condition ? yes : no);
  return Function('choose', 'frame', `return ${script}`)(choose, frame) as number;
}

test('even stamps are one straight stretch', () => {
  expect(stampExpression([0, 1001, 2002, 3003])).toBe('0+1001*(N-0)');
  expect(stampExpression([7])).toBe('7+0*(N-0)');
});

test('any stamps come back frame by frame', () => {
  const steps = fc.array(fc.integer({ min: 1, max: 5000 }), { maxLength: 200 });
  fc.assert(
    fc.property(fc.integer({ min: 0, max: 1e6 }), steps, (start, gaps) => {
      const stamps = [start];
      for (const gap of gaps) stamps.push(stamps.at(-1)! + gap);
      const expression = stampExpression(stamps);
      expect(stamps.map((_, frame) => valueAt(expression, frame))).toEqual(stamps);
    }),
  );
});

test('conditions nest as deep as the logarithm of the stretches, which ffmpeg can read', () => {
  const stamps = Array.from({ length: 600 }, (_, k) => k * 1500 + (k % 2 === 0 ? 0 : 7) + (k % 3));
  const depths = [...stampExpression(stamps)].reduce(
    ([depth, most], sign) => {
      const next = depth! + (sign === '(' ? 1 : sign === ')' ? -1 : 0);
      return [next, Math.max(most!, next)];
    },
    [0, 0],
  );
  // log₂ 600 < 10 conditions, each with its own brackets, and the innermost difference.
  expect(depths[1]).toBeLessThanOrEqual(12);
});
