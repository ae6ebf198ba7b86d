import type { AngleSigns } from '../read/openTrackIo.js';
import type { StereoPicture } from '../rig/picture.js';
import type { Motion } from './poses.js';
import type { MovieClock } from './takeParts.js';

/** A file to be written: its name below the output folder, and what stands in it. */
export interface HandoffFile {
  /** Below the output folder, with `/` between folders. */
  readonly name: string;
  /** Text, or bytes of a binary format; an ST map is drawn when it is asked for, and not kept. */
  readonly content: string | Uint8Array;
}

/** How to hand over; each target takes what concerns it. */
export interface HandoffOptions extends MovieClock {
  /** What trajectories hold: the intended path (default) or the measured one. */
  readonly motion?: Motion;
  /** Turns angles of OpenTrackIO samples round. */
  readonly signs?: AngleSigns;
  /**
   * The movie's pictures, for ffmpeg and ST maps; default: those the result was corrected for, side by
   * side, a fisheye with the field of the rig's lens.
   */
  readonly picture?: Partial<StereoPicture>;
  /** Frames to draw ST maps of, by number; default: the first, the middle and the last. */
  readonly mapFrames?: readonly number[];
  /**
   * Size of one eye's corrected picture, pixels: that of ST maps (default 1024 × 1024), and in which the texts
   * beside all targets say how far the picture moves; degrees where it is left out.
   */
  readonly mapSize?: readonly [number, number];
  /** Size of one eye's fisheye picture, pixels, for ST maps; default: square, as the map's height. */
  readonly sourceSize?: readonly [number, number];
}
