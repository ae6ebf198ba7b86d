/**
 * `npx tsx bench/speed/tables.ts`: reading and writing of tables against numpy and fast-csv, in one
 * run. Every job is a process of its own, bundled beforehand; times are processor time (user and
 * system), the least of three, taken in turns. Reading counts the whole process, its start
 * included; writing counts the step from doubles in memory to a closed file. Absolute times depend
 * on the machine; read the ratios.
 */
import { spawnSync } from 'node:child_process';
import {
  createReadStream,
  createWriteStream,
  existsSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { fileURLToPath } from 'node:url';
import { openTable } from '../../src/files/openRecording.js';
import { toCsvBytes } from '../../src/handoff/csv.js';
import { DecimalWriter } from '../../src/handoff/writeDecimals.js';
import { seededRandom } from '../accuracy/random.js';
import { printTable } from '../accuracy/table.js';

const PYTHON = '/usr/bin/python3';
const RUNS = 3;
const LOG_ROWS = 1_000_000;
/** An hour at 60 frames per second. */
const FRAMES = 216_000;
const LOG_HEADER = 'time_s,gx,gy,gz,ax,ay,az\n';

/** What a job says: processor time, and what shows that all read the same. */
interface Outcome {
  readonly seconds: number;
  readonly sum?: number;
  readonly peakMB?: number;
}

/** Prints how we, numpy and fast-csv compare. */
export async function compareTables(): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
  try {
    const { buildSync } = await import('esbuild');
    const script = join(folder, 'job.cjs');
    buildSync({
      entryPoints: [fileURLToPath(import.meta.url)],
      outfile: script,
      bundle: true,
      platform: 'node',
      format: 'cjs',
      external: ['esbuild'],
      logLevel: 'error',
      define: { 'import.meta.url': '""' },
    });
    const [short, long, rows] = ['short.csv', 'long.csv', 'rows'].map((name) => join(folder, name));
    writeFileSync(
      short!,
      logText((writer, value, decimals) => writer.fixed(value, decimals)),
    );
    writeFileSync(
      long!,
      logText((writer, value) => writer.text(String(value))),
    );
    const table = correctionRows();
    writeFileSync(rows!, new Uint8Array(table.buffer));

    const node = (job: string, ...paths: string[]) =>
      outcomeOf(process.execPath, [script, ...paths], { ...process.env, TABLES_JOB: job });
    const python = (...words: string[]) =>
      outcomeOf(PYTHON, [fileURLToPath(new URL('./tables.py', import.meta.url)), ...words]);
    const hasNumpy = existsSync(PYTHON) && spawnSync(PYTHON, ['-c', 'import numpy']).status === 0;
    if (!hasNumpy) console.log('numpy: skipped, no python3 with numpy here\n');

    const lines = [short!, long!].map((path) => {
      const digits = path === short ? 'up to 9 digits' : '16 to 17 digits';
      return compared(`read ${megabytes(path)} MB, ${digits}`, [
        () => node('read', path),
        hasNumpy && (() => python('read', path)),
        () => node('readByFastCsv', path),
      ]);
    });
    const out = join(folder, 'out.csv');
    lines.push(
      compared('write 216,000 corrections', [
        () => node('write', rows!, out),
        hasNumpy && (() => python('write', rows!, out)),
        () => node('writeByFastCsv', rows!, out),
      ]),
    );
    printTable(
      'Tables: seconds of processor time, and how many times as long the others take',
      ['job', 'ours, s', 'numpy', 'fast-csv', 'our peak, MB'],
      lines,
    );
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** One line of the comparison: the least of each, taken in turns. */
function compared(title: string, jobs: readonly ((() => Outcome) | false)[]): (string | number)[] {
  const least = jobs.map(() => Number.POSITIVE_INFINITY);
  const sums = new Set<number | undefined>();
  let peakMB = 0;
  for (let run = 0; run < RUNS; run++) {
    jobs.forEach((job, k) => {
      if (!job) return;
      const outcome = job();
      least[k] = Math.min(least[k]!, outcome.seconds);
      sums.add(outcome.sum);
      peakMB = Math.max(peakMB, outcome.peakMB ?? 0);
    });
  }
  if (sums.size > 1) throw new Error(`${title}: the sums of the last row differ: ${[...sums]}`);
  const [ours, ...others] = least;
  const ratio = (seconds: number) =>
    Number.isFinite(seconds) ? `${(seconds / ours!).toFixed(1)} x` : '-';
  return [title, ours!, ...others.map(ratio), peakMB > 0 ? peakMB.toFixed(0) : '-'];
}

function outcomeOf(command: string, words: readonly string[], env = process.env): Outcome {
  const { stdout, stderr, status } = spawnSync(command, words, { encoding: 'utf8', env });
  if (status !== 0) throw new Error(stderr);
  return JSON.parse(stdout) as Outcome;
}

function megabytes(path: string): string {
  return (statSync(path).size / 1e6).toFixed(0);
}

/** A log of a walk: slow turns, steps at two per second, and noise. */
function logText(write: (writer: DecimalWriter, value: number, decimals: number) => void) {
  const random = seededRandom('a log of the greenhouse walk');
  const writer = new DecimalWriter(80 * LOG_ROWS);
  writer.text(LOG_HEADER);
  for (let k = 0; k < LOG_ROWS; k++) {
    const time = k / 1000 + 2e-6 * random.normal();
    write(writer, Math.max(0, time), 6);
    for (let axis = 0; axis < 3; axis++) {
      writer.byte(44);
      const rate = 0.4 * Math.sin(time / (3 + axis)) + 0.1 * Math.sin(12.6 * time + axis);
      write(writer, rate + 0.01 * random.normal(), 8);
    }
    for (let axis = 0; axis < 3; axis++) {
      writer.byte(44);
      const force = (axis === 1 ? 9.81 : 0) + 2 * Math.sin(12.6 * time + axis);
      write(writer, force + 0.05 * random.normal(), 6);
    }
    writer.byte(10);
  }
  return writer.finish();
}

/** Frame, time and a small rotation of every frame, row by row. */
function correctionRows(): Float64Array {
  const random = seededRandom('corrections of the greenhouse walk');
  const rows = new Float64Array(6 * FRAMES);
  for (let k = 0; k < FRAMES; k++) {
    const [x, y, z] = [0, 1, 2].map(() => 0.02 * random.normal()) as [number, number, number];
    rows.set([k, (k * 1001) / 60000, x, y, z, Math.sqrt(1 - x * x - y * y - z * z)], 6 * k);
  }
  return rows;
}

/** The jobs, each run in a process of its own. */
const JOBS: Readonly<Record<string, (...paths: string[]) => Promise<Outcome>>> = {
  async read(path) {
    const table = await openTable(path!);
    const columns = Array.from({ length: table.columnCount }, (_, k) => table.numbers(k));
    const sum = columns.reduce((total, column) => total + column[table.rowCount - 1]!, 0);
    return { seconds: processorSeconds(), sum, peakMB: peakMegabytes() };
  },
  async readByFastCsv(path) {
    const { parse } = await import('fast-csv');
    const columns = Array.from({ length: 7 }, () => new Float64Array(LOG_ROWS));
    let row = 0;
    const parser = createReadStream(path!).pipe(parse<string[], string[]>({ headers: false }));
    parser.on('data', (cells: string[]) => {
      if (row > 0) for (let k = 0; k < 7; k++) columns[k]![row - 1] = Number(cells[k]);
      row++;
    });
    await new Promise((resolve, reject) => parser.on('end', resolve).on('error', reject));
    const sum = columns.reduce((total, column) => total + column[row - 2]!, 0);
    return { seconds: processorSeconds(), sum };
  },
  async write(from, to) {
    const corrections = correctionsOf(from!);
    const start = processorSeconds();
    writeFileSync(to!, toCsvBytes({ corrections }));
    return { seconds: processorSeconds() - start };
  },
  async writeByFastCsv(from, to) {
    const { format } = await import('fast-csv');
    const { times, quaternions: q } = correctionsOf(from!);
    const start = processorSeconds();
    function* rows() {
      yield ['frame', 'time_s', 'x', 'y', 'z', 'w'];
      for (let k = 0; k < times.length; k++) {
        const components = [0, 1, 2, 3].map((c) => q[4 * k + c]!.toFixed(12));
        yield [String(k), times[k]!.toFixed(9), ...components];
      }
    }
    await pipeline(rows(), format({ headers: false }), createWriteStream(to!));
    return { seconds: processorSeconds() - start };
  },
};

function correctionsOf(path: string) {
  const rows = new Float64Array(new Uint8Array(readFileSync(path)).buffer);
  const n = rows.length / 6;
  const quaternions = new Float64Array(4 * n);
  for (let k = 0; k < n; k++) quaternions.set(rows.subarray(6 * k + 2, 6 * k + 6), 4 * k);
  return {
    frames: Int32Array.from({ length: n }, (_, k) => rows[6 * k]!),
    times: Float64Array.from({ length: n }, (_, k) => rows[6 * k + 1]!),
    quaternions,
  };
}

/** The most memory that this program held; what the system counts may start with its parent's. */
function peakMegabytes(): number {
  const status = '/proc/self/status';
  const own = existsSync(status) && /VmHWM:\s+(\d+) kB/.exec(readFileSync(status, 'utf8'));
  return (own ? Number(own[1]) : process.resourceUsage().maxRSS) / 1024;
}

function processorSeconds(): number {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
}

const job = JOBS[process.env.TABLES_JOB ?? ''];
if (job) {
  void job(...process.argv.slice(2)).then((outcome) => console.log(JSON.stringify(outcome)));
} else if (process.argv[1] === fileURLToPath(import.meta.url)) void compareTables();
