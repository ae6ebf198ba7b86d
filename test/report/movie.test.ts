import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { CorrectionResult } from '../../src/correct.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import { launchChromium } from '../chromium.js';
import { ffmpegMissing } from '../ffmpeg.js';
import {
  choose,
  type Grey,
  goToFrame,
  greyOf,
  type Handed,
  type OpenPage,
  openClip,
  openReport,
  pageMissing,
  pageOf,
  seen,
  until,
} from './browser.js';
import { type AnglesOfFrame, resultOf } from './clips.js';
import { FILM_GROUND, type Film, type Matrix, readBlocks, writeFilm } from './film.js';
import { headset } from './headset.js';
import { brightLine, type FittedLine } from './line.js';

const missing = pageMissing ?? (ffmpegMissing && `: skipped, ${ffmpegMissing}`);
const FRAMES = 40;
const deg = Math.PI / 180;

/**
 * The roll runs through three values in turn, of which no two are nearer than 1.7°, so that the
 * correction of a neighbouring frame shows; so does a nod of 1.2° at a pace of its own.
 */
const SHAKEN: AnglesOfFrame = (k) => [
  0.8 * Math.sin(0.11 * k),
  1.2 * Math.sin(1.3 * k),
  4 + 2 * Math.sin((2 * Math.PI * k) / 3),
];
const RESULT = resultOf({ angles: SHAKEN, frames: 200 });
/** Nothing near and a lens with room to spare, so that no limit holds the correction back. */
const INVERTED = resultOf({
  angles: SHAKEN,
  frames: 200,
  upsideDown: true,
  rig: {
    ...DEFAULT_RIG,
    lens: { ...DEFAULT_RIG.lens, fieldDeg: 220 },
    mount: 'inverted',
    nearestSubjectM: 100,
  },
});
const LATE: CorrectionResult = { ...RESULT, corrections: oneFrameLate(RESULT.corrections) };

/**
 * A texel of the movie is 0.56°. Were the centre of the line's light off by a fifth of one at both
 * ends of the 80° it is read over, the wrong way each, the line would be turned by 0.16°.
 */
const LINE_DEG = 0.2;

const films: Record<'side' | 'top' | 'inverted', Film> = {
  side: { layout: 'side-by-side', frames: FRAMES, orientation: (k) => camera(k, false) },
  top: { layout: 'top-bottom', frames: FRAMES, orientation: (k) => camera(k, false) },
  inverted: { layout: 'side-by-side', frames: FRAMES, orientation: (k) => camera(k, true) },
};

describe.skipIf(missing)(`a movie of one's own${missing ?? ''}`, () => {
  const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
  const path = (film: keyof typeof films) => join(folder, `${film}.webm`);
  let browser: Browser;
  let report: OpenPage;
  beforeAll(async () => {
    for (const [name, film] of Object.entries(films)) writeFilm(path(name as 'side'), film);
    browser = await launchChromium();
    const html = pageOf([
      ['aisle', RESULT],
      ['late', LATE],
      ['inverted', INVERTED],
    ]);
    const viewport = { width: 832, height: 900 };
    report = await openReport(browser, html, { viewport, before: [headset()] });
  }, 60_000);
  afterAll(async () => {
    await browser?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  const open = async (clip: string, film: keyof typeof films) => {
    await openClip(report, clip);
    await report.page.locator('#layout').selectOption(films[film].layout);
    await report.page.locator('#movie').setInputFiles(path(film));
    await report.page.getByText(`${film}.webm: frame 0 is`).waitFor();
  };

  test('each frame is shown with its own correction, wherever one goes', async () => {
    await open('aisle', 'side');
    for (const frame of [0, 1, 39, 10, 9, 23]) {
      await goToFrame(report, frame);
      await choose(report, 'before');
      expectFrame(await seen(report.canvas), frame, RESULT, 'before');
      await choose(report, 'after');
      expectFrame(await seen(report.canvas), frame, RESULT, 'after');
    }
    expect(report.trouble).toEqual([]);
  });

  test('step by step with the arrows', async () => {
    await goToFrame(report, 17);
    await report.page.locator('.scrubber').focus();
    for (const [key, frame] of [
      ['ArrowRight', 18],
      ['ArrowRight', 19],
      ['ArrowLeft', 18],
    ] as const) {
      await report.page.keyboard.press(key);
      await report.page.locator(`.preview canvas[data-frame="${frame}"]`).waitFor();
      expectFrame(await seen(report.canvas), frame, RESULT, 'after');
    }
  });

  test('and while it plays', async () => {
    await choose(report, 'after');
    const found = new Set<number>();
    // A slow machine shows few frames of each play.
    while (found.size < 8) {
      await goToFrame(report, 0);
      await report.page.evaluate('looking.kept = []; looking.keeping = true');
      await report.page.keyboard.press(' ');
      await report.page.getByRole('button', { name: 'Pause' }).waitFor();
      await report.page.getByRole('button', { name: 'Play' }).waitFor();
      await report.page.evaluate('looking.keeping = false');
      for (const each of await report.page.evaluate<(Handed & { frame: number })[]>(
        'looking.kept',
      )) {
        found.add(each.frame);
        expectFrame(greyOf(each), each.frame, RESULT, 'after');
      }
    }
  });

  test('the eyes stand on top of each other where one says so', async () => {
    await open('aisle', 'top');
    for (const frame of [5, 31]) {
      await goToFrame(report, frame);
      expectFrame(await seen(report.canvas), frame, RESULT, 'after');
    }
  });

  test('a correction that lies a frame late is seen', async () => {
    await open('late', 'side');
    for (const frame of [7, 20, 33]) {
      await goToFrame(report, frame);
      const picture = await seen(report.canvas);
      // Rolls of successive frames differ by 1.7° at least.
      expect(Math.abs(lineOf(picture, whole(picture), FIELD_DEG).tiltDeg)).toBeGreaterThan(1.5);
    }
  });

  test('as an upside-down camera recorded it: turned, and the eyes exchanged', async () => {
    await open('inverted', 'inverted');
    for (const frame of [4, 26]) {
      await goToFrame(report, frame);
      await choose(report, 'before');
      expectFrame(await seen(report.canvas), frame, INVERTED, 'before');
      await choose(report, 'after');
      expectFrame(await seen(report.canvas), frame, INVERTED, 'after');
    }
  });

  test.each([
    ['aisle', 'side', RESULT],
    ['inverted', 'inverted', INVERTED],
  ] as const)(
    '%s: in a headset each eye has its own half, at the same turn',
    async (clip, film, result) => {
      await open(clip, film);
      await goToFrame(report, 14);
      await choose(report, 'after');
      await report.page.getByRole('button', { name: 'Enter headset' }).click();
      await until(report, 'device.activeSession !== undefined');
      const picture = greyOf(await report.page.evaluate<Handed>('looking.nextInHeadset()'));
      await report.page.evaluate('device.activeSession.end()');
      await until(report, 'device.activeSession === undefined');
      for (const eye of [0, 1] as const) {
        expectFrame(halfOf(picture, eye), 14, result, 'after', eye, HEADSET_FIELD_DEG);
      }
      expect(report.trouble).toEqual([]);
    },
  );
});

/** Vertical fields: the preview's, and the emulated headset's. */
const [FIELD_DEG, HEADSET_FIELD_DEG] = [70, 90];

type Side = 'before' | 'after';

/** The picture is the frame's own, of the eye it is meant for, at the turn of that frame. */
function expectFrame(
  picture: Grey,
  frame: number,
  result: CorrectionResult,
  side: Side,
  eye: 0 | 1 = 0,
  fieldDeg = FIELD_DEG,
): void {
  const { width, height } = picture;
  const focal = height / 2 / Math.tan((fieldDeg * deg) / 2);
  const mount = result.swapEyes ? HALF_ROLL : UPRIGHT;
  const turn = side === 'after' ? matrixOf(result.corrections.quaternions, frame) : mount;
  const { frame: read, half } = readBlocks(picture, (direction) => {
    const [x, y, z] = times(turn, direction);
    return [width / 2 - (focal * x) / z, height / 2 + (focal * y) / z];
  });
  expect({ frame: read, half }).toEqual({ frame, half: result.swapEyes ? 1 - eye : eye });

  // The world's vertical in the axes of the view is the middle row of view→world.
  const view =
    side === 'after' ? matrixOf(result.intended.quaternions, frame) : camera(frame, false);
  const [nx, ny, nz] = view[1]!;
  const line = lineOf(picture, whole(picture), fieldDeg);
  const tiltDeg = Math.atan2(nx, ny) / deg;
  if (side === 'after') expect(Math.abs(tiltDeg)).toBeLessThan(1e-6);
  else expect(tiltDeg).toBeGreaterThan(2);
  expect(Math.abs(line.tiltDeg - tiltDeg)).toBeLessThan(LINE_DEG);
  // The canvas need not begin on a whole pixel of the page; a screenshot then has a row more.
  const reach = LINE_DEG * deg * focal + 0.5;
  expect(Math.abs(line.middle - (height / 2 - (focal * nz) / ny))).toBeLessThan(reach);
}

/** Columns within 40° of the middle, or all there are. */
const whole = ({ width, height }: Grey) => {
  const reach = Math.min(
    width / 2,
    Math.round((Math.tan(40 * deg) * height) / 2 / Math.tan(35 * deg)),
  );
  return { from: Math.ceil(width / 2 - reach), to: Math.floor(width / 2 + reach) };
};

/** The horizon of the movie, within 12° of the middle: the blocks lie lower. */
function lineOf(picture: Grey, columns: ReturnType<typeof whole>, fieldDeg: number): FittedLine {
  const { height } = picture;
  const reach = (Math.tan(12 * deg) / Math.tan((fieldDeg * deg) / 2)) * (height / 2);
  const rows = { from: Math.round(height / 2 - reach), to: Math.round(height / 2 + reach) };
  return brightLine(picture, columns, rows, FILM_GROUND + 10);
}

function halfOf({ width, height, values }: Grey, half: 0 | 1): Grey {
  const out = new Uint8Array((width / 2) * height);
  for (let y = 0; y < height; y++) {
    const from = y * width + (half * width) / 2;
    out.set(values.subarray(from, from + width / 2), (y * width) / 2);
  }
  return { width: width / 2, height, values: out };
}

function oneFrameLate(corrections: CorrectionResult['corrections']) {
  const { quaternions } = corrections;
  const late = quaternions.slice();
  late.copyWithin(4, 0, quaternions.length - 4);
  return { ...corrections, quaternions: late };
}

const UPRIGHT: Matrix = [
  [1, 0, 0],
  [0, 1, 0],
  [0, 0, 1],
];
const HALF_ROLL: Matrix = [
  [-1, 0, 0],
  [0, -1, 0],
  [0, 0, 1],
];

/** Camera→world of a frame by Ry(heading) Rx(tilt) Rz(roll), written out; without library code. */
function camera(frame: number, upsideDown: boolean): Matrix {
  const [h, t, r] = SHAKEN(frame).map((angle) => angle * deg) as [number, number, number];
  const [ch, sh, ct, st] = [Math.cos(h), Math.sin(h), Math.cos(t), Math.sin(t)];
  const [cr, sr] = [Math.cos(r), Math.sin(r)];
  const upright: Matrix = [
    [ch * cr + sh * st * sr, -ch * sr + sh * st * cr, sh * ct],
    [ct * sr, ct * cr, -st],
    [-sh * cr + ch * st * sr, sh * sr + ch * st * cr, ch * ct],
  ];
  return upsideDown ? upright.map(([a, b, c]) => [-a, -b, c] as const) : upright;
}

function matrixOf(quaternions: Float64Array, frame: number): Matrix {
  const [x, y, z, w] = quaternions.subarray(4 * frame, 4 * frame + 4) as unknown as number[] as [
    number,
    number,
    number,
    number,
  ];
  return [
    [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
    [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
    [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
  ];
}

function times(m: Matrix, [x, y, z]: readonly [number, number, number]) {
  const row = ([a, b, c]: readonly [number, number, number]) => a * x + b * y + c * z;
  return [row(m[0]!), row(m[1]!), row(m[2]!)] as const;
}
