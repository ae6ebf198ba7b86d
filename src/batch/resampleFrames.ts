import type { CorrectionResult } from '../correct.js';
import { type ErrorCode, type ErrorParts, TwinkeelError } from '../error.js';
import { planResampling, type ResamplingOptions } from '../picture/resampler.js';

/** What every worker of a pool needs to know. */
export interface FramePoolPlan {
  /** The corrections. */
  readonly result: CorrectionResult;
  /** What the frames look like. */
  readonly options: ResamplingOptions;
}

/** Workers that make corrected frames. */
export interface FramePool {
  /** Bytes of a frame of the movie. */
  readonly sourceBytes: number;
  /** Bytes of a frame that is made. */
  readonly targetBytes: number;
  /**
   * Makes one frame; as many calls at the same time as there are workers keep them all busy.
   *
   * @param frameIndex - index into the result's frames
   * @param source - a frame in shared memory, which must not change until the promise is kept
   * @param target - shared memory for the corrected frame, to use again; new memory when left out
   * @returns the corrected frame
   * @throws TwinkeelError for a wrong index, a wrong size or memory that is not shared; the worker
   *   goes on
   */
  readonly resample: (
    frameIndex: number,
    source: Uint8Array,
    target?: Uint8Array,
  ) => Promise<Uint8Array>;
  /** Ends the workers. */
  readonly close: () => Promise<void>;
}

/** One frame for a worker. */
export interface FrameJob {
  readonly frameIndex: number;
  readonly source: Uint8Array;
  readonly target: Uint8Array;
}

/** The parts of an error that a worker met: its class does not travel. */
export type FrameRefusal = readonly [code: ErrorCode, parts: ErrorParts];

/** Memory that is not shared would be copied on the way, and the frame be lost. */
function requireShared(frame: Uint8Array, name: string): void {
  if (frame.buffer instanceof SharedArrayBuffer) return;
  throw new TwinkeelError('argument/invalid', {
    found: `a ${name} in memory of its own`,
    expected: 'a view of a SharedArrayBuffer',
    remedy: 'copy it into one',
  });
}

/**
 * Starts workers that resample frames side by side; frames travel in shared memory.
 *
 * @param plan - corrections and layout
 * @param jobs - how many workers
 * @throws TwinkeelError `argument/invalid` for frames or a filter that {@link planResampling} refuses
 */
export async function createFramePool(plan: FramePoolPlan, jobs: number): Promise<FramePool> {
  const { sourceBytes, targetBytes } = planResampling(plan.result, plan.options);
  const { Tinypool } = await import('tinypool');
  const pool = new Tinypool({
    filename: new URL('../../dist/command/resampleWorker.js', import.meta.url).href,
    minThreads: jobs,
    maxThreads: jobs,
    workerData: plan,
  });
  return {
    sourceBytes,
    targetBytes,
    resample: async (
      frameIndex,
      source,
      target = new Uint8Array(new SharedArrayBuffer(targetBytes)),
    ) => {
      requireShared(source, 'source');
      requireShared(target, 'target');
      const refusal = await pool.run({ frameIndex, source, target } satisfies FrameJob);
      if (refusal) throw new TwinkeelError(...(refusal as FrameRefusal));
      return target;
    },
    close: () => pool.destroy(),
  };
}
