import type { CorrectionResult } from '../correct.js';
import { requireFiniteFigures, requireFiniteRotations } from '../track/finite.js';

/**
 * Refuses a result with anything that is no number, before a writer makes a file of it: what
 * {@link correct} gives has none, what a program altered may.
 *
 * @throws TwinkeelError `track/not-finite`, `argument/not-finite`
 */
export function requireSoundResult(result: CorrectionResult): void {
  const { corrections, intended } = result;
  requireFiniteRotations(corrections.quaternions, 'correction');
  requireFiniteRotations(intended.quaternions, 'intended');
  requireFiniteFigures(corrections.times[corrections.times.length - 1], 'times');
}
