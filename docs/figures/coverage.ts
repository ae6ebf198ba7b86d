/** How a turned view leaves the image circle of a lens, with the share that turns black. */
import { DEGREES_PER_RADIAN, RADIANS_PER_DEGREE } from '../../src/math.js';
import { coveredHalfAngle, swingLimit, uncoveredShare } from '../../src/rig/coverage.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import { rotateVector, type Vector3 } from '../../src/rotation/quaternion.js';
import {
  area,
  BLUE,
  figure,
  GREY,
  INK,
  line,
  outline,
  type Point,
  text,
  VERMILION,
} from './svg.js';

const LENS = coveredHalfAngle(DEFAULT_RIG, 'fisheye');
const VIEW = (DEFAULT_RIG.outputFieldDeg * RADIANS_PER_DEGREE) / 2;
/** Pixels per degree from the middle of the view, the same in every direction. */
const PER_DEGREE = 0.9;
const LIT = '#cfe3ef';

/** A direction of the corrected view on paper: its angle from the middle becomes the radius. */
function onPaper(middle: Point, [x, y, z]: Vector3): Point {
  const across = Math.hypot(x, y);
  const radius = Math.atan2(across, -z) * DEGREES_PER_RADIAN * PER_DEGREE;
  return across === 0
    ? middle
    : [middle[0] + (radius * x) / across, middle[1] - (radius * y) / across];
}

/** The edge of a cap around straight ahead. */
function edge(half: number): Vector3[] {
  return Array.from({ length: 180 }, (_, k) => {
    const a = (2 * Math.PI * k) / 180;
    return [Math.sin(half) * Math.cos(a), Math.sin(half) * Math.sin(a), -Math.cos(half)];
  });
}

/** The mark of the middle of the view. */
function cross([x, y]: Point): string[] {
  const ends: readonly (readonly [Point, Point])[] = [
    [
      [x - 7, y],
      [x + 7, y],
    ],
    [
      [x, y - 7],
      [x, y + 7],
    ],
  ];
  return ends.map((stroke) => line(stroke, { colour: GREY, width: 1.5 }));
}

/** The mark of the optical axis. */
function ring([x, y]: Point): string {
  const around = Array.from({ length: 12 }, (_, k): Point => {
    const a = (2 * Math.PI * k) / 12;
    return [x + 4 * Math.cos(a), y + 4 * Math.sin(a)];
  });
  return outline(around, { colour: BLUE, width: 2.5 });
}

/** The view with the lens's circle where a correction of so many degrees of tilt puts it. */
function panel(middle: Point, tiltDeg: number, words: string): string[] {
  const correction = quaternionFromHeadingTiltRoll(0, tiltDeg * RADIANS_PER_DEGREE, 0);
  const view = edge(VIEW).map((direction) => onPaper(middle, direction));
  const turned = edge(LENS).map((direction) => rotateVector(correction, direction));
  const lens = turned.map((direction) => onPaper(middle, direction));
  // What of the lens lies beyond the view is not delivered, so it is drawn up to the view's edge.
  const delivered = turned.map((direction): Point => {
    const across = Math.hypot(direction[0], direction[1]);
    if (Math.atan2(across, -direction[2]) <= VIEW) return onPaper(middle, direction);
    const scale = Math.sin(VIEW) / across;
    return onPaper(middle, [scale * direction[0], scale * direction[1], -Math.cos(VIEW)]);
  });
  const axis = onPaper(middle, rotateVector(correction, [0, 0, -1]));
  const share = uncoveredShare(Math.abs(tiltDeg) * RADIANS_PER_DEGREE, LENS, VIEW);
  const x = middle[0];
  return [
    text([x, 34], `K tilts by ${tiltDeg > 0 ? '+' : ''}${tiltDeg}°`, {
      anchor: 'middle',
      bold: true,
    }),
    area(view, INK),
    area(delivered, LIT),
    outline(view, { width: 2.5 }),
    outline(lens, { colour: VERMILION, dashed: true }),
    ...cross(middle),
    ring(axis),
    text([x, 266], `${(100 * share).toFixed(2)} % of the view black`, { anchor: 'middle' }),
    text([x, 288], words, { anchor: 'middle', colour: GREY, size: 13 }),
  ];
}

export function coverageFigure(): string {
  const { lens, outputFieldDeg } = DEFAULT_RIG;
  const free = Math.round(swingLimit(DEFAULT_RIG, 'fisheye') * DEGREES_PER_RADIAN);
  const far = 3 * free;
  const shareFar = 100 * uncoveredShare(far * RADIANS_PER_DEGREE, LENS, VIEW);
  return figure(
    [660, 370],
    'How a correction brings the edge of the lens into view',
    `A lens of ${lens.fieldDeg}° and a view of ${outputFieldDeg}°. Untouched the lens reaches beyond the view all round. A correction that tilts the picture by ${free}° just touches its edge; at ${far}° a black crescent of ${shareFar.toFixed(2)} % of the view appears at the bottom.`,
    [
      ...panel([115, 155], 0, 'the lens reaches further'),
      ...panel([330, 155], free, 'the last without an edge'),
      ...panel([545, 155], far, 'the edge comes into view'),
      line(
        [
          [30, 318],
          [62, 318],
        ],
        { width: 2.5 },
      ),
      text([70, 323], `view, ${outputFieldDeg}° across`),
      line(
        [
          [300, 318],
          [332, 318],
        ],
        { colour: VERMILION, dashed: true },
      ),
      text([340, 323], `what the lens covers, ${lens.fieldDeg}° across`),
      ring([46, 344]),
      text([70, 349], 'optical axis of the lens'),
      ...cross([316, 344]),
      text([340, 349], 'middle of the view'),
    ],
  );
}
