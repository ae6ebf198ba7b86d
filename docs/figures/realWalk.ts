/** A real hand-held walk before and after, with the numbers of the library: tilt over time. */
import { join } from 'node:path';
import { calmnessOf } from '../../bench/accuracy/frontier.js';
import { readRealTrack } from '../../bench/accuracy/realTracks.js';
import { DEGREES_PER_RADIAN } from '../../src/math.js';
import { levelPath } from '../../src/motion/horizon.js';
import { separate } from '../../src/motion/separate.js';
import { headingTiltRollFromQuaternions } from '../../src/rotation/arrays.js';
import { BLUE, figure, GREY, INK, line, type Point, text, VERMILION } from './svg.js';

const NAME = 'tumvi_room1';
const FRAME_RATE = 60000 / 1001;
const SECONDS = 20;
const LEFT = 60;
const WIDTH = 560;
const MIDDLE = 230;

export function realWalkFigure(): string {
  const track = readRealTrack(NAME, join(import.meta.dirname, '../../test/real'));
  const tilts = (path: Float64Array) =>
    headingTiltRollFromQuaternions(path).tilt.map((tilt) => tilt * DEGREES_PER_RADIAN);
  const shake = (path: Float64Array) =>
    calmnessOf(track.quaternions, path, FRAME_RATE).shake.toFixed(1);
  const paths = [2, 8].map((shortestMove) =>
    levelPath(separate(track, { shortestMove }).intended.quaternions, 1),
  );
  const measured = tilts(track.quaternions);
  const middle = measured.reduce((sum, x) => sum + x, 0) / measured.length;
  const most = measured.reduce((max, x) => Math.max(max, Math.abs(x - middle)), 0);
  const perDegree = 150 / most;
  const at = (time: number, tilt: number): Point => [
    LEFT + (WIDTH * time) / SECONDS,
    MIDDLE - perDegree * (tilt - middle),
  ];
  const curve = (values: Float64Array): Point[] =>
    Array.from({ length: Math.ceil(values.length / 4) }, (_, k) =>
      at(track.times[4 * k]!, values[4 * k]!),
    );
  const step = 10;
  const first = Math.ceil((middle - most) / step) * step;
  const levels = Array.from(
    { length: Math.floor((middle + most - first) / step) + 1 },
    (_, k) => first + k * step,
  );
  const [two, eight] = paths as [Float64Array, Float64Array];
  const [before, after, calmest] = [
    shake(levelPath(track.quaternions, 1)),
    shake(two),
    shake(eight),
  ];
  return figure(
    [660, 470],
    'Twenty seconds of real hand-held motion before and after',
    `Tilt over time of somebody who walks about a room and looks about hard. With the roll levelled the camera shakes by ${before} °/s; with a shortest move of 2 s ${after} °/s are left, with 8 s ${calmest} °/s.`,
    [
      text([30, 36], 'Tilt of the camera over 20 s, positive looks up', { bold: true }),
      ...levels.flatMap((tilt) => [
        line([at(0, tilt), at(SECONDS, tilt)], { colour: GREY, width: 0.5 }),
        text([LEFT - 8, at(0, tilt)[1] + 5], `${String(tilt).replace('-', '−')}°`, {
          colour: GREY,
          anchor: 'end',
          size: 13,
        }),
      ]),
      line(curve(measured), { colour: VERMILION, width: 1 }),
      line(curve(tilts(two)), { colour: BLUE, width: 3 }),
      line(curve(tilts(eight)), { colour: INK, width: 2, dashed: true }),
      text([LEFT, 410], `measured: shake ${before} °/s`, { colour: VERMILION }),
      text([LEFT, 430], `shortest move 2 s: ${after} °/s`, { colour: BLUE }),
      text([LEFT + 300, 430], `shortest move 8 s (dashed): ${calmest} °/s`, { colour: INK }),
      text([LEFT, 456], 'Motion: TUM VI, room1, Schubert et al. 2018, CC BY 4.0; an extract', {
        colour: GREY,
        size: 12,
      }),
    ],
  );
}
