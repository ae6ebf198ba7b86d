import * as THREE from 'three';
import type { Clip } from './motion.js';

/** How a proxy movie shows its two eyes. */
export type MovieLayout = 'side-by-side' | 'top-bottom';

/** A half-equirect stereo movie on two half-spheres, one for each eye. */
export interface MovieDomes {
  /** Turn it by K: what the camera saw moves to where the corrected view shows it. */
  readonly domes: THREE.Group;
  /** Turns each lens's dome by its own fixed alignment, or leaves it as the camera recorded it. */
  readonly align: (aligned: boolean) => void;
  /** Takes the frame that the video shows now; its media time, s. */
  readonly refresh: () => number;
  readonly dispose: () => void;
}

/** Layers that three.js shows to one eye only. */
export const LEFT_LAYER = 1;
export const RIGHT_LAYER = 2;

export function movieDomes(
  video: HTMLVideoElement,
  layout: MovieLayout,
  { swapEyes, rig }: Pick<Clip, 'swapEyes' | 'rig'>,
): MovieDomes {
  const texture = new THREE.VideoFrameTexture();
  texture.colorSpace = THREE.SRGBColorSpace;
  let held: VideoFrame | undefined;
  const material = new THREE.MeshBasicMaterial({ map: texture, side: THREE.DoubleSide });
  const domes = new THREE.Group();
  const lenses = new Map<THREE.Mesh, readonly number[]>();
  for (const [layer, half] of [
    [LEFT_LAYER, swapEyes ? 1 : 0],
    [RIGHT_LAYER, swapEyes ? 0 : 1],
  ] as const) {
    const dome = new THREE.Mesh(halfSphere(layout, half), material);
    dome.layers.set(layer);
    // Halves belong to lenses, whichever eye they are shown to.
    lenses.set(dome, rig?.eyes[half === 0 ? 'left' : 'right'].alignment ?? [0, 0, 0, 1]);
    domes.add(dome);
  }
  return {
    domes,
    align: (aligned) => {
      for (const [dome, own] of lenses) dome.quaternion.fromArray(aligned ? own : [0, 0, 0, 1]);
    },
    refresh: () => {
      // The video may be a frame further than its callback said; a frame knows its own time. It is
      // held until the next one, since a headset draws it later.
      held?.close();
      held = new VideoFrame(video);
      texture.setFrame(held);
      return held.timestamp / 1e6;
    },
    dispose: () => {
      held?.close();
      texture.dispose();
      material.dispose();
      for (const dome of domes.children) (dome as THREE.Mesh).geometry.dispose();
    },
  };
}

const RADIUS = 50;
const [COLUMNS, ROWS] = [96, 96];

/** A half-sphere before the viewer, with the part of the frame that one eye sees painted on it. */
function halfSphere(layout: MovieLayout, half: 0 | 1): THREE.BufferGeometry {
  const positions: number[] = [];
  const places: number[] = [];
  const corners: number[] = [];
  for (let row = 0; row <= ROWS; row++) {
    for (let column = 0; column <= COLUMNS; column++) {
      const [u, v] = [column / COLUMNS, row / ROWS];
      const [longitude, latitude] = [(u - 0.5) * Math.PI, (v - 0.5) * Math.PI];
      positions.push(
        RADIUS * Math.cos(latitude) * Math.sin(longitude),
        RADIUS * Math.sin(latitude),
        -RADIUS * Math.cos(latitude) * Math.cos(longitude),
      );
      // The left eye is the left or the upper half; v counts upwards.
      if (layout === 'side-by-side') places.push((u + half) / 2, v);
      else places.push(u, (v + 1 - half) / 2);
      if (row === ROWS || column === COLUMNS) continue;
      const at = row * (COLUMNS + 1) + column;
      corners.push(at, at + 1, at + COLUMNS + 1, at + 1, at + COLUMNS + 2, at + COLUMNS + 1);
    }
  }
  const geometry = new THREE.BufferGeometry();
  geometry.setAttribute('position', new THREE.Float32BufferAttribute(positions, 3));
  geometry.setAttribute('uv', new THREE.Float32BufferAttribute(places, 2));
  geometry.setIndex(corners);
  return geometry;
}
