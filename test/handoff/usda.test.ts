import { describe, expect, test } from 'vitest';
import { readUsda, toUsda } from '../../src/handoff/usda.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import { parseFrameRate } from '../../src/track/frameRate.js';
import { apart } from '../apart.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { anyResults, matrixOf, product, resultOf } from './results.js';

/** Two frames: 90° about the world's x axis, then the same; K turns by 180° about the view's z. */
const plain = {
  intended: [
    [Math.SQRT1_2, 0, 0, Math.SQRT1_2],
    [0.6, 0, 0, 0.8],
  ],
  corrections: [
    [0, 0, 0, 1],
    [0, 0, 0, 1],
  ],
} as const;

describe('a layer of OpenUSD', () => {
  test('the corrected view comes back to the last bit, the camera to rounding', () => {
    fc.assert(
      fc.property(anyResults, (parts) => {
        const result = resultOf(parts);
        const back = readUsda(toUsda(result));
        expect(back.frames).toEqual(result.corrections.frames);
        expect(back.timeCodesPerSecond).toBe(60000 / 1001);
        expect(back.intended).toEqual(result.intended.quaternions);
        parts.intended.forEach((s, k) => {
          const read = back.measured.subarray(4 * k, 4 * k + 4);
          const measured = product(matrixOf(s), matrixOf(parts.corrections[k]!)).flat();
          const found = matrixOf([read[0]!, read[1]!, read[2]!, read[3]!]).flat();
          // Entries of two products of 4 × 4 terms: some ten roundings each.
          found.forEach((entry, i) => {
            expect(Math.abs(entry - measured[i]!)).toBeLessThan(20 * Number.EPSILON);
          });
        });
      }),
    );
  });

  // OpenUSD, usda file format and UsdGeom: metadata of the stage; upAxis is a token, the rest numbers.
  test('its head says what a stage must know', () => {
    const [first, open, ...lines] = toUsda(resultOf(plain)).split('\n');
    expect([first, open]).toEqual(['#usda 1.0', '(']);
    const head = lines.slice(0, lines.indexOf(')')).map((line) => line.trim());
    expect(head).toEqual([
      'defaultPrim = "walk"',
      'endTimeCode = 41',
      'framesPerSecond = 59.94005994005994',
      'metersPerUnit = 1',
      'startTimeCode = 40',
      'timeCodesPerSecond = 59.94005994005994',
      'upAxis = "Y"',
    ]);
    expect(lines.some((line) => line === 'def Xform "walk"')).toBe(true);
  });

  // GfQuatd in a usda file: (real, i, j, k).
  test('a quaternion is written with w first, under the number of its frame', () => {
    const text = toUsda(resultOf(plain));
    const samples = [...text.matchAll(/^ {12}(\d+: \(.*\)),$/gm)].map((match) => match[1]);
    expect(samples.slice(0, 2)).toEqual([
      '40: (0.7071067811865476, 0.7071067811865476, 0, 0)',
      '41: (0.8, 0.6, 0, 0)',
    ]);
    expect(text).toContain('quatd xformOp:orient.timeSamples = {');
    expect(text).toContain('uniform token[] xformOpOrder = ["xformOp:orient"]');
  });

  test('each eye’s camera has its role and lies half the interaxial off, in metres', () => {
    const text = toUsda(resultOf({ ...plain, rig: { ...DEFAULT_RIG, interaxialMm: 60 } }));
    const [, left, right] = text.split('def Camera ');
    expect(left).toMatch(/^"left"\s*\{[^}]*stereoRole = "left"[^}]*translate = \(-0\.03, 0, 0\)/);
    expect(right).toMatch(/^"right"\s*\{[^}]*stereoRole = "right"[^}]*translate = \(0\.03, 0, 0\)/);
  });

  test('the cameras look 90° wide: the aperture is twice the focal length', () => {
    const [, left] = toUsda(resultOf(plain)).split('def Camera ');
    const value = (name: string) => Number(new RegExp(`float ${name} = (\\S+)`).exec(left!)![1]);
    // UsdGeomCamera: field = 2 atan(aperture / (2 focalLength)), both in the same unit.
    for (const name of ['horizontalAperture', 'verticalAperture']) {
      const field = 2 * Math.atan(value(name) / (2 * value('focalLength')));
      expect(Math.abs(field - Math.PI / 2)).toBeLessThan(1e-12);
    }
  });

  test('without an exact rate it counts frames over their time', () => {
    const text = toUsda(resultOf({ ...plain, rate: 'none' }));
    // Two frames 1001/60000 s apart.
    expect(readUsda(text).timeCodesPerSecond).toBeCloseTo(60000 / 1001, 9);
  });

  test('a single frame without an exact rate still states a rate', () => {
    const [s] = plain.intended;
    const [k] = plain.corrections;
    const text = toUsda(resultOf({ intended: [s], corrections: [k], rate: 'none' }));
    expect(readUsda(text).timeCodesPerSecond).toBeGreaterThan(0);
  });

  test('a whole rate is written as such', () => {
    const text = toUsda(resultOf({ ...plain, rate: parseFrameRate('25') }));
    expect(text).toContain('\n    timeCodesPerSecond = 25\n');
  });
});

describe('readUsda', () => {
  const text = toUsda(resultOf(plain));

  test('takes quaternions that another program rounded to seven digits', () => {
    const rounded = text.replaceAll('0.7071067811865476', '0.7071068');
    const back = readUsda(rounded).intended;
    // Both components are off alike, which the norm takes out again.
    expect(apart([back[0]!, 0, 0, back[3]!], plain.intended[0])).toBeLessThan(1e-7);
    expect(Math.abs(Math.hypot(...back.subarray(0, 4)) - 1)).toBeLessThan(4 * Number.EPSILON);
  });

  test.each([
    ['another layer', '#usda 1.0\n', 'found no animated "intended"'],
    ['a layer that breaks off', text.slice(0, text.indexOf('"measured"')), 'animated "measured"'],
    ['a layer without a rate', text.replace(/timeCodesPerSecond.*/, ''), 'without a rate'],
    ['nonsense in a sample', text.replace('0.8', 'dusk'), 'no readable samples of "intended"'],
    ['motions of different length', text.replace(/ {12}41: .*\n/, ''), 'of different length'],
  ])('refuses %s', (_title, broken, words) => {
    expect(() => readUsda(broken)).toThrow(complaint('read/unknown-layout', words));
  });
});
