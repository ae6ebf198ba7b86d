import { printable } from '../error.js';

/** How far a run has come. */
export interface RunState {
  /** Clips that are over, kept ones among them. */
  readonly done: number;
  readonly total: number;
  /** Of the clips that are over, those that took work: not kept from before. */
  readonly worked: number;
  /** Since the run began. */
  readonly seconds: number;
  /** The clip that was over last. */
  readonly name: string;
  /** Whether it had been finished before. */
  readonly kept: boolean;
}

/** A run in one line. The time left is that of the mean clip so far, times the clips that are left. */
export function progressLine(
  { done, total, worked, seconds, name, kept }: RunState,
  noun = 'clips',
): string {
  const left =
    worked === 0 || done === total
      ? ''
      : `, ${timeWords((seconds / worked) * (total - done))} left`;
  return `${done}/${total} ${noun}${left}: ${printable(name)}${kept ? ' (done before)' : ''}`;
}

/** A time that nobody knows to the second. */
export function timeWords(seconds: number): string {
  if (seconds < 90) return `about ${Math.max(1, Math.round(seconds))} s`;
  if (seconds < 90 * 60) return `about ${Math.round(seconds / 60)} min`;
  return `about ${(seconds / 3600).toFixed(1)} h`;
}

/** A line on a terminal that each clip replaces; nothing where standard error goes into a file. */
export class Progress {
  readonly #noun: string;
  readonly #started = performance.now();
  #done = 0;
  #worked = 0;

  /** @param noun - what there are many of */
  constructor(noun = 'clips') {
    this.#noun = noun;
  }

  /** Says that a clip is over. */
  tell(name: string, kept: boolean, total: number): void {
    this.#done++;
    if (!kept) this.#worked++;
    if (!process.stderr.isTTY) return;
    const seconds = (performance.now() - this.#started) / 1000;
    const state = { done: this.#done, total, worked: this.#worked, seconds, name, kept };
    const line = progressLine(state, this.#noun);
    // A line that wraps could not be taken back.
    this.clear();
    process.stderr.write(line.slice(0, (process.stderr.columns ?? 80) - 1));
    if (this.#done === total) this.clear();
  }

  /** Takes the line away before something else is said. */
  clear(): void {
    if (process.stderr.isTTY) process.stderr.write('\r\x1b[K');
  }
}
