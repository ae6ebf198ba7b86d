/**
 * Fifteen whole trials of BROAD (Laidig, Caruso, Cereatti, Seel, "BROAD – A Benchmark for Robust
 * Inertial Orientation Estimation", Data 6(7):72, 2021, doi 10.3390/data6070072, CC BY 4.0): every
 * row of the gyroscope, the accelerometer and the optical reference. They lie beside the project on
 * the developers' machines and are never part of it. The other half of the data set is for judging.
 */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { orientLog } from '../../src/inertial/orientLog.js';
import { readMotionLog } from '../../src/read/readMotionLog.js';
import { scanTable } from '../../src/read/scanTable.js';
import { BROAD_LOG_MAPPING, type BroadRecording } from './broad.js';
import { inclinationRms } from './inclination.js';
import { printTable } from './table.js';

const FOLDER = new URL('../../../shared/data/broad-whole/', import.meta.url).pathname;

/** Inclination of the best published offline method at its own fixed shift of 0.7 samples, degrees. */
const PUBLISHED: Readonly<Record<string, number>> = {
  '01': 0.408,
  '03': 0.279,
  '04': 0.428,
  '06': 0.285,
  '08': 0.578,
  '10': 0.237,
  '12': 0.184,
  '15': 0.517,
  '18': 0.194,
  '24': 0.304,
  '26': 0.301,
  '28': 0.411,
  '30': 0.329,
  '32': 0.26,
  '34': 0.27,
};

/** The period of the recordings' rows, s: shifts are counted in it. */
const PERIOD = 0.0035;

/** Output shifts among which the one for all trials is chosen, samples. */
const SHIFTS: readonly number[] = Array.from({ length: 9 }, (_, k) => 0.4 + k / 20);

/** The trials in turn, read one at a time; none where the folder does not exist. */
export function* wholeTrials(): Generator<BroadRecording> {
  if (!existsSync(FOLDER)) return;
  for (const file of readdirSync(FOLDER).sort()) {
    if (!file.endsWith('_imu.csv.gz')) continue;
    const name = file.slice(0, 2);
    const unpacked = (path: string) => gunzipSync(readFileSync(join(FOLDER, path)));
    const log = readMotionLog(unpacked(file), {
      mapping: BROAD_LOG_MAPPING.replace('"t"', '"time_s"'),
    });
    // Rows without a reference hold "nan", which no table of ours accepts: they count for nothing.
    const rows = unpacked(`${name}_ref.csv.gz`).toString().trim().split('\n');
    const kept = rows.filter((row) => !row.includes('nan'));
    const table = scanTable(new TextEncoder().encode(kept.join('\n')));
    const [times, w, x, y, z, moving] = [0, 1, 2, 3, 4, 5].map((c) => table.numbers(c)) as [
      Float64Array,
      Float64Array,
      Float64Array,
      Float64Array,
      Float64Array,
      Float64Array,
    ];
    // Sensor→earth with z up becomes ours on both sides: (x, y, z) → (x, z, −y).
    const quaternions = new Float64Array(4 * times.length);
    for (let k = 0; k < times.length; k++) {
      quaternions.set([x[k]!, z[k]!, -y[k]!, w[k]!], 4 * k);
    }
    yield { name, log, times, quaternions, scored: Uint8Array.from(moving) };
  }
}

/**
 * Inclination over the scored rows of every trial, as it is and with one shift for all; then with the
 * shift of each half of the trials chosen on the other half.
 */
export function printBroadWhole(): void {
  const trials: { name: string; asIs: number; shifted: number[] }[] = [];
  for (const { name, log, times, quaternions, scored } of wholeTrials()) {
    const { track } = orientLog(log);
    const at = (samples: number) =>
      inclinationRms(track, times, quaternions, samples * PERIOD, scored);
    trials.push({ name, asIs: at(0), shifted: SHIFTS.map(at) });
  }
  if (trials.length === 0) {
    console.log(`BROAD whole trials: skipped, there is no ${FOLDER}\n`);
    return;
  }
  const mean = (values: readonly number[]) => values.reduce((sum, v) => sum + v, 0) / values.length;
  const bestFor = (some: typeof trials) => {
    const means = SHIFTS.map((_, s) => mean(some.map(({ shifted }) => shifted[s]!)));
    return means.indexOf(Math.min(...means));
  };
  const best = bestFor(trials);
  const rows = trials.map(({ name, asIs, shifted }) => [
    name,
    asIs,
    shifted[best]!,
    PUBLISHED[name] ?? Number.NaN,
    SHIFTS[shifted.indexOf(Math.min(...shifted))]!,
  ]);
  const figure = (name: string, of: (values: number[]) => number) => [
    name,
    ...[1, 2, 3].map((c) => of(rows.map((row) => row[c] as number))),
    '',
  ];
  printTable(
    'Inclination error on fifteen whole BROAD trials, degrees RMS over the scored rows',
    [
      'trial',
      'as it is',
      `shifted by ${SHIFTS[best]!.toFixed(2)} samples`,
      'best published, its own shift',
      'own best shift, samples',
    ],
    [...rows, figure('mean', mean), figure('worst', (values) => Math.max(...values))],
  );
  const halves = [0, 1].map((half) => trials.filter((_, k) => k % 2 === half));
  const crossed = halves.map((half, h) => {
    const shift = bestFor(halves[1 - h]!);
    const values = half.map(({ shifted }) => shifted[shift]!);
    return [['odd', 'even'][h]!, SHIFTS[shift]!, mean(values), Math.max(...values)];
  });
  printTable(
    'The same, the shift of each half of the trials chosen on the other half',
    ['half', 'shift, samples', 'mean', 'worst'],
    crossed,
  );
}
