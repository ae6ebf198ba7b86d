import * as THREE from 'three';

/** Half sizes of the greenhouse, m, and how high the camera is carried above its floor. */
const [HALF_WIDTH, HALF_LENGTH, HEIGHT, EYE] = [3, 5, 3.4, 1.6];

/**
 * A greenhouse at night to look around in, made of a few boxes and painted canvases: benches with
 * blossoms along both sides, ribs overhead, and walls whose tone changes at the height of the camera,
 * so that the horizon is a line in the picture.
 */
export function greenhouse(): THREE.Group {
  const room = new THREE.Group();
  room.position.y = -EYE;
  const box = (size: [number, number, number], place: [number, number, number], colour: number) => {
    const mesh = new THREE.Mesh(
      new THREE.BoxGeometry(...size),
      new THREE.MeshBasicMaterial({ color: colour }),
    );
    mesh.position.set(...place);
    room.add(mesh);
  };
  const walls = new THREE.Mesh(new THREE.BoxGeometry(2 * HALF_WIDTH, HEIGHT, 2 * HALF_LENGTH), [
    wall(),
    wall(),
    paint(512, paintRoof),
    paint(512, paintFloor),
    wall(),
    wall(),
  ]);
  walls.position.y = HEIGHT / 2;
  room.add(walls);
  for (let z = -HALF_LENGTH + 1; z < HALF_LENGTH; z += 2) {
    box([2 * HALF_WIDTH, 0.08, 0.08], [0, HEIGHT - 0.1, z], 0x2b3f3a);
    for (const side of [-1, 1]) {
      box([0.7, 0.06, 1.7], [side * (HALF_WIDTH - 0.45), 0.8, z], 0x6b4a32);
      for (const shift of [-0.55, 0, 0.55]) {
        const place: [number, number, number] = [side * (HALF_WIDTH - 0.45), 1.0, z + shift];
        box([0.05, 0.35, 0.05], place, 0x3f7a4a);
        box([0.16, 0.16, 0.16], [place[0], 1.22, place[2]], shift === 0 ? 0xf2e6ff : 0xd9c2f0);
      }
    }
  }
  return room;
}

function wall(): THREE.Material {
  return paint(512, paintWall);
}

type Painter = (context: CanvasRenderingContext2D, size: number) => void;

function paint(size: number, painter: Painter): THREE.Material {
  const canvas = document.createElement('canvas');
  canvas.width = canvas.height = size;
  painter(canvas.getContext('2d')!, size);
  const map = new THREE.CanvasTexture(canvas);
  map.colorSpace = THREE.SRGBColorSpace;
  map.anisotropy = 8;
  return new THREE.MeshBasicMaterial({ map, side: THREE.BackSide });
}

const paintWall: Painter = (context, size) => {
  const horizon = size * (1 - EYE / HEIGHT);
  context.fillStyle = '#8fa7b8';
  context.fillRect(0, 0, size, horizon);
  context.fillStyle = '#22352c';
  context.fillRect(0, horizon, size, size);
  context.strokeStyle = '#7690a3';
  context.lineWidth = 3;
  for (let x = 0; x < size; x += size / 8) {
    context.beginPath();
    context.moveTo(x, 0);
    context.lineTo(x, horizon);
    context.stroke();
  }
};

const paintRoof: Painter = (context, size) => {
  context.fillStyle = '#101a2e';
  context.fillRect(0, 0, size, size);
  context.fillStyle = '#dfe7f5';
  // A golden-ratio lattice scatters stars without chance, so that every page looks the same.
  for (let k = 0; k < 120; k++) {
    context.fillRect((k * 0.618034 * size) % size, (k * 0.381966 * 7 * size) % size, 2, 2);
  }
};

const paintFloor: Painter = (context, size) => {
  context.fillStyle = '#3a3128';
  context.fillRect(0, 0, size, size);
  context.strokeStyle = '#4d4236';
  context.lineWidth = 4;
  for (let x = 0; x <= size; x += size / 16) {
    context.beginPath();
    context.moveTo(0, x);
    context.lineTo(size, x);
    context.stroke();
  }
  context.fillStyle = '#57503f';
  context.fillRect(size * 0.36, 0, size * 0.28, size);
};
