import { DEGREES_PER_RADIAN } from '../math.js';
import {
  butterworthHighPass,
  butterworthLowPass,
  filterForwardBackward,
} from '../numeric/filterDesign.js';
import { runningMean } from '../numeric/runningMean.js';
import { worstDisparities } from '../rig/stereoCost.js';
import type { StereoRig } from '../rig/stereoRig.js';
import { composeQuaternions, invertQuaternions, rotateVectors } from '../rotation/arrays.js';
import { angularRate } from '../track/angularRate.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import type { TrackerFault } from '../track/trackerFaults.js';

/** One figure at every frame, averaged over about a second: what a viewer perceives as a moment. */
export interface MomentaryFigure {
  /** What was judged, in words. */
  readonly figure: string;
  readonly unit: string;
  /** Above it a moment is usable with care; above `bad` it is not. */
  readonly care: number;
  readonly bad: number;
  /** Where the thresholds come from. */
  readonly source: string;
  /** Who causes it where neither tracker nor own settings do. */
  readonly cause: 'operator' | 'tracker' | 'rig';
  /** Length n. */
  readonly values: Float64Array;
}

/** Half the time over which a moment is averaged, s (our judgement: a second is a moment). */
const HALF_MOMENT = 0.5;
const JUDGEMENT = 'our judgement, as for the whole clip';
/** A mended stumble shorter than this shows nothing, s (our judgement). */
const UNSEEN_STUMBLE = 0.2;

/**
 * The figures of the corrected view at every frame.
 *
 * @param measured - C of the upright picture
 * @param intended - S
 */
export function momentaryFigures(
  measured: OrientationTrack,
  intended: OrientationTrack,
  faults: readonly TrackerFault[],
  rig: StereoRig | undefined,
): MomentaryFigure[] {
  const n = intended.times.length;
  const sampleRate = (n - 1) / intended.times[n - 1]!;
  const reach = Math.max(1, Math.round(HALF_MOMENT * sampleRate));
  const rates = angularRate(intended, 'camera').map((rate) => rate * DEGREES_PER_RADIAN);
  const axes = [0, 1, 2].map((axis) =>
    Float64Array.from({ length: n }, (_, k) => rates[3 * k + axis]!),
  );
  const total = (parts: readonly Float64Array[]) =>
    parts[0]!.map((_, k) => Math.hypot(parts[0]![k]!, parts[1]![k]!, parts[2]![k]!));
  const rms = (values: Float64Array) =>
    runningMean(
      values.map((value) => value * value),
      reach,
    ).map((mean) => Math.sqrt(Math.max(0, mean)));
  const within = (from: number, to: number) =>
    rms(total(axes.map((axis) => bandOf(axis, sampleRate, from, to))));
  const right = rotateVectors(
    intended.quaternions,
    Float64Array.from({ length: 3 * n }, (_, i) => Number(i % 3 === 0)),
  );
  const figures: MomentaryFigure[] = [
    {
      figure: 'turning of the view',
      unit: '°/s',
      ...{ care: 30, bad: 60, cause: 'operator' },
      source:
        'Lo and So 2001 (30 °/s raised nausea), Hu et al. 1989 (symptoms strongest at 60 °/s)',
      values: runningMean(total(axes), reach),
    },
    {
      figure: 'shake at the pace of steps (0.5–3 Hz)',
      unit: '°/s',
      ...{ care: 3, bad: 10, cause: 'operator', source: JUDGEMENT },
      values: within(0.5, 3),
    },
    {
      figure: 'tremor (3–12 Hz)',
      unit: '°/s',
      ...{ care: 1.5, bad: 6, cause: 'operator', source: JUDGEMENT },
      values: within(3, 12),
    },
    {
      figure: 'horizon off level',
      unit: '°',
      ...{ care: 2, bad: 8, cause: 'operator', source: 'our judgement' },
      values: runningMean(
        Float64Array.from({ length: n }, (_, k) => {
          const up = right[3 * k + 1]!;
          return (
            Math.abs(Math.atan2(up, Math.hypot(right[3 * k]!, right[3 * k + 2]!))) *
            DEGREES_PER_RADIAN
          );
        }),
        reach,
      ),
    },
    {
      figure: 'tracker at fault',
      unit: 's',
      ...{ care: UNSEEN_STUMBLE, bad: 1, cause: 'tracker', source: 'our judgement' },
      values: stumbles(faults, n, intended.times),
    },
  ];
  if (!rig) return figures;
  const inView = composeQuaternions(invertQuaternions(intended.quaternions), measured.quaternions);
  return [
    ...figures,
    {
      figure: 'vertical disparity at the nearest subject',
      unit: 'arcmin',
      ...{ care: 5, bad: 20, cause: 'rig' },
      source:
        'Qin, Takamatsu and Nakashima 2006: vertical fusion at the fovea ends at 19 to 26 arcmin; below 5 is our judgement',
      values: runningMean(worstDisparities(inView, rig.interaxialMm, rig.nearestSubjectM), reach),
    },
  ];
}

/** What lies between two frequencies, as far as the rate shows it. */
function bandOf(signal: Float64Array, sampleRate: number, from: number, to: number): Float64Array {
  const pad = Math.round(3 * sampleRate);
  if (from > 0.4 * sampleRate) return new Float64Array(signal.length);
  const high = filterForwardBackward(butterworthHighPass(from, sampleRate), signal, pad);
  return to > 0.4 * sampleRate
    ? high
    : filterForwardBackward(butterworthLowPass(to, sampleRate), high, pad);
}

/** How long the stumble lasts that a frame lies in, s; what could not be mended counts twice a second. */
function stumbles(faults: readonly TrackerFault[], n: number, times: Float64Array): Float64Array {
  const out = new Float64Array(n);
  for (const { fromSeconds, toSeconds, kind, mended } of faults) {
    const length = mended ? (kind === 'jump' ? 0 : toSeconds - fromSeconds) : UNMENDED;
    for (let k = 0; k < n; k++) {
      if (times[k]! < fromSeconds || times[k]! > toSeconds) continue;
      out[k] = Math.max(out[k]!, length);
    }
  }
  return out;
}

/** A stumble that could not be mended is worse than any that could, s. */
const UNMENDED = 2;
