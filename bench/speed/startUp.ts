import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { trackToCsv } from '../../src/handoff/csv.js';
import { trackOf } from '../accuracy/evaluate.js';
import { printTable } from '../accuracy/table.js';
import { makeWalk } from '../accuracy/walks.js';

const ROUNDS = 15;

/** What it costs to start the command, beside Node itself with nothing to do. */
export function compareStartUp(): void {
  const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
  const nothing = join(folder, 'nothing.mjs');
  writeFileSync(nothing, '');
  const clip = join(folder, 'walk.csv');
  writeFileSync(clip, trackToCsv(trackOf(makeWalk('heading', 1, { duration: 10 }))));
  const command = new URL('../../dist/command/cli.js', import.meta.url).pathname;
  const calls: [string, string[]][] = [
    ['node alone', [nothing]],
    ['twinkeel --help', [command, '--help']],
    ['twinkeel correct --help', [command, 'correct', '--help']],
    // Another folder every time: what is there already would be kept.
    ['twinkeel correct, a clip of 10 s', [command, 'correct', clip, '--out']],
  ];
  const least = calls.map(() => Number.POSITIVE_INFINITY);
  try {
    // In turns, so that a busy moment touches all of them.
    for (let round = 0; round < ROUNDS; round++) {
      calls.forEach(([, args], k) => {
        const out = args.at(-1) === '--out' ? [join(folder, `out-${round}`)] : [];
        const start = performance.now();
        const { status, stderr } = spawnSync(process.execPath, [...args, ...out]);
        if (status !== 0) throw new Error(String(stderr));
        least[k] = Math.min(least[k]!, performance.now() - start);
      });
    }
  } finally {
    rmSync(folder, { recursive: true });
  }
  printTable(
    `Start: milliseconds on the clock, the least of ${ROUNDS}`,
    ['call', 'ms', 'over node alone, ms'],
    calls.map(([name], k) => [name, least[k]!, least[k]! - least[0]!]),
  );
}
