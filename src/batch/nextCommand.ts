import { join } from 'node:path';
import type { HandoffTarget } from '../handoff/targets.js';
import { shellWord } from './shellWord.js';
import type { Options } from './usage.js';

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

/** How the files that were looked at are corrected, with the options that say how to read them. */
export function nextAfterInspect(files: readonly string[], options: Options): string[] {
  if (files.length === 0) return [];
  const said = READING.flatMap((key) => {
    const value = options[key];
    return typeof value === 'string' ? [`--${key} ${shellWord(value)}`] : [];
  });
  const words = ['twinkeel correct', ...files.map(shellWord), ...said, '--out corrected'];
  return [`next: ${words.join(' ')}`];
}

/** Options that say how a file is read. */
const READING = ['mapping', 'format', 'flip', 'accel', 'accel-mapping', 'accel-offset', 'rate'];

/** How the tracks are corrected that logs were turned into. */
export function nextAfterOrient(any: boolean, folder: string): string[] {
  return any ? [`next: twinkeel correct ${shellWord(folder)}/*.track.csv --out corrected`] : [];
}
