import type { MotionFigures } from '../../comfort/figures.js';
import { amount, decimalsFor, number } from '../stretchWords.js';
import { element } from './dom.js';
import type { Clip } from './motion.js';

type Row = readonly [label: string, unit: string, figure: (of: MotionFigures) => number];

const ROWS: readonly Row[] = [
  ['turns left and right, typically (RMS)', '°/s', (f) => f.rateRmsDegPerS.heading],
  ['looks up and down, typically (RMS)', '°/s', (f) => f.rateRmsDegPerS.tilt],
  ['leans, typically (RMS)', '°/s', (f) => f.rateRmsDegPerS.roll],
  ['looks up and down, 95 % slower than', '°/s', (f) => f.rate95DegPerS.tilt],
  ['time turning faster than 30 °/s', '%', (f) => 100 * f.shareAbove30],
  ['time turning faster than 60 °/s', '%', (f) => 100 * f.shareAbove60],
  ['slow swaying, 0.1–0.5 Hz (RMS)', '°/s', (f) => f.bandRmsDegPerS.slow],
  ['shake of steps, 0.5–3 Hz (RMS)', '°/s', (f) => f.bandRmsDegPerS.steps],
  ['tremor, 3–12 Hz (RMS)', '°/s', (f) => f.bandRmsDegPerS.tremor],
  ['up and down at each step', '°', (f) => f.bobDeg],
  ['horizon off level (RMS)', '°', (f) => f.horizonRmsDeg],
  ['jerk (RMS)', '°/s³', (f) => f.jerkRmsDegPerS3],
  [
    'weighted by W_f of ISO 2631-1 (a stand-in: made for real motion of the body)',
    '°/s',
    (f) => f.weightedRmsDegPerS,
  ],
];

/** Before and after in numbers, and after of another result of the same take beside them. */
export function figureTable(clip: Clip, other?: Clip): HTMLElement {
  const { before, after } = clip.assessment;
  const columns: (readonly [string, MotionFigures])[] = [
    ['before', before],
    other ? [`after, ${clip.name}`, after] : ['after', after],
    ...(other ? [[`after, ${other.name}`, other.assessment.after] as const] : []),
  ];
  const body = ROWS.map(([label, unit, figure]) => {
    const values = columns.map(([, figures]) => figure(figures));
    // One figure, one rounding, or columns could not be compared.
    const decimals = decimalsFor(Math.max(...values.map(Math.abs)));
    return element(
      'tr',
      {},
      element('th', { scope: 'row' }, label),
      ...values.map((value) => element('td', { class: 'number' }, number(value, decimals))),
      element('td', { class: 'unit' }, unit),
    );
  });
  const head = element(
    'tr',
    {},
    element('th', { scope: 'col' }, 'figure'),
    ...columns.map(([name]) => element('th', { scope: 'col', class: 'number' }, name)),
    element('th', { scope: 'col' }, 'unit'),
  );
  return element(
    'div',
    { class: 'table' },
    element(
      'table',
      { class: 'figures' },
      element('thead', {}, head),
      element('tbody', {}, ...body),
    ),
    ...costOf(clip),
  );
}

/** What the correction costs the stereo pair. */
function costOf({ rigAssessment, rig, picture }: Clip): HTMLElement[] {
  if (!rigAssessment || !rig) return [];
  const { largestSwingDeg, uncoveredShare, worstDisparityArcmin, disparity95Arcmin, verticalBob } =
    rigAssessment;
  const cost = [
    `the worse eye’s optical axis off the middle of the view by up to ${amount(largestSwingDeg, '°')}`,
    `${amount(100 * uncoveredShare, '%')} of the view black in the worst frame, resampled from the ${picture} picture`,
    `vertical disparity ${amount(worstDisparityArcmin, 'arcmin')} at worst, ${amount(disparity95Arcmin, 'arcmin')} in 95 % of the frames`,
    ...(verticalBob
      ? [
          `not cured: up and down of ${amount(verticalBob.amplitudeCm, 'cm')} (${verticalBob.source}), ${amount(verticalBob.visibleDeg, '°')} at ${rig.nearestSubjectM} m`,
        ]
      : []),
  ];
  return [element('p', { class: 'quiet' }, `What it costs: ${cost.join('; ')}.`)];
}
