/** Camera axes, world up, and the sense of positive heading, tilt and roll. */
import { RADIANS_PER_DEGREE } from '../../src/math.js';
import { quaternionFromHeadingTiltRoll } from '../../src/rotation/headingTiltRoll.js';
import {
  invertQuaternion,
  type Quaternion,
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

/** Who looks at the drawing stands behind the camera, to its right, and looks down at it. */
const VIEWER = turned({ heading: 38, tilt: -24 });
const MIDDLE: Point = [178, 232];
/** Pixels to one unit of length of an axis. */
const SCALE = 138;

/** A camera with the given angles in degrees; the rest is 0. */
function turned({ heading = 0, tilt = 0, roll = 0 }): Quaternion {
  const [h, t, r] = [heading, tilt, roll].map((angle) => angle * RADIANS_PER_DEGREE);
  return quaternionFromHeadingTiltRoll(h!, t!, r!);
}

/** Where the viewer sees a point of the level camera's world. */
function seen(point: Vector3): Point {
  const [x, y] = rotateVector(invertQuaternion(VIEWER), point);
  return [MIDDLE[0] + SCALE * x, MIDDLE[1] - SCALE * y];
}

/** Where a point of the camera goes while one angle grows from 0 to `last` degrees. */
function path(angle: 'heading' | 'tilt' | 'roll', from: Vector3, last: number): Point[] {
  return Array.from({ length: 25 }, (_, k) =>
    seen(rotateVector(turned({ [angle]: (last * k) / 24 }), from)),
  );
}

function ring(centre: Vector3, radius: number): Point[] {
  return Array.from({ length: 40 }, (_, k) => {
    const a = (2 * Math.PI * k) / 40;
    return seen([centre[0] + radius * Math.cos(a), centre[1] + radius * Math.sin(a), centre[2]]);
  });
}

function camera(): string[] {
  const [w, h, d] = [0.36, 0.17, 0.14];
  const corners = (z: number): Point[] =>
    [
      [-w, -h],
      [w, -h],
      [w, h],
      [-w, h],
    ].map(([x, y]) => seen([x!, y!, z]));
  const [front, back] = [corners(-d), corners(d)];
  return [
    outline(front, { colour: GREY, width: 1.5 }),
    outline(back, { colour: GREY, width: 1.5 }),
    ...back.map((corner, k) => line([corner, front[k]!], { colour: GREY, width: 1.5 })),
    ...[-0.18, 0.18].map((x) => outline(ring([x, 0, -d - 0.06], 0.11), { colour: GREY })),
  ];
}

function axes(): string[] {
  const origin = seen([0, 0, 0]);
  const worldUp = [seen([-0.95, -0.15, 0]), seen([-0.95, 0.75, 0])];
  return [
    arrow([origin, seen([0, 0, -1.25])], { colour: GREY, dashed: true }),
    arrow([origin, seen([1.05, 0, 0])]),
    arrow([origin, seen([0, 1.05, 0])]),
    arrow([origin, seen([0, 0, 1.05])]),
    arrow(worldUp, { colour: VERMILION, dashed: true }),
    text(seen([1.09, -0.02, 0]), 'x right', { bold: true }),
    text(shifted(seen([0, 1.05, 0]), 0, -10), 'y up', { anchor: 'middle', bold: true }),
    text(shifted(seen([0, 0, 1.05]), -6, 22), 'z back', { anchor: 'middle', bold: true }),
    text(shifted(seen([0, 0, -1.25]), -2, -10), 'looks along −z', { colour: GREY }),
    text(shifted(worldUp[1]!, 0, -10), 'world y up', { anchor: 'middle', colour: VERMILION }),
    dot(origin, 4, INK),
  ];
}

function turns(): string[] {
  const style = { colour: BLUE, width: 3 };
  return [
    arrow(path('heading', [0, 0.78, -0.3], 150), style),
    arrow(path('tilt', [0.8, 0, -0.3], 110), style),
    arrow(path('roll', [0, 0.3, 0.8], 130), style),
    text(shifted(seen([0, 0.78, -0.3]), 14, 2), '+ heading', { colour: BLUE }),
    text(shifted(seen([0.8, 0, -0.3]), 10, 4), '+ tilt', { colour: BLUE }),
    text(shifted(seen([-0.3, 0, 0.8]), -14, -4), '+ roll', { colour: BLUE, anchor: 'end' }),
  ];
}

function shifted([x, y]: Point, right: number, down: number): Point {
  return [x + right, y + down];
}

/** Degrees by which the small views are turned. */
const SHOWN = 25;

/** The camera before (dashed) and after one positive turn, from where that turn is seen best. */
function smallViews(): string[] {
  const ahead: Vector3 = [0, 0, -1];
  const fromAbove = ([x, , z]: Vector3): Point => [x, z];
  const fromTheRight = ([, y, z]: Vector3): Point => [-z, -y];
  const fromBehind = ([x, y]: Vector3): Point => [x, -y];
  const frame: Vector3[] = [
    [-0.8, -0.5, 0],
    [0.8, -0.5, 0],
    [0.8, 0.5, 0],
    [-0.8, 0.5, 0],
  ];
  const rolled = frame.map((corner) => rotateVector(turned({ roll: SHOWN }), corner));
  const at = (middle: Point, size: number, [x, y]: Point): Point => [
    middle[0] + size * x,
    middle[1] + size * y,
  ];
  const lookingOut = (middle: Point, size: number, view: (v: Vector3) => Point, after: Vector3) => [
    arrow([middle, at(middle, size, view(ahead))], { colour: GREY, dashed: true }),
    arrow([middle, at(middle, size, view(after))], { colour: BLUE, width: 3 }),
    dot(middle, 6, INK),
  ];
  const rows: readonly [number, string, string, string][] = [
    [76, '+ heading', 'turns left', 'seen from above'],
    [194, '+ tilt', 'looks up', 'seen from the right'],
    [312, '+ roll', 'left side down', 'seen from behind'],
  ];
  const roll: Point = [453, 312];
  return [
    line(
      [
        [402, 24],
        [402, 376],
      ],
      { colour: '#d8d5c8', width: 1 },
    ),
    ...lookingOut([452, 104], 66, fromAbove, rotateVector(turned({ heading: SHOWN }), ahead)),
    ...lookingOut([418, 214], 74, fromTheRight, rotateVector(turned({ tilt: SHOWN }), ahead)),
    outline(
      frame.map((corner) => at(roll, 42, fromBehind(corner))),
      { colour: GREY, dashed: true },
    ),
    outline(
      rolled.map((corner) => at(roll, 42, fromBehind(corner))),
      { colour: BLUE, width: 3 },
    ),
    ...rows.flatMap(([y, name, what, where]) => [
      text([512, y - 16], name, { bold: true, colour: BLUE }),
      text([512, y + 4], what),
      text([512, y + 23], where, { colour: GREY, size: 13 }),
    ]),
  ];
}

export function axesFigure(): string {
  return figure(
    [660, 400],
    'Camera axes and the sense of positive angles',
    'Left: a camera with two lenses seen from behind. Its x axis points right, y up and z back; it looks along minus z. While it stands level its y axis is the world y axis, up. Right: positive heading turns left, positive tilt looks up, positive roll lowers the left side.',
    [...camera(), ...axes(), ...turns(), ...smallViews()],
  );
}
