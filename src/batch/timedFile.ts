/** A file, and what it says of its time. */
export interface TimedFile {
  /** From the folder of the shoot, with `/` between folders. */
  readonly path: string;
  /** How long it is, s. */
  readonly durationS?: number;
  /** When it begins by a clock with a date, s from 1970. */
  readonly clockS?: number;
  /** When it begins by a time code, s from midnight. */
  readonly timecodeS?: number;
}

const DAY = 86_400;

/** Which share of the shorter one two files have in common in time; undefined on different clocks. */
export function overlapOf(a: TimedFile, b: TimedFile): number | undefined {
  const start = offsetBetween(a, b);
  if (start === undefined || a.durationS === undefined || b.durationS === undefined)
    return undefined;
  const common = Math.min(start + a.durationS, b.durationS) - Math.max(start, 0);
  return Math.max(0, common / Math.min(a.durationS, b.durationS));
}

/** How long before `a` begins `b` does, s: by time codes, else by clocks. */
export function offsetBetween(a: TimedFile, b: TimedFile): number | undefined {
  if (a.timecodeS !== undefined && b.timecodeS !== undefined) {
    const gap = a.timecodeS - b.timecodeS;
    // A time code begins anew at midnight.
    return gap - DAY * Math.round(gap / DAY);
  }
  if (a.clockS !== undefined && b.clockS !== undefined) return a.clockS - b.clockS;
  return undefined;
}
