/**
 * `npm run mutation -- [folder …] [again] [quick]`: scores of the folders' tests, and what survived.
 *
 * A first look runs the drawn mutants against the quick tests of their folder; what survives is
 * run against the slow ones. `again` runs only what survived last time: where tests were added and
 * nothing else was changed the rest is still dead. `quick` leaves the slow tests out.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { draw, keyOf } from './sample.mjs';

const FOLDERS = ['rotation', 'numeric', 'motion', 'rig', 'sync', 'inertial'];
/** Tests of many seconds: only what survived the quick ones of its folder is run against them. */
const SLOW = {
  motion: ['test/motion/separate.test.ts'],
  sync: ['test/sync/alignClocks.test.ts'],
  rig: ['test/reference/edges.test.ts'],
};
/** Tests of a folder that stand elsewhere. */
const BESIDE = { rig: ['test/comfort/rigFigures.test.ts'] };
/** Tests on real recordings, which Stryker's copy of the project does not find: they do not run. */
const ELSEWHERE = ['test/motion/realMotion.test.ts', 'test/sync/cleanFootage.test.ts'];

const OUT = 'coverage/mutation';
mkdirSync(OUT, { recursive: true });

const wanted = process.argv.slice(2);
const again = wanted.includes('again');
const named = FOLDERS.filter((folder) => wanted.includes(folder));

for (const folder of named.length > 0 ? named : FOLDERS) {
  const kept = `${OUT}/${folder}.json`;
  const before = again && existsSync(kept) ? JSON.parse(readFileSync(kept, 'utf8')) : {};
  const run = again ? alive(before) : draw(Object.keys(look(folder, [], [])));
  let found = { ...before, ...look(folder, quickTests(folder), run) };
  const left = alive(found);
  if (folder in SLOW && left.length > 0 && !wanted.includes('quick')) {
    // A test that does not reach a mutant takes nothing back.
    const slow = look(folder, SLOW[folder], left);
    found = { ...found, ...Object.fromEntries(Object.entries(slow).filter(([, s]) => isDead(s))) };
  }
  writeFileSync(kept, JSON.stringify(found, null, 1));
  say(folder, found);
}

/** Runs the listed mutants. Returns the status of each by its key; without a list, of all there are. */
function look(folder, tests, only) {
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
