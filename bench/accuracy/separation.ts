/**
 * How far separations lie from the intended path of synthetic walks: one row per method, one
 * column per kind of walk, root mean square angle in degrees, every clip weighing the same.
 */
import type { FilterName } from '../../src/motion/separate.js';
import { separate } from '../../src/motion/separate.js';
import { errorsOf, pooled, trackOf } from './evaluate.js';
import { printTable } from './table.js';
import { makeWalk, WALK_KINDS } from './walks.js';

const FILTERS: readonly FilterName[] = [
  'gaussian',
  'butterworth',
  'savitzky-golay',
  'spline',
  'structural',
];

/**
 * @param title - which seeds these are
 * @param firstSeed - of twelve per kind
 */
export function printSeparation(title: string, firstSeed: number, count = 12): void {
  const kinds = WALK_KINDS;
  const names = ['raw', ...FILTERS];
  const levelled = new Map(names.map((name) => [name, [] as number[]]));
  const kept = new Map(names.map((name) => [name, [] as number[]]));
  const worse: number[] = [];
  /** Nothing in the rotation of hands that shake broadly says whether the feet walk. */
  const named: string[] = [];
  for (const kind of kinds) {
    const errors = new Map(names.map((name) => [name, [] as { kept: number; levelled: number }[]]));
    let losses = 0;
    let right = 0;
    for (let seed = firstSeed; seed < firstSeed + count; seed++) {
      const walk = makeWalk(kind, seed);
      const track = trackOf(walk);
      const raw = errorsOf(walk, walk.measured);
      errors.get('raw')!.push(raw);
      for (const filter of FILTERS) {
        const { intended, shot } = separate(track, { filter });
        const error = errorsOf(walk, intended.quaternions);
        errors.get(filter)!.push(error);
        if (filter !== 'structural') continue;
        if (error.levelled > raw.levelled) losses++;
        if (shot === expectedShot(kind, walk.walking)) right++;
      }
    }
    for (const name of names) {
      levelled.get(name)!.push(pooled(errors.get(name)!.map((error) => error.levelled)));
      kept.get(name)!.push(pooled(errors.get(name)!.map((error) => error.kept)));
    }
    worse.push(losses);
    named.push(kind === 'handheld' ? '–' : String(right));
  }
  printTable(
    `${title}: roll levelled, degrees`,
    ['method', ...kinds],
    names.map((name) => [name, ...levelled.get(name)!]),
  );
  printTable(
    `${title}: roll kept (the roll drift of the track counts as intended), degrees`,
    ['method', ...kinds],
    names.map((name) => [name, ...kept.get(name)!]),
  );
  printTable(
    `${title}: clips of ${count} further from the intended path than the raw track; clips named rightly`,
    ['structural', ...kinds],
    [
      ['worse than raw', ...worse.map(String)],
      ['named rightly', ...named],
    ],
  );
}

function expectedShot(kind: string, walking: boolean): string {
  if (walking || kind === 'scurve' || kind.startsWith('roam')) return 'travelling';
  return kind === 'panhold' || kind === 'tilt' ? 'pan' : 'locked-off';
}
