import { spawnSync } from 'node:child_process';
import { describe, expect, test } from 'vitest';
import { COMMANDS_NAME, toFfmpeg, v360Angles } from '../../src/handoff/ffmpeg.js';
import type { StereoPicture } from '../../src/rig/picture.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { largestGap } from '../apart.js';
import { complaint } from '../complaint.js';
import { ffmpegMissing } from '../ffmpeg.js';
import { eyesWith } from '../rig/eyes.js';
import { fc } from '../seed.js';
import { rotations, turn } from '../turns.js';
import {
  anyResults,
  matrixOf,
  product,
  type Rows,
  resultOf,
  transposed,
  turnAbout,
} from './results.js';

const LEVEL: Quaternion = [0, 0, 0, 1];
const INPUT: StereoPicture = { projection: 'half-equirect', layout: 'side-by-side' };
const radians = Math.PI / 180;

/** From v360's axes (x right, y down, z forward) to ours (x right, y up, z back). */
const AXES: Rows = [
  [1, 0, 0],
  [0, -1, 0],
  [0, 0, -1],
];

/**
 * What v360 multiplies out for its default order "ypr", in its own axes: the source's direction for
 * a direction of the view (libavfilter/vf_v360.c, from memory; the pixel tests see it happen).
 */
const sampled = (yaw: number, pitch: number, roll: number) =>
  product(turnAbout('y', yaw), turnAbout('x', pitch), turnAbout('z', roll));

const frames = (n: number, q: (k: number) => Quaternion = () => LEVEL) => ({
  intended: Array.from({ length: n }, () => LEVEL),
  corrections: Array.from({ length: n }, (_, k) => q(k)),
});

describe('the angles of v360', () => {
  test('multiplied out they are K⁻¹ in its axes', () => {
    fc.assert(
      fc.property(rotations, (k) => {
        const inverse = product(transposed(AXES), transposed(matrixOf(k)), AXES);
        const cosine = Math.hypot(inverse[1]![0], inverse[1]![1]);
        // Looking straight up or down only yaw + roll or yaw − roll is defined.
        fc.pre(cosine > 1e-3);
        const { yaw, pitch, roll } = v360Angles(k);
        const gap = largestGap(sampled(yaw, pitch, roll).flat(), inverse.flat());
        // Sums of four terms lose some 4 roundings; arc sine and arc tangents divide by the cosine.
        expect(gap).toBeLessThan((20 * Number.EPSILON) / cosine);
      }),
    );
  });

  // Signs as ffmpeg's documentation says: positive yaw looks right, pitch up, roll clockwise.
  test.each<[string, Quaternion, object]>([
    ['the view turned left', turn([0, 1, 0], 0.3).q, { yaw: 0.3, pitch: 0, roll: 0 }],
    ['the view lowered', turn([1, 0, 0], -0.3).q, { yaw: 0, pitch: 0.3, roll: 0 }],
    ['the view rolled', turn([0, 0, 1], 0.3).q, { yaw: 0, pitch: 0, roll: 0.3 }],
  ])('%s by K is sampled from the other side', (_title, k, angles) => {
    const close = Object.entries(angles).map(([name, value]) => [name, expect.closeTo(value, 12)]);
    expect(v360Angles(k)).toEqual(Object.fromEntries(close));
  });
});

/** What a line of commands says: its time and the angles of each filter, degrees. */
function linesOf(commands: string) {
  return commands
    .trimEnd()
    .split('\n')
    .map((line) => {
      const [, time, rest] = /^(\S+) (.*);$/.exec(line)!;
      const said = rest!.split(', ').map((each) => each.split(' '));
      return {
        time: Number(time),
        angles: Object.fromEntries(said.map(([at, name, v]) => [`${at} ${name}`, Number(v)])),
      };
    });
}

describe('the list of commands', () => {
  test('each frame’s angles come half a frame early, the first at once', () => {
    const result = resultOf(frames(4, (k) => turn([0, 1, 0], 0.01 * k).q));
    const [run] = toFfmpeg(result, { input: INPUT });
    const lines = linesOf(run!.commands);
    lines.forEach(({ time, angles }, k) => {
      // Six decimals of a second and five of a degree.
      expect(Math.abs(time - Math.max(0, ((k - 0.5) * 1001) / 60000))).toBeLessThanOrEqual(5.1e-7);
      expect(Object.keys(angles)).toEqual(['v360@both yaw', 'v360@both pitch', 'v360@both roll']);
      expect(Math.abs(angles['v360@both yaw']! * radians - 0.01 * k)).toBeLessThan(1e-7);
    });
    expect(lines).toHaveLength(4);
    expect(run!.filters).toContain(`sendcmd=f=${COMMANDS_NAME},`);
  });

  test('the printed degrees give every K back to a thousandth of a pixel', () => {
    fc.assert(
      fc.property(anyResults, (parts) => {
        const [run] = toFfmpeg(resultOf(parts), { input: INPUT });
        linesOf(run!.commands).forEach(({ angles }, k) => {
          const [yaw, pitch, roll] = ['yaw', 'pitch', 'roll'].map(
            (name) => angles[`v360@both ${name}`]! * radians,
          );
          const inverse = product(
            transposed(AXES),
            transposed(matrixOf(parts.corrections[k]!)),
            AXES,
          );
          const cosine = Math.hypot(inverse[1]![0], inverse[1]![1]);
          if (cosine < 1e-3) return;
          // Three angles rounded to 10⁻⁵ degrees, each off by half of that.
          const bound = 3 * 0.5e-5 * radians + (20 * Number.EPSILON) / cosine;
          expect(largestGap(sampled(yaw!, pitch!, roll!).flat(), inverse.flat())).toBeLessThan(
            bound,
          );
        });
      }),
    );
  });

  test('a long clip is cut into runs that follow each other, each from time 0', () => {
    const result = resultOf(frames(7, (k) => turn([0, 1, 0], 0.01 * k).q));
    const runs = toFfmpeg(result, { input: INPUT, framesPerRun: 3, firstFrame: 25 });
    expect(runs.map(({ firstFrame, frameCount }) => [firstFrame, frameCount])).toEqual([
      [40, 3],
      [43, 3],
      [46, 1],
    ]);
    // The movie begins with frame 25: frame 40 is the sixteenth, index 15; the end is not included.
    expect(runs.map(({ filters }) => filters.split(',').slice(0, 2))).toEqual(
      ['15:end_frame=18', '18:end_frame=21', '21:end_frame=22'].map((span) => [
        `trim=start_frame=${span}`,
        'setpts=PTS-STARTPTS',
      ]),
    );
    const yaws = runs.flatMap(({ commands }) =>
      linesOf(commands).map(({ angles }) => angles['v360@both yaw']! * radians),
    );
    yaws.forEach((yaw, k) => {
      expect(Math.abs(yaw - 0.01 * k)).toBeLessThan(1e-7);
    });
    for (const { commands } of runs) expect(linesOf(commands)[0]!.time).toBe(0);
  });

  test('without a number the movie begins with the result’s first frame', () => {
    const [run] = toFfmpeg(resultOf(frames(2)), { input: INPUT });
    expect(run!.filters).toMatch(/^trim=start_frame=0:end_frame=2,/);
  });
});

describe('the chain of filters', () => {
  const chain = (
    more: Partial<Parameters<typeof resultOf>[0]> = {},
    options: Partial<Parameters<typeof toFfmpeg>[1]> = {},
  ) => toFfmpeg(resultOf({ ...frames(2), ...more }), { input: INPUT, ...options })[0]!.filters;

  test('both eyes alike pass through one filter, absolute angles, 4 × 4 interpolation', () => {
    expect(chain()).toContain(
      'v360@both=input=hequirect:output=hequirect:interp=cube:reset_rot=1:in_stereo=sbs:out_stereo=sbs',
    );
    expect(chain({}, { interpolation: 'lanczos' })).toContain(':interp=lanc:');
    expect(chain({}, { output: { ...INPUT, layout: 'top-bottom' } })).toContain(
      ':in_stereo=sbs:out_stereo=tb',
    );
  });

  test('an upside-down mount exchanges the eyes last, in the layout of the output', () => {
    expect(chain({ swapEyes: true })).toMatch(/,stereo3d=sbsr:sbsl$/);
    const output = { ...INPUT, layout: 'top-bottom' } as const;
    expect(chain({ swapEyes: true }, { output })).toMatch(/,stereo3d=abr:abl$/);
    expect(chain()).not.toContain('stereo3d');
  });

  test('lenses aligned apart get a filter and angles each', () => {
    const alignment = { left: turn([0, 1, 0], 0.02).q, right: turn([1, 0, 0], 0.03).q };
    const result = resultOf({
      ...frames(2),
      rig: { ...DEFAULT_RIG, eyes: eyesWith({ alignment }) },
    });
    const [run] = toFfmpeg(result, { input: INPUT });
    const [{ angles }] = linesOf(run!.commands) as [ReturnType<typeof linesOf>[number]];
    expect(Object.keys(angles)).toEqual(
      ['left', 'right'].flatMap((eye) =>
        ['yaw', 'pitch', 'roll'].map((name) => `v360@${eye} ${name}`),
      ),
    );
    expect(angles['v360@left yaw']).toBeCloseTo(0.02 / radians, 5);
    expect(angles['v360@right pitch']).toBeCloseTo(-0.03 / radians, 5);
    expect(run!.filters).toContain('[i0]crop=iw/2:ih:0:0,v360@left=');
    expect(run!.filters).toContain('[i1]crop=iw/2:ih:iw/2:0,v360@right=');
    expect(run!.filters).toMatch(/;\[o0\]\[o1\]hstack$/);
    const stacked = { ...INPUT, layout: 'top-bottom' } as const;
    const [other] = toFfmpeg(result, { input: stacked });
    expect(other!.filters).toContain('[i1]crop=iw:ih/2:0:ih/2,v360@right=');
    expect(other!.filters).toMatch(/;\[o0\]\[o1\]vstack$/);
  });

  test('one alignment for both lenses needs one filter, and is in its angles', () => {
    const q = turn([0, 1, 0], 0.02).q;
    const rig = { ...DEFAULT_RIG, eyes: eyesWith({ alignment: { left: q, right: q } }) };
    const [run] = toFfmpeg(resultOf({ ...frames(2), rig }), { input: INPUT });
    expect(linesOf(run!.commands)[0]!.angles['v360@both yaw']).toBeCloseTo(0.02 / radians, 5);
  });

  test('a fisheye states its field both ways, for input and for output', () => {
    const fisheye = { projection: 'fisheye', layout: 'top-bottom', fieldDeg: 190 } as const;
    const rig = DEFAULT_RIG;
    expect(chain({ rig }, { input: fisheye })).toContain(
      'v360@both=input=fisheye:ih_fov=190:iv_fov=190:output=hequirect:interp=cube:reset_rot=1:in_stereo=tb:out_stereo=tb',
    );
    expect(chain({ rig }, { output: fisheye })).toContain('output=fisheye:h_fov=190:v_fov=190');
  });

  test.skipIf(ffmpegMissing)(
    `ffmpeg takes every chain${ffmpegMissing ? ` (skipped: ${ffmpegMissing})` : ''}`,
    () => {
      const alignment = { left: turn([0, 1, 0], 0.02).q, right: LEVEL };
      const apart = { rig: { ...DEFAULT_RIG, eyes: eyesWith({ alignment }) }, swapEyes: true };
      const inputs: StereoPicture[] = [
        INPUT,
        { projection: 'fisheye', layout: 'top-bottom', fieldDeg: 190 },
      ];
      for (const input of inputs) {
        for (const more of [{}, apart]) {
          // A file of commands is another test's; here only the words are tried.
          const filters = chain(more, { input }).replace(`sendcmd=f=${COMMANDS_NAME},`, '');
          const source = ['-f', 'lavfi', '-i', 'testsrc2=s=64x64:r=60000/1001:d=0.1'];
          const { stderr } = spawnSync(
            'ffmpeg',
            ['-v', 'error', ...source, '-vf', filters, '-f', 'null', '-'],
            { encoding: 'utf8' },
          );
          expect(stderr).toBe('');
        }
      }
    },
  );
});

describe('toFfmpeg refuses', () => {
  test('a result without an exact rate', () => {
    expect(() => toFfmpeg(resultOf({ ...frames(2), rate: 'none' }), { input: INPUT })).toThrow(
      complaint('argument/invalid', 'found a result without an exact frame rate'),
    );
  });

  test('a movie that begins after the result', () => {
    expect(() => toFfmpeg(resultOf(frames(2)), { input: INPUT, firstFrame: 41 })).toThrow(
      complaint('argument/invalid', 'frame 40: found a movie that begins with frame 41'),
    );
  });

  test.each([0.5, Number.NaN])('runs of %d frames', (framesPerRun) => {
    expect(() => toFfmpeg(resultOf(frames(2)), { input: INPUT, framesPerRun })).toThrow(
      complaint('argument/invalid', `found runs of ${framesPerRun} frames`),
    );
  });

  test('a movie whose first frame has no whole number', () => {
    expect(() => toFfmpeg(resultOf(frames(2)), { input: INPUT, firstFrame: 0.5 })).toThrow(
      complaint('argument/invalid', 'found a movie that begins with frame 0.5'),
    );
  });

  test.each([undefined, 0, -190, 361, Number.NaN])('a fisheye of a field of %d°', (fieldDeg) => {
    const input = { ...INPUT, projection: 'fisheye', ...(fieldDeg !== undefined && { fieldDeg }) };
    expect(() => toFfmpeg(resultOf(frames(2)), { input } as { input: StereoPicture })).toThrow(
      complaint('argument/invalid', fieldDeg === undefined ? 'without its field' : `${fieldDeg}°`),
    );
  });

  test.each(['equisolid', 'stereographic', 'orthographic'] as const)(
    'fisheye pictures of an %s lens',
    (law) => {
      const lens = { fieldDeg: 180, mapping: { law } };
      const result = resultOf({ ...frames(2), rig: { ...DEFAULT_RIG, lens } });
      const fisheye = { ...INPUT, projection: 'fisheye', fieldDeg: 180 } as const;
      expect(() => toFfmpeg(result, { input: fisheye })).toThrow(
        complaint('argument/invalid', `found a lens that maps by the law "${law}"`),
      );
      // Pictures that were made half-equirect already no longer show the lens.
      expect(toFfmpeg(result, { input: INPUT })).toHaveLength(1);
    },
  );
});
