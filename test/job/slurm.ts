import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { chmodSync, mkdirSync, writeFileSync } from 'node:fs';
import { availableParallelism, hostname } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { onTestFinished } from 'vitest';
import { temporaryFolder } from '../temporaryFolder.js';

const has = (program: string) => spawnSync('sh', ['-c', `command -v ${program}`]).status === 0;

/** Why no Slurm can be started here, else undefined. */
export const slurmMissing: string | undefined =
  process.getuid?.() !== 0
    ? 'its daemons are started by root'
    : ['munged', 'slurmctld', 'slurmd', 'sbatch'].every(has)
      ? undefined
      : "Debian's slurm-wlm and munge are not installed";

/** Ports of this cluster alone: others on the machine have others. */
const PORT = 20_000 + (process.pid % 10_000);

/**
 * A cluster of this machine alone, for as long as the test runs.
 *
 * @returns the environment in which its commands find it; undefined where it does not come up
 */
export async function startSlurm(): Promise<NodeJS.ProcessEnv | undefined> {
  const folder = temporaryFolder();
  // munged takes a key and a socket only from a folder that others cannot write to.
  chmodSync(folder, 0o755);
  const at = (name: string) => join(folder, name);
  for (const name of ['munge', 'state', 'spool']) mkdirSync(at(name), { mode: 0o755 });
  const key = Uint8Array.from({ length: 128 }, () => 256 * Math.random());
  writeFileSync(at('munge/key'), key, { mode: 0o400 });
  const [name] = hostname().split('.');
  const settings: Readonly<Record<string, string | number>> = {
    ClusterName: 'greenhouse',
    SlurmctldHost: `${name}(127.0.0.1)`,
    AuthInfo: `socket=${at('munge/socket')}`,
    SlurmUser: 'root',
    SlurmdUser: 'root',
    StateSaveLocation: at('state'),
    SlurmdSpoolDir: at('spool'),
    SlurmctldPidFile: at('slurmctld.pid'),
    SlurmdPidFile: at('slurmd.pid'),
    SlurmctldPort: PORT,
    SlurmdPort: PORT + 1,
    ProctrackType: 'proctrack/pgid',
    TaskPlugin: 'task/none',
    MpiDefault: 'none',
    JobAcctGatherType: 'jobacct_gather/none',
    AccountingStorageType: 'accounting_storage/none',
    SelectType: 'select/cons_tres',
    SelectTypeParameters: 'CR_Core',
    MailProg: '/bin/true',
    ReturnToService: 2,
  };
  const lines = Object.entries(settings).map(([entry, value]) => `${entry}=${value}`);
  lines.push(
    `NodeName=${name} NodeAddr=127.0.0.1 CPUs=${availableParallelism()} State=UNKNOWN`,
    'PartitionName=aisle Nodes=ALL Default=YES State=UP',
  );
  writeFileSync(at('slurm.conf'), `${lines.join('\n')}\n`);
  const env = { ...process.env, SLURM_CONF: at('slurm.conf') };
  const munge = ['key', 'socket', 'pid', 'log', 'seed'].map((entry) => {
    const option = entry === 'key' || entry === 'log' || entry === 'seed' ? `${entry}-file` : entry;
    return `--${option === 'pid' ? 'pid-file' : option}=${at(`munge/${entry}`)}`;
  });
  run('munged', ['--foreground', '--force', ...munge], env);
  await until(() => spawnSync('munge', ['-n', '-S', at('munge/socket')]).status === 0);
  run('slurmctld', ['-D', '-i'], env);
  await until(() => spawnSync('scontrol', ['ping'], { env }).status === 0);
  run('slurmd', ['-D', '-N', name!], env);
  const idle = () =>
    spawnSync('sinfo', ['-h', '-o', '%t'], { env, encoding: 'utf8' }).stdout.trim() === 'idle';
  return (await until(idle)) ? env : undefined;
}

/** Starts a daemon that ends with the test. */
function run(program: string, args: readonly string[], env: NodeJS.ProcessEnv): ChildProcess {
  const child = spawn(program, args, { env, stdio: 'ignore' });
  const ended = new Promise((resolve) => child.once('exit', resolve));
  // It writes its state before it ends: what removes its folder must wait.
  onTestFinished(async () => {
    child.kill('SIGTERM');
    await Promise.race([ended, sleep(10_000)]);
  });
  return child;
}

/** Waits for something, 20 s at most, and says whether it came. */
export async function until(holds: () => boolean): Promise<boolean> {
  for (let k = 0; k < 200; k++) {
    if (holds()) return true;
    await sleep(100);
  }
  return holds();
}
