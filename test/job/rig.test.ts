import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { makeWalk, type WalkKind } from '../../bench/accuracy/walks.js';
import { type CorrectOptions, correct } from '../../src/correct.js';
import { trackToCsv } from '../../src/handoff/csv.js';
import { toJson } from '../../src/handoff/json.js';
import { readResult } from '../../src/handoff/readResult.js';
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { axisSwings, swingLimit } from '../../src/rig/coverage.js';
import { eyeCorrections } from '../../src/rig/eyeCorrections.js';
import { HALF_TURN, turnMount } from '../../src/rig/mount.js';
import { sourceDirection } from '../../src/rig/rollingShutter.js';
import { worstDisparities } from '../../src/rig/stereoCost.js';
import { DEFAULT_RIG, type StereoRig } from '../../src/rig/stereoRig.js';
import {
  angularDistances,
  composeQuaternions,
  invertQuaternions,
  quaternionAt,
} from '../../src/rotation/arrays.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import {
  multiplyQuaternions,
  type Quaternion,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import { quaternionFromRotationVector } from '../../src/rotation/rotationVector.js';
import { frameTimes } from '../../src/track/frameRate.js';
import {
  createTrack,
  type OrientationTrack,
  withQuaternions,
} from '../../src/track/orientationTrack.js';
import { apart, largestGap } from '../apart.js';
import { CLI } from '../command.js';
import { eyesWith } from '../rig/eyes.js';
import { fc } from '../seed.js';
import { temporaryFolder } from '../temporaryFolder.js';
import { turnsBy } from '../turns.js';

const deg = RADIANS_PER_DEGREE;
const FRAME_RATE = { numerator: 30000, denominator: 1001 };
const OPTIONS = {
  shot: 'travelling',
  filter: 'spline',
  picture: 'fisheye',
} as const satisfies CorrectOptions;
const RUNS = { numRuns: 12 };

/** Ten seconds of a walk through the greenhouse. */
function walk([kind, seed]: readonly [WalkKind, number]): OrientationTrack {
  const { measured } = makeWalk(kind, seed, { duration: 10, frameRate: 30000 / 1001 });
  const times = frameTimes(FRAME_RATE, measured.length / 4);
  return createTrack({ times, quaternions: measured, frameRate: FRAME_RATE });
}

const walks = fc.tuple(
  fc.constantFrom<WalkKind[]>('scurve', 'turn90', 'panhold', 'tilt', 'roaming'),
  fc.integer({ min: 1, max: 99 }),
);
const lens = fc.record({
  fieldDeg: fc.integer({ min: 182, max: 220 }),
  mapping: fc.constant({ law: 'equidistant' } as const),
});
/** Turns by up to 3°, without −0, which text does not keep. */
const small = turnsBy(fc.integer({ min: 0, max: 300 }).map((k) => (k / 100) * deg)).map(
  ({ q: [x, y, z, w] }): Quaternion => [x + 0, y + 0, z + 0, w],
);
const rigs: fc.Arbitrary<StereoRig> = fc
  .record({
    interaxialMm: fc.integer({ min: 30, max: 90 }),
    lens,
    mount: fc.constantFrom('auto' as const, 'upright' as const, 'inverted' as const),
    eyes: fc.record({ left: small, right: small }).map((alignment) => eyesWith({ alignment })),
    readoutMs: fc.constantFrom(0, 8, 16),
    nearestSubjectM: fc.constantFrom(0.5, 1, 3),
  })
  .map((parts) => ({ ...DEFAULT_RIG, ...parts }));
const settings: fc.Arbitrary<CorrectOptions> = fc.record(
  {
    level: fc.constantFrom(0, 0.5, 1),
    aim: fc.constant([{ time: 4, heading: 1, tilt: 0.3 }]),
    limits: fc.record(
      {
        totalDeg: fc.integer({ min: 1, max: 20 }),
        rollDeg: fc.integer({ min: 1, max: 9 }),
        verticalDisparityArcmin: fc.integer({ min: 2, max: 40 }),
        uncovered: fc.constantFrom('never' as const, 0.02, 0.2, 1),
      },
      { requiredKeys: [] },
    ),
  },
  { requiredKeys: [] },
);

const codes = ({ warnings }: { warnings: readonly { code: string }[] }) =>
  warnings.map(({ code }) => code);
const eyesOf = (result: ReturnType<typeof correct>) =>
  [eyeCorrections(result, 'left'), eyeCorrections(result, 'right')] as const;
const largest = (values: Float64Array) => values.reduce((max, x) => Math.max(max, x), 0);

/** K as seen in the upright picture: without the half turn of an inverted mount. */
const inView = ({ corrections, swapEyes }: ReturnType<typeof correct>) =>
  swapEyes ? turnMount(corrections.quaternions) : corrections.quaternions;

describe('the correction of a described rig', () => {
  test('leaves the rotation between the eyes as the alignment made it', () => {
    fc.assert(
      fc.property(walks, rigs, settings, (drawn, rig, wanted) => {
        const [left, right] = eyesOf(correct(walk(drawn), { ...OPTIONS, ...wanted, rig }));
        const { eyes } = rig;
        const [x, y, z, w] = eyes.left.alignment;
        const between = multiplyQuaternions([-x, -y, -z, w], eyes.right.alignment);
        const found = composeQuaternions(invertQuaternions(left), right);
        for (let k = 0; k < found.length / 4; k++) {
          expect(apart(quaternionAt(found, k), between)).toBeLessThan(1e-12);
        }
      }),
      RUNS,
    );
  });

  test('is for each lens K after that lens’s own alignment', () => {
    fc.assert(
      fc.property(walks, rigs, (drawn, rig) => {
        const result = correct(walk(drawn), { ...OPTIONS, rig });
        const [left, right] = eyesOf(result);
        for (const [eye, own] of [
          [left, rig.eyes.left.alignment],
          [right, rig.eyes.right.alignment],
        ] as const) {
          expect(eye).toEqual(composeQuaternions(result.corrections.quaternions, own));
        }
      }),
      RUNS,
    );
  });

  test('by itself never turns the optical axis further than the lens covers', () => {
    fc.assert(
      fc.property(walks, rigs, settings, (drawn, rig, wanted) => {
        // An eye that looks further off the middle than the lens has margin shows an edge whatever is done;
        // 0.1° is the least swing that is held.
        const askew = Math.max(
          ...[rig.eyes.left, rig.eyes.right].map(({ alignment }) =>
            largest(axisSwings(Float64Array.from(alignment))),
          ),
        );
        fc.pre(askew + 0.1 * deg < swingLimit(rig, 'fisheye'));
        const limits = { ...wanted.limits, uncovered: 'never' } as const;
        const result = correct(walk(drawn), { ...OPTIONS, ...wanted, limits, rig });
        const swing = Math.max(...eyesOf(result).map((k) => largest(axisSwings(k))));
        expect(swing).toBeLessThanOrEqual(swingLimit(rig, 'fisheye'));
        expect(result.mask).toBeUndefined();
        expect(result.rigAssessment?.uncoveredShare).toBe(0);
        expect(result.rigAssessment?.largestSwingDeg).toBeCloseTo(swing / deg, 10);
      }),
      RUNS,
    );
  });

  test('by itself keeps the vertical disparity of the nearest subject within what is allowed', () => {
    fc.assert(
      fc.property(walks, rigs, settings, (drawn, rig, wanted) => {
        const result = correct(walk(drawn), { ...OPTIONS, ...wanted, rig });
        const allowed = wanted.limits?.verticalDisparityArcmin ?? 15;
        const { interaxialMm, nearestSubjectM } = rig;
        const worst = largest(worstDisparities(inView(result), interaxialMm, nearestSubjectM));
        expect(worst).toBeLessThanOrEqual(allowed);
        expect(result.rigAssessment?.worstDisparityArcmin).toBeCloseTo(worst, 9);
      }),
      RUNS,
    );
  });

  test('uncovers no more than the share that is given', () => {
    fc.assert(
      fc.property(walks, fc.constantFrom(0.002, 0.01, 0.03), (drawn, uncovered) => {
        const limits = { uncovered, verticalDisparityArcmin: Number.POSITIVE_INFINITY };
        const track = walk(drawn);
        const aim = [{ time: 5, heading: 3, tilt: 1 }];
        const result = correct(track, { ...OPTIONS, aim, limits, rig: DEFAULT_RIG });
        expect(codes(result)).toContain('limit/active');
        expect(result.rigAssessment!.uncoveredShare).toBeLessThanOrEqual(uncovered);
        expect(result.rigAssessment!.uncoveredShare).toBeGreaterThan(0);
        expect(result.mask).toBeDefined();
      }),
      RUNS,
    );
  });

  // Row by row the view takes from the picture what was read at the row's own time.
  test.each([-8, 0])(
    'needs nothing beyond the lens where rows of 16 ms start %d ms after the frame',
    (startMs) => {
      const readout = { startMs, firstRow: 'top' } as const;
      const rig: StereoRig = {
        ...DEFAULT_RIG,
        readoutMs: 16,
        eyes: eyesWith({ readout: { left: readout, right: readout } }),
      };
      const track = walk(['scurve', 3]);
      const aim = [{ time: 5, heading: 0.2, tilt: -1.3 }];
      const limits = { verticalDisparityArcmin: Number.POSITIVE_INFINITY };
      const { intended } = correct(track, { ...OPTIONS, aim, limits, rig });
      let furthest = 0;
      for (let frame = 1; frame < track.times.length - 1; frame++) {
        const s = quaternionAt(intended.quaternions, frame);
        for (let around = 0; around < 360; around += 15) {
          const rim: Vector3 = [Math.cos(around * deg), Math.sin(around * deg), 0];
          const [x, y, z] = sourceDirection(track, s, frame, rim, rig, 'left');
          furthest = Math.max(furthest, Math.atan2(Math.hypot(x, y), -z));
        }
      }
      expect(furthest / deg).toBeLessThan(95);
    },
  );
});

describe('a lens that covers just the view', () => {
  test.each([180, 170])('of %d° limits nothing, is warned about and gets a mask', (fieldDeg) => {
    const rig = { ...DEFAULT_RIG, lens: { ...DEFAULT_RIG.lens, fieldDeg } };
    const result = correct(walk(['scurve', 1]), { ...OPTIONS, rig });
    const { message } = result.warnings.find(({ code }) => code === 'rig/no-margin')!;
    expect(message).toContain(`the lenses cover ${fieldDeg}° and the view takes 180°`);
    expect(result.rigAssessment!.uncoveredShare).toBeGreaterThan(0);
    expect(result.mask!.opaqueFrom).toBeLessThan((fieldDeg / 2) * deg);
    expect(result.mask!.opaqueFrom).toBeGreaterThan(60 * deg);
  });

  test('with margin neither is there', () => {
    const result = correct(walk(['scurve', 1]), { ...OPTIONS, rig: DEFAULT_RIG });
    expect(codes(result)).not.toContain('rig/no-margin');
    expect(result.mask).toBeUndefined();
  });
});

describe('a camera that hangs upside down', () => {
  const hanging = (track: OrientationTrack) =>
    withQuaternions(track, composeQuaternions(track.quaternions, HALF_TURN));

  test('is corrected as if it stood, with half a turn in K and the eyes to be exchanged', () => {
    fc.assert(
      fc.property(walks, (drawn) => {
        const track = walk(drawn);
        const upright = correct(track, { ...OPTIONS, rig: DEFAULT_RIG });
        const inverted = correct(hanging(track), { ...OPTIONS, rig: DEFAULT_RIG });
        expect([upright.swapEyes, inverted.swapEyes]).toEqual([false, true]);
        expect(codes(inverted)).toContain('rig/upside-down');
        const turned = turnMount(inverted.corrections.quaternions);
        for (const [a, b] of [
          [upright.intended.quaternions, inverted.intended.quaternions],
          [upright.corrections.quaternions, turned],
        ] as const) {
          expect(largest(angularDistances(a, b))).toBeLessThan(1e-12);
        }
        expect(inverted.rigAssessment!.worstDisparityArcmin).toBeCloseTo(
          upright.rigAssessment!.worstDisparityArcmin,
          8,
        );
      }),
      RUNS,
    );
  });

  test('stays as it is where the rig says upright, and turns unasked where it says inverted', () => {
    const track = walk(['scurve', 2]);
    const said = (camera: OrientationTrack, mount: StereoRig['mount']) =>
      correct(camera, { ...OPTIONS, rig: { ...DEFAULT_RIG, mount } });
    const upright = said(hanging(track), 'upright');
    expect(upright.swapEyes).toBe(false);
    const inverted = said(track, 'inverted');
    expect(inverted.swapEyes).toBe(true);
    for (const result of [upright, inverted]) {
      expect(codes(result)).not.toContain('rig/upside-down');
    }
  });

  test('is taken as upright, with a note, when it looks too steeply to tell', () => {
    const track = walk(['locked', 1]);
    const up = quaternionFromHeadingTiltRoll(0, 80 * deg, 0);
    const steep = withQuaternions(track, composeQuaternions(track.quaternions, up));
    const result = correct(steep, { ...OPTIONS, level: 0 });
    expect(codes(result)).toContain('rig/mount-undecided');
    expect(result.swapEyes).toBe(false);
  });

  test('whose vertical was only estimated is not turned', () => {
    const estimated = {
      ...hanging(walk(['scurve', 3])),
      ...({ up: 'estimated', upDeviation: 0.01 } as const),
    };
    expect(correct(estimated, OPTIONS).swapEyes).toBe(false);
  });
});

describe('a result with a rig', () => {
  test('comes back from its file the same to the last bit', () => {
    fc.assert(
      fc.property(walks, rigs, (drawn, rig) => {
        const result = correct(walk(drawn), { ...OPTIONS, rig });
        const back = readResult(toJson(result));
        expect(eyesOf(back)).toEqual(eyesOf(result));
        expect(back.corrections.quaternions).toEqual(result.corrections.quaternions);
        expect(back.rig).toEqual(rig);
        expect(back.rigAssessment).toEqual(result.rigAssessment);
        expect(back.swapEyes).toBe(result.swapEyes);
      }),
      RUNS,
    );
  });

  test('keeps its mask', () => {
    const rig = { ...DEFAULT_RIG, lens: { ...DEFAULT_RIG.lens, fieldDeg: 180 } };
    const result = correct(walk(['scurve', 1]), { ...OPTIONS, rig });
    expect(readResult(toJson(result)).mask).toEqual(result.mask);
  });
});

describe('the command with --rig', () => {
  function run(rig: string | undefined, ...more: readonly string[]) {
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'walk.csv'), trackToCsv(walk(['scurve', 1])));
    if (rig !== undefined) writeFileSync(join(folder, 'rig.json'), rig);
    const args = ['correct', 'walk.csv', '--out', 'out', '--rig', 'rig.json', ...more];
    const { status, stdout, stderr } = spawnSync(process.execPath, [CLI, ...args], {
      cwd: folder,
      encoding: 'utf8',
    });
    return { status, stdout, stderr, out: join(folder, 'out') };
  }

  test('prints every default that it assumed', () => {
    const { status, stdout } = run('{}');
    expect(status).toBe(0);
    const line = stdout.split('\n').find((each) => each.includes('assumed of the rig: '))!;
    expect(line).toContain(
      'interaxialMm 64, lens 190 equidistant, outputFieldDeg 180, mount auto, ',
    );
    for (const eye of ['eyes.left', 'eyes.right']) {
      expect(line).toContain(`${eye}.alignment none, ${eye}.readout 0 top, `);
    }
    expect(line).toContain('readoutMs 0, nearestSubjectM 1');
  });

  test('takes half-equirect pictures where nothing is said, and says so and what is black', () => {
    const { stdout } = run('{}');
    expect(stdout).toContain(
      'picture to be resampled: half-equirect, assumed; each eye’s holds 180.0°',
    );
    expect(stdout).toMatch(/black in the worst frame: [1-9]\d*\.\d\d % of the view \(the worse/);
    expect(stdout).toContain('the half-equirect pictures hold 180° of the 190° that the lenses');
  });

  test('prints what a part leaves open', () => {
    const { stdout } = run(
      '{ "lens": {}, "eyes": { "left": { "readout": { "firstRow": "bottom" } } } }',
    );
    const line = stdout.split('\n').find((each) => each.includes('assumed of the rig: '))!;
    expect(line).toContain('lens.fieldDeg 190, lens.mapping equidistant');
    expect(line).toContain('eyes.left.alignment none, eyes.left.readout.startMs 0, ');
    expect(line).not.toContain('undefined');
  });

  test('tells what the correction costs, and puts the rig into the result', () => {
    const lenses = '{ "interaxialMm": 60, "readoutMs": 16 }';
    const { stdout, out } = run(lenses, '--picture', 'fisheye');
    expect(stdout).toMatch(/vertical disparity at 1 m: at worst \d+\.\d arcmin/);
    expect(stdout).toMatch(
      /leaves the middle of the view by up to \d\.\d°; black in the worst frame: 0\.00 % of the view \(the worse eye, fisheye pictures\)/,
    );
    expect(stdout).toContain('picture to be resampled: fisheye; each eye’s holds 190.0°');
    expect(stdout).toMatch(/rolling shutter: up to \d+\.\d arcmin if ignored/);
    const { rig, picture } = readResult(readFileSync(join(out, 'walk.result.json'), 'utf8'));
    expect(picture).toBe('fisheye');
    expect(rig).toEqual({ ...DEFAULT_RIG, interaxialMm: 60, readoutMs: 16 });
  });

  test.each<[string, string | undefined, string]>([
    ['that is not there', undefined, 'rig.json: found no such file'],
    ['that is empty', '', 'rig.json: found text that is not JSON'],
    ['that breaks off', '{ "lens": ', 'rig.json: found text that is not JSON'],
    [
      'that breaks in the middle of several lines',
      '{\n  "interaxialMm": sixty\n}\n',
      'rig.json: found text that is not JSON',
    ],
    ['with a wrong value', '{ "mount": "hanging" }', 'rig.json, column "mount": found "hanging"'],
    ['with a wrong name', '{ "baseline": 64 }', 'rig.json, column "baseline": found an unknown'],
  ])('a description %s is a wrong call: one sentence, 2, nothing written', (_, rig, words) => {
    const { status, stdout, stderr, out } = run(rig);
    expect(stderr).toContain(`twinkeel: ${words}`);
    expect(stderr).toMatch(/^twinkeel: .+\.\n$/);
    expect({ status, stdout }).toEqual({ status: 2, stdout: '' });
    expect(existsSync(out)).toBe(false);
  });

  test.each(['sometimes', '1.5', '-0.1', 'NaN'])('--uncovered %s is a wrong call', (share) => {
    const { status, stderr } = run('{}', `--uncovered=${share}`);
    expect(stderr).toBe(
      `twinkeel: --uncovered: found ${/\d/.test(share) ? share : `"${share}"`}, expected a share from 0 to 1 or "never"\n`,
    );
    expect(status).toBe(2);
  });

  test('a share for --uncovered lets edges come into view, and a mask is named', () => {
    const { status, stdout } = run('{ "lens": { "fieldDeg": 180 } }', '--uncovered', '0.02');
    expect(status).toBe(0);
    expect(stdout).toMatch(/mask: a round window of radius \d\d\.\d°/);
  });
});

test('an alignment of two eyes cancels the mount that it describes', () => {
  const track = walk(['scurve', 4]);
  const askew = quaternionFromRotationVector([0.01, -0.02, 0.03]);
  const rig = { ...DEFAULT_RIG, eyes: eyesWith({ alignment: { left: askew, right: askew } }) };
  const [left, right] = eyesOf(correct(track, { ...OPTIONS, rig }));
  expect(largestGap(left, right)).toBe(0);
});
