import { CAUTIONS } from '../comfort/cautions.js';
import { readResultFile } from '../files/readResultFile.js';
import { framesOf } from '../handoff/poses.js';
import { attempt, conclude, tell } from './eachFile.js';
import { parseFrameSpan } from './frameSpan.js';
import { isManifest } from './isManifest.js';
import { resampleMovie } from './resampleMovie.js';
import { type HowToResample, howOf } from './resampleOptions.js';
import { clearProgress, dataOf, describeMade, progressTeller } from './resampleWords.js';
import { spareInputs } from './resultPlaces.js';
import { type Options, textOf, UsageError } from './usage.js';

/** `twinkeel resample`: steadied movies. */
export async function resample(
  files: readonly string[],
  options: Options,
  encoder: readonly string[] = [],
): Promise<number> {
  const [file, ...more] = files;
  if (file === undefined) throw new UsageError('name the movie, or a manifest of a shoot');
  if (more.length > 0) {
    throw new UsageError(
      `one movie at a time, found also ${more.join(' ')}; options for ffmpeg stand behind --, many movies in a manifest`,
    );
  }
  const how = howOf(options, encoder);
  const interrupt = new AbortController();
  const onSignal = () => interrupt.abort(new Interrupted());
  const signals = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;
  for (const each of signals) process.on(each, onSignal);
  try {
    if (isManifest(file)) {
      const { resampleShoot } = await import('./resampleShoot.js');
      return await resampleShoot(file, options, how, interrupt.signal);
    }
    return await single(file, options, how, interrupt.signal);
  } catch (error) {
    if (!(error instanceof Interrupted)) throw error;
    clearProgress();
    process.stderr.write('twinkeel: stopped; whole segments are kept, run again to go on\n');
    return 130;
  } finally {
    for (const each of signals) process.off(each, onSignal);
  }
}

class Interrupted extends Error {}

async function single(
  movie: string,
  options: Options,
  how: HowToResample,
  signal: AbortSignal,
): Promise<number> {
  const alone = ['results', 'ending', 'anywhere'].find((key) => options[key] !== undefined);
  if (alone !== undefined) throw new UsageError(`--${alone} goes with a manifest only`);
  const resultFile = textOf(options, 'result');
  const out = textOf(options, 'out');
  if (resultFile === undefined) {
    throw new UsageError('say which corrections: --result STEM.result.json');
  }
  if (out === undefined) throw new UsageError('say which movie to make: --out FILE.mkv');
  const report = await attempt(movie, async () => {
    spareInputs([out], [movie, resultFile]);
    const result = readResultFile(resultFile);
    const span = textOf(options, 'frames');
    const made = await resampleMovie({
      ...how,
      movie,
      result,
      out,
      ...(span !== undefined && {
        frames: parseFrameSpan(span, {
          rate: result.corrections.frameRate,
          first: framesOf(result)[0]!,
          timecode: textOf(options, 'timecode'),
        }),
      }),
      signal,
      onProgress: progressTeller(''),
    });
    return { lines: [...describeMade(made), ...CAUTIONS], data: dataOf(made) };
  });
  clearProgress();
  tell(report, options);
  return conclude([report], options);
}
