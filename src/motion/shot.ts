import type { Gait } from './gait.js';
import { findMoves, shareMoving, swayLevel } from './moves.js';
import type { Coordinates } from './pathCoordinates.js';

/**
 * Kind of shot: walking through or looking about all the time; standing and turning once or a few
 * times; standing still.
 */
export type ShotKind = 'travelling' | 'pan' | 'locked-off';

/** A kind of shot and how clearly it is one, 0 to 1. */
export interface ShotGuess {
  readonly shot: ShotKind;
  readonly confidence: number;
}

/** Gait scores between these are undecided; see {@link Gait}. */
const WALKING_SCORE = { unclear: 2.8, middle: 3.8, clear: 5 };
/** Above this share of moving samples a stand becomes a continuous look about. */
const CONTINUOUS = 0.6;

/**
 * Recognises the kind of shot from the steps and from how much of the clip is spent moving.
 *
 * @param slow - heading, tilt and roll without bob, radians
 * @param sampleRate - Hz
 */
export function recogniseShot(slow: Coordinates, sampleRate: number, gait: Gait): ShotGuess {
  const n = slow.heading.length;
  const axes = [slow.heading, slow.tilt].map((signal) => {
    const moves = findMoves(signal, sampleRate, swayLevel(signal, sampleRate));
    return { moves: moves.length, share: shareMoving(moves, n) };
  });
  const moving = Math.max(...axes.map(({ share }) => share));
  const anyMove = axes.some(({ moves }) => moves > 0);
  const short = Math.min(1, n / sampleRate / 20);
  const walking = gait.score > WALKING_SCORE.middle;
  const { unclear, clear } = WALKING_SCORE;
  const gaitClarity = Math.min(
    1,
    walking
      ? 0.5 + (0.5 * (gait.score - WALKING_SCORE.middle)) / (clear - WALKING_SCORE.middle)
      : 0.5 + (0.5 * (WALKING_SCORE.middle - gait.score)) / (WALKING_SCORE.middle - unclear),
  );
  if (walking || moving > CONTINUOUS) {
    return { shot: 'travelling', confidence: (walking ? gaitClarity : 0.7) * (0.5 + 0.5 * short) };
  }
  return { shot: anyMove ? 'pan' : 'locked-off', confidence: gaitClarity * (0.5 + 0.5 * short) };
}

/** Whether the score says that someone walks. */
export function isWalking(gait: Gait): boolean {
  return gait.score > WALKING_SCORE.middle;
}
