import { createRequire } from 'node:module';
import { AnimationMixer, Matrix4, type Object3D } from 'three';
import { GLTFLoader } from 'three/addons/loaders/GLTFLoader.js';
import { describe, expect, onTestFinished, test, vi } from 'vitest';
import { readGltf, toGlb, toGltf } from '../../src/handoff/gltf.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import { quaternionAt } from '../../src/rotation/arrays.js';
import { apart, largestGap } from '../apart.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { turn } from '../turns.js';
import { anyResults, matrixOf, product, RATE, type Rows, resultOf } from './results.js';

/** The validator of the Khronos Group, which publishes the format; it comes without types. */
const validator = createRequire(import.meta.url)('gltf-validator') as {
  validateBytes(bytes: Uint8Array): Promise<{
    readonly mimeType: string;
    readonly issues: { readonly messages: readonly { code: string; severity: number }[] };
  }>;
};

/**
 * Rounding to float32 moves a component by at most 2⁻²⁵ (below 1), four of them the quaternion by
 * at most 2⁻²⁴; the angle is twice the chord. Normalising moves nothing further away.
 */
const KEY = 2 ** -23;

/** A greenhouse walk of nine frames that turns by some degrees from one to the next. */
const nine = Array.from({ length: 9 }, (_, k) => k);
const walk = {
  intended: nine.map((k) => turn([0, 1, 0], 0.1 * k).q),
  corrections: nine.map((k) => turn([0.6, 0, 0.8], 0.05 * Math.sin(2 * k)).q),
};

const FORMS = [
  ['.gltf', toGltf, 'model/gltf+json'],
  ['.glb', toGlb, 'model/gltf-binary'],
] as const;
const bytesOf = (content: string | Uint8Array) =>
  typeof content === 'string' ? new TextEncoder().encode(content) : content;

describe.each(FORMS)('a scene as %s', (_form, write, mimeType) => {
  test('both motions come back but for the rounding of its 32-bit keys', () => {
    fc.assert(
      fc.property(anyResults, (parts) => {
        const result = resultOf(parts);
        const back = readGltf(write(result));
        expect(back.frames).toEqual(result.corrections.frames);
        // A time below 1 s is a float32 that misses by at most 2⁻²⁵.
        expect(largestGap(back.times, result.corrections.times)).toBeLessThanOrEqual(2 ** -25);
        parts.intended.forEach((s, k) => {
          expect(apart(quaternionAt(back.intended, k), s)).toBeLessThanOrEqual(KEY);
          const measured = product(matrixOf(s), matrixOf(parts.corrections[k]!));
          // An entry of a matrix changes by no more than the angle.
          expect(
            largestGap(matrixOf(quaternionAt(back.measured, k)).flat(), measured.flat()),
          ).toBeLessThanOrEqual(KEY + 1e-14);
        });
      }),
    );
  });

  test.each([
    ['without a rig', {}],
    ['with a camera for each eye', { rig: DEFAULT_RIG }],
    ['upside down, without an exact rate', { rate: 'none', swapEyes: true }],
    ['of a single frame', { intended: [turn([1, 0, 0], 0.1).q], corrections: [[0, 0, 0, 1]] }],
  ] as const)('the validator finds nothing to say, %s', async (_title, more) => {
    const bytes = bytesOf(write(resultOf({ ...walk, ...more })));
    const report = await validator.validateBytes(bytes);
    expect(report.mimeType).toBe(mimeType);
    expect(report.issues.messages).toEqual([]);
  });

  test('three.js turns the cameras by S and the other node by C at every frame', async () => {
    const result = resultOf({ ...walk, rig: DEFAULT_RIG });
    // The loader fetches even keys that lie in the text, and reports how far it is.
    vi.stubGlobal('ProgressEvent', Event);
    onTestFinished(() => void vi.unstubAllGlobals());
    const content = bytesOf(write(result)).slice();
    const { scene, animations } = await new GLTFLoader().parseAsync(content.buffer, '');
    const mixer = new AnimationMixer(scene);
    mixer.clipAction(animations[0]!).play();
    // The last frame is the end of the clip, where a playing clip begins again.
    for (const k of nine.slice(0, -1)) {
      mixer.setTime(result.corrections.times[k]!);
      scene.updateMatrixWorld(true);
      const intended = matrixOf(walk.intended[k]!);
      // Keys off by KEY and a time off by 2⁻²⁵ s at below 10 rad/s: 3e-7 together.
      expect(largestGap(rotationOf(scene, 'left'), intended.flat())).toBeLessThan(1e-6);
      expect(largestGap(rotationOf(scene, 'right'), intended.flat())).toBeLessThan(1e-6);
      const measured = product(intended, matrixOf(walk.corrections[k]!));
      expect(largestGap(rotationOf(scene, 'measured'), measured.flat())).toBeLessThan(1e-6);
      // The eyes lie along the x axis of the turned view, half the interaxial off, metres.
      const right = intended.map((row) => 0.032 * row[0]);
      expect(largestGap(placeOf(scene, 'right'), right)).toBeLessThan(1e-7);
      expect(
        largestGap(
          placeOf(scene, 'left'),
          right.map((x) => -x),
        ),
      ).toBeLessThan(1e-7);
    }
  });
});

const node = (scene: Object3D, name: string) => scene.getObjectByName(name)!;

function rotationOf(scene: Object3D, name: string): number[] {
  const matrix = new Matrix4().extractRotation(node(scene, name).matrixWorld);
  const columns = matrix.elements;
  const rows: Rows = [0, 1, 2].map((i) => [columns[i]!, columns[4 + i]!, columns[8 + i]!]);
  return rows.flat();
}

function placeOf(scene: Object3D, name: string): number[] {
  return node(scene, name).matrixWorld.elements.slice(12, 15);
}

test('rate, first frame and exchanged eyes are kept beside the scene', () => {
  const scene = JSON.parse(toGltf(resultOf({ ...walk, rate: RATE, swapEyes: true })));
  expect(scene.asset.extras).toEqual({ frameRate: '60000/1001', firstFrame: 40, swapEyes: true });
});

describe('readGltf refuses', () => {
  const text = toGltf(resultOf(walk));
  const binary = toGlb(resultOf(walk));
  const without = (name: string) => text.replace(`"name":"${name}"`, '"name":"trellis"');

  test.each<[string, string | Uint8Array, string]>([
    ['another scene', '{"asset":{"version":"2.0"}}', 'found a scene without keys of its own'],
    ['null', 'null', 'found a scene without keys of its own'],
    ['a scene without the corrected view', without('intended'), 'no animated node "intended"'],
    ['a scene without the camera', without('measured'), 'no animated node "measured"'],
    ['text that breaks off', text.slice(0, 300), 'found text that is not JSON'],
    ['keys that are no base64', text.replace('base64,', 'base64,!'), 'keys that are no base64'],
    ['other bytes', new Uint8Array(64), 'found bytes that do not begin with "glTF"'],
    ['a file without its keys', binary.subarray(0, binary.length - 4), 'keys that are cut off'],
    ['a file without half its text', binary.subarray(0, 200), 'found a file that is cut off'],
  ])('%s', (_title, input, words) => {
    expect(() => readGltf(input)).toThrow(complaint('read/json', words));
  });
});
