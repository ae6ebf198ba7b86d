/** A corrected clip in words and a table. */
import { VERTICAL_DISPARITY } from '../comfort/criteria.js';
import type { CorrectionResult } from '../correct.js';
import { DEGREES_PER_RADIAN } from '../math.js';
import { rounded } from '../readable.js';
import { coveredHalfAngle } from '../rig/coverage.js';
import type { Projection } from '../rig/picture.js';
import type { RigDescription } from '../rig/stereoRig.js';

/** Kind of shot and gait in one line. */
export function describeShot(
  result: Pick<CorrectionResult, 'shot' | 'confidence' | 'gait'> & { readonly because?: string },
): string {
  const steps = result.gait.walking
    ? `walking at ${result.gait.stepFrequency.toFixed(2)} steps per second`
    : 'no walking found';
  const why = result.because ? `; what speaks for it: ${result.because}` : '';
  return `${result.shot} shot (confidence ${Math.round(100 * result.confidence)} %), ${steps}${why}`;
}

/** Before and after, as a table. */
export function figuresTable({ assessment }: Pick<CorrectionResult, 'assessment'>): string[] {
  const { before, after } = assessment;
  const rows: [string, number, number, string][] = [
    [
      'turning left and right, typical rate',
      before.rateRmsDegPerS.heading,
      after.rateRmsDegPerS.heading,
      '°/s',
    ],
    [
      'tilting up and down, typical rate',
      before.rateRmsDegPerS.tilt,
      after.rateRmsDegPerS.tilt,
      '°/s',
    ],
    ['rolling, typical rate', before.rateRmsDegPerS.roll, after.rateRmsDegPerS.roll, '°/s'],
    [
      'fast moments of tilting (95 % are slower)',
      before.rate95DegPerS.tilt,
      after.rate95DegPerS.tilt,
      '°/s',
    ],
    ['step bob (tilt at the pace of steps)', before.bobDeg, after.bobDeg, '°'],
    ['horizon off level, typical', before.horizonRmsDeg, after.horizonRmsDeg, '°'],
  ];
  const width = Math.max(...rows.map(([label]) => label.length));
  return [
    `${''.padEnd(width)}    before     after`,
    ...rows.map(
      ([label, first, second, unit]) =>
        `${label.padEnd(width)} ${first.toFixed(2).padStart(9)} ${second.toFixed(2).padStart(9)}  ${unit}`,
    ),
    '(typical: root mean square)',
    `correction: typically ${assessment.typicalCorrectionDeg.toFixed(2)}°, at most ${assessment.largestCorrectionDeg.toFixed(2)}° (the same in both eyes)`,
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
    ...prefixed('eyes.left.', rig.rig.eyes.left),
    ...prefixed('eyes.left.readout.', rig.rig.eyes.left.readout),
    ...prefixed('eyes.right.', rig.rig.eyes.right),
    ...prefixed('eyes.right.readout.', rig.rig.eyes.right.readout),
  };
  const assumed = rig.assumed.map((name) => `${name} ${said(values[name])}`);
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

/** A value of a description as a person would write it. */
function said(value: unknown): string {
  if (Array.isArray(value))
    return value.every((part, i) => part === Number(i === 3)) ? 'none' : value.join(' ');
  if (value !== null && typeof value === 'object') return Object.values(value).map(said).join(' ');
  return String(value);
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
  const { care, bad } = VERTICAL_DISPARITY;
  lines.push(
    `vertical disparity at ${rig.nearestSubjectM} m: at worst ${worstDisparityArcmin.toFixed(1)} arcmin (with care above ${care}, not usable above ${bad}); below ${care} from ${rounded(rigAssessment.comfortableFromM)} m on`,
    `the lenses’ middle leaves the middle of the view by up to ${largestSwingDeg.toFixed(1)}°; black in the worst frame: ${(100 * uncoveredShare).toFixed(2)} % of the view (the worse eye, ${picture} pictures)`,
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
