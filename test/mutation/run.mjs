/**
 * `npm run mutation -- [folder …] [again]`: scores of the folders' tests, and what survived.
 *
 * A first look runs the drawn mutants in one process against those quick tests of their folder that
 * reach them. A second look writes each survivor, and what hung, into a copy and runs all tests of the
 * folder in a process of its own, so that what is computed while tests are collected counts as well, and
 * slow tests. `again` looks a second time only: where tests were added and nothing else was changed the
 * rest is still dead.
 */
import { spawnSync } from 'node:child_process';
import {
  cpSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { draw, keyOf, placeOf } from './sample.mjs';

const FOLDERS = ['rotation', 'numeric', 'motion', 'rig', 'sync', 'inertial'];
/** Tests of many seconds, for the second look only. */
const SLOW = {
  motion: ['test/motion/separate.test.ts'],
  sync: ['test/sync/alignClocks.test.ts'],
  rig: ['test/reference/edges.test.ts'],
};
/** Tests of a folder that stand elsewhere. */
const BESIDE = { rig: ['test/comfort/rigFigures.test.ts'] };
/** Tests on real recordings, which a copy of the project does not find: they do not run. */
const ELSEWHERE = ['test/motion/realMotion.test.ts', 'test/sync/cleanFootage.test.ts'];
/** After this long a mutant hangs. */
const HANGS_MS = 300_000;

const OUT = 'coverage/mutation';
mkdirSync(OUT, { recursive: true });

const wanted = process.argv.slice(2);
const named = FOLDERS.filter((folder) => wanted.includes(folder));

for (const folder of named.length > 0 ? named : FOLDERS) {
  const kept = `${OUT}/${folder}.json`;
  const found =
    wanted.includes('again') && existsSync(kept)
      ? JSON.parse(readFileSync(kept, 'utf8'))
      : firstLook(folder, draw(Object.keys(firstLook(folder, []))));
  writeFileSync(kept, JSON.stringify(found, null, 1));
  say(folder, found);
  for (const key of unsettled(found)) {
    found[key] = secondLook(folder, key);
    writeFileSync(kept, JSON.stringify(found, null, 1));
  }
  say(folder, found);
}

/** Status of each listed mutant by its key, from Stryker; without a list the keys of all there are. */
function firstLook(folder, only) {
  const tests = only.length > 0 ? quickTests(folder) : [];
  const report = `${OUT}/report-${folder}.json`;
  const list = `${process.cwd()}/${OUT}/only-${folder}.json`;
  writeFileSync(list, JSON.stringify(only));
  const { status } = spawnSync('npx', ['stryker', 'run', 'test/mutation/stryker.config.mjs'], {
    stdio: 'inherit',
    env: {
      ...process.env,
      MUTATION_FOLDER: folder,
      MUTATION_TESTS: tests.join(),
      MUTATION_ONLY: only.length > 0 ? list : '',
      MUTATION_REPORT: report,
    },
  });
  if (status !== 0) process.exit(status ?? 1);
  const { files, testFiles } = JSON.parse(readFileSync(report, 'utf8'));
  // A test file that could not be loaded is passed over in silence.
  const missing = tests.filter((file) => !(file in testFiles));
  if (missing.length > 0) throw new Error(`no test of ${missing.join(', ')} ran`);
  const statuses = {};
  for (const [name, { mutants }] of Object.entries(files)) {
    for (const mutant of mutants) {
      const key = keyOf(name, mutant);
      if (mutant.status === 'Ignored') continue;
      if (only.length === 0 || only.includes(key)) statuses[key] = mutant.status;
    }
  }
  return statuses;
}

/** Status of one mutant in a process of its own. */
function secondLook(folder, key) {
  const { file, start, end, replacement } = placeOf(key);
  const copy = `${OUT}/copy`;
  rmSync(copy, { recursive: true, force: true });
  for (const name of ['src', 'test', 'bench', 'package.json', 'tsconfig.json']) {
    cpSync(name, `${copy}/${name}`, { recursive: true });
  }
  const lines = readFileSync(file, 'utf8').split('\n');
  const before = [
    ...lines.slice(0, start.line - 1),
    lines[start.line - 1].slice(0, start.column - 1),
  ];
  const after = [lines[end.line - 1].slice(end.column - 1), ...lines.slice(end.line)];
  // A negative number after a minus would read as a decrement.
  writeFileSync(`${copy}/${file}`, `${before.join('\n')} ${replacement}${after.join('\n')}`);
  const tests = [...quickTests(folder), ...(SLOW[folder] ?? [])];
  const { status } = spawnSync(
    'npx',
    ['vitest', 'run', '--bail', '1', '--config', 'test/mutation/vitest.config.ts', '--root', '.'],
    {
      cwd: copy,
      stdio: 'ignore',
      timeout: HANGS_MS,
      env: { ...process.env, MUTATION_TESTS: tests.join() },
    },
  );
  const found = status === null ? 'Timeout' : status === 0 ? 'Survived' : 'Killed';
  console.log(`  ${found}  ${key}`);
  return found;
}

function quickTests(folder) {
  return readdirSync(`test/${folder}`)
    .filter((name) => name.endsWith('.test.ts'))
    .map((name) => `test/${folder}/${name}`)
    .filter((file) => ![...(SLOW[folder] ?? []), ...ELSEWHERE].includes(file))
    .concat(BESIDE[folder] ?? []);
}

function isDead(status) {
  return status === 'Killed' || status === 'Timeout';
}

function alive(statuses) {
  return Object.keys(statuses).filter((key) => !isDead(statuses[key]));
}

/** What a second look is for: on a busy machine mutants hang in the first that no test sees. */
function unsettled(statuses) {
  return Object.keys(statuses).filter((key) => statuses[key] !== 'Killed');
}

/** The share that was killed, with the standard deviation of a binomial sample, and the rest. */
function say(folder, statuses) {
  // A mutant that does not even start says nothing about the tests.
  const keys = Object.keys(statuses).filter((key) => statuses[key] !== 'RuntimeError');
  const dead = keys.filter((key) => isDead(statuses[key])).length;
  const share = dead / keys.length;
  const deviation = Math.sqrt((share * (1 - share)) / keys.length);
  const percent = (value) => `${(100 * value).toFixed(1)} %`;
  console.log(
    `\n${folder}: ${dead} of ${keys.length} dead, ${percent(share)} ± ${percent(deviation)}`,
  );
  for (const key of alive(statuses).sort()) console.log(`  ${statuses[key]}  ${key}`);
}
