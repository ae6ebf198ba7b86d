/**
 * The library's side of the pipeline comparison: `pipeline.ts FOLDER` reads `log.csv` and
 * `track.csv`, writes `library.csv` and prints JSON: seconds of processor time of each part.
 */
import { join } from 'node:path';
import { correct } from '../../src/correct.js';
import { writeFiles } from '../../src/files/writeFiles.js';
import { toCsvBytes } from '../../src/handoff/csv.js';
import { gaussianFilter } from '../../src/motion/classicFilters.js';
import { gaussianMeanPath } from '../../src/motion/pathCoordinates.js';
import { readMotionLogFile, readTrackFile } from '../../src/node.js';
import {
  alignSigns,
  composeQuaternions,
  headingTiltRollFromQuaternions,
  invertQuaternions,
  quaternionsFromHeadingTiltRoll,
} from '../../src/rotation/arrays.js';
import { integrateRate } from '../../src/track/integrate.js';
import { interpolateTrack } from '../../src/track/resample.js';

const folder = process.argv[2]!;
const seconds: Record<string, number> = {};
let before = 0;

/** Ends a part: all processor time since the last one, by any thread, belongs to it. */
function done(part: string): void {
  const { user, system } = process.cpuUsage();
  const now = (user + system) / 1e6;
  seconds[part] = now - before;
  before = now;
}

/** An angle per frame without jumps of whole turns. */
function unwrapped(angles: Float64Array): Float64Array {
  const out = angles.slice();
  for (let k = 1; k < out.length; k++) {
    const turns = Math.round((angles[k]! - out[k - 1]!) / (2 * Math.PI));
    out[k] = angles[k]! - 2 * Math.PI * turns;
  }
  return out;
}

done('start');
const log = await readMotionLogFile(join(folder, 'log.csv'));
done('read the log');
const track = await readTrackFile(join(folder, 'track.csv'), {
  frameRate: { numerator: 60000, denominator: 1001 },
});
done('read the track');
const integrated = integrateRate(log.times, log.rate, undefined, 'interval');
done('integrate');
const { times } = track;
const atFrames = interpolateTrack(
  { times: log.times, quaternions: integrated, up: 'unknown', warnings: [] },
  times,
);
done('interpolate');
const frameRate = 60000 / 1001;
const error = alignSigns(composeQuaternions(track.quaternions, invertQuaternions(atFrames)));
const fused = composeQuaternions(gaussianMeanPath(error, frameRate), atFrames);
done('fuse');
const { heading, tilt } = headingTiltRollFromQuaternions(fused);
const smoothHeading = gaussianFilter(unwrapped(heading), frameRate, 0.5);
const smoothTilt = gaussianFilter(tilt, frameRate, 0.5);
const intended = quaternionsFromHeadingTiltRoll({
  heading: smoothHeading,
  tilt: smoothTilt,
  roll: new Float64Array(times.length),
});
done('smooth');
const quaternions = alignSigns(composeQuaternions(invertQuaternions(intended), fused));
done('correct');
const corrections = { times, quaternions, ...(track.frames && { frames: track.frames }) };
writeFiles([{ path: join(folder, 'library.csv'), content: toCsvBytes({ corrections }) }], {
  force: true,
});
done('write');
correct(track);
done('correct() with its own separation, not part of the total');
console.log(JSON.stringify(seconds));
