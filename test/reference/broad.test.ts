// Laidig, Caruso, Cereatti, Seel, "BROAD – A Benchmark for Robust Inertial Orientation Estimation", Data 6(7):72, 2021, doi 10.3390/data6070072.
// Six extracts of its recordings with optical reference, 90 s each, turns up to 419 °/s.
import { describe, expect, test } from 'vitest';
import { BROAD_FOLDER, broadRecordings } from '../../bench/accuracy/broad.js';
import { FIXED_SHIFT, inclinationRms } from '../../bench/accuracy/inclination.js';
import { orientLog } from '../../src/inertial/orientLog.js';

const recordings = broadRecordings();

describe.skipIf(recordings.length === 0)('the horizon of the recordings with a reference', () => {
  const oriented = recordings.map((recording) => ({
    ...recording,
    track: orientLog(recording.log).track,
  }));
  const mean = (shift: number) =>
    oriented.reduce(
      (sum, { track, times, quaternions, scored }) =>
        sum + inclinationRms(track, times, quaternions, shift, scored),
      0,
    ) / oriented.length;

  test('there are six of them', () => {
    expect(oriented).toHaveLength(6);
  });

  test('read 2.45 ms late, as late as its sensors are, it is off by less than 0.35° on average', () => {
    expect(FIXED_SHIFT).toBe(0.00245);
    expect(mean(FIXED_SHIFT)).toBeLessThan(0.35);
  });

  test('as the stamps are it is off by less than 0.6° on average', () => {
    // 2.45 ms at 200 °/s are 0.5°, of which turns about the vertical take no part.
    expect(mean(0)).toBeLessThan(0.6);
  });
});

if (recordings.length === 0) console.log(`broad.test.ts: skipped, ${BROAD_FOLDER} is not here`);
