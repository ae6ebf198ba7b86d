/** What the command says about clips, in words and tables for a person. */
import type { Stretch, StretchCause, StretchVerdict } from '../comfort/stretches.js';
import { JUDGED_WITH_RIG } from '../comfort/verdict.js';
import type { CorrectionResult } from '../correct.js';
import type { Warning } from '../error.js';
import { DEGREES_PER_RADIAN } from '../math.js';
import { describeOrientation } from '../read/describe.js';
import { UP_WORDS } from '../report/clipWords.js';
import { coveredHalfAngle } from '../rig/coverage.js';
import type { Projection } from '../rig/picture.js';
import type { RigDescription } from '../rig/stereoRig.js';
import { quaternionAt } from '../rotation/arrays.js';
import { formatFrameRate } from '../track/frameRate.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { medianInterval } from '../track/times.js';
import type { ClipSummary } from './summary.js';

/** What was understood of a track: length, rate, vertical, and the first row in words. */
export function describeTrack(track: OrientationTrack): string[] {
  const n = track.times.length;
  const duration = track.times[n - 1]!;
  const rate = track.frameRate
    ? `${formatFrameRate(track.frameRate)} frames per second`
    : n > 1
      ? `${(1 / medianInterval(track.times)).toFixed(2)} samples per second`
      : 'of no rate';
  return [
    `${n} samples, ${duration.toFixed(2)} s, ${rate}`,
    `vertical: ${UP_WORDS[track.up]}${track.upDeviation === undefined ? '' : `, ± ${(track.upDeviation * DEGREES_PER_RADIAN).toFixed(1)}°`}`,
    `first row: the camera ${describeOrientation(quaternionAt(track.quaternions, 0))}`,
  ];
}

/** Before and after, as a table. */
export function figuresTable({ assessment }: Pick<CorrectionResult, 'assessment'>): string[] {
  const { before, after } = assessment;
  const rows: [string, number, number, string][] = [
    [
      'turning left and right, RMS rate',
      before.rateRmsDegPerS.heading,
      after.rateRmsDegPerS.heading,
      '°/s',
    ],
    ['nodding, RMS rate', before.rateRmsDegPerS.tilt, after.rateRmsDegPerS.tilt, '°/s'],
    ['rolling, RMS rate', before.rateRmsDegPerS.roll, after.rateRmsDegPerS.roll, '°/s'],
    [
      'fast moments of nodding (95 % are slower)',
      before.rate95DegPerS.tilt,
      after.rate95DegPerS.tilt,
      '°/s',
    ],
    ['step bob (nod at the step frequency)', before.bobDeg, after.bobDeg, '°'],
    ['horizon off level', before.horizonRmsDeg, after.horizonRmsDeg, '°'],
  ];
  const width = Math.max(...rows.map(([label]) => label.length));
  return [
    `${''.padEnd(width)}    before     after`,
    ...rows.map(
      ([label, first, second, unit]) =>
        `${label.padEnd(width)} ${first.toFixed(2).padStart(9)} ${second.toFixed(2).padStart(9)}  ${unit}`,
    ),
    `correction: RMS ${assessment.typicalCorrectionDeg.toFixed(2)}°, at most ${assessment.largestCorrectionDeg.toFixed(2)}° (the same in both eyes)`,
  ];
}

/** What bounds the correction, and what was assumed about the lenses. */
export function describeLimits(
  rig: RigDescription | undefined,
  limit: number | 'none' | undefined,
  picture: Projection,
  pictureSaid: boolean,
): string[] {
  const angle = limit === undefined || limit === 'none' ? undefined : `${limit}°`;
  if (!rig) {
    return [
      `limit: ${angle ?? 'none, since neither an angle nor a rig was given; mind black edges'}`,
    ];
  }
  const bounds =
    limit === 'none' ? 'none, as you said' : `what the rig allows${angle ? `, and ${angle}` : ''}`;
  const values: Readonly<Record<string, unknown>> = {
    ...rig.rig,
    ...prefixed('lens.', rig.rig.lens),
    ...prefixed('alignment.', rig.rig.alignment),
    ...prefixed('leftReadout.', rig.rig.leftReadout),
    ...prefixed('rightReadout.', rig.rig.rightReadout),
  };
  const assumed = rig.assumed.map((name) => `${name} ${JSON.stringify(values[name])}`);
  const held = (2 * coveredHalfAngle(rig.rig, picture) * DEGREES_PER_RADIAN).toFixed(1);
  return [
    `limit: ${bounds}`,
    `picture to be resampled: ${picture}${pictureSaid ? '' : ', assumed'}; each eye’s holds ${held}°`,
    ...(assumed.length === 0 ? [] : [`assumed of the rig: ${assumed.join(', ')}`]),
  ];
}

function prefixed(prefix: string, entries: object): Record<string, unknown> {
  return Object.fromEntries(Object.entries(entries).map(([key, value]) => [prefix + key, value]));
}

/** What the correction costs the stereo pair. */
export function describeRigFigures({
  rig,
  rigAssessment,
  mask,
  swapEyes,
  picture,
}: Pick<CorrectionResult, 'rig' | 'rigAssessment' | 'mask' | 'swapEyes' | 'picture'>): string[] {
  const lines = swapEyes ? ['eyes: exchange left and right'] : [];
  if (!rig || !rigAssessment) return lines;
  const { worstDisparityArcmin, uncoveredShare, largestSwingDeg, verticalBob } = rigAssessment;
  lines.push(
    `vertical disparity at ${rig.nearestSubjectM} m: at worst ${worstDisparityArcmin.toFixed(1)} arcmin (care above 5, reshoot above 20)`,
    `optical axis turned by up to ${largestSwingDeg.toFixed(2)}°, black in the worst frame: ${(100 * uncoveredShare).toFixed(2)} % of the view (the worse eye, ${picture} pictures)`,
  );
  if (mask) {
    const half = (mask.opaqueFrom * DEGREES_PER_RADIAN).toFixed(1);
    lines.push(
      `mask: a round window of radius ${half}° (half its angle across) hides all edges, in both eyes`,
    );
  }
  if (rig.readoutMs > 0) {
    lines.push(
      `rolling shutter: up to ${rigAssessment.ignoredReadoutArcmin.toFixed(1)} arcmin if ignored`,
    );
  }
  if (verticalBob) {
    lines.push(
      `what no rotation cures: some ${verticalBob.amplitudeCm.toFixed(1)} cm of up and down at each step (${verticalBob.source}), ${verticalBob.visibleDeg.toFixed(1)}° at ${rig.nearestSubjectM} m`,
    );
  }
  return lines;
}

/** The verdict and its reasons, one line each. */
export function describeVerdict({
  verdict,
  reasons,
  rig,
}: Pick<CorrectionResult, 'verdict' | 'reasons' | 'rig'>): string[] {
  return [
    `verdict: ${verdict}${reasons.length === 0 ? '' : ', because of'}`,
    ...reasons.map(
      ({ figure, value, unit, threshold, source, nextTime }) =>
        `  ${figure}: ${value.toPrecision(3)} ${unit}, above ${threshold} ${unit} (${source}); next time: ${nextTime}`,
    ),
    ...(rig ? [] : [`  not judged without a rig (--rig): ${JUDGED_WITH_RIG}`]),
  ];
}

/** The verdicts of many clips, with what weighs most against each. */
export function verdictTable(
  clips: readonly (Pick<CorrectionResult, 'verdict' | 'reasons'> & { readonly name: string })[],
): string[] {
  const width = Math.max(4, ...clips.map(({ name }) => name.length));
  return [
    `${'clip'.padEnd(width)}  ${'verdict'.padEnd(17)}  weightiest reason`,
    ...clips.map(({ name, verdict, reasons: [first] }) => {
      const why = first ? `${first.figure}: ${first.value.toPrecision(3)} ${first.unit}` : '–';
      return `${name.padEnd(width)}  ${verdict.padEnd(17)}  ${why}`;
    }),
  ];
}

/** What became of the clips of a shoot. */
export function shootTable(clips: readonly ClipSummary[]): string[] {
  const failed = clips.filter(({ ok }) => !ok);
  return [
    ...verdictTable(clips.filter((clip) => clip.ok)),
    ...(failed.length === 0
      ? []
      : [`failed: ${failed.map(({ name }) => name).join(', ')} (see the messages)`]),
  ];
}

/** Warnings, one line each. */
export function describeWarnings(warnings: readonly Warning[]): string[] {
  return warnings.map(({ message }) => `note: ${message}`);
}

/** How many stretches are spelled out on the terminal; the result holds them all. */
const SPELLED_OUT = 3;

/** What each cause is called. */
const CAUSES: Readonly<Record<StretchCause, string>> = {
  operator: 'the operator',
  tracker: 'the tracker',
  settings: 'own settings',
  rig: 'the rig and its distance',
};

/** Which parts of a take are usable, and the weightiest of those that are not. */
export function describeStretches({ stretches }: Pick<CorrectionResult, 'stretches'>): string[] {
  const spans = (verdict: StretchVerdict) =>
    stretches
      .filter((stretch) => stretch.verdict === verdict)
      .map(({ fromSeconds, toSeconds }) => `${clockTime(fromSeconds)}–${clockTime(toSeconds)}`);
  const [usable, careful] = [spans('usable'), spans('with care')];
  const worst = stretches
    .filter(({ because }) => because !== undefined)
    .sort((a, b) => weightOf(b) - weightOf(a))
    .slice(0, SPELLED_OUT);
  return [
    `usable: ${usable.length === 0 ? 'nothing' : usable.join(', ')}${careful.length === 0 ? '' : `; with care: ${careful.join(', ')}`}`,
    ...worst.map(({ fromSeconds, toSeconds, verdict, because }) => {
      const { cause, figure, value, unit, threshold } = because!;
      return `  ${clockTime(fromSeconds)}–${clockTime(toSeconds)} ${verdict}: ${figure} ${value.toPrecision(3)} ${unit} (from ${threshold} ${unit}); caused by ${CAUSES[cause]}`;
    }),
  ];
}

function weightOf({ verdict, because }: Stretch): number {
  return (verdict === 'not usable' ? 1e6 : 0) + (because ? because.value / because.threshold : 0);
}

/** Minutes, seconds and tenths from the first frame. */
function clockTime(seconds: number): string {
  const tenths = Math.round(seconds * 10);
  return `${Math.floor(tenths / 600)}:${((tenths % 600) / 10).toFixed(1).padStart(4, '0')}`;
}
