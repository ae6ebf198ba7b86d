import { describe, expect, test } from 'vitest';
import { frameBytes, pixelFormatNamed, planesOf } from '../../src/picture/pixelFormat.js';
import { refusal } from '../refusal.js';

describe('formats by name', () => {
  test.each([
    ['yuv420p', '4:2:0', 8, 1, 'limited'],
    ['yuvj422p', '4:2:2', 8, 1, 'full'],
    ['yuv422p10le', '4:2:2', 10, 2, 'limited'],
    ['yuv444p12le', '4:4:4', 12, 2, 'limited'],
  ] as const)('%s', (name, chroma, bits, bytesPerSample, range) => {
    const found = pixelFormatNamed(name);
    expect(found).toEqual({ name, chroma, bits, bytesPerSample, range, siting: 'left' });
  });

  test.each(['rgb24', 'yuv420p16le', 'yuv420p10be', 'nv12', ''])('"%s" is refused', (name) => {
    expect(() => pixelFormatNamed(name)).toThrow(
      refusal('argument/invalid', `the pixel format "${name}"`),
    );
  });
});

describe('planes', () => {
  test('Y, Cb and Cr lie one after the other without gaps', () => {
    const format = pixelFormatNamed('yuv420p10le');
    const planes = planesOf(format, 8, 6);
    expect(planes.map(({ width, height, offset }) => [width, height, offset])).toEqual([
      [8, 6, 0],
      [4, 3, 96],
      [4, 3, 120],
    ]);
    expect(frameBytes(format, 8, 6)).toBe(144);
  });

  // ITU-T H.273, chroma_sample_loc_type 0, 1 and 2, counted from the edges of the first pixel.
  test.each([
    ['left', 0.5, 1],
    ['center', 1, 1],
    ['top-left', 0.5, 0.5],
  ] as const)('colour of 4:2:0 sited %s begins at (%d, %d)', (siting, across, down) => {
    expect(planesOf(pixelFormatNamed('yuv420p', { siting }), 4, 4)[2]!.first).toEqual([
      across,
      down,
    ]);
  });

  test('colour of 4:2:2 lies on every second pixel, that of 4:4:4 on each', () => {
    expect(planesOf(pixelFormatNamed('yuv422p'), 4, 4)[1]).toMatchObject({
      first: [0.5, 0.5],
      step: [2, 1],
    });
    expect(planesOf(pixelFormatNamed('yuv444p', { siting: 'center' }), 4, 4)[1]).toMatchObject({
      first: [0.5, 0.5],
      step: [1, 1],
    });
  });

  // Recommendation ITU-R BT.2100-2, table 9: black is 16 · 2ⁿ⁻⁸ or 0, no colour 128 · 2ⁿ⁻⁸.
  test.each([
    ['yuv420p', 'limited', 16, 128],
    ['yuv420p10le', 'limited', 64, 512],
    ['yuv420p12le', 'full', 0, 2048],
  ] as const)('black of %s, %s range, is %d, %d', (name, range, light, colour) => {
    const planes = planesOf(pixelFormatNamed(name, { range }), 4, 4);
    expect(planes.map(({ black }) => black)).toEqual([light, colour, colour]);
  });
});
