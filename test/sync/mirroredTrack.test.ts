import { describe, expect, test } from 'vitest';
import type { Quaternion, Vector3 } from '../../src/rotation/quaternion.js';
import { mirrorWarnings } from '../../src/sync/mirroredTrack.js';
import type { OrientationTrack } from '../../src/track/orientationTrack.js';
import { turn } from '../turns.js';

const FRAMES = 20;
const UP = 9.8;
const STRAIGHT: Quaternion = [0, 0, 0, 1];
const X: Vector3 = [1, 0, 0];
const Y: Vector3 = [0, 1, 0];
const Z: Vector3 = [0, 0, 1];

interface Scene {
  /** Sensor to camera. */
  readonly axes: Quaternion;
  /** What the sensor feels; nothing when left out. */
  readonly force?: Vector3;
  readonly up?: OrientationTrack['up'];
  /** Frames that are not trusted feel the opposite. */
  readonly wild?: number;
}

/** Kinds of warnings for a camera that pans on the level. */
function told({ axes, force, up = 'gravity', wild = 0 }: Scene) {
  const times = Float64Array.from({ length: FRAMES }, (_, k) => k / 10);
  const acceleration = Float64Array.from(
    [...times].flatMap((_, k) => (force ?? []).map((part) => (k < wild ? -2 * part : part))),
  );
  const warnings = mirrorWarnings(
    { times, rate: new Float64Array(3 * FRAMES), ...(force && { acceleration }) } as never,
    {
      quaternions: Float64Array.from([...times].flatMap((time) => [...turn(Y, time).q])),
      up,
    },
    axes,
    times.map((_, k) => (k < wild ? 0 : 1)),
    times,
  );
  return warnings.map(({ code, message }) => ({
    code,
    exchanged: /has (.*) exchanged/.exec(message)?.[1],
  }));
}

const half = (axis: Vector3) => turn(axis, Math.PI).q;
const up: Vector3 = [0, UP, 0];
const down: Vector3 = [0, -UP, 0];

describe('a sensor mounted straight', () => {
  test('says nothing of mirrors where gravity points up in the track, or nowhere', () => {
    expect(told({ axes: STRAIGHT, force: up })).toEqual([]);
    expect(told({ axes: STRAIGHT })).toEqual([]);
    expect(told({ axes: STRAIGHT, force: [0, 0, 0] })).toEqual([]);
  });

  test('tells a mirrored track where gravity points down in it', () => {
    expect(told({ axes: STRAIGHT, force: down })).toMatchObject([{ code: 'sync/mirrored' }]);
  });

  // The sine of 30°: a force that is neither up nor down says nothing.
  test.each([
    [-29, 0],
    [-31, 1],
  ])('by a mean force that points %d° above the horizon: %d', (degrees, warnings) => {
    const angle = (degrees * Math.PI) / 180;
    const [level, lift] = [UP * Math.cos(angle), UP * Math.sin(angle)];
    const still = mirrorWarnings(
      {
        times: Float64Array.of(0, 1),
        rate: new Float64Array(6),
        acceleration: Float64Array.of(level, lift, 0, level, lift, 0),
      } as never,
      { quaternions: Float64Array.of(0, 0, 0, 1, 0, 0, 0, 1), up: 'stated' },
      STRAIGHT,
      Float64Array.of(1, 1),
      Float64Array.of(0, 1),
    );
    expect(still).toHaveLength(warnings);
  });

  test('listens to trusted frames only', () => {
    expect(told({ axes: STRAIGHT, force: up, wild: 15 })).toEqual([]);
    expect(told({ axes: STRAIGHT, force: down, wild: 15 })).toHaveLength(1);
  });
});

describe('a sensor turned by half a turn', () => {
  test.each<[string, Vector3, string]>([
    ['x', X, 'left and right'],
    ['y', Y, 'up and down'],
    ['z', Z, 'front and back'],
  ])('about %s may be a track that has its sides exchanged', (_name, axis, exchanged) => {
    const expected = [{ code: 'sync/half-turn', exchanged }];
    expect(told({ axes: half(axis) })).toEqual(expected);
    // A vertical that was estimated from the track itself says nothing of the track.
    for (const unsure of ['unknown', 'estimated'] as const) {
      expect(told({ axes: half(axis), force: down, up: unsure })).toEqual(expected);
    }
  });

  test('is believed where gravity says so: about x and z it turns the camera over', () => {
    expect(told({ axes: half(X), force: down })).toEqual([]);
    expect(told({ axes: half(Z), force: down })).toEqual([]);
    expect(told({ axes: half(X), force: up })).toMatchObject([{ code: 'sync/mirrored' }]);
    // About the vertical gravity is the same before and after.
    expect(told({ axes: half(Y), force: up })).toMatchObject([{ code: 'sync/half-turn' }]);
  });

  test('counts within 10° of it', () => {
    const off = (degrees: number) => told({ axes: turn(X, Math.PI - (degrees * Math.PI) / 180).q });
    expect([off(9.9), off(10.1)].map((list) => list.length)).toEqual([1, 0]);
  });
});
