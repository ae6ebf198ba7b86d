import type { CorrectionResult } from '../correct.js';
import { stretchSentenceWithAdvice } from '../words/verdict.js';
import { type MovieClock, stretchesInFrames, takeParts } from './takeParts.js';

/**
 * The stretches of a take as a table of markers:
 * `frame,time_s,timecode,frames,duration_s,verdict,cause,sentence`, one row per stretch.
 *
 * @param result - of {@link index!correct}
 * @param clock - how the movie is counted
 * @returns text; the column of time codes is empty where no exact frame rate is known
 * @throws TwinkeelError `argument/invalid` without stretches, `timecode/invalid`
 * @example
 * toMarkersCsv(result).split('\n')[0]; // 'frame,time_s,timecode,frames,duration_s,verdict,cause,sentence'
 */
export function toMarkersCsv(result: CorrectionResult, clock: MovieClock = {}): string {
  const take = result.corrections.frameRate && takeParts(result, clock);
  const rows = stretchesInFrames(result).parts.map(({ stretch, start, count }) => {
    const { fromFrame, fromSeconds, toSeconds, verdict, because } = stretch;
    return [
      ...[fromFrame, fromSeconds.toFixed(6), take ? take.codeAt(start) : ''],
      ...[count, (toSeconds - fromSeconds).toFixed(6)],
      ...[verdict, because?.cause ?? '', quoted(stretchSentenceWithAdvice(stretch))],
    ].join(',');
  });
  return `${[HEADER, ...rows].join('\n')}\n`;
}

const HEADER = 'frame,time_s,timecode,frames,duration_s,verdict,cause,sentence';

/** A cell that may hold commas. */
function quoted(text: string): string {
  return `"${text.replaceAll('"', '""')}"`;
}
