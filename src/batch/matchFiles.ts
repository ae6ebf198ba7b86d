import { takeOf } from './takeOf.js';
import type { TimedFile } from './timedFile.js';

/** Two files that may go together, the better the smaller the misfit. */
export interface Candidate<A, B> {
  readonly a: A;
  readonly b: B;
  readonly misfit: number;
}

/** Files of one take by their names; of several the one that lies nearer fits better. */
export function namesakes<A extends TimedFile, B extends TimedFile>(
  as: readonly A[],
  bs: readonly B[],
): Candidate<A, B>[] {
  const byTake = groupBy(bs, ({ path }) => takeOf(path));
  return as.flatMap((a) =>
    (byTake.get(takeOf(a.path)) ?? []).map((b) => ({
      a,
      b,
      misfit: foldersBetween(a.path, b.path),
    })),
  );
}

/** Pairs of which each is the other's best; where two fit equally well neither is taken. */
export function matched<A extends TimedFile, B extends TimedFile>(
  candidates: Candidate<A, B>[],
  unclear: [string, string][],
): [A, B][] {
  candidates.sort((one, other) => one.misfit - other.misfit);
  const taken = new Set<A | B>();
  const pairs: [A, B][] = [];
  for (let from = 0, to = 0; from < candidates.length; from = to) {
    while (to < candidates.length && candidates[to]!.misfit === candidates[from]!.misfit) to++;
    const equal = candidates.slice(from, to).filter(({ a, b }) => !taken.has(a) && !taken.has(b));
    const seen = new Map<A | B, number>();
    for (const { a, b } of equal) {
      for (const each of [a, b]) seen.set(each, (seen.get(each) ?? 0) + 1);
    }
    for (const { a, b } of equal) {
      taken.add(a).add(b);
      if (seen.get(a) === 1 && seen.get(b) === 1) pairs.push([a, b]);
      else unclear.push([a.path, b.path]);
    }
  }
  return pairs;
}

/** Things by what they have in common, in their order. */
export function groupBy<F>(files: readonly F[], keyOf: (file: F) => string): Map<string, F[]> {
  const groups = new Map<string, F[]>();
  for (const file of files) {
    const group = groups.get(keyOf(file));
    if (group) group.push(file);
    else groups.set(keyOf(file), [file]);
  }
  return groups;
}

/** How many folders lie between two files: 0 in the same one. */
function foldersBetween(a: string, b: string): number {
  const [first, second] = [a.split('/'), b.split('/')];
  let shared = 0;
  while (shared < first.length - 1 && first[shared] === second[shared]) shared++;
  return first.length + second.length - 2 * shared - 2;
}
