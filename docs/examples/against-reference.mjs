/**
 * A benchmark against reference rotations: how far a track is from a reference of the same motion,
 * best turn between the two worlds taken out. Run: node docs/examples/against-reference.mjs
 */
import {
  angularDistances,
  composeQuaternions,
  invertQuaternions,
  meanQuaternion,
  quaternionFromHeadingTiltRoll,
} from 'twinkeel/rotation';
import { createTrack, interpolateTrack } from 'twinkeel/track';

const degrees = (angle) => (angle * 180) / Math.PI;

/** Root mean square angle between two tracks, degrees, at the times of the first. */
function distance(track, reference) {
  const wanted = interpolateTrack(reference, track.times);
  // The reference may call another direction north: the mean of W = wanted · track⁻¹ is that turn.
  const turns = composeQuaternions(wanted, invertQuaternions(track.quaternions));
  const turned = composeQuaternions(meanQuaternion(turns), track.quaternions);
  const errors = angularDistances(turned, wanted);
  return degrees(Math.sqrt(errors.reduce((sum, error) => sum + error * error, 0) / errors.length));
}

/** A look around the greenhouse at some rate, with a wobble and a turn of the world to be found. */
function look(rate, wobble, north) {
  const count = 10 * rate;
  const times = Float64Array.from({ length: count }, (_, k) => k / rate);
  const quaternions = new Float64Array(4 * count);
  times.forEach((time, k) => {
    const heading = 0.6 * Math.sin(0.5 * time) + north;
    const tilt = wobble * Math.sin(2 * Math.PI * 3 * time);
    quaternions.set(quaternionFromHeadingTiltRoll(heading, tilt, 0), 4 * k);
  });
  return createTrack({ times, quaternions });
}

const found = distance(look(60, 0.01, 0.3), look(200, 0, 0));
console.log(`root mean square error ${found.toFixed(3)}°`);
// A wobble of 0.01 rad has a root mean square of 0.01/√2 rad, 0.405°.
if (Math.abs(found - degrees(0.01 / Math.SQRT2)) > 0.01) process.exitCode = 1;
