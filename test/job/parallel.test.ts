/** The scripts that spread a shoot over shares, run for real: the result is that of one run. */
import { spawnSync } from 'node:child_process';
import {
  chmodSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, test } from 'vitest';
import { temporaryFolder } from '../temporaryFolder.js';
import { CLI, prints, sharedFolder, shootFolder, twinkeel } from './shootFolder.js';
import { slurmMissing, startSlurm, until } from './slurm.js';

const example = (name: string) =>
  fileURLToPath(new URL(`../../docs/examples/${name}`, import.meta.url));

const CLIPS = 5;
const SHARES = 3;

// One clip fails, so that its sentence is joined too.
const oneRun = sharedFolder();
let expected: Record<string, string>;
beforeAll(() => {
  newShoot(oneRun);
  expect(twinkeel(oneRun, 'correct', 'shoot.json', '--out', 'out').status).toBe(1);
  expected = prints(join(oneRun, 'out'));
});

/** A shoot in a folder of which the name has a blank, and `twinkeel` as a program beside it. */
function newShoot(folder = join(temporaryFolder(), 'night one')): string {
  mkdirSync(folder, { recursive: true });
  shootFolder(CLIPS, { folder });
  writeFileSync(join(folder, 'take-3.csv'), '');
  const program = join(folder, 'twinkeel');
  writeFileSync(program, `#!/bin/sh\nexec "${process.execPath}" "${CLI}" "$@"\n`);
  chmodSync(program, 0o755);
  return folder;
}

/** Results without what only a shoot in shares leaves, each sentence with the folder it was made in. */
function results(folder: string): Record<string, string> {
  const out = join(folder, 'out');
  for (const name of readdirSync(out)) {
    if (/\.\d+-of-\d+\.json$|\.log$/.test(name)) rmSync(join(out, name));
  }
  const summary = join(out, 'shoot.summary.json');
  writeFileSync(summary, readFileSync(summary, 'utf8').replaceAll(folder, oneRun));
  return prints(out);
}

const shell = (folder: string, script: string, args: readonly string[], env = process.env) =>
  spawnSync(script, args, {
    cwd: folder,
    encoding: 'utf8',
    timeout: 60_000,
    env: { ...env, TWINKEEL: join(folder, 'twinkeel') },
  });

describe('GNU parallel', () => {
  // Another program of the same name comes with Debian's moreutils.
  const { stdout } = spawnSync('parallel', ['--version'], { encoding: 'utf8' });
  const missing = !/^GNU parallel/.test(stdout ?? '');

  test.skipIf(missing)('shares are done and joined (Debian package parallel)', () => {
    const folder = newShoot();
    const args = ['shoot.json', 'out', String(SHARES), '--jobs', '2'];
    const { status, stdout: told, stderr } = shell(folder, example('shoot-parallel.sh'), args);
    expect(status).toBe(1);
    expect(told).toMatch(/take-3 +failed +– +.*take-3\.csv: found an empty file/);
    expect(stderr).toMatch(/take-3\.csv: found an empty file/);
    expect(results(folder)).toEqual(expected);
  });

  test.skipIf(missing)('a share that does not run is missed, whatever an older run left', () => {
    const folder = newShoot();
    const args = ['shoot.json', 'out', String(SHARES)];
    shell(folder, example('shoot-parallel.sh'), args);
    const program = join(folder, 'twinkeel');
    const script = readFileSync(program, 'utf8');
    // The machine of share 2 is out of order.
    writeFileSync(
      program,
      script.replace('exec', `case "$*" in *2/${SHARES}*) exit 3;; esac\nexec`),
    );
    const { status, stderr } = shell(folder, example('shoot-parallel.sh'), args);
    expect(status).toBe(2);
    expect(stderr).toContain('found 2 of 5 clips in no summary, the first is number 2');
  });
});

describe('Slurm', () => {
  test.skipIf(slurmMissing)(
    'an array of jobs and one behind it (Debian packages slurm-wlm, munge; root)',
    async ({ skip }) => {
      const env = await startSlurm();
      if (!env) skip('Slurm does not come up on this machine');
      const folder = newShoot();
      const args = ['shoot.json', 'out', String(SHARES)];
      const { status, stdout, stderr } = shell(folder, example('shoot-slurm.sh'), args, env);
      expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
      const job = stdout.trim();
      expect(job).toMatch(/^\d+$/);
      const state = () =>
        spawnSync('scontrol', ['show', 'job', job], { env, encoding: 'utf8' }).stdout;
      await until(() => /JobState=(COMPLETED|FAILED|CANCELLED)/.test(state()));
      // The merge says by its code that a clip failed.
      expect(state()).toMatch(/JobState=FAILED[\s\S]* ExitCode=1:0/);
      const log = (name: string) => readFileSync(join(folder, 'out', name), 'utf8');
      expect(log('share-1.log')).toMatch(/take-3\.csv: found an empty file/);
      expect(log('merge.log')).toMatch(/take-3 +failed +– +.*take-3\.csv: found an empty file/);
      expect(results(folder)).toEqual(expected);
    },
  );

  test('without Slurm: what it submits, run by a stand-in that keeps order', () => {
    const folder = newShoot();
    const bin = join(folder, 'bin');
    mkdirSync(bin);
    // Runs tasks on the spot, as sbatch(1) has them run: output to a file, numbers in variables.
    writeFileSync(
      join(bin, 'sbatch'),
      `#!/bin/sh
set -u
array= output=/dev/null dependency=
while :; do
  case "$1" in
    --array=*) array=\${1#*=} ;;
    --output=*) output=\${1#*=} ;;
    --dependency=*) dependency=\${1#*=} ;;
    --*) ;;
    *) break ;;
  esac
  shift
done
if [ -n "$array" ]; then
  for task in $(seq "\${array%-*}" "\${array#*-}"); do
    SLURM_JOB_ID=7 SLURM_ARRAY_TASK_ID=$task "$@" >"$(echo "$output" | sed "s/%a/$task/")" 2>&1
  done
  echo '7;greenhouse'
else
  SLURM_JOB_ID=8 "$@" >"$output" 2>&1
  echo "$dependency" >dependency
  echo 8
fi
`,
    );
    chmodSync(join(bin, 'sbatch'), 0o755);
    const env = { ...process.env, PATH: `${bin}:${process.env.PATH}` };
    const args = ['shoot.json', 'out', String(SHARES), '--time=10'];
    const { status, stdout, stderr } = shell(folder, example('shoot-slurm.sh'), args, env);
    expect({ status, stdout, stderr }).toEqual({ status: 0, stdout: '8\n', stderr: '' });
    expect(readFileSync(join(folder, 'dependency'), 'utf8')).toBe('afterany:7\n');
    expect(results(folder)).toEqual(expected);
  });
});

describe('both scripts', () => {
  test.each(['shoot-parallel.sh', 'shoot-slurm.sh'])('%s asks for two shares at least', (name) => {
    const folder = newShoot();
    for (const args of [[], ['shoot.json', 'out'], ['shoot.json', 'out', '1']]) {
      const { status, stderr } = shell(folder, example(name), args);
      expect(status).toBe(2);
      expect(stderr).toContain('usage:');
    }
    expect(existsSync(join(folder, 'out'))).toBe(false);
  });
});

describe('an indexed Job', () => {
  interface Container {
    readonly env: readonly { readonly name: string; readonly value: string }[];
    readonly command: readonly string[];
    readonly args: readonly string[];
    readonly volumeMounts: readonly { readonly name: string; readonly mountPath: string }[];
  }
  interface Job {
    readonly apiVersion: string;
    readonly kind: string;
    readonly metadata: { readonly name: string; readonly labels: { readonly step: string } };
    readonly spec: {
      readonly completionMode?: string;
      readonly completions?: number;
      readonly template: {
        readonly spec: {
          readonly restartPolicy: string;
          readonly containers: readonly [Container];
          readonly volumes: readonly { readonly name: string }[];
        };
      };
    };
  }

  const program = 'import json,sys,yaml; print(json.dumps(list(yaml.safe_load_all(sys.stdin))))';
  const parsed = spawnSync('python3', ['-c', program], {
    input: readFileSync(example('shoot-indexed-job.yaml')),
    encoding: 'utf8',
  });
  const noParser = /No module named|ENOENT/.test(`${parsed.stderr}${parsed.error}`);
  const [shares, merge] = noParser ? [] : (JSON.parse(parsed.stdout) as Job[]);

  // Kubernetes, "Job" (batch/v1): fields, and JOB_COMPLETION_INDEX from 0 in mode Indexed.
  test.skipIf(noParser)('is two Jobs that mount what they use (python3-yaml)', () => {
    for (const job of [shares!, merge!]) {
      expect(job).toMatchObject({ apiVersion: 'batch/v1', kind: 'Job' });
      const { restartPolicy, containers, volumes } = job.spec.template.spec;
      expect(['Never', 'OnFailure']).toContain(restartPolicy);
      const names = volumes.map(({ name }) => name);
      expect(containers[0].volumeMounts.map(({ name }) => name)).toEqual(names);
      expect(containers[0].volumeMounts[0]!.mountPath).toBe('/shoot');
      for (const { value } of containers[0].env) expect(typeof value).toBe('string');
    }
    expect(shares!.spec.completionMode).toBe('Indexed');
    expect([shares!, merge!].map(({ metadata }) => metadata.labels.step)).toEqual([
      'shares',
      'merge',
    ]);
  });

  test.skipIf(noParser)(
    'its pods, run here one after the other, give the result of one run',
    () => {
      const folder = newShoot();
      const pod = ({ spec }: Job, variables: NodeJS.ProcessEnv) => {
        const [{ command, args, env }] = spec.template.spec.containers;
        const own = Object.fromEntries(env.map(({ name, value }) => [name, value]));
        const [shell, ...more] = command;
        const here = args.map((text) => text.replaceAll('/shoot/', './'));
        return spawnSync(shell!, [...more, ...here], {
          cwd: folder,
          encoding: 'utf8',
          env: { ...process.env, PATH: `${folder}:${process.env.PATH}`, ...own, ...variables },
        });
      };
      const { completions } = shares!.spec;
      for (let k = 0; k < completions!; k++) {
        expect(pod(shares!, { JOB_COMPLETION_INDEX: String(k) }).status).toBe(0);
      }
      const { status, stdout } = pod(merge!, {});
      expect(status).toBe(1);
      expect(stdout).toMatch(/take-3 +failed/);
      expect(results(folder)).toEqual(expected);
    },
  );
});
