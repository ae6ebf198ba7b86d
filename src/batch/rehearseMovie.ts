import { extname, join } from 'node:path';
import { openEncoder } from '../files/ffmpegPipes.js';
import { joinMovie } from './joinMovie.js';
import type { MoviePlan } from './planMovie.js';
import { openSegmentFolder, REHEARSAL } from './segmentFolder.js';

/** Seconds of sound to try. */
const SOUND_S = 0.25;

/**
 * Tries encoder, container and sound on a single frame, so that what ffmpeg cannot do is said before
 * the first frame and not after the last.
 *
 * @param folder - the working folder
 * @throws TwinkeelError `movie/ffmpeg`
 */
export async function rehearseMovie(
  plan: MoviePlan,
  folder: string,
  signal: AbortSignal | undefined,
): Promise<void> {
  const trial = openSegmentFolder(join(folder, `${REHEARSAL}${extname(plan.out)}`), 'rehearsal');
  try {
    const stopped = signal && { signal };
    const encoder = openEncoder(plan.programs, {
      ...plan.encoding,
      stamps: [0],
      path: join(trial.path, trial.unfinished(0)),
      ...stopped,
    });
    try {
      await encoder.write(new Uint8Array(plan.targetBytes));
      await encoder.finish();
    } catch (error) {
      await encoder.abandon();
      throw error;
    }
    trial.keep(0);
    const sound = { fromS: plan.sound?.fromS ?? 0, lengthS: SOUND_S };
    const end = plan.stamps[1] ?? plan.end;
    await joinMovie({ ...plan, sound, folder: trial, bounds: [0, end], stamps: [0], ...stopped });
  } finally {
    trial.remove();
    trial.tidy();
  }
}
