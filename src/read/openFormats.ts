import { type Mapping, parseMapping } from './mapping.js';

/**
 * Open formats by name, each in the sentences of a mapping. Where a format says nothing of its axes
 * the lines must come from a mapping of the person's own, which takes the place of these.
 */
export const OPEN_FORMATS = {
  /**
   * Sturm et al., "A benchmark for the evaluation of RGB-D SLAM systems", IROS 2012: t, position and
   * quaternion in eight columns; the world is that of the motion capture, its vertical unknown here.
   */
  tum: {
    about: 'TUM RGB-D trajectory: t tx ty tz qx qy qz qw',
    sentences: `
table: separator space comment "#"
time: column 1 unit s
quaternion: x 5 y 6 z 7 w 8 sense camera-to-world
axes camera: x right, y down, z forward
axes world: x east, y north, z up, up unknown`,
  },
  /**
   * Burri et al., "The EuRoC micro aerial vehicle datasets", Int. J. Robotics Research 35(10), 2016:
   * ground truth, nanoseconds, position, quaternion with w first, sensor to reference with z up. The
   * sensor's axes stand in another file: say them in a mapping when they are not the camera's.
   */
  'euroc-pose': {
    about: 'EuRoC/ASL ground truth: ns, position, qw qx qy qz, …',
    sentences: `
table: separator "," comment "#"
time: column 1 unit ns
quaternion: w 5 x 6 y 7 z 8 sense camera-to-world
axes camera: x right, y down, z forward
axes world: x east, y north, z up`,
  },
  /** The same dataset's inertial log: ns, rate in rad/s, specific force in m/s². */
  'euroc-imu': {
    about: 'EuRoC/ASL inertial log: ns, wx wy wz, ax ay az',
    sentences: `
table: separator "," comment "#"
time: column 1 unit ns
rate: x 2 y 3 z 4 rad/s
accel: x 5 y 6 z 7 m/s2 at-rest up
axes sensor: x right, y down, z forward`,
  },
  /**
   * Geiger et al., "Are we ready for autonomous driving?", CVPR 2012: the three upper rows of the
   * pose matrix, camera to the first camera, whose axes are x right, y down, z forward; no time.
   */
  kitti: {
    about: 'KITTI odometry poses: twelve numbers per frame (needs the frame rate)',
    sentences: `
table: separator space
matrix: rows 1 2 3 5 6 7 9 10 11 sense camera-to-world
axes camera: x right, y down, z forward
axes world: x east, y down, z north, up unknown`,
  },
} as const;

/** One of {@link OPEN_FORMAT_NAMES}: the tables, and `opentrackio` for JSON samples. */
export type OpenFormatName = keyof typeof OPEN_FORMATS | 'opentrackio';

/**
 * The open formats that are read by name.
 *
 * @example
 * OPEN_FORMAT_NAMES; // ['tum', 'euroc-pose', 'euroc-imu', 'kitti', 'opentrackio']
 */
export const OPEN_FORMAT_NAMES: readonly OpenFormatName[] = [
  ...(Object.keys(OPEN_FORMATS) as (keyof typeof OPEN_FORMATS)[]),
  'opentrackio',
];

/**
 * The mapping of a named table, with what the person's own mapping says in place of its lines.
 *
 * @param name - of the table
 * @param own - what the person says about the file, if anything
 * @example
 * mappingOfFormat('kitti', undefined).upKnown; // false
 */
export function mappingOfFormat(
  name: keyof typeof OPEN_FORMATS,
  own: Mapping | undefined,
): Mapping {
  const mapping = { ...parseMapping(OPEN_FORMATS[name].sentences), ...own };
  return own?.worldAxes
    ? mapping
    : { ...mapping, upKnown: parseMapping(OPEN_FORMATS[name].sentences).upKnown };
}
