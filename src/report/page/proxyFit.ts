import { clockTime } from '../../readable.js';
import { number } from '../stretchWords.js';
import type { Clip } from './motion.js';

/** What the browser tells of a movie. */
export interface FoundMovie {
  readonly durationS: number;
  readonly width: number;
  readonly height: number;
  readonly stamps: FrameStamps;
}

/** A container may round a duration to a frame, and players count the last one or not. */
const FRAMES_OFF = 1.5;

/** What does not fit between a movie and the clip it is played for, each in a sentence. */
export function misfits(
  clip: Pick<Clip, 'frameRate' | 'frames'>,
  { durationS, width, height, stamps }: FoundMovie,
  layout: 'side-by-side' | 'top-bottom',
): string[] {
  const clipRate = rateOf(clip);
  const clipS = clip.frames / clipRate;
  const said: string[] = [];
  if (Number.isFinite(durationS) && Math.abs(durationS - clipS) * clipRate > FRAMES_OFF) {
    const by = Math.round(Math.abs(durationS - clipS) * clipRate);
    const other = durationS > clipS ? 'longer' : 'shorter';
    said.push(
      `It lasts ${clockTime(durationS)} min, the clip ${clockTime(clipS)} min: ${by} frames of the clip ${other}, so it may begin elsewhere.`,
    );
  }
  const { slipped, rate } = stamps;
  if (slipped || (rate !== undefined && rate > clipRate * (1 + RATE_OFF))) {
    const count =
      Number.isFinite(durationS) && rate ? `, some ${Math.round(durationS * rate)} in all` : '';
    const shows = rate
      ? `It runs at ${number(rate, 2)} frames per second${count}`
      : `At ${number(slipped!.asked, 3)} s it shows the frame of ${number(slipped!.shown, 3)} s`;
    said.push(
      `${shows}; the clip has ${clip.frames} frames, ${number(clipRate, 2)} per second: make the proxy at the clip’s rate.`,
    );
  }
  if (width > 0 && height > 0 && width > height !== (layout === 'side-by-side')) {
    said.push(
      `Its picture is ${width} × ${height}, which looks like the other order of the eyes: ${width > height ? 'side by side' : 'top and bottom'}.`,
    );
  }
  return said;
}

/** Rates that differ by less are one rate: containers round stamps to a millisecond. */
const RATE_OFF = 0.01;
/** Steps of play from which a rate is told (our judgement). */
const LEAST_STEPS = 12;

function rateOf({ frameRate: { numerator, denominator } }: Pick<Clip, 'frameRate'>): number {
  return numerator / denominator;
}

/**
 * Time stamps of the frames that a movie showed. A slow machine leaves frames out while it plays, so
 * a rate below the clip's is believed only where a frame that was asked for proved to be another.
 */
export class FrameStamps {
  /** A frame that was asked for, and the one that came: their times, s. */
  slipped: { readonly asked: number; readonly shown: number } | undefined;
  private steps: number[] = [];
  private last: number | undefined;

  /** A frame that was shown while the movie plays. */
  played(mediaTime: number): void {
    const step = mediaTime - (this.last ?? mediaTime);
    if (step > 0) this.steps.push(step);
    this.last = mediaTime;
    if (this.steps.length > 400) this.steps = this.steps.slice(200);
  }

  /** The frame that came when one of the clip's was asked for. */
  sought(clip: Pick<Clip, 'frameRate'>, frame: number, mediaTime: number): void {
    this.last = undefined;
    const asked = frame / rateOf(clip);
    // Half a frame off is rounding no more.
    if (Math.abs(mediaTime - asked) * rateOf(clip) > 0.6) {
      this.slipped ??= { asked, shown: mediaTime };
    }
  }

  /** Frames per second of play: the mean of the shortest steps, which left nothing out. */
  get rate(): number | undefined {
    const least = Math.min(...this.steps);
    const single = this.steps.filter((step) => step < 1.5 * least);
    if (single.length < LEAST_STEPS) return undefined;
    return single.length / single.reduce((sum, step) => sum + step, 0);
  }
}
