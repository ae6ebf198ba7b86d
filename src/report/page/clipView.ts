import { JUDGED_WITH_RIG } from '../../comfort/verdict.js';
import { describeShot, UP_WORDS } from '../clipWords.js';
import { plotsOf } from './clipPlots.js';
import { verdictBadge } from './clipTable.js';
import { element } from './dom.js';
import type { Clip } from './motion.js';
import { plot } from './plots.js';

/** Everything about one clip but its preview: verdict, reasons, figures, plots, notes. */
export function clipView(clip: Clip): { view: HTMLElement; redraw: () => void } {
  const plots = plotsOf(clip).map(plot);
  const view = element(
    'section',
    { class: 'clip', 'aria-label': clip.name },
    element('h2', {}, clip.name),
    element('p', { class: 'headline' }, verdictBadge(clip.verdict)),
    reasonList(clip),
    element('h3', {}, 'Before and after'),
    figureTable(clip),
    element('div', { class: 'plots' }, ...plots.map(({ figure }) => figure)),
    ...notes(clip),
  );
  const redraw = () => {
    for (const each of plots) each.redraw();
  };
  return { view, redraw };
}

function reasonList({ reasons, rig }: Clip): HTMLElement {
  const items = reasons.map(({ figure, value, unit, threshold, level, source, nextTime }) =>
    element(
      'li',
      {},
      element('strong', {}, `${figure}: ${value.toPrecision(3)} ${unit}`),
      ` (${level === 'reshoot' ? 'reshoot' : 'care'} above ${threshold} ${unit}; ${source})`,
      element('br'),
      `Next time: ${nextTime}.`,
    ),
  );
  return element(
    'div',
    {},
    items.length === 0
      ? element('p', {}, 'No figure passed a threshold. That is no proof of comfort.')
      : element('ol', { class: 'reasons' }, ...items),
    ...(rig ? [] : [element('p', {}, `Not judged without a rig: ${JUDGED_WITH_RIG}.`)]),
  );
}

function figureTable({ assessment, rigAssessment, rig, picture }: Clip): HTMLElement {
  const { before, after } = assessment;
  const share = (value: number) => 100 * value;
  const rows: [string, string, number, number][] = [
    [
      'turning left and right, RMS',
      '°/s',
      before.rateRmsDegPerS.heading,
      after.rateRmsDegPerS.heading,
    ],
    ['nodding, RMS', '°/s', before.rateRmsDegPerS.tilt, after.rateRmsDegPerS.tilt],
    ['rolling, RMS', '°/s', before.rateRmsDegPerS.roll, after.rateRmsDegPerS.roll],
    ['nodding, 95 % slower', '°/s', before.rate95DegPerS.tilt, after.rate95DegPerS.tilt],
    ['time above 30 °/s', '%', share(before.shareAbove30), share(after.shareAbove30)],
    ['time above 60 °/s', '%', share(before.shareAbove60), share(after.shareAbove60)],
    ['0.1–0.5 Hz, RMS', '°/s', before.bandRmsDegPerS.slow, after.bandRmsDegPerS.slow],
    ['0.5–3 Hz, RMS', '°/s', before.bandRmsDegPerS.steps, after.bandRmsDegPerS.steps],
    ['3–12 Hz, RMS', '°/s', before.bandRmsDegPerS.tremor, after.bandRmsDegPerS.tremor],
    ['step bob', '°', before.bobDeg, after.bobDeg],
    ['horizon off level, RMS', '°', before.horizonRmsDeg, after.horizonRmsDeg],
    ['jerk, RMS', '°/s³', before.jerkRmsDegPerS3, after.jerkRmsDegPerS3],
    [
      'weighted by W_f of ISO 2631-1 (a stand-in: made for real motion of the body)',
      '°/s',
      before.weightedRmsDegPerS,
      after.weightedRmsDegPerS,
    ],
  ];
  const body = rows.map(([label, unit, first, second]) =>
    element(
      'tr',
      {},
      element('th', { scope: 'row' }, label),
      element('td', { class: 'number' }, first.toFixed(2)),
      element('td', { class: 'number' }, second.toFixed(2)),
      element('td', {}, unit),
    ),
  );
  const cost = rigAssessment &&
    rig && [
      `the worse eye’s optical axis off the middle of the view by up to ${rigAssessment.largestSwingDeg.toFixed(2)}°`,
      `${(100 * rigAssessment.uncoveredShare).toFixed(2)} % of the view black in the worst frame, resampled from the ${picture} picture`,
      `vertical disparity ${rigAssessment.worstDisparityArcmin.toFixed(1)} arcmin at worst, ${rigAssessment.disparity95Arcmin.toFixed(1)} in 95 % of the frames`,
      ...(rigAssessment.verticalBob
        ? [
            `not cured: up and down of ${rigAssessment.verticalBob.amplitudeCm.toFixed(1)} cm (${rigAssessment.verticalBob.source}), ${rigAssessment.verticalBob.visibleDeg.toFixed(1)}° at ${rig.nearestSubjectM} m`,
          ]
        : []),
    ];
  const head = ['', 'before', 'after', 'unit'].map((text) => element('th', { scope: 'col' }, text));
  return element(
    'div',
    { class: 'table' },
    element(
      'table',
      { class: 'figures' },
      element('thead', {}, element('tr', {}, ...head)),
      element('tbody', {}, ...body),
    ),
    ...(cost ? [element('p', {}, `What it costs: ${cost.join('; ')}.`)] : []),
  );
}

function notes(clip: Clip): HTMLElement[] {
  return [
    element('h3', {}, 'What was found in the data'),
    element(
      'ul',
      {},
      element('li', {}, describeShot(clip)),
      element('li', {}, `vertical: ${UP_WORDS[clip.up]}`),
      ...clip.warnings.map((warning) => element('li', {}, warning)),
    ),
  ];
}
