import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { buildAsShipped } from '../asShipped.js';

/** Someone who does the same work: the library, Eigen, or numpy and scipy. */
export interface Contestant {
  readonly name: 'library' | 'cpp' | 'scipy';
  /** The program with its arguments before the folder. */
  readonly command: readonly [string, ...string[]];
}

const COMPILER = 'g++';
const EIGEN = '/usr/include/eigen3';
const PYTHON = '/usr/bin/python3';

/** Where the same work is written down three times. */
export interface Sources {
  readonly library: URL;
  readonly cpp: URL;
  readonly scipy: URL;
}

/**
 * The three programs, as far as they can run here; a sentence is printed for each that cannot.
 *
 * @param folder - where ours and the C++ program are built
 */
export async function contestants(
  sources: Sources,
  folder: string,
): Promise<readonly Contestant[]> {
  const [library, cpp, scipy] = [
    fileURLToPath(sources.library),
    fileURLToPath(sources.cpp),
    fileURLToPath(sources.scipy),
  ];
  await buildAsShipped({ library }, folder);
  const out: Contestant[] = [
    { name: 'library', command: [process.execPath, join(folder, 'library.mjs')] },
  ];
  if (spawnSync(COMPILER, ['--version']).status === 0 && existsSync(EIGEN)) {
    const program = join(folder, 'cpp');
    run([COMPILER, '-O3', '-march=native', '-std=c++17', '-isystem', EIGEN, cpp, '-o', program]);
    out.push({ name: 'cpp', command: [program] });
  } else console.log('C++ with Eigen: skipped, no g++/Eigen');
  if (existsSync(PYTHON) && spawnSync(PYTHON, ['-c', 'import scipy']).status === 0) {
    out.push({ name: 'scipy', command: [PYTHON, scipy] });
  } else console.log('numpy and scipy: skipped, no python3 with scipy');
  return out;
}

/** Runs a program to its end and returns what it printed. */
export function run([program, ...options]: readonly [string, ...string[]]): string {
  // One thread: scipy's linear algebra would else share the work between the cores.
  const env = { ...process.env, OPENBLAS_NUM_THREADS: '1', OMP_NUM_THREADS: '1' };
  const { status, stdout, stderr } = spawnSync(program, options, {
    encoding: 'utf8',
    env,
    maxBuffer: 2 ** 26,
  });
  if (status !== 0) throw new Error(`${program} ${options.join(' ')} failed: ${stderr}`);
  return stdout;
}

/** Does some work in a folder that is gone afterwards. */
export async function inTemporaryFolder<T>(work: (folder: string) => Promise<T>): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
  try {
    return await work(folder);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** Runs the hour in a process of its own and shows what it prints. */
export async function runHour(): Promise<void> {
  await inTemporaryFolder(async (folder) => {
    const source = fileURLToPath(new URL('./hour.ts', import.meta.url));
    await buildAsShipped({ hour: source }, folder);
    const call = [join(folder, 'hour.mjs'), fileURLToPath(new URL('.', import.meta.url))];
    const { status } = spawnSync(process.execPath, call, { stdio: 'inherit' });
    if (status !== 0) fail(`the hour ended with status ${status}`);
  });
}

/** Ends the bench with a sentence: results that differ make times meaningless. */
export function fail(sentence: string): never {
  throw new Error(sentence);
}
