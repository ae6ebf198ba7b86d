import { CAUTIONS } from '../comfort/cautions.js';
import { separate } from '../motion/separate.js';
import { movesOfTake } from '../motion/takeMoves.js';
import { resampleToFrames } from '../track/resample.js';
import { describeShot } from '../words/clip.js';
import { describePose } from '../words/pose.js';
import { tellStory } from '../words/story.js';
import { describeTrack } from '../words/track.js';
import { describeWarnings } from '../words/verdict.js';
import { settingsFromOptions } from './checkSettings.js';
import { loadSettings } from './clipSettings.js';
import { openClip } from './correctFile.js';
import { eachFile } from './eachFile.js';
import { isManifest } from './isManifest.js';
import { nextAfterInspect } from './nextCommand.js';
import { rateConflict } from './rateConflict.js';
import { type Options, UsageError } from './usage.js';

/** `twinkeel inspect`: what was understood; writes nothing. */
export async function inspect(files: readonly string[], options: Options): Promise<number> {
  const { read, correct, accel } = await loadSettings(settingsFromOptions(options));
  const { frameRate } = read;
  const manifest = files.find(isManifest);
  if (manifest !== undefined) {
    throw new UsageError(
      `${manifest} is a manifest; inspect its files, or run: twinkeel correct ${manifest} --out DIR`,
    );
  }
  const look = async (file: string) => {
    const clip = await openClip(file, read, accel);
    // Without a rate the samples stay; gaps are refused in any case, as in the main job.
    const { track } = resampleToFrames(clip.track, frameRate);
    const separation = separate(track, { shot: correct.shot ?? 'auto' });
    const moves = movesOfTake(separation.intended, track, separation.gait);
    const warnings = [...rateConflict(clip, frameRate), ...track.warnings, ...separation.warnings];
    const lines = [
      clip.kind === 'log' ? 'motion log' : 'orientation track',
      ...describeTrack(track),
      tellStory({ moves, gait: separation.gait }),
      ...describePose(clip.track.quaternions, read.mapping),
      describeShot(separation),
      ...describeWarnings(warnings),
    ];
    return {
      lines,
      data: {
        kind: clip.kind,
        samples: track.times.length,
        durationS: track.times[track.times.length - 1],
        up: track.up,
        shot: separation.shot,
        confidence: separation.confidence,
        gait: separation.gait,
        moves,
        warnings,
      },
    };
  };
  return eachFile(files, options, look, (reports) => [
    ...nextAfterInspect(
      reports.flatMap(({ ok, file }) => (ok ? [file] : [])),
      options,
    ),
    ...CAUTIONS,
  ]);
}
