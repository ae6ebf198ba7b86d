import { expect, test } from 'vitest';
import { unitQuaternions } from '../../src/rotation/unitQuaternions.js';
import { fc } from '../seed.js';
import { rotations } from '../turns.js';

test('what a computation left within 1e-12 of unit stays to the last bit', () => {
  fc.assert(
    fc.property(rotations, fc.double({ min: -9e-13, max: 9e-13, noNaN: true }), (q, off) => {
      const given = Float64Array.from(q, (part) => part * (1 + off));
      expect(unitQuaternions(given)).toEqual({ quaternions: given, departure: 0 });
    }),
  );
});

test('what misses it by up to a hundredth becomes unit, and by how much is told', () => {
  fc.assert(
    fc.property(rotations, fc.double({ min: 1e-9, max: 0.0099, noNaN: true }), (q, off) => {
      const given = Float64Array.from(q, (part) => part * (1 + off));
      const unit = unitQuaternions(given);
      if ('wrong' in unit) throw new Error('refused');
      // Three roundings of the norm and one of the quotient.
      expect(Math.abs(Math.hypot(...unit.quaternions) - 1)).toBeLessThan(4 * Number.EPSILON);
      expect(Math.abs(unit.departure - off)).toBeLessThan(8 * Number.EPSILON);
    }),
  );
});

test('further off, without length or not finite, the first of them is named', () => {
  const sound = [0, 0, 0, 1];
  for (const bad of [
    [0, 0, 0, 1.011],
    [0, 0, 0, 0],
    [0, Number.NaN, 0, 1],
    [0, 0, 0, Infinity],
  ]) {
    const found = unitQuaternions(Float64Array.from([...sound, ...bad, ...bad]));
    expect(found).toMatchObject({ wrong: 1 });
  }
});
