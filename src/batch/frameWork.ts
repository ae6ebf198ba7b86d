import { availableParallelism, totalmem } from 'node:os';
import type { CorrectionResult } from '../correct.js';
import type { ResamplingOptions } from '../picture/resampler.js';
import { createFramePool } from './resampleFrames.js';
import type { FrameWork } from './resampleSegments.js';

/**
 * Workers for the frames of segments, with the memory they use again and again: as many corrected
 * frames as can be under way, and none more.
 *
 * @param jobs - workers; this thread is left to the pipes
 */
export async function openFrameWork(
  result: CorrectionResult,
  options: ResamplingOptions,
  jobs: number,
): Promise<FrameWork> {
  const pool = await createFramePool({ result, options }, jobs);
  const shared = (bytes: number) => new Uint8Array(new SharedArrayBuffer(bytes));
  // Two more than there are workers: none waits while one frame is read and one is written.
  const depth = jobs + 2;
  const targets = Array.from({ length: depth }, () => shared(pool.targetBytes));
  let asked = 0;
  return {
    sourceBytes: pool.sourceBytes,
    depth,
    newSource: () => shared(pool.sourceBytes),
    resample: (correction, source) =>
      pool.resample(correction, source, targets[asked++ % targets.length]!),
    close: pool.close,
  };
}

/** Frames under way take at most this share of the machine's memory (our judgement). */
const MEMORY_SHARE = 1 / 4;

/** One worker per processor, fewer where frames are so large that they would fill the memory. */
export function defaultJobs(sourceBytes: number, targetBytes: number): number {
  const fitting = Math.floor((totalmem() * MEMORY_SHARE) / (sourceBytes + targetBytes)) - 2;
  return Math.max(1, Math.min(availableParallelism(), fitting));
}
