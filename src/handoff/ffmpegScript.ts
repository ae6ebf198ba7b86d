import type { CorrectionResult } from '../correct.js';
import { framesPerSecond } from '../track/frameRate.js';
import { COMMANDS_NAME, type FfmpegRun } from './ffmpeg.js';
import { framesOf } from './poses.js';
import { shellHead } from './steadyShell.js';

/**
 * A shell script around the runs of {@link toFfmpeg}: steadies every stretch, joins them and puts
 * the sound back. It writes a new movie and touches nothing else.
 *
 * @param result - of {@link index!correct}, with an exact frame rate
 * @param runs - what {@link toFfmpeg} made of it
 * @param firstFrame - number of the movie's first frame; default: the first frame of the result
 * @returns the script, and the lists of commands that stand beside it
 * @example
 * const input = { projection: 'half-equirect', layout: 'side-by-side' } as const;
 * const { lists } = steadyScript(result, toFfmpeg(result, { input }));
 * lists.map(({ name }) => name); // ['turns-000.txt']
 */
export function steadyScript(
  result: CorrectionResult,
  runs: readonly FfmpegRun[],
  firstFrame = framesOf(result)[0]!,
): {
  /** The text of the shell script. */
  script: string;
  /** The lists of commands, one per run. */
  lists: {
    /** Name of the file beside the script. */
    name: string;
    /** One line of commands per frame. */
    content: string;
  }[];
} {
  const lists = runs.map(({ commands }, k) => ({ name: listName(k), content: commands }));
  const frames = framesOf(result);
  const perSecond = framesPerSecond(result.corrections.frameRate!);
  const start = ((frames[0]! - firstFrame) / perSecond).toFixed(6);
  const duration = (frames.length / perSecond).toFixed(6);
  // A part says its length in whole milliseconds, rounded up; left to that, each would delay the rest.
  const end = (frame: number) => Math.round((1e6 * (frame - frames[0]!)) / perSecond);
  const steps = runs.flatMap(({ filters, firstFrame: from, frameCount }, k) => [
    '',
    `say 'frames ${from} to ${from + frameCount - 1}'`,
    `run -i "file:$movie" -map 0:v:0 -an -vf '${filters.replace(COMMANDS_NAME, listName(k))}' $encode "file:$parts/${partName(k)}"`,
    `expect "$parts/${partName(k)}" ${frameCount} 'frames ${from} to ${from + frameCount - 1}'`,
    `say "file '${partName(k)}'" >> "$parts/list.txt"`,
    `say 'duration ${((end(from + frameCount) - end(from)) / 1e6).toFixed(6)}' >> "$parts/list.txt"`,
  ]);
  const skipped = frames[0]! - firstFrame;
  const script = [
    '#!/bin/sh',
    `# Steadies frames ${frames[0]} to ${frames[frames.length - 1]} of a movie in one resample: one correction for both eyes, each after its own alignment.`,
    '#   sh steady.sh MOVIE OUT.mov',
    '# The options of the encoder may be given in ENCODE; those below keep the depth of the source.',
    '# Judge the outcome in a headset and stop at the first sign of discomfort; no medical advice.',
    ...shellHead({
      rate: result.corrections.frameRate!,
      frameCount: skipped + frames.length,
      skipped,
    }),
    ...steps,
    '',
    `say 'picture and sound'`,
    `run -f concat -safe 0 -i "file:$parts/list.txt" -ss ${start} -t ${duration} -i "file:$movie" \\`,
    `  -map 0:v -map '1:a?' -c copy -copypriorss 0 -map_metadata 1 -map_metadata:s:v:0 1:s:v:0 \\`,
    '  -metadata:s:v:0 encoder= -metadata:s:v:0 "timecode=$code" -metadata timecode= "file:$parts/joined.mov"',
    `expect "$parts/joined.mov" ${frames.length} 'the joined movie'`,
    '[ ! -e "$out" ] || fail "$2 exists by now; choose another name"',
    'mv "$parts/joined.mov" "$out"',
    'say "wrote $out"',
    '',
  ].join('\n');
  return { script, lists };
}

function listName(k: number): string {
  return `turns-${String(k).padStart(3, '0')}.txt`;
}

function partName(k: number): string {
  return `part-${String(k).padStart(3, '0')}.mov`;
}
