import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { trackToCsv } from '../../src/handoff/csv.js';
import { trackOf } from '../accuracy/evaluate.js';
import { printTable } from '../accuracy/table.js';
import { makeWalk } from '../accuracy/walks.js';

const ROUNDS = 15;

/** Says at the end of a process what processor time it took, ms, as the last line of its errors. */
const TELLING = `process.on('exit', () => {
  const { user, system } = process.cpuUsage();
  require('node:fs').writeSync(2, '\\n' + (user + system) / 1000);
});`;

/** What it costs to start the command and to import the library, beside Node itself with nothing to do. */
export function compareStartUp(): void {
  const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
  const file = (name: string, content: string) => {
    writeFileSync(join(folder, name), content);
    return join(folder, name);
  };
  const built = (path: string) => new URL(`../../dist/${path}`, import.meta.url);
  const importing = (entry: string) =>
    file(`${entry}.mjs`, `import '${built(`library/${entry}.js`).href}';`);
  const telling = file('telling.cjs', TELLING);
  const clip = file('walk.csv', trackToCsv(trackOf(makeWalk('heading', 1, { duration: 10 }))));
  const command = built('command/cli.js').pathname;
  const calls: [string, string[]][] = [
    ['node alone', [file('nothing.mjs', '')]],
    ['import of the library (index)', [importing('index')]],
    ['import of the library (node)', [importing('node')]],
    ['twinkeel --help', [command, '--help']],
    ['twinkeel correct --help', [command, 'correct', '--help']],
    // Another folder every time: what is there already would be kept.
    ['twinkeel correct, a clip of 10 s', [command, 'correct', clip, '--out']],
  ];
  const clock = calls.map(() => Number.POSITIVE_INFINITY);
  const processor = calls.map(() => Number.POSITIVE_INFINITY);
  try {
    // In turns, so that a busy moment touches all of them.
    for (let round = 0; round < ROUNDS; round++) {
      calls.forEach(([, args], k) => {
        const out = args.at(-1) === '--out' ? [join(folder, `out-${round}`)] : [];
        const start = performance.now();
        const { status, stderr } = spawnSync(
          process.execPath,
          ['--require', telling, ...args, ...out],
          { encoding: 'utf8' },
        );
        if (status !== 0) throw new Error(stderr);
        clock[k] = Math.min(clock[k]!, performance.now() - start);
        processor[k] = Math.min(processor[k]!, Number(stderr.split('\n').at(-1)));
      });
    }
  } finally {
    rmSync(folder, { recursive: true });
  }
  printTable(
    `Start: milliseconds on the clock and of processor time, the least of ${ROUNDS}`,
    ['call', 'clock', 'over node alone', 'processor', 'over node alone'],
    calls.map(([name], k) => [
      ...[name, clock[k]!, clock[k]! - clock[0]!],
      ...[processor[k]!, processor[k]! - processor[0]!],
    ]),
  );
}
