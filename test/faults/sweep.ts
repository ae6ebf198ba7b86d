/**
 * Faults at every call that a command makes on files: errors, short reads and writes, disks that stay
 * broken, and kills. `npm run faults` tries them all, or every k-th with `-- k`; prints a table and
 * what is open, and ends with 1 when anything is.
 */
import { spawn, spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';
import { CLI } from '../command.js';
import { lay, SCENARIOS, type Scenario } from './scenarios.js';
import { complaintAbout, stateOf } from './verdict.js';

const here = (name: string) => fileURLToPath(new URL(name, import.meta.url));

/** What became of one scenario. */
export interface Tally {
  readonly scenario: string;
  /** Calls on files that the scenario makes. */
  readonly calls: number;
  /** Faults that were tried. */
  readonly tried: number;
  /** How many of them left something for the next run to complete. */
  readonly completed: number;
  /** What went wrong, one line each. */
  readonly open: readonly string[];
}

/** Builds the shim; undefined where there is no compiler, or no library that can be stood in for. */
export function buildShim(folder: string): string | undefined {
  if (process.platform !== 'linux') return undefined;
  const path = join(folder, 'shim.so');
  const args = ['-shared', '-fPIC', '-O1', '-o', path, here('shim.c'), '-ldl', '-lpthread'];
  return spawnSync('cc', args).status === 0 ? path : undefined;
}

/** The environment of a process that meets faults; io_uring would pass the C library by. */
const under = (shim: string, more: NodeJS.ProcessEnv = {}): NodeJS.ProcessEnv => ({
  ...{ ...process.env, LD_PRELOAD: shim, UV_USE_IO_URING: '0' },
  ...{ FAULT_BELOW: '', FAULT_AT: '0', FAULT_CALLS: '', FAULT_LOG: '', FAULT_STAYS: '0', ...more },
});

/** One script of what disturbs: a loader of TypeScript between would take most of the time. */
async function bundled(folder: string): Promise<string> {
  const outfile = join(folder, 'disturb.mjs');
  await build({
    ...{ entryPoints: [here('disturb.ts')], outfile, bundle: true },
    ...{ platform: 'node', format: 'esm', logLevel: 'warning' },
  });
  return outfile;
}

/** Tries every `step`-th fault of a scenario, beginning with number `from`. */
export async function disturb(
  shim: string,
  { name }: Scenario,
  { step, from = 0, stays = true }: { step: number; from?: number; stays?: boolean },
): Promise<Tally> {
  const script = await bundled(dirname(shim));
  const child = spawn(process.execPath, [script], {
    env: under(shim, { TWINKEEL_CLI: CLI }),
    stdio: ['pipe', 'pipe', 'inherit'],
  });
  child.stdin.end(JSON.stringify({ scenario: name, step, from, stays }));
  let text = '';
  for await (const chunk of child.stdout) text += chunk;
  const lines = text
    .trim()
    .split('\n')
    .filter((line) => line.startsWith('{'))
    .map((line) => JSON.parse(line));
  const counts = lines.find((line) => line.calls !== undefined);
  const open = lines
    .filter((line) => line.wrong !== undefined)
    .map(
      ({ at, line, errno, stays, wrong }) =>
        `call ${at} (${line}) ${errno}${stays === '1' ? ', which stays' : ''}: ${wrong}`,
    );
  if (!counts) open.push('the process that disturbs ended early');
  return {
    scenario: name,
    calls: counts?.calls ?? 0,
    tried: counts?.tried ?? 0,
    completed: counts?.completed ?? 0,
    open,
  };
}

/** Kills a scenario at every `step`-th call; the same call again must complete it. */
export function kill(shim: string, scenario: Scenario, step: number, from = 0): Tally {
  const root = mkdtempSync(join(tmpdir(), 'greenhouse-kills-'));
  const [template, work, log] = ['template', 'work', 'log'].map((name) => join(root, name)) as [
    string,
    string,
    string,
  ];
  const run = (args: readonly string[], env: NodeJS.ProcessEnv = {}) => {
    const { status, signal, stderr } = spawnSync(process.execPath, [CLI, ...args], {
      cwd: work,
      encoding: 'utf8',
      env: under(shim, env),
      timeout: 120_000,
    });
    return { status, signal, stderr };
  };
  const fresh = () => {
    rmSync(work, { recursive: true, force: true });
    cpSync(template, work, { recursive: true });
  };
  try {
    mkdirSync(work);
    lay(work, scenario);
    for (const args of scenario.before ?? []) run(args);
    cpSync(work, template, { recursive: true });
    const before = stateOf(work);
    run(scenario.args, { FAULT_BELOW: root, FAULT_LOG: log });
    const good = stateOf(work);
    const calls = existsSync(log) ? readFileSync(log, 'utf8').trim().split('\n') : [];
    const open: string[] = [];
    let tried = 0;
    let completed = 0;
    for (let k = from; k < calls.length; k += step) {
      fresh();
      const { signal } = run(scenario.args, {
        ...{ FAULT_BELOW: root, FAULT_AT: `${k + 1}`, FAULT_KIND: 'kill', FAULT_ROUND: `${k}` },
      });
      const after = stateOf(work);
      tried++;
      const ended = signal === 'SIGKILL' ? undefined : { status: 0, stderr: '' };
      let wrong = complaintAbout(before, good, after, ended, false);
      if (!wrong && JSON.stringify(after) !== JSON.stringify(before)) {
        completed++;
        const again = run(scenario.again ?? scenario.args);
        if (again.status !== 0) wrong = `the run after it: ${again.stderr.slice(0, 300)}`;
        else if (JSON.stringify(stateOf(work)) !== JSON.stringify(good)) {
          wrong = `the run after it left other files: ${stateOf(work).hidden.join(', ')}`;
        }
      }
      if (wrong) open.push(`killed at call ${k + 1} (${calls[k]!.replace(root, '')}): ${wrong}`);
    }
    return { scenario: scenario.name, calls: calls.length, tried, completed, open };
  } finally {
    rmSync(root, { recursive: true, force: true });
  }
}

/** The whole sweep, or every `step`-th fault of it, as a table. */
async function sweep(step: number, killStep: number): Promise<number> {
  const folder = mkdtempSync(join(tmpdir(), 'greenhouse-shim-'));
  const shim = buildShim(folder);
  if (!shim) {
    console.log('skipped: no C compiler, or not Linux');
    return 0;
  }
  const tallies: Tally[] = [];
  console.log('| call | calls on files | faults | kills | completed by the next run | open |');
  console.log('| --- | --- | --- | --- | --- | --- |');
  for (const scenario of SCENARIOS) {
    const errors = await disturb(shim, scenario, { step });
    const kills = kill(shim, scenario, killStep);
    const open = [...errors.open, ...kills.open];
    console.log(
      `| ${[scenario.name, errors.calls, errors.tried, kills.tried, errors.completed + kills.completed, open.length].join(' | ')} |`,
    );
    for (const line of open) console.error(`${scenario.name}: ${line}`);
    tallies.push(errors, kills);
  }
  rmSync(folder, { recursive: true, force: true });
  const tried = tallies.reduce((sum, tally) => sum + tally.tried, 0);
  const open = tallies.reduce((sum, tally) => sum + tally.open.length, 0);
  console.log(`\n${tried} faults, ${open} open`);
  return open === 0 ? 0 : 1;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const [step = 1, killStep = step] = process.argv.slice(2).map(Number);
  process.exitCode = await sweep(step, killStep);
}
