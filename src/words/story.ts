/** A take as the person remembers it who filmed it. */
import type { CorrectionResult } from '../correct.js';
import type { TakeMove } from '../motion/takeMoves.js';
import { clockTime } from '../readable.js';

/** More moves than these are counted, the largest told. */
const TOLD = 10;

/**
 * What happens in the take, one line: "walks 0:00.0–0:31.0 at 1.9 steps per second; 0:12.0–0:15.5 turns
 * left 85°". Whoever knows the take sees a wrong sign or a mirrored pan at once.
 */
export function tellStory({ moves, gait }: Pick<CorrectionResult, 'moves' | 'gait'>): string {
  const turns = moves.filter(({ kind }) => kind !== 'walk');
  const told = new Set(
    [...turns].sort((a, b) => Math.abs(b.angleDeg) - Math.abs(a.angleDeg)).slice(0, TOLD),
  );
  const walks = moves.filter(({ kind }) => kind === 'walk');
  const pace = `at ${gait.stepFrequency.toFixed(1)} steps per second`;
  const parts = [
    ...(walks.length === 0 ? [] : [`walks ${walks.map(spanOf).join(', ')} ${pace}`]),
    ...turns.filter((move) => told.has(move)).map((move) => `${spanOf(move)} ${deedOf(move)}`),
    ...(turns.length > TOLD ? [`and ${turns.length - TOLD} smaller turns and looks`] : []),
  ];
  const rest = gait.walking ? 'no turn to speak of' : 'stands still, no turn to speak of';
  return `the take: ${[...parts, ...(turns.length === 0 ? [rest] : [])].join('; ')}`;
}

function spanOf({ fromSeconds, toSeconds }: TakeMove): string {
  return `${clockTime(fromSeconds)}–${clockTime(toSeconds)}`;
}

function deedOf({ kind, angleDeg }: TakeMove): string {
  const degrees = `${Math.abs(angleDeg).toFixed(0)}°`;
  if (kind === 'turn') return `turns ${angleDeg > 0 ? 'left' : 'right'} ${degrees}`;
  return `looks ${angleDeg > 0 ? 'up' : 'down'} ${degrees}`;
}
