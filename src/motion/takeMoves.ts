import { DEGREES_PER_RADIAN } from '../math.js';
import {
  butterworthHighPass,
  butterworthLowPass,
  filterForwardBackward,
} from '../numeric/filterDesign.js';
import { quantile } from '../numeric/quantile.js';
import { runningMean } from '../numeric/runningMean.js';
import type { OrientationTrack } from '../track/orientationTrack.js';
import { anglesOf } from './pathCoordinates.js';

/** Something in a take that the person who filmed it remembers. */
export interface TakeMove {
  /** Turning left (positive) or right; looking up (positive) or down; walking. */
  readonly kind: 'turn' | 'look' | 'walk';
  /** Seconds from the first frame. */
  readonly fromSeconds: number;
  /** Seconds from the first frame. */
  readonly toSeconds: number;
  /** How far, degrees: positive left or up; 0 for walking. */
  readonly angleDeg: number;
}

/** Smaller turns and nods are not remembered, degrees (our judgement). */
const REMEMBERED_DEG = { turn: 15, look: 8 };
/** A move begins and ends where this share of its way lies before and after. */
const ENDS_SHARE = 0.05;

/**
 * What happens in a take, in the order of time: turns and looks of the intended path that a person
 * remembers, and where they walk.
 *
 * @param intended - S, camera→world, level; turns are told from its heading
 * @param measured - C at the same times, in which the steps show
 * @param gait - whether somebody walks, and at how many steps per second
 * @returns moves in the order of their beginning; cost O(n)
 * @example
 * movesOfTake(result.intended, track, result.gait)[0]?.kind; // 'walk'
 */
export function movesOfTake(
  intended: OrientationTrack,
  measured: OrientationTrack,
  gait: { readonly walking: boolean; readonly stepFrequency: number },
): TakeMove[] {
  const { heading, tilt } = anglesOf(intended.quaternions);
  const { times } = intended;
  const walks = gait.walking ? walkedStretches(measured, gait.stepFrequency) : [];
  return [
    ...legs(heading, times, 'turn'),
    ...legs(tilt, times, 'look'),
    ...walks.map(
      ([from, to]): TakeMove => ({
        kind: 'walk',
        fromSeconds: times[from]!,
        toSeconds: times[to]!,
        angleDeg: 0,
      }),
    ),
  ].sort((a, b) => a.fromSeconds - b.fromSeconds);
}

/** The way from each turning point of a signal to the next, where these lie far enough apart. */
function legs(signal: Float64Array, times: Float64Array, kind: 'turn' | 'look'): TakeMove[] {
  const least = REMEMBERED_DEG[kind] / DEGREES_PER_RADIAN;
  const pivots = turningPoints(signal, least);
  return pivots.slice(1).map((to, i): TakeMove => {
    const from = pivots[i]!;
    const way = signal[to]! - signal[from]!;
    const done = (k: number) => (signal[k]! - signal[from]!) / way;
    let begin = from;
    while (begin < to && done(begin + 1) < ENDS_SHARE) begin++;
    let end = to;
    while (end > begin + 1 && done(end - 1) > 1 - ENDS_SHARE) end--;
    return {
      kind,
      fromSeconds: times[begin]!,
      toSeconds: times[end]!,
      angleDeg: way * DEGREES_PER_RADIAN,
    };
  });
}

/**
 * Samples at which a signal turns round by more than `least`, its first and last significant ones
 * included: each lies at least that far from the next.
 */
function turningPoints(signal: Float64Array, least: number): number[] {
  let [low, high] = [0, 0];
  const out: number[] = [];
  let rising: boolean | undefined;
  for (let k = 1; k < signal.length; k++) {
    if (signal[k]! > signal[high]!) high = k;
    if (signal[k]! < signal[low]!) low = k;
    const [up, down] = [signal[k]! - signal[low]! >= least, signal[high]! - signal[k]! >= least];
    if (up && rising !== true) {
      out.push(low);
      [rising, high] = [true, k];
    } else if (down && rising !== false) {
      out.push(high);
      [rising, low] = [false, k];
    }
    if (rising === true && high === k) low = k;
    if (rising === false && low === k) high = k;
  }
  if (rising !== undefined) out.push(rising ? high : low);
  return out;
}

/** Steps show within this share of their frequency. */
const STEP_SHARE = 0.25;
/** Walking is where steps reach this share of what they do in the clearest quarter of the take. */
const STEP_CLEAR = 0.3;
/** Pauses shorter than this belong to the walk; shorter walks are none, s (our judgement). */
const LEAST_WALK = 4;
/** Steps are averaged over this long on either side, s. */
const STEP_REACH = 1.5;

/** First and last sample of each stretch in which steps show in the tilt. */
function walkedStretches(measured: OrientationTrack, stepFrequency: number): [number, number][] {
  const { tilt } = anglesOf(measured.quaternions);
  const n = tilt.length;
  const rate = (n - 1) / measured.times[n - 1]!;
  const pad = Math.round(3 * rate);
  const band = filterForwardBackward(
    butterworthHighPass(stepFrequency * (1 - STEP_SHARE), rate),
    filterForwardBackward(butterworthLowPass(stepFrequency * (1 + STEP_SHARE), rate), tilt, pad),
    pad,
  );
  const power = runningMean(
    band.map((value) => value * value),
    Math.round(STEP_REACH * rate),
  );
  const clear = STEP_CLEAR ** 2 * quantile(power, 0.75);
  const least = LEAST_WALK * rate;
  const out: [number, number][] = [];
  power.forEach((value, k) => {
    if (value < clear) return;
    const last = out[out.length - 1];
    if (last && k - last[1] < least) last[1] = k;
    else out.push([k, k]);
  });
  return out.filter(([from, to]) => to - from >= least);
}
