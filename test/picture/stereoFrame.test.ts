import { describe, expect, test } from 'vitest';
import { pixelFormatNamed } from '../../src/picture/pixelFormat.js';
import { checkFrame, type EyeImage, eyeRectangle } from '../../src/picture/stereoFrame.js';
import { complaint } from '../complaint.js';
import { frameOf, HALF, LENS } from './pictures.js';

const FORMAT = pixelFormatNamed('yuv420p');

test('left or top is the left eye', () => {
  expect(eyeRectangle(frameOf(HALF, 32), 'left')).toEqual({
    x: 0,
    y: 0,
    widthPx: 32,
    heightPx: 32,
  });
  expect(eyeRectangle(frameOf(HALF, 32), 'right').x).toBe(32);
  expect(eyeRectangle(frameOf(HALF, 32, 'top-bottom'), 'right')).toEqual({
    x: 0,
    y: 32,
    widthPx: 32,
    heightPx: 32,
  });
});

describe('refused is', () => {
  const check = (frame: Partial<ReturnType<typeof frameOf>>, format = FORMAT) => {
    return () => checkFrame({ ...frameOf(HALF, 32), ...frame }, format, 'source');
  };

  test('an eye that ends within a sample of colour', () => {
    expect(check({ widthPx: 66 })).toThrow(
      complaint('argument/invalid', 'source: a frame of 66 × 32 side-by-side, 33 × 32 pixels'),
    );
    expect(check({ widthPx: 66 }, pixelFormatNamed('yuv444p'))).not.toThrow();
    expect(check({ heightPx: 33 })).toThrow(complaint('argument/invalid', 'a multiple of 2 × 2'));
    expect(check({ heightPx: 33 }, pixelFormatNamed('yuv422p'))).not.toThrow();
  });

  test.each([0, Number.NaN, 2.5, 70000, -4])('a width of %d', (widthPx) => {
    expect(check({ widthPx })).toThrow(complaint('argument/invalid', 'source: a frame of'));
  });

  test('a layout that is none', () => {
    expect(check({ layout: 'interleaved' as 'side-by-side' })).toThrow(
      complaint('argument/invalid', 'source: the layout "interleaved"'),
    );
  });

  test.each([
    ['fieldDeg', { fieldDeg: 0 }, 'a field of 0°'],
    ['law', { fieldDeg: 200, mapping: { law: 'orthographic' } }, 'a field of 200°'],
    [
      'fold',
      { mapping: { law: 'polynomial', coefficients: [-0.2] } },
      // r = θ − 0.2 θ³ falls from θ = √(1/0.6) = 74.0° on.
      'folds back at 74.',
    ],
    ['circle', { circle: { centrePx: [1, 1], diameterPx: 0 } }, 'the circle 1, 1, 0'],
    ['kind', { projection: 'cubemap' }, 'the projection "cubemap"'],
  ])('a lens with a wrong %s', (_, change, words) => {
    const right = { ...LENS, ...change } as EyeImage;
    expect(check({ right })).toThrow(complaint('argument/invalid', `source: right eye with`));
    expect(check({ right })).toThrow(complaint('argument/invalid', words));
  });
});
