/** What K = S⁻¹C does to one direction, seen from the side, with numbers from the library. */
import { DEGREES_PER_RADIAN, RADIANS_PER_DEGREE } from '../../src/math.js';
import {
  headingTiltRollFromQuaternion,
  quaternionFromHeadingTiltRoll,
} from '../../src/rotation/headingTiltRoll.js';
import {
  invertQuaternion,
  multiplyQuaternions,
  rotateVector,
  type Vector3,
} from '../../src/rotation/quaternion.js';
import {
  arrow,
  BLUE,
  dot,
  figure,
  GREY,
  INK,
  line,
  outline,
  type Point,
  text,
  VERMILION,
} from './svg.js';

/** Tilts in degrees, larger than any bob so that they can be seen; positive looks up. */
const MEASURED = 20;
const INTENDED = 5;
/** A bloom in the camera's picture, degrees above its middle. */
const BLOOM = -8;

const C = quaternionFromHeadingTiltRoll(0, MEASURED * RADIANS_PER_DEGREE, 0);
const S = quaternionFromHeadingTiltRoll(0, INTENDED * RADIANS_PER_DEGREE, 0);
const K = multiplyQuaternions(invertQuaternion(S), C);

const seenByCamera: Vector3 = [
  0,
  Math.sin(BLOOM * RADIANS_PER_DEGREE),
  -Math.cos(BLOOM * RADIANS_PER_DEGREE),
];
const inWorld = rotateVector(C, seenByCamera);
const inView = rotateVector(K, seenByCamera);

/** Degrees above the horizontal, or above the middle of a picture. */
function elevation([, y, z]: Vector3): number {
  return Math.atan2(y, -z) * DEGREES_PER_RADIAN;
}

function signed(degrees: number): string {
  const rounded = degrees.toFixed(1);
  return `${rounded.startsWith('-') ? `−${rounded.slice(1)}` : `+${rounded}`}°`;
}

const CAMERA: Point = [60, 225];

/** A point of the side view, so many pixels from the camera. */
function outAt(degrees: number, distance: number): Point {
  const a = degrees * RADIANS_PER_DEGREE;
  return [CAMERA[0] + distance * Math.cos(a), CAMERA[1] - distance * Math.sin(a)];
}

function world(): string[] {
  const end = (degrees: number, distance: number, words: string, colour: string) => {
    const [x, y] = outAt(degrees, distance);
    return text([x + 8, y + 5], words, { colour });
  };
  const bloom = elevation(inWorld);
  return [
    text([30, 36], 'In the world, seen from the right', { bold: true }),
    line([CAMERA, outAt(0, 390)], { colour: GREY, width: 1 }),
    end(0, 390, 'level', GREY),
    arrow([CAMERA, outAt(MEASURED, 390)], { colour: VERMILION, width: 3 }),
    end(MEASURED, 390, `C measured ${signed(MEASURED)}`, VERMILION),
    arrow([CAMERA, outAt(INTENDED, 390)], { colour: BLUE, width: 3, dashed: true }),
    end(INTENDED, 390, `S intended ${signed(INTENDED)}`, BLUE),
    line([CAMERA, outAt(bloom, 380)], { colour: INK, width: 1 }),
    dot(outAt(bloom, 380), 8, INK),
    end(bloom, 388, `bloom ${signed(bloom)}`, INK),
    dot(CAMERA, 8, INK),
  ];
}

/** Pixels per degree in the two pictures. */
const PER_DEGREE = 5;
const HALF = 17 * PER_DEGREE;

/** A picture with its middle line and the bloom at its height. */
function picture(left: number, words: string, above: string, direction: Vector3): string[] {
  const middle = 405;
  const y = middle - PER_DEGREE * elevation(direction);
  const edges: Point[] = [
    [left, middle - HALF],
    [left + 150, middle - HALF],
    [left + 150, middle + HALF],
    [left, middle + HALF],
  ];
  return [
    text([left, 282], words, { bold: true }),
    text([left, 304], above, { colour: GREY }),
    outline(edges, { colour: GREY }),
    line(
      [
        [left, middle],
        [left + 150, middle],
      ],
      { colour: GREY, width: 1, dashed: true },
    ),
    text([left + 6, middle - 7], 'middle', { colour: GREY, size: 13 }),
    dot([left + 75, y], 8, INK),
    text([left + 91, y + 5], signed(elevation(direction))),
  ];
}

export function correctionFigure(): string {
  const { tilt } = headingTiltRollFromQuaternion(K);
  const worked = `K = S⁻¹C: tilt ${signed(tilt * DEGREES_PER_RADIAN)}`;
  return figure(
    [660, 550],
    'What the corrective rotation does to one direction',
    `Seen from the side, the camera was measured at a tilt of ${signed(MEASURED)} and meant at ${signed(INTENDED)}. K is a tilt of ${signed(tilt * DEGREES_PER_RADIAN)}. A bloom at ${signed(elevation(seenByCamera))} in the camera's picture lies at ${signed(elevation(inView))} in the corrected view; in the world it stays at ${signed(elevation(inWorld))}.`,
    [
      ...world(),
      ...picture(130, "Camera's picture", 'v', seenByCamera),
      arrow(
        [
          [300, 405],
          [380, 405],
        ],
        { width: 3 },
      ),
      text([340, 390], 'K', { anchor: 'middle', bold: true, size: 18 }),
      text([340, 430], 'K⁻¹ back', { anchor: 'middle', colour: GREY, size: 13 }),
      ...picture(400, 'Corrected view', 'K v', inView),
      text([130, 528], `${worked}.  Positive tilt looks up.`, { bold: true }),
      text([30, 58], 'Angles are larger than a real bob.', { colour: GREY }),
    ],
  );
}
