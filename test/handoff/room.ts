import type { Quaternion, Vector3 } from '../../src/rotation/quaternion.js';
import { matrixOf } from './results.js';

/**
 * A glasshouse at night as two lenses see it: six walls with soft patches of light, rendered ray by
 * ray. No library code enters, so that a picture rendered on the wanted path can judge ours.
 */

/**
 * How one eye's square picture shows directions; a fisheye fills the square, r = θ (1 + c₁θ² + c₂θ⁴ + …),
 * equidistant without coefficients.
 */
export type Lens =
  | 'half-equirect'
  | { readonly fisheyeDeg: number; readonly coefficients?: readonly number[] };

function focalLengths({ coefficients = [] }: Exclude<Lens, string>, angle: number): number {
  return coefficients.reduce((sum, c, k) => sum + c * angle ** (2 * k + 3), angle);
}

/** The angle of a radius, share of the picture's half width: halved until nothing is left to halve. */
function angleOf(lens: Exclude<Lens, string>, radius: number): number {
  const half = (lens.fisheyeDeg * Math.PI) / 360;
  if (!lens.coefficients) return radius * half;
  const wanted = radius * focalLengths(lens, half);
  // The picture's corners lie beyond the field.
  let [low, high] = [0, 1.5 * half];
  for (let step = 0; step < 55; step++) {
    const middle = (low + high) / 2;
    if (focalLengths(lens, middle) < wanted) low = middle;
    else high = middle;
  }
  return low;
}

/** A point of a picture, pixels from its left and top edge. */
export type Point = readonly [x: number, y: number];

/** Where the eyes stand in the world, m: 64 mm apart, and there they stay when the lenses turn. */
const PLACES: Readonly<Record<Eye, Vector3>> = { left: [-0.032, 0, 0], right: [0.032, 0, 0] };
export type Eye = 'left' | 'right';
export const EYES: readonly Eye[] = ['left', 'right'];

/** Half the room's width, height and depth, m; the operator stands in the middle. */
const HALF: Vector3 = [3, 1.5, 3];

/** Steps of a table of sines: its jumps of 0.01 in brightness drown in the rounding to whole numbers. */
const TURN = 2 ** 13;
const SINES = Float64Array.from({ length: TURN }, (_, k) => Math.sin((2 * Math.PI * k) / TURN));

/**
 * Plane waves through space, read off on the walls, so that no seam shows where walls meet.
 * Wavelengths of 0.25 to 0.5 m are {@link SHORTEST_WAVE_PX} and more in a picture of 384 px.
 */
const WAVES = lightWaves(8, 20_240_621);
/** 0.25 m in the room's corners, at 4.5 m, in pixels of π/384 rad. */
export const SHORTEST_WAVE_PX = 6.8;
/** Brightness 126 ± 8 · 13 stays within the 16 to 235 of video. */
const MIDDLE = 126;
const SWING = 13;
/** Video black, for what a lens does not show. */
const BLACK = 16;

/** Wave vectors and phases, four numbers per wave, in steps of the table (per m). */
function lightWaves(count: number, seed: number): Float64Array {
  let state = seed;
  // A linear congruential generator, constants from memory: any scatter of waves will do.
  const random = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
  const waves = Array.from({ length: count }, () => {
    const up = 2 * random() - 1;
    const around = 2 * Math.PI * random();
    const level = Math.sqrt(1 - up * up);
    const number = TURN / (0.25 + 0.25 * random());
    const phase = TURN * random();
    return [
      number * level * Math.cos(around),
      number * up,
      number * level * Math.sin(around),
      phase,
    ];
  });
  return Float64Array.from(waves.flat());
}

/** Brightness of the wall that a ray from a place meets. */
function wallLight([px, py, pz]: Vector3, x: number, y: number, z: number): number {
  const reach = Math.min(
    ((x > 0 ? HALF[0] : -HALF[0]) - px) / x,
    ((y > 0 ? HALF[1] : -HALF[1]) - py) / y,
    ((z > 0 ? HALF[2] : -HALF[2]) - pz) / z,
  );
  const hx = px + reach * x;
  const hy = py + reach * y;
  const hz = pz + reach * z;
  let light = MIDDLE;
  for (let w = 0; w < WAVES.length; w += 4) {
    const phase = WAVES[w]! * hx + WAVES[w + 1]! * hy + WAVES[w + 2]! * hz + WAVES[w + 3]!;
    light += SWING * SINES[Math.round(phase) & (TURN - 1)]!;
  }
  return light;
}

/** The direction in an eye's axes (x right, y up, z back) that a point of its picture shows. */
export function directionAt(lens: Lens, sizePx: number, [x, y]: Point): Vector3 {
  const [right, up] = [(2 * x) / sizePx - 1, 1 - (2 * y) / sizePx];
  if (lens === 'half-equirect') {
    const [lon, lat] = [(right * Math.PI) / 2, (up * Math.PI) / 2];
    return [Math.cos(lat) * Math.sin(lon), Math.sin(lat), -Math.cos(lat) * Math.cos(lon)];
  }
  const radius = Math.hypot(right, up);
  const angle = angleOf(lens, radius);
  const share = radius === 0 ? 0 : Math.sin(angle) / radius;
  return [share * right, share * up, -Math.cos(angle)];
}

/** The point of a picture that shows a direction: the inverse of {@link directionAt}. */
export function placeOf(lens: Lens, sizePx: number, [x, y, z]: Vector3): Point {
  if (lens === 'half-equirect') {
    const [lon, lat] = [Math.atan2(x, -z), Math.atan2(y, Math.hypot(x, z))];
    return [(0.5 + lon / Math.PI) * sizePx, (0.5 - lat / Math.PI) * sizePx];
  }
  const across = Math.hypot(x, y);
  const half = (lens.fisheyeDeg * Math.PI) / 360;
  const radius = focalLengths(lens, Math.atan2(across, -z)) / focalLengths(lens, half);
  const share = across === 0 ? 0 : radius / across;
  return [((1 + share * x) / 2) * sizePx, ((1 - share * y) / 2) * sizePx];
}

/** Part of a picture: its first column and row, and how many of each. */
export interface Patch {
  readonly x: number;
  readonly y: number;
  readonly widthPx: number;
  readonly heightPx: number;
}

/**
 * What an eye sees, brightness at the middle of each pixel, row by row.
 *
 * @param orientation - of the eye, camera→world
 * @param patch - default: the whole picture
 */
export function renderEye(
  eye: Eye,
  orientation: Quaternion,
  lens: Lens,
  sizePx: number,
  patch: Patch = { x: 0, y: 0, widthPx: sizePx, heightPx: sizePx },
): Float64Array {
  const out = new Float64Array(patch.widthPx * patch.heightPx);
  const rays = raysOf(lens, sizePx);
  const [row1, row2, row3] = matrixOf(orientation) as [Vector3, Vector3, Vector3];
  // The picture's corners lie outside a fisheye's circle, further back than its edge.
  const furthestBack = lens === 'half-equirect' ? 1 : -Math.cos((lens.fisheyeDeg * Math.PI) / 360);
  for (let j = 0, i = 0; j < patch.heightPx; j++) {
    let ray = 3 * ((patch.y + j) * sizePx + patch.x);
    for (let column = 0; column < patch.widthPx; column++, i++, ray += 3) {
      const [x, y, z] = [rays[ray]!, rays[ray + 1]!, rays[ray + 2]!];
      out[i] =
        z > furthestBack
          ? BLACK
          : wallLight(
              PLACES[eye],
              row1[0] * x + row1[1] * y + row1[2] * z,
              row2[0] * x + row2[1] * y + row2[2] * z,
              row3[0] * x + row3[1] * y + row3[2] * z,
            );
    }
  }
  return out;
}

/** Directions of all pixels, kept from frame to frame. */
const kept = new Map<string, Float64Array>();

function raysOf(lens: Lens, sizePx: number): Float64Array {
  const name = JSON.stringify([lens, sizePx]);
  const found = kept.get(name);
  if (found) return found;
  const rays = new Float64Array(3 * sizePx * sizePx);
  for (let j = 0; j < sizePx; j++) {
    for (let i = 0; i < sizePx; i++) {
      rays.set(directionAt(lens, sizePx, [i + 0.5, j + 0.5]), 3 * (j * sizePx + i));
    }
  }
  kept.set(name, rays);
  return rays;
}
