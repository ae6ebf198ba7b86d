import { join } from 'node:path';
import { CAUTIONS } from '../comfort/cautions.js';
import { readJoinedLog } from '../files/readJoinedLog.js';
import { tidyFolder } from '../files/tidyFolder.js';
import { writeFiles } from '../files/writeFiles.js';
import { trackToCsvBytes } from '../handoff/csv.js';
import { type Estimate, orientLog } from '../inertial/orientLog.js';
import { DEGREES_PER_RADIAN } from '../math.js';
import { resampleToFrames } from '../track/resample.js';
import { describeTrack } from '../words/track.js';
import { describeWarnings } from '../words/verdict.js';
import { settingsFromOptions } from './checkSettings.js';
import { loadSettings } from './clipSettings.js';
import { eachFile } from './eachFile.js';
import { nextAfterOrient } from './nextCommand.js';
import { refuseTwins, spareInputs, stemOf } from './resultPlaces.js';
import { namedFiles } from './settings.js';
import { type Options, requireOut, UsageError } from './usage.js';

/** `twinkeel orient`: motion logs to tracks. */
export async function orient(files: readonly string[], options: Options): Promise<number> {
  const settings = settingsFromOptions(options);
  const { read, accel } = await loadSettings(settings);
  const folder = requireOut(options);
  tidyFolder(folder);
  const refuseTwin = refuseTwins();
  if (accel && files.length > 1) {
    throw new UsageError(`--accel ${accel.path} belongs to one gyroscope's log; give one file`);
  }
  const turn = async (file: string) => {
    refuseTwin(file, stemOf(file));
    const log = await readJoinedLog(file, read, accel);
    const { track, gyroBias, accelBias, quality } = orientLog(log);
    const written = read.frameRate ? resampleToFrames(track, read.frameRate).track : track;
    const path = join(folder, `${stemOf(file)}.track.csv`);
    spareInputs([path], [...files, ...namedFiles(settings)]);
    writeFiles([{ path, content: trackToCsvBytes(written) }], { force: options.force === true });
    const tilt = Math.max(...sample(quality.tiltDeviation, 1000)) * DEGREES_PER_RADIAN;
    return {
      lines: [
        ...describeTrack(written),
        ...(log.acceleration
          ? [
              `gyro bias ${describeBias(gyroBias)} °/s about right, up, back`,
              `horizon ± ${tilt.toFixed(2)}° at worst (one standard deviation, by the model)`,
            ]
          : []),
        ...describeWarnings(track.warnings),
        `wrote ${path}`,
      ],
      data: { path, gyroBias, accelBias, warnings: track.warnings },
    };
  };
  return eachFile(files, options, turn, (reports) => [
    ...nextAfterOrient(
      reports.some(({ ok }) => ok),
      folder,
    ),
    ...CAUTIONS,
  ]);
}

/** A bias axis by axis with its deviation, °/s; what the log does not show is said to be unknown. */
function describeBias({ value, deviation }: Estimate): string {
  return value
    .map((bias, axis) =>
      Number.isFinite(deviation[axis])
        ? `${(bias * DEGREES_PER_RADIAN).toFixed(3)} ± ${(deviation[axis]! * DEGREES_PER_RADIAN).toFixed(3)}`
        : 'unknown',
    )
    .join(', ');
}

/** About `count` values spread over an array. */
function sample(values: Float64Array, count: number): number[] {
  const step = Math.max(1, Math.floor(values.length / count));
  return Array.from(values).filter((_, k) => k % step === 0);
}
