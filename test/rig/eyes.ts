import { DEFAULT_RIG, type EyeReadout, type StereoRig } from '../../src/rig/stereoRig.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';

type Both<T> = Readonly<Record<'left' | 'right', T>>;

/** The eyes of a rig; what is left out is as assumed. */
export function eyesWith(parts: {
  readonly alignment?: Both<Quaternion>;
  readonly readout?: Partial<Both<EyeReadout>>;
}): StereoRig['eyes'] {
  const { left, right } = DEFAULT_RIG.eyes;
  const alignment = parts.alignment ?? { left: left.alignment, right: right.alignment };
  const readout = { left: left.readout, right: right.readout, ...parts.readout };
  return {
    left: { alignment: alignment.left, readout: readout.left },
    right: { alignment: alignment.right, readout: readout.right },
  };
}
