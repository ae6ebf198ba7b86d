import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { readCorrections } from '../../src/handoff/csv.js';
import { angularDistances } from '../../src/rotation/arrays.js';
import { printTable } from '../accuracy/table.js';
import { SECONDS, writePipelineData } from './pipelineData.js';
import { type Contestant, contestants, fail, inTemporaryFolder, run } from './programs.js';

const SOURCES = {
  library: new URL('./pipeline.ts', import.meta.url),
  cpp: new URL('./pipeline.cpp', import.meta.url),
  scipy: new URL('./pipeline.py', import.meta.url),
};

/** How often the programs take turns; the least time of each part counts. */
const ROUNDS = 2;

type Seconds = Record<string, number>;

/** Before the first step: loading the program, its libraries and, for ours, compiling TypeScript. */
const START = 'start';
/** What only the library does. */
const OWN_SEPARATION = 'correct() with its own separation, not part of the total';

/** Prints seconds of each part of a whole job, from files to corrections, ours beside the others'. */
export async function comparePipelines(): Promise<void> {
  await inTemporaryFolder(async (folder) => {
    writePipelineData(folder);
    const programs = await contestants(SOURCES, folder);
    const results = new Map<Contestant['name'], Seconds>();
    for (let round = 0; round < ROUNDS; round++) {
      for (const { name, command } of programs) {
        const least = results.get(name) ?? {};
        results.set(name, least);
        const printed = JSON.parse(run([...command, folder])) as Seconds;
        for (const [part, seconds] of Object.entries(printed)) {
          least[part] = Math.min(least[part] ?? Number.POSITIVE_INFINITY, seconds);
        }
      }
    }
    requireSameCorrections(folder, [...results.keys()]);
    printResults(results);
  });
}

function printResults(results: ReadonlyMap<Contestant['name'], Seconds>): void {
  const ours = results.get('library')!;
  const parts = Object.keys(ours).filter((part) => part !== OWN_SEPARATION);
  const sum = (seconds: Seconds | undefined, from: readonly string[]) =>
    seconds && from.reduce((total, part) => total + seconds[part]!, 0);
  const line = (title: string, from: readonly string[]) => {
    const library = sum(ours, from)!;
    const cpp = sum(results.get('cpp'), from);
    const scipy = sum(results.get('scipy'), from);
    return [
      title,
      library,
      cpp ?? '-',
      scipy ?? '-',
      cpp === undefined ? '-' : (library / cpp).toFixed(2),
      scipy === undefined ? '-' : (scipy / library).toFixed(2),
    ];
  };
  printTable(
    'An hour from files to corrections, seconds of processor time',
    ['part', 'library', 'C++, Eigen', 'numpy, scipy', 'library/C++', 'scipy/library'],
    [
      ...parts.map((part) => line(part, [part])),
      line(
        'total without the start',
        parts.filter((part) => part !== START),
      ),
      line('total', parts),
    ],
  );
  console.log(
    `correct() on the same track, with its own separation and figures: ${ours[OWN_SEPARATION]!.toFixed(2)} s\n`,
  );
}

/** Rows of an hour's log, each a step of the integration. */
const STEPS = SECONDS * 1000;

/**
 * How far rounding may take corrections apart, rad: each integration is off by up to 8 epsilons a
 * step (product and step quaternion), which enters the fused orientation twice (once smoothed) and
 * the intended one as often, there on a lever of 1/cos(tilt) < 1.1; two programs differ by twice that.
 * The twelfth decimal of the file adds 2e-12 on either side.
 */
const TOLERANCE = 2 * (2 + 2 * 1.1) * 8 * STEPS * Number.EPSILON + 4e-12;

function requireSameCorrections(folder: string, names: readonly Contestant['name'][]): void {
  const of = (name: string) => readCorrections(readFileSync(join(folder, `${name}.csv`)));
  const ours = of('library').quaternions;
  for (const name of names) {
    if (name === 'library') continue;
    const theirs = of(name).quaternions;
    if (theirs.length !== ours.length) {
      fail(`${name} wrote ${theirs.length / 4} corrections and the library ${ours.length / 4}`);
    }
    const apart = angularDistances(ours, theirs).reduce((a, b) => Math.max(a, b), 0);
    if (!(apart <= TOLERANCE)) {
      fail(
        `the corrections of ${name} and the library are up to ${apart.toExponential(1)} rad apart, expected within ${TOLERANCE.toExponential(1)} rad`,
      );
    }
    console.log(
      `${name}: corrections at most ${apart.toExponential(1)} rad from the library's (${TOLERANCE.toExponential(1)} rad allowed)`,
    );
  }
}
