import { printTable } from '../accuracy/table.js';
import { BANDED_ROWS, ELEMENTS, PENALTIES, writeKernelData } from './kernelData.js';
import { type Contestant, contestants, fail, inTemporaryFolder, run } from './programs.js';

const SOURCES = {
  library: new URL('./kernels.ts', import.meta.url),
  cpp: new URL('./kernels.cpp', import.meta.url),
  scipy: new URL('./kernels.py', import.meta.url),
};

/** How often the programs take turns; the least time of each operation counts. */
const ROUNDS = 4;

interface Measured {
  readonly nanoseconds: number;
  readonly checksum: number;
}

type Results = Map<Contestant['name'], Map<string, Measured>>;

/** Prints nanoseconds per element of each operation, ours beside C++ with Eigen and scipy. */
export async function compareKernels(): Promise<void> {
  await inTemporaryFolder(async (folder) => {
    writeKernelData(folder);
    const results: Results = new Map();
    const programs = await contestants(SOURCES, folder);
    for (let round = 0; round < ROUNDS; round++) {
      for (const { name, command } of programs) {
        const printed = JSON.parse(run([...command, folder])) as Record<string, Measured>;
        const least = results.get(name) ?? new Map<string, Measured>();
        results.set(name, least);
        for (const [operation, measured] of Object.entries(printed)) {
          const known = least.get(operation);
          if (!known || measured.nanoseconds < known.nanoseconds) least.set(operation, measured);
        }
      }
    }
    for (const name of results.keys()) requireSameResults(results, name);
    printResults(results);
  });
}

function printResults(results: Results): void {
  const ours = results.get('library')!;
  const operations = (results.get('cpp') ?? ours).keys();
  const cell = (found: Measured | undefined) => found?.nanoseconds ?? '-';
  const ratio = (above: Measured | undefined, below: Measured | undefined) =>
    above && below ? `${(above.nanoseconds / below.nanoseconds).toFixed(2)}` : '-';
  printTable(
    'Nanoseconds of processor time per element (slerp: per output, banded: per row)',
    ['operation', 'library', 'C++, Eigen', 'numpy, scipy', 'library/C++', 'scipy/library'],
    [...operations].map((operation) => {
      const library = ours.get(operation) ?? ours.get(operation.replace(WRITTEN_OUT, ''));
      const cpp = results.get('cpp')?.get(operation);
      const scipy = results.get('scipy')?.get(operation);
      return [
        operation,
        cell(library),
        cell(cpp),
        cell(scipy),
        ratio(library, cpp),
        ratio(scipy, library),
      ];
    }),
  );
}

/** Ends the name of what writes into a list that is used again. */
const PLACE_GIVEN = ', place given';
/** Ends the name of what C++ has a second way for. */
const WRITTEN_OUT = ', written out';

function requireSameResults(results: Results, name: Contestant['name']): void {
  for (const [operation, { checksum }] of results.get(name)!) {
    const plain = operation.replace(WRITTEN_OUT, '');
    const ours = results.get('library')!.get(plain)!.checksum;
    const tolerance = 2 * toleranceOf(plain);
    if (Math.abs(checksum - ours) <= tolerance) continue;
    fail(
      `${name} and the library differ in "${operation}": checksums ${checksum} and ${ours}, expected within ${tolerance.toExponential(1)}`,
    );
  }
}

const EPSILON = Number.EPSILON;
/** Weights run from 1 to 7. */
const MEAN_WEIGHT = 4;
const MEAN_SQUARED_WEIGHT = 20;

/**
 * How far rounding may take one program's checksum from the exact one: the number of summands, the
 * mean weight, and the worst error of each. The programs may differ by twice that.
 */
function toleranceOf(operation: string): number {
  const banded = /^banded, width (\d)$/.exec(operation);
  if (banded) return bandedTolerance(Number(banded[1]));
  const [components, worst] =
    WORST[operation.replace(PLACE_GIVEN, '')] ?? fail(`no tolerance for "${operation}"`);
  const count = operation === 'slerp' ? (ELEMENTS * 60) / 1001 : ELEMENTS;
  return components * count * MEAN_WEIGHT * worst;
}

/** Components of a result and the worst rounding error of each. */
const WORST: Readonly<Record<string, readonly [components: number, error: number]>> = {
  // Sums of four products of numbers up to 1.
  compose: [4, 4 * EPSILON],
  // Vectors up to √3 long, products and sums of three terms nested twice: test/laws.ts, ACTION.
  rotate: [3, 14 * EPSILON],
  // Angles up to π: sine, cosine, arctangent and quotient, each within an epsilon of π.
  logarithm: [3, 5 * Math.PI * EPSILON],
  // Length, sine or cosine and product, each within an epsilon.
  exponential: [4, 4 * EPSILON],
  // Each step adds a product (4 epsilons) and its step quaternion (3); on average half of them have.
  integrate: [4, (ELEMENTS / 2) * 7 * EPSILON],
  // Two weights, each within 3 epsilons (the C++ arccosine: see the line below), and the norm.
  slerp: [4, 8 * EPSILON],
  // Directions off by 10 epsilons on a lever of cos(tilt), tilt up to 0.6 rad, times the half turn.
  'heading, tilt, roll': [3, (10 * EPSILON) / Math.cos(0.6)],
};

/**
 * An L D Lᵀ solution is off by at most 3 (p + 1)² epsilons times the condition number, in the mean
 * square; right sides lie within 1, and so do the solutions. Condition: 1 + 4ᵖ penalty.
 *
 * @see Golub and Van Loan, Matrix Computations, 4th ed., section 4.2.6 (bound from memory)
 */
function bandedTolerance(width: number): number {
  const { penalty } = PENALTIES.find(({ order }) => order === width)!;
  const condition = 1 + 4 ** width * penalty;
  const relative = 3 * (width + 1) ** 2 * EPSILON * condition;
  return Math.sqrt(MEAN_SQUARED_WEIGHT) * 3 * BANDED_ROWS * relative;
}
