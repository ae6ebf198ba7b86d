import { join } from 'node:path';
import type { HandoffTarget } from '../handoff/targets.js';

/** What was handed over. */
export interface HandedOver {
  /** The result's file. */
  readonly file: string;
  readonly stem: string;
  readonly folder: string;
  readonly targets: readonly HandoffTarget[];
  /** The part of the clip, as it was said. */
  readonly trim?: string | undefined;
  readonly timecode?: string | undefined;
}

/**
 * The command that makes the steadied movie of what was handed over; MOVIE stands for its file.
 *
 * @returns one line for a POSIX shell
 */
export function nextAfterHandoff(done: HandedOver): string {
  const { file, stem, folder, targets, trim, timecode } = done;
  if (targets.includes('ffmpeg')) {
    return `sh ${shellWord(join(folder, `${stem}.ffmpeg`, 'steady.sh'))} MOVIE ${shellWord(`${stem}.steady.mov`)}`;
  }
  return [
    `twinkeel resample MOVIE --result ${shellWord(file)}`,
    ...(trim === undefined ? [] : [`--frames ${shellWord(trim)}`]),
    ...(trim === undefined || timecode === undefined ? [] : [`--timecode ${shellWord(timecode)}`]),
    `--out ${shellWord(`${stem}.steady.mkv`)}`,
  ].join(' ');
}

/** A word as a POSIX shell takes it. */
function shellWord(word: string): string {
  return /^[\w./:@%+-][\w./:@%+=-]*$/.test(word) ? word : `'${word.replaceAll("'", "'\\''")}'`;
}
