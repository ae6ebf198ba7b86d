import { byNaturalPath } from './naturalOrder.js';
import type { TimedFile } from './timedFile.js';

const DAY = 86_400;

/**
 * Things in the order in which they were shot: by time code where they have one, else by a clock with
 * a date, else by name. Those that do not know their time keep the place that their name gives them;
 * the others share the places that are left among themselves.
 *
 * @param timeOf - the file that tells when each was shot
 */
export function shootOrder<Thing>(
  things: readonly Thing[],
  timeOf: (thing: Thing) => TimedFile,
): Thing[] {
  const named = things
    .map((thing) => ({ thing, ...timeOf(thing) }))
    .sort((a, b) => byNaturalPath(a.path, b.path));
  const dawn = quietMoment(named.flatMap(({ timecodeS }) => timecodeS ?? []));
  const coded = named.filter(({ timecodeS }) => timecodeS !== undefined);
  const clocked = named.filter((one) => one.timecodeS === undefined && one.clockS !== undefined);
  coded.sort((a, b) => sinceDawn(a.timecodeS!, dawn) - sinceDawn(b.timecodeS!, dawn));
  clocked.sort((a, b) => a.clockS! - b.clockS!);
  return named.map((one) => {
    if (one.timecodeS !== undefined) return coded.shift()!.thing;
    return one.clockS !== undefined ? clocked.shift()!.thing : one.thing;
  });
}

/** The end of the longest pause on the clock's face: a night's work goes past midnight. */
function quietMoment(codes: readonly number[]): number {
  const around = [...codes].sort((a, b) => a - b);
  let dawn = around[0] ?? 0;
  let longest = dawn + DAY - (around.at(-1) ?? 0);
  for (let k = 1; k < around.length; k++) {
    const pause = around[k]! - around[k - 1]!;
    if (pause > longest) {
      longest = pause;
      dawn = around[k]!;
    }
  }
  return dawn;
}

function sinceDawn(seconds: number, dawn: number): number {
  return (seconds - dawn + DAY) % DAY;
}
