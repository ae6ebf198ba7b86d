import { DEGREES_PER_RADIAN } from '../math.js';
import { headingTiltRollFromQuaternion } from '../rotation/headingTiltRoll.js';
import {
  invertQuaternion,
  multiplyQuaternions,
  rotateVector,
  type Vector3,
} from '../rotation/quaternion.js';
import { rotationVectorFromQuaternion } from '../rotation/rotationVector.js';
import { type FrameRate, frameTime } from '../track/frameRate.js';
import { measuredGreenhouseWalk, WALK_DURATION } from './greenhouseWalk.js';

export const DEMO_RATE: FrameRate = { numerator: 60000, denominator: 1001 };
/** Rows per second of the gyro log. */
const LOG_RATE = 200;
const GRAVITY = 9.80665;

/** The files of the demonstration: names and contents. */
export interface DemoFile {
  readonly name: string;
  readonly text: string;
}

/** Turn to the right counts positive here, unlike inside: the mapping says so in words. */
const TRACK_MAPPING = `# how greenhouse-walk.csv is to be read
time: column "row" frames at 60000/1001
angles: turn heading "turn right" deg about down, then tilt "nose up" deg about right, then roll "lean right" deg about forward
`;

const LOG_MAPPING = `# how greenhouse-gyro.csv is to be read
time: column "us" unit us
rate: x "wx" y "wy" z "wz" deg/s
accel: x "fx" y "fy" z "fz" g at-rest up
axes sensor: x forward, y left, z up
`;

/**
 * The walk as a tracker would export it (semicolons, decimal commas, angles that count to the
 * right) and as a gyro log of the same walk (sensor axes forward, left, up), each with its mapping.
 */
export function demoFiles(): DemoFile[] {
  return [
    { name: 'greenhouse-walk.csv', text: trackText() },
    { name: 'greenhouse-walk.mapping.txt', text: TRACK_MAPPING },
    { name: 'greenhouse-gyro.csv', text: logText() },
    { name: 'greenhouse-gyro.mapping.txt', text: LOG_MAPPING },
  ];
}

function trackText(): string {
  const rows = ['row;turn right;nose up;lean right'];
  for (let frame = 0; frameTime(DEMO_RATE, frame) <= WALK_DURATION; frame++) {
    const q = measuredGreenhouseWalk(frameTime(DEMO_RATE, frame));
    const { heading, tilt, roll } = headingTiltRollFromQuaternion(q);
    const cells = [-heading, tilt, -roll].map((angle) =>
      (angle * DEGREES_PER_RADIAN).toFixed(5).replace('.', ','),
    );
    rows.push([frame, ...cells].join(';'));
  }
  return `${rows.join('\n')}\n`;
}

function logText(): string {
  const rows = ['us,wx,wy,wz,fx,fy,fz'];
  const half = 0.5 / LOG_RATE;
  for (let k = 0; k <= WALK_DURATION * LOG_RATE; k++) {
    const time = k / LOG_RATE;
    const q = measuredGreenhouseWalk(time);
    const step = rotationVectorFromQuaternion(
      multiplyQuaternions(
        invertQuaternion(measuredGreenhouseWalk(time - half)),
        measuredGreenhouseWalk(time + half),
      ),
    );
    // A consumer gyro is off by a degree or so per second; the smoother must find that.
    const rate = step.map(
      (angle, axis) => angle * DEGREES_PER_RADIAN * LOG_RATE + [0.9, -0.6, 0.4][axis]!,
    );
    const bounce = 2.2 * Math.sin(2 * Math.PI * 1.9 * time);
    const force = rotateVector(invertQuaternion(q), [0, 1 + bounce / GRAVITY, 0]);
    const cells = [...inSensorAxes(rate as unknown as Vector3), ...inSensorAxes(force)];
    rows.push([Math.round(time * 1e6), ...cells.map((cell) => cell.toFixed(6))].join(','));
  }
  return `${rows.join('\n')}\n`;
}

/** Camera axes (right, up, back) to sensor axes (forward, left, up). */
function inSensorAxes([x, y, z]: Vector3): Vector3 {
  return [-z, -x, y];
}
