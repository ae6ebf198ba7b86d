/** What a worker of a frame pool does: one frame at a time. */
import Tinypool from 'tinypool';
import { isTwinkeelError } from '../error.js';
import { planResampling, type Resampler } from '../picture/resampler.js';
import type { FrameJob, FramePoolPlan, FrameRefusal } from './resampleFrames.js';

let resampler: Resampler | undefined;

/** @returns nothing, or what was wrong with the job */
export default function resampleFrame(job: FrameJob): FrameRefusal | undefined {
  const { frameIndex, source, target } = job;
  if (!resampler) {
    const { result, options } = Tinypool.workerData as FramePoolPlan;
    resampler = planResampling(result, options);
  }
  try {
    resampler.resample(frameIndex, source, target);
    return undefined;
  } catch (error) {
    if (!isTwinkeelError(error)) throw error;
    const { code, expected, found, remedy, place } = error;
    return [code, { ...place, expected, found, remedy }];
  }
}
