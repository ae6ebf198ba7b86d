import { MOMENT_CRITERIA, VERTICAL_DISPARITY } from '../../comfort/criteria.js';
import { coveredHalfAngle } from '../../rig/coverage.js';
import { amount, number } from '../stretchWords.js';
import {
  type Angles,
  anglesDeg,
  type Clip,
  correctionDeg,
  coverageOf,
  disparityOf,
  pictureOrientations,
  removedDeg,
  tiltSpectrum,
  turningDegPerS,
} from './motion.js';
import type { PlotContent } from './plotScale.js';

/** Heights, CSS px: of a path, of what is removed under it, of the rest. */
const [PATH, REMOVED, OTHER] = [150, 120, 170];

/** The plots of a clip: path above what was taken out of it, for each angle; then one question each. */
export interface ClipPlots {
  readonly angles: readonly (readonly [path: PlotContent, removed: PlotContent])[];
  readonly others: readonly PlotContent[];
}

export function plotsOf(clip: Clip): ClipPlots {
  const before = anglesDeg(pictureOrientations(clip));
  const after = anglesDeg(clip.intended);
  return {
    angles: anglePlots(clip, before, after),
    others: [
      turningPlot(clip),
      correctionPlot(clip),
      spectrumPlot(clip),
      ...coveragePlots(clip),
      ...disparityPlot(clip),
    ],
  };
}

/** What the band around zero is. */
const ROOM_WORDS = {
  lens: ' The band is what the lens covers beyond the view.',
  limit: ' The band is the most that a limit let through.',
} as const;

const WORDS: readonly (readonly [keyof Angles, string, string])[] = [
  ['heading', 'Turns (positive: to the left)', 'the camera turns'],
  ['tilt', 'Looks up or down (positive: up)', 'the camera tips'],
  ['roll', 'Leans (positive: left side lower)', 'the camera leans'],
];

function anglePlots(clip: Clip, before: Angles, after: Angles): ClipPlots['angles'] {
  const removed = removedDeg(before, after);
  const { heldRoom, times } = clip;
  return WORDS.map(([name, title, word]) => {
    const largest = removed[name].reduce((most, value) => Math.max(most, Math.abs(value)), 0);
    return [
      {
        ...{ title, unit: '°', x: times, over: 'time', scale: 'free', height: PATH },
        lines: [
          { label: 'before', values: before[name], colour: 'before' },
          { label: 'after', values: after[name], colour: 'after' },
        ],
        text: `Before, ${word} between ${range(before[name])}; after, between ${range(after[name])}.`,
      },
      {
        ...{ title: 'Taken out of it', unit: '°', x: times, over: 'time', scale: 'around zero' },
        height: REMOVED,
        lines: [{ label: 'before less after', values: removed[name], colour: 'before' }],
        ...(heldRoom && {
          room: {
            deg: heldRoom.deg,
            label: heldRoom.of === 'lens' ? 'lens' : 'limit',
          },
        }),
        text: `Up to ${amount(largest, '°')} is taken out.${heldRoom ? ROOM_WORDS[heldRoom.of] : ''}`,
      },
    ];
  });
}

function turningPlot(clip: Clip): PlotContent {
  const rate = clip.frameRate.numerator / clip.frameRate.denominator;
  const before = turningDegPerS(pictureOrientations(clip), rate);
  const after = turningDegPerS(clip.intended, rate);
  return {
    title: 'How fast the view turns, averaged over a second',
    ...{ unit: '°/s', x: clip.times, over: 'time', scale: 'from zero', height: OTHER },
    lines: [
      { label: 'before', values: before, colour: 'before' },
      { label: 'after', values: after, colour: 'after' },
    ],
    levels: [
      { value: MOMENT_CRITERIA.turning.care, label: 'with care from' },
      { value: MOMENT_CRITERIA.turning.bad, label: 'not usable from' },
    ],
    text: `At its fastest the view turns by ${amount(largestOf(before), '°/s')} before and ${amount(largestOf(after), '°/s')} after (thresholds: Lo and So 2001, Hu et al. 1989).`,
  };
}

function correctionPlot(clip: Clip): PlotContent {
  const { largestCorrectionDeg, typicalCorrectionDeg, limitedShare } = clip.assessment;
  const share = number(100 * limitedShare, limitedShare < 0.1 ? 1 : 0);
  const { heldRoom } = clip;
  return {
    title: 'Angle of the correction, the same in both eyes',
    ...{ unit: '°', x: clip.times, over: 'time', scale: 'from zero', height: OTHER },
    lines: [{ label: 'correction', values: correctionDeg(clip), colour: 'after' }],
    ...(heldRoom?.of === 'limit' && {
      levels: [{ value: round(heldRoom.deg), label: 'limit' }],
    }),
    text: `Typically (RMS) ${amount(typicalCorrectionDeg, '°')}, at most ${amount(largestCorrectionDeg, '°')}. ${
      limitedShare > 0
        ? `A limit held it back in ${share} % of the frames.`
        : 'No limit held it back.'
    }`,
  };
}

function spectrumPlot(clip: Clip): PlotContent {
  const rate = clip.frameRate.numerator / clip.frameRate.denominator;
  const before = tiltSpectrum(pictureOrientations(clip), rate);
  const after = tiltSpectrum(clip.intended, rate);
  const { walking, stepFrequency } = clip.gait;
  const { before: b, after: a } = clip.assessment;
  return {
    title: 'What the looking up and down is made of, by frequency (Hz)',
    ...{ unit: '°/√Hz', x: before.frequencies, over: 'frequency', scale: 'logarithmic' },
    height: OTHER,
    // A logarithm has no place for nothing.
    lines: [
      { label: 'before', values: before.amplitude.map(atLeast), colour: 'before' },
      { label: 'after', values: after.amplitude.map(atLeast), colour: 'after' },
    ],
    marks: walking ? [{ x: stepFrequency, label: `steps ${number(stepFrequency, 1)} Hz` }] : [],
    text: walking
      ? `At the pace of steps, ${number(stepFrequency, 1)} per second, the view goes up and down by ${amount(b.bobDeg, '°')} before and ${amount(a.bobDeg, '°')} after.`
      : 'No walking was found in this clip.',
  };
}

/** Far below what packed rotations resolve. */
function atLeast(value: number): number {
  return Math.max(value, 1e-4);
}

function coveragePlots(clip: Clip): PlotContent[] {
  const coverage = coverageOf(clip);
  if (!coverage || !clip.rig) return [];
  const margin =
    ((coveredHalfAngle(clip.rig, clip.picture) * 360) / Math.PI - clip.rig.outputFieldDeg) / 2;
  const black = largestOf(coverage.black);
  const mask = clip.mask
    ? `a round mask of ${amount((clip.mask.opaqueFrom * 180) / Math.PI, '°')} half its angle across hides every edge`
    : 'no edge comes into view';
  const shared = { x: clip.times, over: 'time', scale: 'from zero', height: OTHER } as const;
  return [
    {
      ...shared,
      title: 'The worse eye’s optical axis off the middle of the view',
      unit: '°',
      lines: [{ label: 'off the middle', values: coverage.swing, colour: 'after' }],
      ...(margin > 0.05 && { levels: [{ value: round(margin), label: 'margin of the lens' }] }),
      text: `Up to ${amount(largestOf(coverage.swing), '°')}; resampled from the ${clip.picture} picture, which leaves a margin of ${amount(Math.max(0, margin), '°')}.`,
    },
    {
      ...shared,
      title: 'Black part of the worse eye’s view, without the mask',
      unit: '%',
      lines: [{ label: 'black', values: coverage.black, colour: 'after' }],
      text: `At worst ${amount(black, '%')}; ${mask}.`,
    },
  ];
}

function disparityPlot(clip: Clip): PlotContent[] {
  const values = disparityOf(clip);
  if (!values || !clip.rig) return [];
  const { care, bad } = VERTICAL_DISPARITY;
  return [
    {
      title: `Vertical disparity at ${clip.rig.nearestSubjectM} m, worst place in the view`,
      ...{ unit: 'arcmin', x: clip.times, over: 'time', scale: 'from zero', height: OTHER },
      lines: [{ label: 'disparity', values, colour: 'after' }],
      levels: [
        { value: care, label: 'with care from' },
        { value: bad, label: 'not usable from' },
      ],
      text: `Largest: ${amount(largestOf(values), 'arcmin')} (${care} is our judgement, ${bad} the end of fusion by Qin et al. 2006).`,
    },
  ];
}

function largestOf(values: Float64Array): number {
  return values.reduce((a, b) => Math.max(a, b), 0);
}

function round(value: number): number {
  return Number(value.toFixed(1));
}

function range(values: Float64Array): string {
  const low = values.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
  const high = values.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  return `${amount(low, '°', 1)} and ${amount(high, '°', 1)}`;
}
