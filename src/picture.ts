/**
 * The picture itself: resampling a stereo frame by a result, once, in a browser or in Node. The examples
 * start from the same things as those of `twinkeel`.
 *
 * @packageDocumentation
 */
export type { ResamplingFilter } from './picture/filters.js';
export {
  type Chroma,
  type ChromaSiting,
  frameBytes,
  type PixelFormat,
  type Plane,
  pixelFormatNamed,
  planesOf,
} from './picture/pixelFormat.js';
export { planResampling, type Resampler, type ResamplingOptions } from './picture/resampler.js';
export {
  type EyeImage,
  type EyeName,
  type EyeRectangle,
  eyeRectangle,
  type StereoFrame,
} from './picture/stereoFrame.js';
export type { EyeLayout } from './rig/picture.js';
