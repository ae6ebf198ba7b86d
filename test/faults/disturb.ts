/**
 * One process that disturbs one scenario many times, under the shim. Its standard input is a JSON
 * job; a line of JSON on standard output for every fault that is open, and one with the counts.
 */
import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  renameSync,
  rmSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { call } from './call.js';
import { lay, SCENARIOS } from './scenarios.js';
import { complaintAbout, stateOf } from './verdict.js';

/** What each call may meet. */
const ERRNO = {
  EIO: 5,
  EACCES: 13,
  EXDEV: 18,
  EMFILE: 24,
  ENOSPC: 28,
  EINTR: 4,
  EPERM: 1,
} as const;
const FAULTS: Readonly<Record<string, readonly string[]>> = {
  open: ['EIO', 'EACCES', 'EMFILE', 'EINTR'],
  create: ['EIO', 'EACCES', 'EMFILE', 'ENOSPC', 'EINTR'],
  read: ['EIO', 'EINTR', 'short'],
  write: ['EIO', 'ENOSPC', 'EINTR', 'short'],
  fsync: ['EIO', 'ENOSPC'],
  close: ['EIO', 'EINTR'],
  rename: ['EIO', 'EACCES', 'EXDEV', 'ENOSPC'],
  link: ['EIO', 'EPERM', 'ENOSPC'],
  unlink: ['EIO', 'EACCES'],
  mkdir: ['EIO', 'EACCES', 'ENOSPC'],
  rmdir: ['EIO'],
  access: ['EIO', 'EACCES'],
  stat: ['EIO', 'EACCES'],
};

interface Job {
  readonly scenario: string;
  /** Every how many-th fault is tried, and from which on: a sample, or all with 1 and 0. */
  readonly step: number;
  readonly from: number;
  /** Try each with a disk that stays broken too. */
  readonly stays: boolean;
}

const say = (value: object) => writeSync(1, `${JSON.stringify(value)}\n`);

const job = JSON.parse(readFileSync(0, 'utf8')) as Job;
const scenario = SCENARIOS.find(({ name }) => name === job.scenario)!;
const root = mkdtempSync(join(tmpdir(), 'greenhouse-faults-'));
const [template, work, log] = ['template', 'work', 'log'].map((name) => join(root, name)) as [
  string,
  string,
  string,
];
const home = process.cwd();
/** A number that no process has. */
const NOBODY = 99_999_999;
let round = 0;

/** Runs a call in a folder with a fault, or none. */
async function run(args: readonly string[], fault: Readonly<Record<string, string>> = {}) {
  process.chdir(work);
  Object.assign(process.env, { FAULT_STAYS: '0', FAULT_BELOW: root, ...fault });
  process.env.FAULT_ROUND = `${++round}`;
  try {
    return await call(args);
  } finally {
    // What this process does itself shall meet none, nor be told.
    Object.assign(process.env, { FAULT_AT: '0', FAULT_BELOW: '', FAULT_LOG: '' });
    process.chdir(home);
  }
}

function fresh(): void {
  rmSync(work, { recursive: true, force: true });
  cpSync(template, work, { recursive: true });
}

try {
  mkdirSync(template);
  mkdirSync(work);
  lay(work, scenario);
  for (const args of scenario.before ?? []) await run(args);
  cpSync(work, template, { recursive: true });
  const before = stateOf(work);
  const undisturbed = await run(scenario.args);
  if (undisturbed.status !== 0) throw new Error(undisturbed.stderr);
  const good = stateOf(work);
  fresh();
  await run(scenario.args, { FAULT_LOG: log });
  const calls = existsSync(log) ? readFileSync(log, 'utf8').trim().split('\n') : [];
  const faults = calls.flatMap((line, k) => {
    const kind = line.split(' ')[0]!;
    return FAULTS[kind]!.flatMap((errno) =>
      (job.stays && !['EINTR', 'short'].includes(errno) ? ['0', '1'] : ['0']).map((stays) => ({
        ...{ at: k + 1, line, errno, stays },
      })),
    );
  });
  let tried = 0;
  let open = 0;
  let completed = 0;
  for (let k = job.from; k < faults.length; k += job.step) {
    const { at, line, errno, stays } = faults[k]!;
    if (process.env.FAULT_TELL) writeSync(2, `${at} ${line} ${errno} ${stays}\n`);
    fresh();
    const ended = await run(scenario.args, {
      FAULT_AT: `${at}`,
      FAULT_KIND: errno === 'short' ? 'short' : `${ERRNO[errno as keyof typeof ERRNO]}`,
      FAULT_STAYS: stays,
    });
    const after = stateOf(work);
    let wrong = complaintAbout(before, good, after, ended, stays === '1');
    const untouched = JSON.stringify(after) === JSON.stringify(before);
    if (!wrong && !untouched && JSON.stringify(after) !== JSON.stringify(good)) {
      completed++;
      bury();
      const again = await run(scenario.again ?? scenario.args);
      const last = stateOf(work);
      if (again.status !== 0) wrong = `the run after it: ${again.stderr.slice(0, 300)}`;
      else if (last.hidden.length > 0) wrong = `the run after it left ${last.hidden.join(', ')}`;
      else if (JSON.stringify(last.files) !== JSON.stringify(good.files)) {
        wrong = 'the run after it left other bytes';
      }
    }
    tried++;
    if (!wrong) continue;
    open++;
    say({ scenario: scenario.name, at, line: line.replace(root, ''), errno, stays, wrong });
  }
  say({
    scenario: scenario.name,
    calls: calls.length,
    faults: faults.length,
    tried,
    completed,
    open,
  });
} finally {
  rmSync(root, { recursive: true, force: true });
}
process.exit(0);

/**
 * Makes a process that is over of this one: what it left is found by the next as it would be after the
 * process has ended.
 */
function bury(): void {
  const own = new RegExp(`-${process.pid}-(?=[0-9a-f]{8}-[0-9a-f]{8}\\.)`, 'g');
  for (const name of stateOf(work).hidden) {
    const path = join(work, name);
    if (name.endsWith('.lock')) {
      const text = readFileSync(path, 'utf8').replace(own, `-${NOBODY}-`);
      writeFileSync(path, text.replace(`"pid":${process.pid},`, `"pid":${NOBODY},`));
    } else renameSync(path, path.replace(own, `-${NOBODY}-`));
  }
}
