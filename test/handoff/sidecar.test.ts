import { describe, expect, test } from 'vitest';
import { describeHandoff } from '../../src/handoff/sidecar.js';
import { HANDOFF_TARGETS, TARGETS } from '../../src/handoff/targets.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { parseFrameRate } from '../../src/track/frameRate.js';
import { largestGap } from '../apart.js';
import { eyesWith } from '../rig/eyes.js';
import { turn } from '../turns.js';
import { apply, matrixOf, product, type Rows, resultOf, transposed, turnAbout } from './results.js';
import { resultOfTake } from './takes.js';

const FRAMES = [40, 41, 42, 43];
const CORRECTIONS = [0.02, -0.3, 0.25, 0.1].map((angle) => turn([0.48, 0.6, 0.64], angle).q);
const INTENDED = FRAMES.map((frame) => turn([0, 0.8, 0.6], 0.2 * (frame - 38)).q);
/** The second frame has the largest correction: 0.3 rad. */
const LARGEST = 1;
const made = (more: Partial<Parameters<typeof resultOf>[0]> = {}) =>
  resultOf({ intended: INTENDED, corrections: CORRECTIONS, ...more });

/** The numbers in the brackets or behind the words of a line. */
const numbersOf = (line: string) => [...line.matchAll(/-?\d+\.\d+/g)].map(([text]) => Number(text));
const lineWith = (text: string, words: string) => {
  const line = text.split('\n').find((each) => each.includes(words));
  if (line === undefined) throw new Error(`no line with "${words}" in:\n${text}`);
  return line;
};

/** Six decimals are off by half a millionth. */
const SIX = 0.5e-6 + 1e-9;
const AHEAD = [0, 0, -1] as const;
const K = matrixOf(CORRECTIONS[LARGEST]!);
const S = matrixOf(INTENDED[LARGEST]!);

/** Targets that tell of rotations; the others tell of stretches. */
const ROTATIONS = HANDOFF_TARGETS.filter((name) => TARGETS[name].tells === 'rotations');
const STRETCHES = HANDOFF_TARGETS.filter((name) => !ROTATIONS.includes(name));

describe.each(ROTATIONS)('the text beside %s', (target) => {
  const text = describeHandoff(made(), target);

  test('names the frame of the largest correction, and K', () => {
    const line = lineWith(text, 'has the largest correction');
    expect(line).toContain('frame 41 has');
    const k = numbersOf(line) as unknown as Quaternion;
    // Either sign is the same rotation.
    const sign = Math.sign(k[3] * CORRECTIONS[LARGEST]![3]);
    expect(
      largestGap(
        k,
        CORRECTIONS[LARGEST]!.map((value) => sign * value),
      ),
    ).toBeLessThan(SIX);
  });

  test('says where the middle of the picture and of the view went, truly', () => {
    const ahead = numbersOf(
      lineWith(text, 'what the camera saw straight ahead').split('lies at')[1]!,
    );
    expect(largestGap(ahead, apply(K, AHEAD))).toBeLessThan(SIX);
    const middle = numbersOf(lineWith(text, 'the middle of the corrected view was seen'));
    expect(largestGap(middle, apply(transposed(K), AHEAD))).toBeLessThan(SIX);
  });

  if (target === 'ffmpeg') {
    test('states the angles that turn K⁻¹ out in ffmpeg’s axes', () => {
      const [yaw, pitch, roll] = numbersOf(lineWith(text, 'its angles: yaw')).map(
        (value) => (value * Math.PI) / 180,
      );
      const turned = product(turnAbout('y', yaw!), turnAbout('x', pitch!), turnAbout('z', roll!));
      // x right, y down, z forward from x right, y up, z back.
      const axes: Rows = [
        [1, 0, 0],
        [0, -1, 0],
        [0, 0, -1],
      ];
      const wanted = product(axes, transposed(K), axes);
      // Three angles, each off by half of 10⁻⁵ degrees.
      expect(largestGap(turned.flat(), wanted.flat())).toBeLessThan(3 * 0.9e-7);
    });
  } else {
    test('says where camera and view looked in the world, truly', () => {
      const numbers = numbersOf(lineWith(text, 'the camera looked along'));
      const wanted = [...apply(product(S, K), AHEAD), ...apply(S, AHEAD)];
      expect(largestGap(numbers, wanted)).toBeLessThan(SIX);
    });
  }

  test('states frames, exact rate, both eyes and the cautions', () => {
    expect(lineWith(text, '- time:')).toContain(
      'frames 40 to 43, 60000/1001 frames per second, exactly; seconds count from frame 40',
    );
    expect(text).toContain('the same correction goes to both eyes');
    expect(text).toContain('Judge it in a headset');
    expect(text).toContain('This is no medical advice.');
    expect(text).not.toMatch(/\bsafe(ly|ty)?\b/i);
    expect(text).not.toContain('exchanged');
  });

  test('an exchange of the eyes and a missing rate are said', () => {
    const other = describeHandoff(made({ swapEyes: true, rate: 'none' }), target);
    expect(other).toContain('left and right must be exchanged');
    expect(other).toContain('no exact frame rate is known');
  });
});

describe.each(STRETCHES)('the text beside %s', (target) => {
  const take = {
    cuts: [
      ['usable', 50],
      ['not usable', 30],
      ['with care', 20],
    ],
    first: 40,
  } as const;
  const result = resultOfTake(take, parseFrameRate('25'));

  test('counts the weightiest stretch out: frames, seconds, time codes, sentence', () => {
    const text = describeHandoff(result, target, { timecode: '10:00:00:00' });
    expect(text).toContain(
      '- frames 90 to 119, 30 of them from 2.000 s on, time codes 10:00:02:00 to 10:00:03:05 (the out point is exclusive): not usable: turning of the view 41 °/s (from 30 °/s); caused by the operator; next time: turn more slowly\n',
    );
    expect(text).toContain('frame 40 carries 10:00:00:00, as you said; 25 labels a second');
    expect(text).toContain('This is no medical advice.');
    expect(text).not.toContain('as x, y, z, w');
  });

  test('says where no time code was given, or none can be', () => {
    expect(describeHandoff(result, target)).toContain('frame 40 was taken to carry 00:00:00:00');
    expect(describeHandoff(result, target, { firstFrame: 30 })).toContain('frame 30 was taken to');
    const rateless = resultOfTake(take, parseFrameRate('25'), { rate: 'none' });
    expect(describeHandoff(rateless, target)).toContain(
      'time codes: none, since they count frames',
    );
  });
});

describe('what was asked for is said where it holds', () => {
  test.each([
    ['tum', 'measured', true],
    ['tum', 'correction', true],
    ['opentrackio', 'measured', true],
    ['gltf', 'measured', false],
    ['usda', 'measured', false],
    ['csv', 'measured', false],
    ['st-maps', 'measured', false],
    ['ffmpeg', 'measured', false],
  ] as const)('%s, motion %s', (target, motion, said) => {
    const text = describeHandoff(made(), target, { motion });
    expect(text.includes(`motion: ${motion}`)).toBe(said);
  });

  test('trajectories name their motion when none was asked for', () => {
    expect(describeHandoff(made(), 'tum')).toContain('motion: intended');
  });

  test('angles whose sign was turned round are named', () => {
    const plain = describeHandoff(made(), 'opentrackio', { signs: { pan: 1 } });
    expect(plain).toContain('counted by the right hand');
    const flipped = describeHandoff(made(), 'opentrackio', { signs: { pan: -1, roll: -1 } });
    expect(lineWith(flipped, 'signs:')).toMatch(/pan, roll turned round/);
  });
});

test('the angles of ffmpeg are those of the left lens where the lenses are aligned apart', () => {
  const alignment = { left: turn([0, 1, 0], 0.05).q, right: turn([1, 0, 0], 0.05).q };
  const text = describeHandoff(
    made({ rig: { ...DEFAULT_RIG, eyes: eyesWith({ alignment }) } }),
    'ffmpeg',
  );
  expect(lineWith(text, 'its angles')).toContain('left');
});
