import type { CorrectionResult } from '../correct.js';
import { planResampling, type ResamplingOptions } from '../picture/resampler.js';
import type { FrameWork } from './resampleSegments.js';

/** Resampling for the segments: in this thread. */
export async function openFrameWork(
  result: CorrectionResult,
  options: ResamplingOptions,
  _jobs: number,
): Promise<FrameWork> {
  const resampler = planResampling(result, options);
  const target = new Uint8Array(resampler.targetBytes);
  return {
    sourceBytes: resampler.sourceBytes,
    depth: 1,
    newSource: () => new Uint8Array(resampler.sourceBytes),
    resample: async (correction, source) => {
      resampler.resample(correction, source, target);
      return target;
    },
    close: async () => undefined,
  };
}
