import type { Stretch, StretchCause } from '../../comfort/stretches.js';
import { CAUSES } from '../../words/verdict.js';
import { span, what } from '../stretchWords.js';
import { drawing, element } from './dom.js';
import { STATES } from './icons.js';

/** A take as a strip of time: coloured by what each stretch is good for, patterned by whose doing it is. */
export function strip(stretches: readonly Stretch[]): SVGSVGElement {
  const whole = stretches.at(-1)?.toSeconds ?? 1;
  const percent = (seconds: number) => `${(100 * seconds) / whole}%`;
  const made = drawing('svg', {
    class: 'strip',
    role: 'img',
    'aria-label': stripWords(stretches),
    height: '100%',
    width: '100%',
  });
  for (const { fromSeconds, toSeconds, verdict, because } of stretches) {
    const place = {
      x: percent(fromSeconds),
      width: percent(toSeconds - fromSeconds),
      y: 0,
      height: '100%',
    };
    made.append(
      drawing('rect', {
        ...place,
        class: STATES[verdict],
        'data-from': fromSeconds,
        'data-to': toSeconds,
        'data-verdict': verdict,
        ...(because && { 'data-cause': because.cause }),
      }),
    );
    if (because) made.append(drawing('rect', { ...place, fill: `url(#cause-${because.cause})` }));
  }
  return made;
}

/** The strip for those who cannot see it. */
function stripWords(stretches: readonly Stretch[]): string {
  if (stretches.length === 0) return 'no stretches in this result';
  const said = stretches
    .slice(0, 12)
    .map(
      (stretch) =>
        `${span(stretch)} ${stretch.verdict}${stretch.because ? `, ${what(stretch.because)}, ${CAUSES[stretch.because.cause]}` : ''}`,
    );
  const more = stretches.length - said.length;
  return `${said.join('; ')}${more > 0 ? `; and ${more} more` : ''}`;
}

/** The patterns of the causes, drawn in the colour of the surface; once for the whole page. */
export function causePatterns(): SVGSVGElement {
  return drawing(
    'svg',
    { class: 'patterns', width: 0, height: 0, 'aria-hidden': 'true' },
    drawing('defs', {}, ...Object.entries(PATTERNS).map(([cause, d]) => pattern(cause, d))),
  );
}

/** Diagonals, dots, a cross-hatch, lines across, in a tile of 8 by 8. */
const PATTERNS: Readonly<Record<StretchCause, string>> = {
  operator: 'M-2 2l4-4M0 8l8-8M6 10l4-4',
  tracker: 'M2 2h.01M6 6h.01',
  settings: 'M0 0l8 8M0 8l8-8',
  rig: 'M0 2h8M0 6h8',
};

function pattern(cause: string, d: string): SVGPatternElement {
  return drawing(
    'pattern',
    { id: `cause-${cause}`, class: cause, width: 8, height: 8, patternUnits: 'userSpaceOnUse' },
    drawing('path', { d }),
  );
}

/** Which pattern means what, for the causes that occur. */
export function causeLegend(stretches: readonly Stretch[]): HTMLElement | '' {
  const causes = new Set(stretches.flatMap(({ because }) => because?.cause ?? []));
  if (causes.size === 0) return '';
  return element(
    'p',
    { class: 'legend' },
    'Whose doing: ',
    ...(Object.keys(PATTERNS) as StretchCause[])
      .filter((cause) => causes.has(cause))
      .map((cause) =>
        element(
          'span',
          { class: 'key' },
          drawing(
            'svg',
            { class: 'swatch', 'aria-hidden': 'true' },
            drawing('rect', { width: '100%', height: '100%', class: 'care' }),
            drawing('rect', { width: '100%', height: '100%', fill: `url(#cause-${cause})` }),
          ),
          CAUSES[cause],
        ),
      ),
  );
}
