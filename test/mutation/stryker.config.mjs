import { readFileSync } from 'node:fs';
import { placeOf } from './sample.mjs';

const folder = process.env.MUTATION_FOLDER;
const only = process.env.MUTATION_ONLY;

/** Where a mutant stands, as Stryker wants it: columns from 0. */
function rangeOf(key) {
  const { file, start, end } = placeOf(key);
  return `${file}:${start.line}:${start.column - 1}-${end.line}:${end.column - 1}`;
}

export default {
  // Only what is drawn is made ready to be mutated: it runs several times slower.
  mutate: only ? JSON.parse(readFileSync(only, 'utf8')).map(rangeOf) : [`src/${folder}/**/*.ts`],
  mutator: {
    // Sentences and names: what an error says is read by people, not computed with.
    excludedMutations: ['StringLiteral'],
  },
  plugins: ['@stryker-mutator/vitest-runner', './test/mutation/sample.mjs'],
  // Without a list no mutant runs: all that is wanted is which there are.
  testRunner: only ? 'vitest' : 'command',
  commandRunner: { command: 'true' },
  coverageAnalysis: only ? 'perTest' : 'off',
  vitest: { configFile: 'test/mutation/vitest.config.ts', related: false },
  checkers: ['sample'],
  // What is computed while a module loads would need a new process for each mutant.
  ignoreStatic: only !== '',
  // Vitest strips types without looking at them.
  disableTypeChecks: false,
  concurrency: 1,
  timeoutMS: 10_000,
  timeoutFactor: 1.5,
  dryRunTimeoutMinutes: 15,
  tempDirName: 'coverage/stryker',
  reporters: ['json', 'progress-append-only'],
  jsonReporter: { fileName: process.env.MUTATION_REPORT },
  // Tests read walks from bench/.
  ignorePatterns: ['docs', 'dist', 'coverage', 'demo-output'],
  allowConsoleColors: false,
};
