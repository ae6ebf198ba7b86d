import * as THREE from 'three';
import type { CircularMask } from '../../rig/coverage.js';

/** What the half-sphere of a view shows, and what of it stays black. */
export interface Whole {
  /** View→what was taken: of the room its orientation, of a movie none. */
  readonly orientation: THREE.Quaternion;
  /** K of the frame: where the lens's axis lies in the view. */
  readonly correction: THREE.Quaternion;
  /** Half the angle that the picture holds about that axis, rad. */
  readonly halfAngle: number;
  readonly mask: CircularMask | undefined;
}

/** Pixels across a face of the cube that holds what is around the viewer. */
const FACE = 1024;

/**
 * The whole half-sphere as a circle whose radius grows with the angle, as fisheye pictures are: all
 * edges and the mask are inside it, where a view of 70° never comes.
 */
export class WholeView {
  private readonly target = new THREE.WebGLCubeRenderTarget(FACE, {
    type: THREE.HalfFloatType,
    generateMipmaps: true,
    minFilter: THREE.LinearMipmapLinearFilter,
  });
  private readonly eye = new THREE.CubeCamera(0.05, 200, this.target);
  private readonly camera = new THREE.OrthographicCamera(-1, 1, 1, -1, 0, 1);
  private readonly scene = new THREE.Scene();
  private readonly uniforms = {
    around: { value: this.target.texture },
    aspect: { value: 1 },
    toWorld: { value: new THREE.Matrix3() },
    axis: { value: new THREE.Vector3() },
    held: { value: 0 },
    centre: { value: new THREE.Vector3() },
    clear: { value: 0 },
    opaque: { value: 0 },
  };

  constructor(layer: number) {
    this.eye.layers.enable(layer);
    for (const face of this.eye.children) face.layers.enable(layer);
    const material = new THREE.ShaderMaterial({
      uniforms: this.uniforms,
      vertexShader: `
        varying vec2 place;
        void main() {
          place = position.xy;
          gl_Position = vec4(position.xy, 0.0, 1.0);
        }`,
      fragmentShader: SHADER,
      depthTest: false,
      depthWrite: false,
    });
    this.scene.add(new THREE.Mesh(new THREE.PlaneGeometry(2, 2), material));
  }

  /** Takes what is around the viewer; the room needs it once, a movie at every frame. */
  take(renderer: THREE.WebGLRenderer, scene: THREE.Scene): void {
    this.eye.update(renderer, scene);
  }

  draw(renderer: THREE.WebGLRenderer, aspect: number, whole: Whole): void {
    const { uniforms } = this;
    const turn = new THREE.Matrix4().makeRotationFromQuaternion(whole.orientation);
    uniforms.aspect.value = aspect;
    uniforms.toWorld.value.setFromMatrix4(turn);
    uniforms.axis.value.set(0, 0, -1).applyQuaternion(whole.correction);
    uniforms.held.value = whole.halfAngle;
    uniforms.centre.value.set(...(whole.mask?.centre ?? ([0, 0, -1] as const)));
    // Wider than any angle: no mask.
    uniforms.clear.value = whole.mask?.clearUpTo ?? 4;
    uniforms.opaque.value = whole.mask?.opaqueFrom ?? 5;
    renderer.render(this.scene, this.camera);
  }
}

const SHADER = `
  varying vec2 place;
  uniform samplerCube around;
  uniform float aspect;
  uniform mat3 toWorld;
  uniform vec3 axis;
  uniform float held;
  uniform vec3 centre;
  uniform float clear;
  uniform float opaque;
  float angle(vec3 a, vec3 b) { return atan(length(cross(a, b)), dot(a, b)); }
  void main() {
    vec2 p = (aspect > 1.0 ? vec2(place.x * aspect, place.y) : vec2(place.x, place.y / aspect)) * 1.06;
    float r = length(p);
    float theta = r * 1.5707963;
    vec3 d = vec3(sin(theta) * p / max(r, 1e-6), -cos(theta));
    vec3 light = textureCube(around, toWorld * d).rgb;
    float edge = fwidth(theta) + 1e-4;
    light *= 1.0 - smoothstep(held - edge, held, angle(axis, d));
    light *= 1.0 - smoothstep(clear, opaque, angle(centre, d));
    // Beyond the view lies no picture, which is not the same as black: a ground of its own.
    vec3 nothing = vec3(0.02);
    gl_FragColor = vec4(mix(light, nothing, smoothstep(1.0 - fwidth(r), 1.0, r)), 1.0);
    #include <colorspace_fragment>
  }`;
