import { describe, expect, test } from 'vitest';
import { DARK, LIGHT, type Palette, paletteCss } from '../../src/report/palette.js';

type Triple = readonly [number, number, number];

/** Linear light of a colour, by IEC 61966-2-1 as WCAG 2.2 writes it in "relative luminance". */
function linear(hex: string): Triple {
  const part = (at: number) => {
    const value = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
  };
  return [part(1), part(3), part(5)];
}

const times = (rows: readonly Triple[], [a, b, c]: Triple): Triple =>
  rows.map(([x, y, z]) => x * a + y * b + z * c) as unknown as Triple;

/** Contrast ratio of WCAG 2.2. */
function contrast(a: string, b: string): number {
  const [x, y] = [a, b].map((hex) => {
    const [r, g, blue] = linear(hex);
    return 0.2126 * r + 0.7152 * g + 0.0722 * blue;
  }) as [number, number];
  return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05);
}

/**
 * Machado, Oliveira and Fernandes 2009, "A physiologically-based model for simulation of color vision
 * deficiency", severity 1, on linear light.
 */
const VISION: Readonly<Record<string, readonly Triple[]>> = {
  'all cones': [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ],
  'no long cones': [
    [0.152286, 1.052583, -0.204868],
    [0.114503, 0.786281, 0.099216],
    [-0.003882, -0.048116, 1.051998],
  ],
  'no middle cones': [
    [0.367322, 0.860646, -0.227968],
    [0.280085, 0.672501, 0.047413],
    [-0.01182, 0.04294, 0.968881],
  ],
  'no short cones': [
    [1.255528, -0.076749, -0.178779],
    [-0.078411, 0.930809, 0.147602],
    [0.004733, 0.691367, 0.3039],
  ],
};

/** Ottosson 2020, "A perceptual color space for image processing" (OKLab), from linear light. */
function oklab(light: Triple): Triple {
  const cones = times(
    [
      [0.4122214708, 0.5363325363, 0.0514459929],
      [0.2119034982, 0.6806995451, 0.1073969566],
      [0.0883024619, 0.2817188376, 0.6299787005],
    ],
    light,
  ).map((value) => Math.cbrt(Math.max(value, 0))) as unknown as Triple;
  return times(
    [
      [0.2104542553, 0.793617785, -0.0040720468],
      [1.9779984951, -2.428592205, 0.4505937099],
      [0.0259040371, 0.7827717662, -0.808675766],
    ],
    cones,
  );
}

function difference(a: string, b: string, vision: readonly Triple[]): number {
  const [x, y] = [a, b].map((hex) => {
    const seen = times(vision, linear(hex));
    return oklab(seen.map((value) => Math.min(1, Math.max(0, value))) as unknown as Triple);
  }) as [Triple, Triple];
  return Math.hypot(x[0] - y[0], x[1] - y[1], x[2] - y[2]);
}

/** One just noticeable difference, by CSS Color Module Level 4, "CSS gamut mapping". */
const NOTICEABLE = 0.02;
/** Five of them, so that narrow stretches and thin lines tell apart at a glance (our judgement). */
const LEAST = 5 * NOTICEABLE;

const THEMES: readonly (readonly [string, Palette])[] = [
  ['light', LIGHT],
  ['dark', DARK],
];
const MEANINGS = ['usable', 'care', 'bad', 'before', 'after'] as const;

describe.each(THEMES)('the colours by %s', (_, palette) => {
  test('the formulas give published values', () => {
    expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 10);
    // Ottosson's table of example values: white is L 1, a 0, b 0.
    const [lightness, a, b] = oklab([1, 1, 1]);
    expect([lightness.toFixed(3), Math.abs(a) < 1e-3, Math.abs(b) < 1e-3]).toEqual([
      ...['1.000', true, true],
    ]);
    // Grey stays grey for all eyes: the rows of each matrix sum to 1.
    for (const rows of Object.values(VISION)) {
      for (const [x, y, z] of rows) expect(Math.abs(x + y + z - 1)).toBeLessThan(2e-6);
    }
  });

  test('text has a contrast of 4.5 on both grounds (WCAG 2.2, 1.4.3)', () => {
    for (const text of ['text', 'quiet'] as const) {
      for (const ground of ['ground', 'surface'] as const) {
        expect(contrast(palette[text], palette[ground])).toBeGreaterThanOrEqual(4.5);
      }
    }
  });

  test('what carries meaning has a contrast of 3 on the surface (WCAG 2.2, 1.4.11)', () => {
    for (const name of MEANINGS) {
      expect({ name, enough: contrast(palette[name], palette.surface) >= 3 }).toEqual({
        name,
        enough: true,
      });
    }
  });

  test.each(Object.entries(VISION))(
    'states, before and after tell apart with %s',
    (_eyes, vision) => {
      for (const a of MEANINGS) {
        for (const b of MEANINGS) {
          if (a >= b) continue;
          const far = difference(palette[a], palette[b], vision);
          expect({ pair: [a, b], far: far >= LEAST }).toEqual({ pair: [a, b], far: true });
        }
      }
    },
  );
});

test('the style sheet is generated from them: by system, by button, light on paper', () => {
  const css = paletteCss();
  for (const [name, value] of Object.entries(LIGHT)) expect(css).toContain(`--${name}:${value};`);
  expect(css.split(`--after:${DARK.after};`)).toHaveLength(3);
  expect(css).toContain(`@media print{:root{--ground:${LIGHT.surface}}}`);
});
