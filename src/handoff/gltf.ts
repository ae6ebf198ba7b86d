import { fromBase64, toBase64 } from '../base64.js';
import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { parseJson } from '../read/jsonTable.js';
import { decodeText, encodeText } from '../read/text.js';
import { isAligned } from '../rig/stereoRig.js';
import { normalizeQuaternions } from '../rotation/arrays.js';
import { formatFrameRate } from '../track/frameRate.js';
import { framesOf, orientationsOf } from './poses.js';
import { requireSoundResult } from './soundResult.js';

/** glTF 2.0 constants: component type FLOAT, chunk types and magic number of the binary form. */
const FLOAT = 5126;
const GLB_MAGIC = 0x46546c67;
const GLB_JSON = 0x4e4f534a;
const GLB_BIN = 0x004e4942;

/** How wide a headset's window on the half-sphere is drawn in a scene, rad (our judgement). */
const FIELD_OF_VIEW = Math.PI / 2;

/**
 * A glTF 2.0 scene with two animated nodes in one world: `intended`, which carries the corrected
 * view (a camera for each eye where the interaxial is known), and `measured`, which turns as the
 * real camera did and carries one that looks where it looked, or one for each lens where the rig
 * aligns them apart. Footage projected on a half-sphere
 * below `measured` and looked at from `intended` is steadied; frame k lies at time k.
 *
 * Axes and units are glTF's own and ours alike: right-handed, y up, cameras look along −z, metres,
 * seconds from the first frame.
 *
 * @param result - of {@link index!correct}
 * @returns JSON text with the keys inside; 20 bytes and a third per node and frame
 * @see Khronos Group, glTF 2.0 Specification, 3.11 (animations) and 3.10 (cameras)
 * @example
 * JSON.parse(toGltf(result)).asset.version; // '2.0'
 */
export function toGltf(result: CorrectionResult): string {
  const { scene, keys } = buildScene(result);
  const uri = `data:application/octet-stream;base64,${toBase64(keys)}`;
  const buffers = [{ byteLength: keys.length, uri }];
  return `${JSON.stringify({ ...scene, buffers })}\n`;
}

/**
 * The scene of {@link toGltf} in the binary form (.glb).
 *
 * @param result - of {@link index!correct}
 * @returns the bytes of the file
 * @see Khronos Group, glTF 2.0 Specification, 4 (GLB file format)
 * @example
 * new TextDecoder().decode(toGlb(result).subarray(0, 4)); // 'glTF'
 */
export function toGlb(result: CorrectionResult): Uint8Array<ArrayBuffer> {
  const { scene, keys } = buildScene(result);
  const buffers = [{ byteLength: keys.length }];
  const json = encodeText(JSON.stringify({ ...scene, buffers }));
  const jsonLength = 4 * Math.ceil(json.length / 4);
  const total = 12 + 8 + jsonLength + 8 + keys.length;
  const out = new Uint8Array(total);
  const view = new DataView(out.buffer);
  [GLB_MAGIC, 2, total, jsonLength, GLB_JSON].forEach((word, k) => {
    view.setUint32(4 * k, word, true);
  });
  out.fill(0x20, 20, 20 + jsonLength);
  out.set(json, 20);
  view.setUint32(20 + jsonLength, keys.length, true);
  view.setUint32(24 + jsonLength, GLB_BIN, true);
  out.set(keys, 28 + jsonLength);
  return out;
}

/** What {@link readGltf} finds in a scene of ours. */
export interface GltfMotion {
  /** Seconds from the first frame, as float32 holds them. */
  readonly times: Float64Array;
  /** S, camera→world, unit to float32's rounding before normalisation; length 4n. */
  readonly intended: Float64Array;
  /** C, camera→world; length 4n. */
  readonly measured: Float64Array;
  /** Frame number of each key; length n. */
  readonly frames: Int32Array;
}

/**
 * Reads back the two motions of a scene that {@link toGltf} or {@link toGlb} wrote; float32 keys
 * bend each rotation by at most about 1e-7 rad.
 *
 * @param input - the text of a .gltf file, or the bytes of a .glb file
 * @throws TwinkeelError `read/json` when it is another scene
 * @example
 * const { intended } = readGltf(toGlb(result));
 * angularDistances(intended, result.intended.quaternions)[99]; // 0.000000 rad
 */
export function readGltf(input: string | Uint8Array): GltfMotion {
  const { scene, keys } = typeof input === 'string' ? fromText(input) : fromBinary(input);
  const node = (name: string) => entries(scene.nodes).findIndex((each) => each?.name === name);
  const animation = entry(scene.animations, 0);
  const floats = (index: number): Float64Array => {
    const accessor = entry(scene.accessors, index);
    const offset = entry(scene.bufferViews, accessor?.bufferView)?.byteOffset;
    const count = accessor?.count;
    if (!isCount(offset) || !isCount(count)) throw notOurs('keys without a place or a number');
    const length = count * (accessor?.type === 'VEC4' ? 4 : 1);
    if (keys.length < offset + 4 * length) throw notOurs('keys that are cut off');
    const data = new DataView(keys.buffer, keys.byteOffset + offset, 4 * length);
    const values = Float64Array.from({ length }, (_, k) => data.getFloat32(4 * k, true));
    if (!values.every(Number.isFinite)) throw notOurs('a key that is no finite number');
    return values;
  };
  const motion = (name: string): [Float64Array, Float64Array] => {
    const wanted = node(name);
    const channel = entries(animation?.channels).find((each) => each?.target?.node === wanted);
    const sampler = entry(animation?.samplers, channel?.sampler);
    if (!sampler) throw notOurs(`no animated node "${name}"`);
    return [floats(sampler.input), normalizeQuaternions(floats(sampler.output))];
  };
  const [times, intended] = motion('intended');
  const [, measured] = motion('measured');
  const n = times.length;
  if (n === 0 || intended.length !== 4 * n || measured.length !== 4 * n) {
    throw notOurs('motions of different length');
  }
  const extras = scene.asset?.extras;
  const first = extras?.firstFrame ?? 0;
  // Frame numbers are kept in 32 bits.
  if (typeof first !== 'number' || (first | 0) !== first || ((first + n) | 0) !== first + n) {
    throw notOurs('a first frame that is no whole number of 32 bits');
  }
  return { times, intended, measured, frames: Int32Array.from(times, (_, k) => first + k) };
}

/** The entries of what should be a list; none where it is none. */
const entries = <T>(list: readonly T[] | undefined): readonly (T | null | undefined)[] =>
  Array.isArray(list) ? list : [];

/** One of them, by what should be its number. */
const entry = <T>(list: readonly T[] | undefined, index: unknown): T | null | undefined =>
  isCount(index) ? entries(list)[index] : undefined;

const isCount = (value: unknown): value is number =>
  Number.isSafeInteger(value) && (value as number) >= 0;

/** The parts of a glTF document that we write. */
interface Scene {
  readonly asset?: {
    readonly extras?: { readonly frameRate?: string; readonly firstFrame?: number };
  };
  readonly nodes?: readonly { readonly name?: string }[];
  readonly animations?: readonly {
    readonly channels?: readonly {
      readonly sampler: number;
      readonly target: { readonly node: number };
    }[];
    readonly samplers?: readonly { readonly input: number; readonly output: number }[];
  }[];
  readonly accessors?: readonly {
    readonly bufferView: number;
    readonly count: number;
    readonly type: string;
  }[];
  readonly bufferViews?: readonly { readonly byteOffset: number }[];
  readonly buffers?: readonly { readonly uri?: string }[];
}

function buildScene(result: CorrectionResult): {
  scene: Record<string, unknown>;
  keys: Uint8Array<ArrayBuffer>;
} {
  requireSoundResult(result);
  const { times, frameRate } = result.corrections;
  const n = times.length;
  const input = Float32Array.from(times);
  const keys = new Uint8Array(4 * 9 * n);
  const view = new DataView(keys.buffer);
  const write = (values: ArrayLike<number>, offset: number) => {
    for (let k = 0; k < values.length; k++) view.setFloat32(offset + 4 * k, values[k]!, true);
  };
  write(input, 0);
  write(orientationsOf(result, 'intended'), 4 * n);
  write(orientationsOf(result, 'measured'), 20 * n);
  const eyes = camerasOf(result.rig);
  const children = eyes.intended.map((_, k) => 2 + k);
  const lenses = eyes.measured.map((_, k) => 2 + eyes.intended.length + k);
  const orientation = (bufferView: number) => ({
    bufferView,
    componentType: FLOAT,
    count: n,
    type: 'VEC4',
  });
  return {
    keys,
    scene: {
      asset: {
        version: '2.0',
        generator: 'twinkeel',
        extras: {
          ...(frameRate && { frameRate: formatFrameRate(frameRate) }),
          firstFrame: framesOf(result)[0]!,
          swapEyes: result.swapEyes,
        },
      },
      scene: 0,
      scenes: [{ nodes: [0, 1] }],
      nodes: [
        { name: 'intended', children },
        // Without a camera of its own or below it the second node would count as empty.
        { name: 'measured', ...(lenses.length > 0 ? { children: lenses } : { camera: 0 }) },
        ...eyes.intended,
        ...eyes.measured,
      ],
      cameras: [
        {
          type: 'perspective',
          perspective: { yfov: FIELD_OF_VIEW, znear: 0.01, zfar: 1000 },
        },
      ],
      animations: [
        {
          name: 'steadied',
          channels: [0, 1].map((node) => ({
            sampler: node,
            target: { node, path: 'rotation' },
          })),
          samplers: [
            { input: 0, output: 1, interpolation: 'LINEAR' },
            { input: 0, output: 2, interpolation: 'LINEAR' },
          ],
        },
      ],
      accessors: [
        {
          bufferView: 0,
          componentType: FLOAT,
          count: n,
          type: 'SCALAR',
          min: [input[0]!],
          max: [input[n - 1]!],
        },
        orientation(1),
        orientation(2),
      ],
      bufferViews: [
        { buffer: 0, byteOffset: 0, byteLength: 4 * n },
        { buffer: 0, byteOffset: 4 * n, byteLength: 16 * n },
        { buffer: 0, byteOffset: 20 * n, byteLength: 16 * n },
      ],
    },
  };
}

/**
 * Cameras of the corrected view, which looks straight ahead with both eyes, and of the real lenses,
 * each turned by its own alignment A: one that stands below `measured` looks along C A.
 */
function camerasOf(rig: CorrectionResult['rig']): {
  intended: Record<string, unknown>[];
  measured: Record<string, unknown>[];
} {
  if (!rig) return { intended: [{ name: 'view', camera: 0 }], measured: [] };
  const eyes = [
    { eye: 'left', x: -rig.interaxialMm / 2000 },
    { eye: 'right', x: rig.interaxialMm / 2000 },
  ] as const;
  return {
    intended: eyes.map(({ eye, x }) => ({ name: eye, camera: 0, translation: [x, 0, 0] })),
    measured: isAligned(rig)
      ? eyes.map(({ eye, x }) => ({
          name: `${eye} lens`,
          camera: 0,
          translation: [x, 0, 0],
          rotation: rig.eyes[eye].alignment,
        }))
      : [],
  };
}

function fromText(text: string): { scene: Scene; keys: Uint8Array } {
  const scene = (parseJson(text) ?? {}) as Scene;
  const uri = entry(scene.buffers, 0)?.uri;
  const data = typeof uri === 'string' ? /^data:[^,]*;base64,(.*)$/.exec(uri)?.[1] : undefined;
  if (data === undefined) throw notOurs('a scene without keys of its own');
  try {
    return { scene, keys: fromBase64(data) };
  } catch {
    throw notOurs('keys that are no base64');
  }
}

function fromBinary(bytes: Uint8Array): { scene: Scene; keys: Uint8Array } {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytes.length < 28 || view.getUint32(0, true) !== GLB_MAGIC) {
    throw notOurs('bytes that do not begin with "glTF"');
  }
  const jsonLength = view.getUint32(12, true);
  if (20 + jsonLength + 8 > bytes.length) throw notOurs('a file that is cut off');
  const json = decodeText(bytes.subarray(20, 20 + jsonLength));
  return {
    scene: (parseJson(json) ?? {}) as Scene,
    keys: bytes.subarray(28 + jsonLength),
  };
}

function notOurs(found: string): TwinkeelError {
  return new TwinkeelError('read/json', {
    found,
    expected: 'a glTF scene with the animated nodes "intended" and "measured"',
    remedy: 'pass a file that twinkeel wrote',
  });
}
