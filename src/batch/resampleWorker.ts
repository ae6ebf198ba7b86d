/** What a worker of a frame pool does: one frame at a time. */
import Tinypool from 'tinypool';
import { planResampling, type Resampler } from '../picture/resampler.js';
import type { FrameJob, FramePoolPlan } from './resampleFrames.js';

let resampler: Resampler | undefined;

export default function resampleFrame({ frameIndex, source, target }: FrameJob): void {
  if (!resampler) {
    const { result, options } = Tinypool.workerData as FramePoolPlan;
    resampler = planResampling(result, options);
  }
  resampler.resample(frameIndex, source, target);
}
