import { CAUTIONS } from '../comfort/cautions.js';
import { conclude, print, type Report, tell } from './eachFile.js';
import type { ResampleProgress } from './planMovie.js';
import type { ResampledMovie } from './resampleMovie.js';
import type { Options } from './usage.js';

/** What was made, for a person. */
export function describeMade(made: ResampledMovie): string[] {
  const [width, height] = made.size;
  const resumed = made.resumedFrames > 0 ? `, ${made.resumedFrames} of them made before` : '';
  return [
    `${made.frameCount} frames of ${width} × ${height} pixels${resumed}`,
    ...made.notes,
    `wrote ${made.path}`,
  ];
}

/** What was made, for a machine. */
export function dataOf(made: ResampledMovie): Record<string, unknown> {
  const { path, frameCount, resumedFrames, size, notes } = made;
  return { path, frameCount, resumedFrames, size, notes };
}

/** Says what became of a clip of a shoot. */
export function tellClip(report: Report, options: Options): void {
  clearProgress();
  tell(report, options);
}

/** Says it at the end of a shoot. */
export function concludeShoot(reports: readonly Report[], options: Options): number {
  if (options.json !== true) for (const line of CAUTIONS) print(line);
  return conclude(reports, options);
}

/** A line on a terminal that each frame replaces, a few times a second; nothing into a file. */
export function progressTeller(name: string): (progress: ResampleProgress) => void {
  let last = 0;
  return ({ done, total, framesPerSecond, secondsLeft }) => {
    if (!process.stderr.isTTY) return;
    const now = performance.now();
    if (now - last < PROGRESS_MS && done < total) return;
    last = now;
    const rate = framesPerSecond.toFixed(framesPerSecond < 10 ? 2 : 0);
    const frames = `${name === '' ? '' : `${name}: `}${done}/${total} frames`;
    process.stderr.write(
      `\r\x1b[K${frames}, ${rate} frames per second, ${spanWords(secondsLeft)} left`,
    );
  };
}

const PROGRESS_MS = 250;

/** Takes the line of progress away. */
export function clearProgress(): void {
  if (process.stderr.isTTY) process.stderr.write('\r\x1b[K');
}

/** 95 s, 12 min, 3 h 20 min. */
export function spanWords(seconds: number): string {
  if (seconds < 100) return `${Math.ceil(seconds)} s`;
  const minutes = Math.round(seconds / 60);
  return minutes < 100 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
}
