/** Nothing that is no number leaves a public function or a writer. */
import { describe, expect, test } from 'vitest';
import { type CorrectionResult, type CorrectOptions, correct } from '../../src/correct.js';
import { isTwinkeelError } from '../../src/error.js';
import { toCsv, trackToCsv } from '../../src/handoff/csv.js';
import { toFfmpeg } from '../../src/handoff/ffmpeg.js';
import { toGlb, toGltf } from '../../src/handoff/gltf.js';
import { toJson } from '../../src/handoff/json.js';
import { toOpenTrackIo } from '../../src/handoff/openTrackIo.js';
import { toStMap } from '../../src/handoff/stMap.js';
import { toTum } from '../../src/handoff/tum.js';
import { toUsda } from '../../src/handoff/usda.js';
import { clipDataOf } from '../../src/report/pageData.js';
import { alignLenses } from '../../src/rig/alignment.js';
import { DEFAULT_RIG, type StereoRig } from '../../src/rig/stereoRig.js';
import {
  multiplyQuaternions,
  type Quaternion,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { frameTimes } from '../../src/track/frameRate.js';
import { createTrack, type OrientationTrack } from '../../src/track/orientationTrack.js';
import { complaint } from '../complaint.js';
import { dishonesty } from '../fuzz/honest.js';
import { resultOf } from '../handoff/results.js';
import { eyesWith } from '../rig/eyes.js';
import { fc } from '../seed.js';

const RATE = { numerator: 30, denominator: 1 };

/** A camera dropped into the tank: it tumbles, rad/s, and shakes at every frame. */
function tumbling(rate: Vector3, shake: readonly number[], count = 121): OrientationTrack {
  let q: Quaternion = [0, 0, 0, 1];
  const all: number[] = [];
  for (let k = 0; k < count; k++) {
    all.push(...q);
    const step = rate.map((r, axis) => r / 30 + shake[(3 * k + axis) % shake.length]!);
    q = multiplyQuaternions(q, quaternionFromRotationVector(step as unknown as Vector3));
  }
  return createTrack({
    times: frameTimes(RATE, count),
    quaternions: Float64Array.from(all),
    frameRate: RATE,
  });
}

const speeds = fc.constantFrom(0, 1, -3, 10, 40, 94);
const markers = fc
  .tuple(fc.double({ min: 0, max: 3, noNaN: true }), fc.constantFrom('move', 'hold'))
  .map(([from, intent]) => [{ from, to: from + 1, intent: intent as 'move' | 'hold' }]);

test('a tumbling camera comes out in numbers or is refused, whatever is marked', () => {
  const any = fc.record({
    rate: fc.tuple(speeds, speeds, speeds),
    shake: fc.array(fc.double({ min: -0.6, max: 0.6, noNaN: true }), {
      minLength: 1,
      maxLength: 40,
    }),
    markers,
    limit: fc.option(fc.constantFrom(1, 20), { nil: undefined }),
    shot: fc.constantFrom('auto', 'travelling', 'pan', 'locked-off'),
  });
  fc.assert(
    fc.property(any, ({ rate, shake, markers, limit, shot }) => {
      const read = () =>
        correct(tumbling(rate, shake), {
          markers,
          shot: shot as 'auto',
          ...(limit !== undefined && { limits: { totalDeg: limit } }),
        });
      expect(dishonesty({ read, valid: [] }, new Uint8Array(0))).toBeUndefined();
    }),
    { numRuns: 40, interruptAfterTimeLimit: 15_000 },
  );
});

describe('correct refuses what a program made and is no number', () => {
  const track = tumbling([0, 0.1, 0], [0.01, -0.01, 0.02, 0]);
  const zero = new Float64Array(4 * 121);
  const rigWith = (parts: object): StereoRig => ({ ...DEFAULT_RIG, ...parts });

  test.each<[string, CorrectOptions, Error]>([
    [
      'a rig without a distance',
      { rig: rigWith({ interaxialMm: Number.NaN }) },
      complaint('rig/invalid', 'interaxialMm'),
    ],
    [
      'a rig whose alignment is none',
      {
        rig: rigWith({
          eyes: eyesWith({ alignment: { left: [0, 0, 0, 0], right: [0, 0, 0, 1] } }),
        }),
      },
      complaint('rig/invalid', 'eyes.left.alignment'),
    ],
    [
      'a lens without a field',
      { rig: rigWith({ lens: { ...DEFAULT_RIG.lens, fieldDeg: Number.NaN } }) },
      complaint('rig/invalid', 'lens.fieldDeg'),
    ],
    [
      'earlier corrections of length zero',
      { earlier: [{ times: track.times, quaternions: zero }] },
      complaint('track/not-unit', 'an earlier correction of norm 0'),
    ],
    [
      'earlier corrections without a rotation',
      { earlier: [{ times: new Float64Array(0), quaternions: new Float64Array(0) }] },
      complaint('argument/shape', '0 times'),
    ],
    [
      'earlier corrections at no time',
      { earlier: [{ times: track.times.map(() => Number.NaN), quaternions: zero }] },
      complaint('track/not-finite', 'the time NaN'),
    ],
  ])('%s', (_, options, error) => {
    expect(() => correct(track, options)).toThrow(error);
  });

  test('a track altered after it was checked', () => {
    const quaternions = track.quaternions.slice();
    quaternions[41] = Number.NaN;
    expect(() => correct({ ...track, quaternions })).toThrow(
      complaint('track/not-finite', 'frame 10'),
    );
  });
});

describe('alignLenses refuses matches that fix nothing', () => {
  const all = (of: (k: number) => Vector3) =>
    Float64Array.from({ length: 900 }, (_, i) => of(Math.floor(i / 3))[i % 3]!);
  /** All over the half-sphere before the lens. */
  const spread = all((k) => {
    const [azimuth, polar] = [2.4 * k, (k % 80) * (Math.PI / 180)];
    return [
      Math.sin(polar) * Math.cos(azimuth),
      Math.sin(polar) * Math.sin(azimuth),
      -Math.cos(polar),
    ];
  });
  const one = all(() => [0, 0, -1]);
  const mirrored = (axis: number) => spread.map((value, i) => (i % 3 === axis ? -value : value));

  test.each<[string, Float64Array, Float64Array]>([
    ['one point in both eyes', one, one],
    ['all collapsed in the right eye', spread, one],
    ['mirrored left and right', spread, mirrored(0)],
    ['mirrored up and down', spread, mirrored(1)],
    ['opposite', spread, spread.map((value) => -value)],
    ['no numbers', spread, spread.map(() => Number.NaN)],
    ['zeros', new Float64Array(900), new Float64Array(900)],
  ])('%s', (_, left, right) => {
    let found: unknown;
    try {
      found = alignLenses(left, right);
    } catch (error) {
      expect(isTwinkeelError(error, 'rig/alignment')).toBe(true);
      return;
    }
    // What can be told in numbers may be told.
    expect(dishonesty({ read: () => found, valid: [] }, new Uint8Array(0))).toBeUndefined();
  });
});

describe('no writer takes a rotation that is none', () => {
  const sound = resultOf({
    intended: [0, 1, 2].map(() => [0, 0, 0, 1]),
    corrections: [0, 1, 2].map(() => [0, 0, 0, 1]),
    rig: DEFAULT_RIG,
  });
  const hurt = (quaternions: Float64Array) =>
    quaternions.map((value, i) => (i === 6 ? Number.NaN : value));
  const broken: readonly CorrectionResult[] = [
    {
      ...sound,
      corrections: { ...sound.corrections, quaternions: hurt(sound.corrections.quaternions) },
    },
    { ...sound, intended: { ...sound.intended, quaternions: hurt(sound.intended.quaternions) } },
  ];
  const input = { projection: 'half-equirect', layout: 'side-by-side' } as const;
  const map = { widthPx: 4, heightPx: 4, source: { projection: 'half-equirect' } } as const;

  test.each<[string, (result: CorrectionResult) => unknown]>([
    ['json', toJson],
    ['gltf', toGltf],
    ['glb', toGlb],
    ['usda', toUsda],
    ['opentrackio', toOpenTrackIo],
    ['tum', (result) => toTum(result)],
    ['ffmpeg', (result) => toFfmpeg(result, { input })],
    ['an ST map', (result) => toStMap(result, 1, { ...map, eye: 'left' })],
    ['the report', (result) => clipDataOf('aisle', result)],
  ])('%s', (_, write) => {
    expect(() => write(sound)).not.toThrow();
    for (const result of broken) {
      expect(() => write(result)).toThrow(complaint('track/not-finite', 'frame 1'));
    }
  });

  test('csv, of corrections and of tracks', () => {
    expect(() => toCsv(broken[0]!)).toThrow(complaint('track/not-finite', 'frame 1'));
    expect(() => trackToCsv(broken[1]!.intended)).toThrow(complaint('track/not-finite', 'frame 1'));
  });

  test('nor a figure that is none', () => {
    const assessment = { ...sound.assessment, limitedShare: Number.NaN };
    expect(() => toJson({ ...sound, assessment })).toThrow(
      complaint('argument/not-finite', 'result.assessment.limitedShare'),
    );
  });
});
