import type { CorrectionResult } from '../correct.js';
import { framesPerSecond } from '../track/frameRate.js';
import { COMMANDS_NAME, type FfmpegRun } from './ffmpeg.js';
import { framesOf } from './poses.js';

/**
 * A shell script around the runs of {@link toFfmpeg}: steadies every stretch, joins them and puts
 * the sound back. It writes a new movie and touches nothing else.
 *
 * @param result - of {@link correct}, with an exact frame rate
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
    `echo 'frames ${from} to ${from + frameCount - 1}'`,
    `ffmpeg -nostdin -v error -i "$movie" -map 0:v:0 -an -vf '${filters.replace(COMMANDS_NAME, listName(k))}' $encode "$parts/${partName(k)}"`,
    `echo "file '${partName(k)}'" >> "$parts/list.txt"`,
    `echo 'duration ${((end(from + frameCount) - end(from)) / 1e6).toFixed(6)}' >> "$parts/list.txt"`,
  ]);
  const script = [
    '#!/bin/sh',
    `# Steadies frames ${frames[0]} to ${frames[frames.length - 1]} of a movie in one resample: one correction for both eyes, each after its own alignment.`,
    '#   sh steady.sh MOVIE OUT.mov',
    '# The options of the encoder may be given in ENCODE; those below keep the depth of the source.',
    '# Judge the outcome in a headset and stop at the first sign of discomfort; no medical advice.',
    'set -eu',
    '[ $# -eq 2 ] || { echo "usage: sh steady.sh MOVIE OUT.mov" >&2; exit 2; }',
    '[ -r "$1" ] || { echo "cannot read $1" >&2; exit 1; }',
    '[ ! -e "$2" ] || { echo "$2 exists; choose another name" >&2; exit 1; }',
    'full() { echo "$(cd "$(dirname "$1")" && pwd)/$(basename "$1")"; }',
    'movie=$(full "$1")',
    'out=$(full "$2")',
    'cd "$(dirname "$0")"',
    `encode=\${ENCODE:--c:v libx264 -crf 14 -preset medium}`,
    'parts=$(mktemp -d "$(dirname "$out")/parts.XXXXXX")',
    `trap 'rm -rf "$parts"' EXIT`,
    `trap 'exit 130' INT TERM`,
    ...steps,
    '',
    `ffmpeg -nostdin -v error -f concat -safe 0 -i "$parts/list.txt" -ss ${start} -t ${duration} -i "$movie" -map 0:v -map '1:a?' -c copy "$parts/joined.mov"`,
    'mv "$parts/joined.mov" "$out"',
    'echo "wrote $out"',
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
