/**
 * The main job on real recordings, both as orientation tracks and as gyro logs: extracts of BROAD
 * (Laidig, Caruso, Cereatti, Seel, Data 6(7):72, 2021, CC BY 4.0). Runs where they lie beside the
 * project.
 */

import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import {
  BROAD_FOLDER,
  BROAD_LOG_MAPPING,
  BROAD_TRACK_MAPPING,
} from '../../bench/accuracy/broad.js';
import { correctFile } from '../../src/batch/correctFile.js';
import { eyeCorrections } from '../../src/rig/eyeCorrections.js';
import { angularDistances, composeQuaternions } from '../../src/rotation.js';

const here = existsSync(BROAD_FOLDER);
if (!here) console.log('real recordings: skipped, they are not on this machine');
const frameRate = { numerator: 60000, denominator: 1001 };

describe.skipIf(!here)('a real recording gives one correction per frame', () => {
  const files = here ? readdirSync(BROAD_FOLDER).filter((name) => name.endsWith('.csv')) : [];
  test.each(files)('%s', async (name) => {
    const mapping = name.endsWith('_imu.csv') ? BROAD_LOG_MAPPING : BROAD_TRACK_MAPPING;
    const result = await correctFile(
      join(BROAD_FOLDER, name),
      { mapping, frameRate },
      { frameRate, limits: { totalDeg: 20 } },
    );
    const { corrections, intended } = result;
    // 90 s at 59.94 frames per second, give or take the row at which a recording ends.
    expect(Math.abs(corrections.times.length - 5394)).toBeLessThanOrEqual(2);
    expect(eyeCorrections(result, 'left')).toEqual(eyeCorrections(result, 'right'));
    // S K is a camera orientation again, and the correction keeps within 20°.
    const measured = composeQuaternions(intended.quaternions, corrections.quaternions);
    const angles = angularDistances(measured, intended.quaternions);
    expect(Math.max(...angles)).toBeLessThanOrEqual((20 * Math.PI) / 180);
  });
});
