/**
 * `npm run bench:speed`: what an hour of footage costs, step by step, in one run on one core, and
 * the ratio to numpy where the same step exists there. Absolute times depend on the machine; read
 * the shares and ratios. `hour.ts FOLDER` is built as the library is shipped; the folder holds numpy's side.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { correct } from '../../src/correct.js';
import { toCsv, trackToCsv } from '../../src/handoff/csv.js';
import { toJson } from '../../src/handoff/json.js';
import { orientLog } from '../../src/inertial/orientLog.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { levelPath } from '../../src/motion/horizon.js';
import { limitPath } from '../../src/motion/limit.js';
import { separate } from '../../src/motion/separate.js';
import { readTrack } from '../../src/read/readTrack.js';
import { composeQuaternions, invertQuaternions, vectorAt } from '../../src/rotation/arrays.js';
import { integrateRate } from '../../src/track/integrate.js';
import { createMotionLog, type MotionLog } from '../../src/track/motionLog.js';
import { trackOf } from '../accuracy/evaluate.js';
import { makeHandheldLog } from '../accuracy/handheldLog.js';
import { printTable } from '../accuracy/table.js';
import { makeWalk } from '../accuracy/walks.js';

interface Timing {
  readonly step: string;
  readonly seconds: number;
  readonly items: number;
}

const benches = process.argv[2]!;
const timings: Timing[] = [];

function time<T>(step: string, items: number, work: () => T): T {
  const start = performance.now();
  const result = work();
  timings.push({ step, seconds: (performance.now() - start) / 1000, items });
  return result;
}

// A first short run lets the compiler see every loop.
correct(trackOf(makeWalk('turn90', 2, { duration: 30 })), { limits: { totalDeg: 5 } });
compareDurations();

const walk = makeWalk('turn90', 1, { duration: 3600 });
const track = trackOf(walk);
const frames = track.times.length;
const csv = trackToCsv(track);
time('read the track (CSV text)', frames, () => readTrack(csv));
const result = time('correct, limit 5° (separates too)', frames, () =>
  correct(track, { limits: { totalDeg: 5 } }),
);
time('write CSV', frames, () => toCsv(result));
time('write JSON', frames, () => toJson(result));

const samples = orientHours();

printTable(
  'One hour: 59.94 frames per second, 1000 log rows per second',
  ['step', 'seconds', 'million per second'],
  timings.map(({ step, seconds, items }) => [step, seconds, items / seconds / 1e6]),
);
console.log(`peak memory ${(process.resourceUsage().maxRSS / 1024).toFixed(0)} MB\n`);

const python = '/usr/bin/python3';
const script = join(benches, 'numpyIntegration.py');
if (existsSync(python) && spawnSync(python, ['-c', 'import numpy']).status === 0) {
  const ours = timings.find(({ step }) => step === 'integrate a gyro log')!;
  const theirs = Number(spawnSync(python, [script, String(samples)], { encoding: 'utf8' }).stdout);
  console.log(
    `numpy takes ${((theirs * ours.items) / ours.seconds).toFixed(0)} times as long to integrate the same rates (a loop over numpy scalars, ${samples / 20} rows timed)\n`,
  );
  compareOrientation();
} else console.log('ratio to numpy: skipped, no python3 with numpy here\n');

/**
 * Separation and limit of 10 minutes, an hour and ten: processor time, which should grow with the
 * clip, and how many times as long as a fixed loop of divisions takes.
 */
function compareDurations() {
  const rows: (string | number)[][] = [];
  for (const [words, duration] of [
    ['10 minutes', 600],
    ['1 hour', 3600],
    ['10 hours', 36_000],
  ] as const) {
    const track = trackOf(makeWalk('turn90', 1, { duration }));
    const n = track.times.length;
    const rate = (n - 1) / track.times[n - 1]!;
    const unit = processorTime(() => {
      let sum = 0;
      for (let i = 1; i < 1e8; i++) sum += 1 / i;
      return sum;
    });
    const separated = processorTime(() => separate(track));
    const wanted = levelPath(separated.value.intended.quaternions, 1);
    const total = new Float64Array(n).fill(5 * RADIANS_PER_DEGREE);
    const limited = processorTime(() => limitPath(track.quaternions, wanted, { total }, rate));
    const seconds = separated.seconds + limited.seconds;
    rows.push([
      words,
      separated.seconds,
      limited.seconds,
      (1e6 * seconds) / n,
      seconds / unit.seconds,
      (process.resourceUsage().maxRSS / 1024).toFixed(0),
    ]);
  }
  printTable(
    'Separate and limit to 5° at 59.94: seconds of processor time; the unit is 10⁸ divisions',
    ['clip', 'separate, s', 'limit, s', 'µs a frame', 'units', 'peak, MB'],
    rows,
  );
}

function processorTime<Value>(work: () => Value): { value: Value; seconds: number } {
  const start = process.cpuUsage();
  const value = work();
  const { user, system } = process.cpuUsage(start);
  return { value, seconds: (user + system) / 1e6 };
}

/** The same method in numpy, and how far its horizon is from ours: a minute at 1 kHz. */
function compareOrientation() {
  const minute = minuteOfLog();
  const n = minute.times.length;
  const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
  const [rows, quaternions] = [join(folder, 'rows'), join(folder, 'quaternions')];
  const script = join(benches, 'numpyOrientation.py');
  try {
    const { times, rate, acceleration } = minute;
    const row = (k: number) => [rate, acceleration!].flatMap((v) => [...vectorAt(v, k)]);
    const table = Float64Array.from([...times].flatMap((t, k) => [t, ...row(k)]));
    writeFileSync(rows, new Uint8Array(table.buffer));
    const { stdout, stderr, status } = spawnSync(python, [script, rows, quaternions], {
      encoding: 'utf8',
    });
    if (status !== 0) throw new Error(stderr);
    const theirs = new Float64Array(new Uint8Array(readFileSync(quaternions)).buffer);
    // Time of the processor on both sides, so that a busy machine changes neither.
    const start = process.cpuUsage();
    const { track } = orientLog(minute);
    const { user, system } = process.cpuUsage(start);
    const seconds = (user + system) / 1e6;
    const errors = composeQuaternions(track.quaternions, invertQuaternions(theirs));
    let largest = 0;
    for (let i = 0; i < errors.length; i += 4) {
      largest = Math.max(
        largest,
        2 * Math.asin(Math.min(1, Math.hypot(errors[i]!, errors[i + 2]!))),
      );
    }
    console.log(
      `numpy takes ${((Number(stdout) * n) / seconds).toFixed(0)} times as long to orient the same log (dense matrices, a minute at 1 kHz); the horizons are at most ${((largest * 180) / Math.PI).toExponential(1)}° apart\n`,
    );
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/**
 * Two hours of log, one after the other. The minute that is repeated loses its horizon at every seam,
 * which takes three first passes of the smoother; a walk takes one.
 */
function orientHours(): number {
  let log = hourOfLog();
  const samples = log.times.length;
  time('integrate a gyro log', samples, () =>
    integrateRate(log.times, log.rate, undefined, 'interval'),
  );
  time('orient a gyro log, lost every minute', samples, () => orientLog(log));
  const sensor = { gyroBiasDegPerS: 1, accelBias: 0.05 };
  log = atOneKilohertz(makeHandheldLog('roaming', 1, 3600, sensor).log);
  time('orient a gyro log of a walk', samples, () => orientLog(log));
  return samples;
}

function minuteOfLog(): MotionLog {
  return atOneKilohertz(makeHandheldLog('roaming', 1, 60).log);
}

/** A log of 200 rows a second at 1 kHz, on straight lines between its rows. */
function atOneKilohertz({ times, rate, acceleration }: MotionLog): MotionLog {
  const total = 5 * (times.length - 1) + 1;
  const between = (v: Float64Array) => {
    const out = new Float64Array(3 * total);
    for (let i = 0; i < out.length; i++) {
      const k = Math.floor(i / 15) * 3 + (i % 3);
      out[i] = v[k]! + ((Math.floor(i / 3) % 5) / 5) * ((v[k + 3] ?? v[k]!) - v[k]!);
    }
    return out;
  };
  return createMotionLog({
    times: Float64Array.from({ length: total }, (_, k) => k / 1000),
    rate: between(rate),
    acceleration: between(acceleration!),
  });
}

/** An hour at 1 kHz: the same minute of a hand-held walk again and again. */
function hourOfLog() {
  const minute = makeHandheldLog('roaming', 1, 60).log;
  const n = minute.times.length;
  const total = 3_600_000;
  const repeat = (values: Float64Array) =>
    Float64Array.from(
      { length: 3 * total },
      (_, i) => values[(Math.floor(i / 15) % n) * 3 + (i % 3)]!,
    );
  return createMotionLog({
    times: Float64Array.from({ length: total }, (_, k) => k / 1000),
    rate: repeat(minute.rate),
    acceleration: repeat(minute.acceleration!),
  });
}
