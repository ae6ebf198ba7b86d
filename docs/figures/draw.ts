/**
 * Draws the figures of the guides beside this file: `npx tsx docs/figures/draw.ts`. Every number in
 * them is computed by the library, so a changed formula changes a figure.
 */
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { axesFigure } from './axes.js';
import { correctionFigure } from './correction.js';
import { coverageFigure } from './coverage.js';
import { realWalkFigure } from './realWalk.js';

/** The figures by file name, as text. */
export function drawFigures(): ReadonlyMap<string, string> {
  return new Map([
    ['axes.svg', axesFigure()],
    ['correction.svg', correctionFigure()],
    ['coverage.svg', coverageFigure()],
    ['real-walk.svg', realWalkFigure()],
  ]);
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  for (const [name, svg] of drawFigures()) writeFileSync(new URL(name, import.meta.url), svg);
}
