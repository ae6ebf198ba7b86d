import { separate } from '../motion/separate.js';
import { resampleToFrames } from '../track/resample.js';
import { loadSettings, settingsFromOptions } from './clipSettings.js';
import { openClip } from './correctFile.js';
import { eachFile } from './eachFile.js';
import type { Options } from './usage.js';
import { describeShot, describeTrack, describeWarnings } from './words.js';

/** `twinkeel inspect`: what was understood; writes nothing. */
export async function inspect(files: readonly string[], options: Options): Promise<number> {
  const { read, correct } = await loadSettings(settingsFromOptions(options));
  const { frameRate } = read;
  return eachFile(files, options, async (file) => {
    const clip = await openClip(file, read);
    const { track } = frameRate ? resampleToFrames(clip.track, frameRate) : clip;
    const separation = separate(track, { shot: correct.shot ?? 'auto' });
    const warnings = [...track.warnings, ...separation.warnings];
    const lines = [
      clip.kind === 'log' ? 'motion log' : 'orientation track',
      ...describeTrack(track),
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
        warnings,
      },
    };
  });
}
