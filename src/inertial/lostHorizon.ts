import type { Span } from './spans.js';

/** Seconds over which the mean force of a carried camera shows where up is. */
const WINDOW = 8;
/** Distance of the windows, s. */
const HOP = 1;
/**
 * Mean horizontal acceleration over {@link WINDOW} that no hand-held camera shows, m/s²: it would
 * gain 10 m/s, a sprinter's top speed (our judgement). A horizon that is wrong by 7° shows as much.
 */
const IMPOSSIBLE = 1.2;

/**
 * Stretches in which the horizon cannot be where the smoother has it: averaged over eight seconds,
 * the force of a carried camera points up, whatever the motion.
 *
 * @param nodeTimes - seconds; length K + 1
 * @param impulses - integrals of the force in the world from node to node, m/s; length 3(K + 1)
 * @param unknown - stretches whose force says nothing
 */
export function lostStretches(
  nodeTimes: Float64Array,
  impulses: Float64Array,
  unknown: readonly Span[],
): Span[] {
  const K = nodeTimes.length - 1;
  const duration = nodeTimes[K]!;
  const window = Math.min(WINDOW, duration);
  const spans: { from: number; to: number }[] = [];
  let from = 0;
  let to = 0;
  let x = 0;
  let z = 0;
  for (let start = 0; start <= duration - window + 1e-9; start += HOP) {
    while (to < K && nodeTimes[to + 1]! <= start + window + 1e-9) {
      to++;
      x += impulses[3 * to]!;
      z += impulses[3 * to + 2]!;
    }
    while (from < to && nodeTimes[from]! < start) {
      from++;
      x -= impulses[3 * from]!;
      z -= impulses[3 * from + 2]!;
    }
    const length = nodeTimes[to]! - nodeTimes[from]!;
    // Shorter ones, in a short log or beside a gap, may be a run-up.
    if (length < 0.75 * WINDOW) continue;
    if (unknown.some((span) => span.from < nodeTimes[to]! && span.to > nodeTimes[from]!)) continue;
    if (Math.hypot(x, z) < IMPOSSIBLE * length) continue;
    const last = spans[spans.length - 1];
    if (last && last.to >= nodeTimes[from]!) last.to = nodeTimes[to]!;
    else spans.push({ from: nodeTimes[from]!, to: nodeTimes[to]! });
  }
  return spans;
}
