import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import {
  calmnessOf,
  type FrontierPoint,
  frontierAt,
  frontierOf,
} from '../../bench/accuracy/frontier.js';
import { HANDHELD_FOLDER, readRealTrack, realTrackNames } from '../../bench/accuracy/realTracks.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { levelPath } from '../../src/motion/horizon.js';
import { limitPath } from '../../src/motion/limit.js';
import { separate } from '../../src/motion/separate.js';
import { alignSigns, angularDistances, composeQuaternions } from '../../src/rotation/arrays.js';
import { quaternionFromAxisAngle } from '../../src/rotation/quaternion.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { interpolateTrack, resampleToFrames } from '../../src/track/resample.js';

const deg = RADIANS_PER_DEGREE;
const EXTRACTS = join(import.meta.dirname, '../real');
const RATE = 60000 / 1001;
const MOVES = [1, 2, 4, 8];
/** Nobody sees less shake than this, °/s (our judgement). */
const INVISIBLE = 0.02;

const worst = (values: Float64Array) => values.reduce((most, value) => Math.max(most, value), 0);
const meant = (track: OrientationTrack, shortestMove = 2) =>
  separate(track, { shortestMove }).intended.quaternions;

/** What several tests look at, worked out when first asked for. */
function once<Value>(make: () => Value): () => Value {
  let value: Value | undefined;
  return () => {
    value ??= make();
    return value;
  };
}

const whole = realTrackNames();
test.runIf(whole.length === 0)(`skipped: no recordings in ${HANDHELD_FOLDER}`, () => {});

describe.each([
  ...realTrackNames(EXTRACTS).map((name) => [`${name}, 20 s of it`, name, EXTRACTS] as const),
  ...whole.map((name) => [name, name, HANDHELD_FOLDER] as const),
])('on real motion, %s,', (_words, name, folder) => {
  const track = readRealTrack(name, folder);
  const measured = track.quaternions;
  const paths = once(() => MOVES.map((seconds) => levelPath(meant(track, seconds), 1)));
  const calmness = once(() => paths().map((path) => calmnessOf(measured, path, RATE)));
  const frontier = once((): FrontierPoint[] => frontierOf(measured, RATE));

  test.each(MOVES.map((seconds, k) => [seconds, k] as const))(
    'with a shortest move of %d s no plain spline is calmer at the same movement of the view',
    (_seconds, k) => {
      const { shake, cost } = calmness()[k]!;
      // One of the forty, the longest walk at 1 s, is at 1.006.
      expect(shake).toBeLessThan(1.01 * Math.max(INVISIBLE, frontierAt(frontier(), cost, 'shake')));
    },
  );

  test('the longer the shortest move the calmer, and far calmer than the camera', () => {
    const shakes = calmness().map(({ shake }) => shake);
    shakes.slice(1).forEach((shake, k) => {
      expect(shake).toBeLessThan(shakes[k]!);
    });
    expect(shakes[1]!).toBeLessThan(calmnessOf(measured, levelPath(measured, 1), RATE).shake / 2);
  });

  test.each([6, 10, 15])('a limit of %d° is kept to the last bit', (most) => {
    const total = new Float64Array(track.times.length).fill(most * deg);
    for (const [k, seconds] of MOVES.entries()) {
      if (seconds < 2) continue;
      const { quaternions } = limitPath(measured, paths()[k]!, { total }, RATE, seconds);
      // The distance is read off two quaternions: four products of half an epsilon each.
      expect(worst(angularDistances(measured, quaternions))).toBeLessThan(
        most * deg + 16 * Number.EPSILON,
      );
    }
  });
});

describe.each(realTrackNames(EXTRACTS))('the intended path of real motion, %s,', (name) => {
  const track = readRealTrack(name, EXTRACTS);
  const path = once(() => meant(track));
  /** A fifth of what the view is moved at all, root mean square, degrees (our judgement). */
  const little = once(() => calmnessOf(track.quaternions, path(), RATE).cost / 5);

  test('does not depend on which way is north', () => {
    for (const heading of [1, 2.5, -3]) {
      const turn = quaternionFromAxisAngle([0, 1, 0], heading);
      const turned = { ...track, quaternions: composeQuaternions(turn, track.quaternions) };
      const there = composeQuaternions(turn, path());
      expect(worst(angularDistances(meant(turned), there))).toBeLessThan(1e-9);
    }
  });

  test('is nearly the same backwards in time', () => {
    const n = track.times.length;
    const backwards = (quaternions: Float64Array) =>
      Float64Array.from(
        { length: 4 * n },
        (_, i) => quaternions[4 * (n - 1 - Math.floor(i / 4)) + (i % 4)]!,
      );
    const there = backwards(meant({ ...track, quaternions: backwards(track.quaternions) }));
    const off = angularDistances(there, path());
    const rms = Math.sqrt(off.reduce((sum, x) => sum + x * x, 0) / n) / deg;
    // The paths are linear in the camera's but for what decides: moves, steps and how they are met from
    // either side. Where a decision falls otherwise the view differs, but by little of what was taken out.
    expect(rms).toBeLessThan(little());
  });

  test('is nearly the same from fifty frames a second', () => {
    const { track: slower } = resampleToFrames(track, { numerator: 50, denominator: 1 });
    const found = separate(slower, {}).intended;
    const end = slower.times[slower.times.length - 1]!;
    const common = track.times.filter((time) => time <= end);
    const there = alignSigns(interpolateTrack(found, common, 'squad'));
    const off = angularDistances(there, path().subarray(0, there.length));
    const rms = Math.sqrt(off.reduce((sum, x) => sum + x * x, 0) / off.length) / deg;
    // Frames fall elsewhere, and so does the 15 Hz grid: 15.0 and 16.7 samples a second decide otherwise.
    expect(rms).toBeLessThan(little());
  });

  test('of a camera that stands still is where it stands, wherever that is', () => {
    for (const frame of [0, 500, 1100]) {
      const still = createTrack({
        times: track.times,
        quaternions: Float64Array.from(
          track.quaternions,
          (_, i) => track.quaternions[4 * frame + (i % 4)]!,
        ),
      });
      for (const seconds of MOVES) {
        const off = angularDistances(meant(still, seconds), still.quaternions);
        // Rounding of the matrix I + λD'D is felt in proportion to λ, which grows with the sixth power
        // of the shortest move.
        expect(worst(off)).toBeLessThan(1e-9 * Math.max(1, (seconds / 2) ** 6));
      }
    }
  });
});
