import * as THREE from 'three';

/** How high the camera is carried above the floor, m. */
const EYE = 1.6;
/** The house: half its width and length and the height of its eaves, m. */
const [HALF_WIDTH, HALF_LENGTH, EAVES] = [6, 30, 5];
/** The iron is pale above the height of the camera and dark below. */
const [PALE, DARK] = ['#dfe5dc', '#2e4a3c'];

/**
 * A long greenhouse at night in moonlit mist, generated: pillars and shelves with pots within arm's
 * reach, more of them up to thirty metres away, a floor of stone slabs, stars beyond the glass.
 * Everything changes tone at the height of the camera, so that the horizon is one line through the
 * whole picture, and nothing dark hangs near above it.
 */
export function greenhouse(): THREE.Group {
  const room = new THREE.Group();
  room.add(house(), floor(), sky(), stars());
  return room;
}

function house(): THREE.Mesh {
  const boxes = new Boxes();
  for (let z = -HALF_LENGTH; z <= HALF_LENGTH; z += 3) {
    for (const side of [-1, 1]) {
      boxes.pillar(side * 1.7, z, 0.1);
      boxes.pillar(side * HALF_WIDTH, z, 0.16);
      // A lamp that hangs from every rib.
      boxes.add([0.02, 0.6, 0.02], [side * 0.9, EAVES - 0.3, z], PALE);
      boxes.add([0.16, 0.2, 0.16], [side * 0.9, EAVES - 0.7, z], '#ffe9b8');
    }
    boxes.add([2 * HALF_WIDTH, 0.1, 0.1], [0, EAVES, z], PALE);
  }
  for (const side of [-1, 1]) {
    boxes.add([0.1, 0.1, 2 * HALF_LENGTH], [side * 1.7, EAVES, 0], PALE);
    for (let z = -HALF_LENGTH + 1.5; z < HALF_LENGTH; z += 3) shelf(boxes, side, z);
  }
  // The far walls: bars from pillar to pillar.
  for (const end of [-1, 1]) {
    for (let x = -HALF_WIDTH; x <= HALF_WIDTH; x += 1.5) {
      boxes.pillar(x, end * HALF_LENGTH, 0.08);
    }
    boxes.add([2 * HALF_WIDTH, 0.08, 0.08], [0, 3, end * HALF_LENGTH], PALE);
  }
  return boxes.mesh();
}

/** A shelf of pots whose plants end below the height of the camera. */
function shelf(boxes: Boxes, side: number, z: number): void {
  const x = side * 2.5;
  boxes.add([0.6, 0.05, 2.4], [x, 0.75, z], '#6b4a32');
  boxes.add([0.6, 0.05, 2.4], [x, 0.3, z], '#523826');
  for (const end of [-1.1, 1.1]) boxes.add([0.5, 0.75, 0.06], [x, 0.375, z + end], '#3b2a1d');
  if (Math.abs(z) > PLANTS_SEEN) {
    // From afar a shelf of plants is a green band with pale tips.
    boxes.add([0.25, 0.2, 2.2], [x, 0.875, z], '#8d4c33');
    boxes.add([0.22, 0.25, 2.2], [x, 1.1, z], '#356b42');
    boxes.add([0.13, 0.12, 2], [x, 1.28, z], '#c9b2de');
    return;
  }
  for (let k = 0; k < 5; k++) {
    const at = z - 0.96 + 0.48 * k;
    const height = 0.18 + 0.1 * ((3 * k + Math.round(Math.abs(z))) % 3);
    boxes.add([0.2, 0.2, 0.2], [x, 0.875, at], k % 2 === 0 ? '#a45a3a' : '#8d4c33');
    boxes.add([0.06, height, 0.06], [x, 0.975 + height / 2, at], '#3f7a4a');
    boxes.add([0.24, 0.08, 0.24], [x, 0.99 + height, at], '#356b42');
    boxes.add([0.13, 0.13, 0.13], [x, 1.05 + height, at], k % 2 === 0 ? '#f2e6ff' : '#d9b8f0');
  }
}

/** Up to this far from the viewer single plants are drawn, m. */
const PLANTS_SEEN = 11;

type Triple = readonly [number, number, number];

/** How bright a box's faces are beside each other: x, y and z, the one and the other side. */
const SHADES = [0.86, 0.86, 1, 0.7, 0.94, 0.94];

/** Many boxes as one mesh: a single call draws them all. */
class Boxes {
  private readonly positions: number[] = [];
  private readonly colours: number[] = [];
  private readonly corners: number[] = [];

  add([width, height, depth]: Triple, [x, y, z]: Triple, paint: string): void {
    const box = new THREE.BoxGeometry(width, height, depth);
    const first = this.positions.length / 3;
    const place = box.getAttribute('position');
    const colour = new THREE.Color(paint);
    for (let k = 0; k < place.count; k++) {
      this.positions.push(place.getX(k) + x, place.getY(k) + y - EYE, place.getZ(k) + z);
      const shade = SHADES[k >> 2]!;
      this.colours.push(colour.r * shade, colour.g * shade, colour.b * shade);
    }
    for (const corner of Array.from(box.getIndex()!.array)) this.corners.push(first + corner);
    box.dispose();
  }

  /** From the floor to the eaves, in two tones. */
  pillar(x: number, z: number, width: number): void {
    this.add([width, EYE, width], [x, EYE / 2, z], DARK);
    this.add([width, EAVES - EYE, width], [x, (EAVES + EYE) / 2, z], PALE);
  }

  mesh(): THREE.Mesh {
    const geometry = geometryOf(this.positions, this.colours);
    geometry.setIndex(this.corners);
    return new THREE.Mesh(geometry, new THREE.MeshBasicMaterial({ vertexColors: true }));
  }
}

function geometryOf(
  positions: readonly number[],
  colours: readonly number[],
): THREE.BufferGeometry {
  const geometry = new THREE.BufferGeometry();
  geometry.setAttribute('position', new THREE.Float32BufferAttribute(positions, 3));
  geometry.setAttribute('color', new THREE.Float32BufferAttribute(colours, 3));
  return geometry;
}

/** Slabs of half a metre and a path; its pattern blurs with distance instead of flickering. */
function floor(): THREE.Mesh {
  const size = 256;
  const canvas = document.createElement('canvas');
  canvas.width = canvas.height = size;
  const context = canvas.getContext('2d')!;
  context.fillStyle = '#4d453a';
  context.fillRect(0, 0, size, size);
  context.strokeStyle = '#231e19';
  context.lineWidth = 9;
  context.strokeRect(0, 0, size, size);
  const map = new THREE.CanvasTexture(canvas);
  map.colorSpace = THREE.SRGBColorSpace;
  map.anisotropy = 4;
  map.wrapS = map.wrapT = THREE.RepeatWrapping;
  map.repeat.set(4 * HALF_WIDTH, 4 * HALF_LENGTH);
  const mesh = new THREE.Mesh(
    new THREE.PlaneGeometry(2 * HALF_WIDTH, 2 * HALF_LENGTH),
    new THREE.MeshBasicMaterial({ map }),
  );
  mesh.rotation.x = -Math.PI / 2;
  mesh.position.y = -EYE;
  return mesh;
}

const SKY = 90;
/** Tone of the sky by elevation, degrees: mist glows low, the night is dark overhead. */
const TONES: readonly (readonly [number, string])[] = [
  [0, '#b4c4cc'],
  [6, '#a3b6c2'],
  [14, '#8ea4b4'],
  [22, '#7d94a6'],
  [32, '#3d5169'],
  [48, '#17233a'],
  [90, '#0b1220'],
];
const GROUND = '#16211c';

/** Two domes that meet at the height of the camera: mist and night above, dark ground below. */
function sky(): THREE.Group {
  const group = new THREE.Group();
  const below = TONES.map(([elevation]) => [-elevation, GROUND] as const).reverse();
  for (const rings of [TONES, below]) group.add(dome(rings));
  return group;
}

const SIDES = 96;

function dome(rings: readonly (readonly [number, string])[]): THREE.Mesh {
  const positions: number[] = [];
  const colours: number[] = [];
  const corners: number[] = [];
  rings.forEach(([elevation, paint], ring) => {
    const { r, g, b } = new THREE.Color(paint);
    const up = (elevation * Math.PI) / 180;
    for (let k = 0; k <= SIDES; k++) {
      const around = (2 * Math.PI * k) / SIDES;
      positions.push(
        SKY * Math.cos(up) * Math.sin(around),
        SKY * Math.sin(up),
        SKY * Math.cos(up) * Math.cos(around),
      );
      colours.push(r, g, b);
      if (ring === 0 || k === SIDES) continue;
      const at = ring * (SIDES + 1) + k;
      corners.push(at, at + 1, at - SIDES - 1, at + 1, at - SIDES, at - SIDES - 1);
    }
  });
  const geometry = geometryOf(positions, colours);
  geometry.setIndex(corners);
  return new THREE.Mesh(
    geometry,
    new THREE.MeshBasicMaterial({ vertexColors: true, side: THREE.DoubleSide }),
  );
}

/**
 * Multiples of the plastic number's powers scatter stars evenly and without chance (Roberts 2018, the R2
 * sequence), so that every page looks the same.
 */
function stars(): THREE.Points {
  const positions: number[] = [];
  for (let k = 0; k < 400; k++) {
    const up = 0.5 + 0.5 * ((k * 0.7548776662) % 1);
    const around = 2 * Math.PI * ((k * 0.569840291) % 1);
    const level = Math.sqrt(1 - up * up);
    const far = SKY - 1;
    positions.push(far * level * Math.sin(around), far * up, far * level * Math.cos(around));
  }
  const geometry = new THREE.BufferGeometry();
  geometry.setAttribute('position', new THREE.Float32BufferAttribute(positions, 3));
  return new THREE.Points(
    geometry,
    new THREE.PointsMaterial({ color: '#dfe7f5', size: 2, sizeAttenuation: false }),
  );
}
