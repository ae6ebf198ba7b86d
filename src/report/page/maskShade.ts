import * as THREE from 'three';
import type { CircularMask } from '../../rig/coverage.js';

/** Black outside a round window of the corrected view, with its soft edge; the same in both eyes. */
export function maskShade(mask: CircularMask): THREE.Mesh {
  const material = new THREE.ShaderMaterial({
    uniforms: {
      centre: { value: new THREE.Vector3(...mask.centre) },
      clear: { value: mask.clearUpTo },
      opaque: { value: mask.opaqueFrom },
    },
    vertexShader: `
      varying vec3 direction;
      void main() {
        direction = position;
        gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
      }`,
    fragmentShader: `
      varying vec3 direction;
      uniform vec3 centre;
      uniform float clear;
      uniform float opaque;
      void main() {
        vec3 d = normalize(direction);
        float angle = atan(length(cross(centre, d)), dot(centre, d));
        gl_FragColor = vec4(0.0, 0.0, 0.0, smoothstep(clear, opaque, angle));
      }`,
    transparent: true,
    depthTest: false,
    side: THREE.BackSide,
  });
  const shade = new THREE.Mesh(new THREE.SphereGeometry(1, 64, 48), material);
  shade.renderOrder = 1;
  return shade;
}
