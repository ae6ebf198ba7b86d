import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { isAligned } from '../rig/stereoRig.js';
import type { Quaternion } from '../rotation/quaternion.js';
import { framesPerSecond } from '../track/frameRate.js';
import { framesOf, orientationsOf } from './poses.js';
import { requireSoundResult } from './soundResult.js';

/** Widest picture that a text can promise a renderer, mm: any pair with this ratio gives 90°. */
const APERTURE_MM = 20.955;
const FOCAL_LENGTH_MM = APERTURE_MM / 2;

/**
 * An OpenUSD layer in text form: `/walk/intended` carries the corrected view with a left and a
 * right camera (`stereoRole`), `/walk/measured` turns as the real camera did and carries a camera for
 * each lens where the rig aligns them apart. One time code per frame: time code = frame number.
 *
 * y up, metres, cameras look along −z. Quaternions are written (w, x, y, z), as the format wants.
 *
 * @param result - of {@link index!correct}
 * @returns text of a .usda file
 * @see OpenUSD, UsdGeomCamera and UsdGeomXformable schemas
 * @example
 * toUsda(result).split('\n')[0]; // '#usda 1.0'
 */
export function toUsda(result: CorrectionResult): string {
  requireSoundResult(result);
  const frames = framesOf(result);
  const rate = codesPerSecond(result);
  const samples = (quaternions: Float64Array) =>
    Array.from(frames, (frame, k) => {
      const [x, y, z, w] = quaternions.subarray(4 * k, 4 * k + 4);
      return `            ${frame}: (${w}, ${x}, ${y}, ${z}),`;
    });
  const node = (name: string, quaternions: Float64Array, inside: readonly string[]) => [
    `    def Xform "${name}"`,
    '    {',
    '        quatd xformOp:orient.timeSamples = {',
    ...samples(quaternions),
    '        }',
    '        uniform token[] xformOpOrder = ["xformOp:orient"]',
    ...inside,
    '    }',
  ];
  const half = (result.rig?.interaxialMm ?? 0) / 2000;
  return [
    '#usda 1.0',
    '(',
    '    defaultPrim = "walk"',
    `    endTimeCode = ${frames[frames.length - 1]}`,
    `    framesPerSecond = ${rate}`,
    '    metersPerUnit = 1',
    `    startTimeCode = ${frames[0]}`,
    `    timeCodesPerSecond = ${rate}`,
    '    upAxis = "Y"',
    ')',
    '',
    'def Xform "walk"',
    '{',
    ...node('intended', orientationsOf(result, 'intended'), [
      ...camera('left', -half),
      ...camera('right', half),
    ]),
    '',
    ...node('measured', orientationsOf(result, 'measured'), lensesOf(result.rig)),
    '}',
    '',
  ].join('\n');
}

/** The real lenses, each turned by its own alignment A, where the rig aligns them apart. */
function lensesOf(rig: CorrectionResult['rig']): string[] {
  if (!rig || !isAligned(rig)) return [];
  const half = rig.interaxialMm / 2000;
  return [
    ...camera('left', -half, { name: 'leftLens', turn: rig.eyes.left.alignment }),
    ...camera('right', half, { name: 'rightLens', turn: rig.eyes.right.alignment }),
  ];
}

function camera(
  role: 'left' | 'right',
  x: number,
  lens?: { readonly name: string; readonly turn: Quaternion },
): string[] {
  const orient = () => {
    const [qx, qy, qz, qw] = lens!.turn;
    return [`            quatd xformOp:orient = (${qw}, ${qx}, ${qy}, ${qz})`];
  };
  const order = ['translate', ...(lens ? ['orient'] : [])].map((op) => `"xformOp:${op}"`);
  return [
    '',
    `        def Camera "${lens?.name ?? role}"`,
    '        {',
    `            float focalLength = ${FOCAL_LENGTH_MM}`,
    `            float horizontalAperture = ${APERTURE_MM}`,
    `            float verticalAperture = ${APERTURE_MM}`,
    `            uniform token stereoRole = "${role}"`,
    `            double3 xformOp:translate = (${x}, 0, 0)`,
    ...(lens ? orient() : []),
    `            uniform token[] xformOpOrder = [${order.join(', ')}]`,
    '        }',
  ];
}

/** Time codes per second as the double nearest to the exact rate. */
function codesPerSecond({ corrections: { frameRate, times } }: CorrectionResult): number {
  if (frameRate) return framesPerSecond(frameRate);
  const last = times.length - 1;
  return last > 0 ? last / times[last]! : RATE_OF_ONE_FRAME;
}

/** What OpenUSD takes where a layer states no rate; a single frame knows none. */
const RATE_OF_ONE_FRAME = 24;

/** What {@link readUsda} finds in a layer of ours. */
export interface UsdaMotion {
  /** Frame number, which is the time code, of each sample; length n. */
  readonly frames: Int32Array;
  /** Frames per second as the layer writes them. */
  readonly timeCodesPerSecond: number;
  /** S, camera→world, x, y, z, w; length 4n. */
  readonly intended: Float64Array;
  /** C, camera→world; length 4n. */
  readonly measured: Float64Array;
}

/**
 * Reads back the two motions of a layer that {@link toUsda} wrote; not a reader of USD in general.
 *
 * @param text - of a .usda file
 * @throws TwinkeelError `read/unknown-layout` when it is another layer
 * @example
 * readUsda(toUsda(result)).timeCodesPerSecond; // 60
 */
export function readUsda(text: string): UsdaMotion {
  const rate = Number(/^[ \t]*timeCodesPerSecond = (\S+)$/m.exec(text)?.[1]);
  const intended = readSamples(text, 'intended');
  const measured = readSamples(text, 'measured');
  if (!(rate > 0 && Number.isFinite(rate)) || intended.frames.length !== measured.frames.length) {
    throw notOurs('a layer without a rate or with motions of different length');
  }
  return {
    frames: intended.frames,
    timeCodesPerSecond: rate,
    intended: intended.quaternions,
    measured: measured.quaternions,
  };
}

function readSamples(
  text: string,
  name: string,
): { frames: Int32Array; quaternions: Float64Array } {
  const from = text.indexOf(`def Xform "${name}"`);
  const open = text.indexOf('xformOp:orient.timeSamples = {', from);
  const close = text.indexOf('}', open);
  if (from < 0 || open < 0 || close < 0) throw notOurs(`no animated "${name}"`);
  const frames: number[] = [];
  const components: number[] = [];
  // Anchored at the line, so that a long one is looked through once.
  const sample = /^(-?\d+): \(([^,)]+), ([^,)]+), ([^,)]+), ([^,)]+)\)/;
  for (const line of text.slice(open, close).split('\n')) {
    const match = sample.exec(line.trimStart());
    if (!match) continue;
    const [w, x, y, z] = match.slice(2).map(Number);
    frames.push(Number(match[1]));
    const norm = Math.hypot(x!, y!, z!, w!);
    // What is unit already stays as it is to the last bit.
    const scale = Math.abs(norm - 1) < 1e-14 ? 1 : norm;
    components.push(x! / scale, y! / scale, z! / scale, w! / scale);
  }
  if (frames.length === 0 || !components.every(Number.isFinite)) {
    throw notOurs(`no readable samples of "${name}"`);
  }
  return {
    frames: Int32Array.from(frames),
    quaternions: Float64Array.from(components),
  };
}

function notOurs(found: string): TwinkeelError {
  return new TwinkeelError('read/unknown-layout', {
    found,
    expected: 'a .usda layer with the Xforms "intended" and "measured"',
    remedy: 'pass a file that twinkeel wrote',
  });
}
