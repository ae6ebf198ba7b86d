import {
  anglesDeg,
  type Clip,
  correctionDeg,
  coverageOf,
  disparityOf,
  pictureOrientations,
  tiltSpectrum,
} from './motion.js';
import type { PlotContent } from './plots.js';

const SECONDS = 'time, s';

/** Every plot of a clip, in the order of the questions a person asks. */
export function plotsOf(clip: Clip): PlotContent[] {
  const before = anglesDeg(pictureOrientations(clip));
  const after = anglesDeg(clip.intended);
  return [
    ...anglePlots(clip, before, after),
    correctionPlot(clip),
    spectrumPlot(clip),
    ...coveragePlot(clip),
    ...disparityPlot(clip),
  ];
}

type Angles = ReturnType<typeof anglesDeg>;

function anglePlots({ times }: Clip, before: Angles, after: Angles): PlotContent[] {
  const plots: [keyof Angles, string, string][] = [
    ['heading', 'Heading (positive turns left)', 'heading'],
    ['tilt', 'Tilt (positive looks up)', 'tilt'],
    ['roll', 'Roll (positive lowers the left side)', 'roll'],
  ];
  return plots.map(([name, title, word]) => ({
    title,
    unit: '°',
    x: times,
    xLabel: SECONDS,
    lines: [
      { label: 'before', values: before[name], colour: 'before' },
      { label: 'after', values: after[name], colour: 'after' },
    ],
    text: `Before, ${word} lies between ${range(before[name])}; after, between ${range(after[name])}.`,
  }));
}

function correctionPlot(clip: Clip): PlotContent {
  const values = correctionDeg(clip);
  const { largestCorrectionDeg, typicalCorrectionDeg, limitedShare } = clip.assessment;
  const limited = `A limit was active in ${(100 * limitedShare).toFixed(1)} % of the frames.`;
  return {
    title: 'Angle of the correction (the same in both eyes)',
    unit: '°',
    x: clip.times,
    xLabel: SECONDS,
    lines: [{ label: 'correction', values, colour: 'after' }],
    levels:
      limitedShare > 0
        ? [{ value: largestCorrectionDeg, label: `largest ${largestCorrectionDeg.toFixed(1)}°` }]
        : [],
    text: `The correction is ${typicalCorrectionDeg.toFixed(2)}° RMS and ${largestCorrectionDeg.toFixed(2)}° at most. ${limited}`,
  };
}

function spectrumPlot(clip: Clip): PlotContent {
  const rate = clip.frameRate.numerator / clip.frameRate.denominator;
  const before = tiltSpectrum(pictureOrientations(clip), rate);
  const after = tiltSpectrum(clip.intended, rate);
  const { walking, stepFrequency } = clip.gait;
  const { before: b, after: a } = clip.assessment;
  return {
    title: 'What the nodding is made of',
    unit: '°/√Hz',
    x: before.frequencies,
    xLabel: 'frequency, Hz',
    // A logarithm has no place for nothing.
    lines: [
      { label: 'before', values: before.amplitude.map(atLeast), colour: 'before' },
      { label: 'after', values: after.amplitude.map(atLeast), colour: 'after' },
    ],
    logarithmic: true,
    marks: walking ? [{ x: stepFrequency, label: `steps, ${stepFrequency.toFixed(2)} Hz` }] : [],
    text: walking
      ? `At the pace of steps, ${stepFrequency.toFixed(2)} Hz, the nod is ${b.bobDeg.toFixed(2)}° before and ${a.bobDeg.toFixed(2)}° after.`
      : 'No walking was found in this clip.',
  };
}

function atLeast(value: number): number {
  return Math.max(value, 1e-5);
}

function coveragePlot(clip: Clip): PlotContent[] {
  const coverage = coverageOf(clip);
  if (!coverage) return [];
  const worst = coverage.black.reduce((a, b) => Math.max(a, b), 0);
  const mask = clip.mask
    ? ` A round mask of ${((clip.mask.opaqueFrom * 180) / Math.PI).toFixed(1)}° half its angle across hides every edge.`
    : ' No edge comes into view.';
  return [
    {
      title: `Edges of the ${clip.picture} picture: swing of the worse eye’s optical axis, and how much of the view is black without the mask`,
      unit: '° and %',
      x: clip.times,
      xLabel: SECONDS,
      lines: [
        { label: 'swing of the axis, °', values: coverage.swing, colour: 'after' },
        { label: 'black, %', values: coverage.black, colour: 'before' },
      ],
      text: `At worst ${worst.toFixed(2)} % of the view of one eye is black, resampled from the ${clip.picture} picture.${mask}`,
    },
  ];
}

function disparityPlot(clip: Clip): PlotContent[] {
  const values = disparityOf(clip);
  if (!values || !clip.rig) return [];
  const worst = values.reduce((a, b) => Math.max(a, b), 0);
  return [
    {
      title: `Vertical disparity at ${clip.rig.nearestSubjectM} m, worst place in the view`,
      unit: 'arcmin',
      x: clip.times,
      xLabel: SECONDS,
      lines: [{ label: 'disparity', values, colour: 'after' }],
      levels: [
        { value: 5, label: '5: with care (our judgement)' },
        { value: 20, label: '20: reshoot (end of fusion, Qin et al. 2006)' },
      ],
      text: `The largest vertical disparity is ${worst.toFixed(1)} arcmin for a subject at ${clip.rig.nearestSubjectM} m.`,
    },
  ];
}

function range(values: Float64Array): string {
  const low = values.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
  const high = values.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  return `${tenths(low)}° and ${tenths(high)}°`;
}

/** One decimal, without a minus before nothing. */
function tenths(value: number): string {
  return (Math.round(10 * value) / 10 + 0).toFixed(1);
}
