import { expect, test } from 'vitest';
import { fisheyeField } from '../../src/rig/picture.js';
import { complaint } from '../complaint.js';

const fisheye = { projection: 'fisheye', layout: 'side-by-side' } as const;

test.each([0.5, 190, 360])('a field of %d° is taken', (fieldDeg) => {
  expect(fisheyeField({ ...fisheye, fieldDeg })).toBe(fieldDeg);
});

test.each([0, -10, 360.5, Number.NaN])('a field of %d° is refused', (fieldDeg) => {
  expect(() => fisheyeField({ ...fisheye, fieldDeg })).toThrow(
    complaint('argument/invalid', `found a field of ${fieldDeg}°`),
  );
});

test('a fisheye without a field is refused', () => {
  expect(() => fisheyeField(fisheye)).toThrow(
    complaint('argument/invalid', 'found a fisheye without its field'),
  );
});
