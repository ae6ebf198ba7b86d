import type { CorrectionResult } from '../correct.js';
import { TwinkeelError } from '../error.js';
import { clamp, DEGREES_PER_RADIAN } from '../math.js';
import { eyeCorrections } from '../rig/eyeCorrections.js';
import { fisheyeField, type StereoPicture } from '../rig/picture.js';
import { quaternionAt } from '../rotation/arrays.js';
import type { Quaternion } from '../rotation/quaternion.js';
import { framesPerSecond } from '../track/frameRate.js';
import { framesOf } from './poses.js';
import { requireSoundResult } from './soundResult.js';

/** What ffmpeg shall read and make. */
export interface FfmpegOptions {
  /** The pictures of the movie. */
  readonly input: StereoPicture;
  /** Default: half-equirect in the layout of the input. */
  readonly output?: StereoPicture;
  /** Number of the movie's first frame; default: the first frame of the result. */
  readonly firstFrame?: number;
  /** Frames per ffmpeg run; more make each frame slower, since the list is searched from its top. */
  readonly framesPerRun?: number;
  /** Order of the interpolation between pixels: `cube` (default) is 4 × 4, `line` 2 × 2. */
  readonly interpolation?: 'line' | 'cube' | 'lanczos';
}

/** One run of ffmpeg over a stretch of frames. */
export interface FfmpegRun {
  /** Number of the first frame of the stretch. */
  readonly firstFrame: number;
  /** How many frames it has. */
  readonly frameCount: number;
  /** What `sendcmd` reads: one line per frame, times half a frame early. */
  readonly commands: string;
  /** The filter chain; `COMMANDS` in it stands for the name of the file of commands. */
  readonly filters: string;
}

/**
 * Stands in {@link FfmpegRun.filters} for the name of the file that holds the commands.
 *
 * @example
 * COMMANDS_NAME; // 'COMMANDS'
 */
export const COMMANDS_NAME = 'COMMANDS';

/**
 * What ffmpeg needs to resample a movie once, with all corrections in it: `v360` turned frame by
 * frame by `sendcmd`, both eyes alike, in runs short enough that the time per frame stays even.
 *
 * Times lie half a frame before each frame, so that rounding of stamps never shifts the list by
 * one; angles are absolute (`reset_rot=1`); a frame that the lens does not cover shows black. An
 * upside-down mount is turned by K and its eyes exchanged.
 *
 * @param result - of {@link index!correct}, with an exact frame rate
 * @param options - what ffmpeg shall read and make
 * @returns the runs in the order of their frames; together they hold every frame of the result
 * @throws TwinkeelError `argument/invalid` without an exact frame rate, for a fisheye without
 *   field, or a lens that `v360` does not know
 * @see ffmpeg's documentation of the filters v360, sendcmd, trim and stereo3d
 * @example
 * const input = { projection: 'half-equirect', layout: 'side-by-side' } as const;
 * const runs = toFfmpeg(result, { input, framesPerRun: 500 });
 * runs.map(({ frameCount }) => frameCount); // [500, 221]
 */
export function toFfmpeg(result: CorrectionResult, options: FfmpegOptions): FfmpegRun[] {
  requireSoundResult(result);
  const { frameRate } = result.corrections;
  if (!frameRate) {
    throw new TwinkeelError('argument/invalid', {
      found: 'a result without an exact frame rate',
      expected: 'a frame rate such as 60000/1001, to say when each frame is shown',
      remedy: 'correct the clip with --rate',
    });
  }
  requireEquidistant(result, options.input);
  const frames = framesOf(result);
  const first = options.firstFrame ?? frames[0]!;
  if (!(Number.isInteger(first) && frames[0]! >= first)) {
    throw new TwinkeelError('argument/invalid', {
      frame: frames[0]!,
      found: `a movie that begins with frame ${first}`,
      expected: 'a whole number, and a movie that holds every frame of the result',
      remedy: 'correct the number of the movie’s first frame, or trim the result',
    });
  }
  const perRun = options.framesPerRun ?? FRAMES_PER_RUN;
  if (!(Number.isInteger(perRun) && perRun >= 1)) {
    throw new TwinkeelError('argument/invalid', {
      found: `runs of ${perRun} frames`,
      expected: 'a whole number from 1 on',
      remedy: 'correct the number',
    });
  }
  const eyes = eyeChains(result);
  const runs: FfmpegRun[] = [];
  for (let from = 0; from < frames.length; from += perRun) {
    const to = Math.min(frames.length, from + perRun);
    const lines: string[] = [];
    for (let k = from; k < to; k++) {
      // The stretch is re-stamped from 0; the first command must be there before its frame.
      const time = Math.max(0, (k - from - 0.5) / framesPerSecond(frameRate));
      const turns = eyes.map(({ name, corrections }) => {
        const { yaw, pitch, roll } = v360Angles(quaternionAt(corrections, k));
        const target = `v360@${name}`;
        return `${target} yaw ${degrees(yaw)}, ${target} pitch ${degrees(pitch)}, ${target} roll ${degrees(roll)}`;
      });
      lines.push(`${time.toFixed(6)} ${turns.join(', ')};`);
    }
    const start = frames[from]! - first;
    runs.push({
      firstFrame: frames[from]!,
      frameCount: to - from,
      commands: `${lines.join('\n')}\n`,
      filters: [
        `trim=start_frame=${start}:end_frame=${start + to - from}`,
        'setpts=PTS-STARTPTS',
        `sendcmd=f=${COMMANDS_NAME}`,
        filterGraph(result, options),
      ].join(','),
    });
  }
  return runs;
}

/** Beyond this the search through the list outweighs everything else (ffmpeg 5.1, tiny
 * pictures: 3000 commands take 1.5 s of processor time, 12 000 take 36 s). */
const FRAMES_PER_RUN = 3000;

/** Enough for a thousandth of a pixel: 10⁻⁵ degrees are 0.0002 px at 4096 px over 180°. */
function degrees(angle: number): string {
  return (angle * DEGREES_PER_RADIAN).toFixed(5);
}

/**
 * The three angles of `v360` for a corrective rotation, rad: yaw, pitch, roll in the order of its
 * default `rorder=ypr`, of the view relative to the source. Its axes are x right, y down, z
 * forward; positive yaw looks right, pitch up, roll turns the view clockwise.
 *
 * A sampler asks where the source showed each direction of the view: it needs K⁻¹, and
 * K⁻¹ = R_y(yaw) R_x(pitch) R_z(roll) in those axes.
 *
 * @param correction - K, unit quaternion x, y, z, w
 * @example
 * const pictureToTheLeft = quaternionFromAxisAngle([0, 1, 0], 0.1);
 * v360Angles(pictureToTheLeft); // { yaw: 0.1, pitch: 0, roll: 0 } rad, the view looks right
 */
export function v360Angles(correction: Quaternion): {
  /** Rad; positive looks right. */
  yaw: number;
  /** Rad, −π/2 to π/2; positive looks up. */
  pitch: number;
  /** Rad; positive turns the view clockwise. */
  roll: number;
} {
  const [kx, ky, kz, w] = correction;
  // The inverse negates the vector part; the change of axes (half a turn about x) negates y and z.
  const [x, y, z] = [-kx, ky, kz];
  return {
    yaw: Math.atan2(2 * (x * z + w * y), 1 - 2 * (x * x + y * y)),
    pitch: Math.asin(clamp(2 * (w * x - y * z), -1, 1)),
    roll: Math.atan2(2 * (x * y + w * z), 1 - 2 * (x * x + z * z)),
  };
}

/** The filters to be turned: one for both eyes, or one each where the lenses are aligned apart. */
function eyeChains(result: CorrectionResult): { name: string; corrections: Float64Array }[] {
  const [left, right] = [eyeCorrections(result, 'left'), eyeCorrections(result, 'right')];
  if (left.every((value, i) => value === right[i])) return [{ name: 'both', corrections: left }];
  return [
    { name: 'left', corrections: left },
    { name: 'right', corrections: right },
  ];
}

function filterGraph(result: CorrectionResult, options: FfmpegOptions): string {
  const { input } = options;
  const output = options.output ?? { projection: 'half-equirect', layout: input.layout };
  const interpolation = { line: 'line', cube: 'cube', lanczos: 'lanc' }[
    options.interpolation ?? 'cube'
  ];
  const names = eyeChains(result).map(({ name }) => name);
  const projections = `${inputWords(input)}:${outputWords(output)}:interp=${interpolation}:reset_rot=1`;
  const swap = result.swapEyes ? [swapFilter(output.layout)] : [];
  if (names.length === 1) {
    const stereo = `in_stereo=${SHORT[input.layout]}:out_stereo=${SHORT[output.layout]}`;
    return [...blackEdges(input), `v360@both=${projections}:${stereo}`, ...swap].join(',');
  }
  // Each eye is cut out, turned by its own list and put back.
  const crops =
    input.layout === 'side-by-side'
      ? ['crop=iw/2:ih:0:0', 'crop=iw/2:ih:iw/2:0']
      : ['crop=iw:ih/2:0:0', 'crop=iw:ih/2:0:ih/2'];
  const stack = output.layout === 'side-by-side' ? 'hstack' : 'vstack';
  const chain = (k: number) => `[i${k}]${crops[k]},v360@${names[k]}=${projections}[o${k}]`;
  const joined = [`[o0][o1]${stack}`, ...swap].join(',');
  return [[...blackEdges(input), 'split[i0][i1]'].join(','), chain(0), chain(1), joined].join(';');
}

const SHORT = { 'side-by-side': 'sbs', 'top-bottom': 'tb' } as const;

function swapFilter(layout: StereoPicture['layout']): string {
  return layout === 'side-by-side' ? 'stereo3d=sbsr:sbsl' : 'stereo3d=abr:abl';
}

function inputWords(picture: StereoPicture): string {
  if (picture.projection === 'half-equirect') return 'input=hequirect';
  const field = fisheyeField(picture);
  return `input=fisheye:ih_fov=${field}:iv_fov=${field}`;
}

function outputWords(picture: StereoPicture): string {
  if (picture.projection === 'half-equirect') return 'output=hequirect';
  const field = fisheyeField(picture);
  return `output=fisheye:h_fov=${field}:v_fov=${field}`;
}

/**
 * Black where `v360` would take colour for directions outside the source: the side columns of a
 * half-equirect picture (four, so that subsampled chroma and 4 × 4 interpolation stay black), the
 * first pixel of a fisheye's (two columns, one of subsampled chroma). Side by side, the inner edges
 * are turned outwards and back: `drawbox`, which reaches them, would cut the picture to 8 bits.
 */
function blackEdges({ projection, layout }: StereoPicture): string[] {
  const sides = projection === 'fisheye' ? 'left=2' : 'left=4:right=4';
  const fill = `fillborders=${sides}:mode=fixed:color=black`;
  const halfRound = 'scroll=hpos=0.5';
  return layout === 'side-by-side' ? [fill, halfRound, fill, halfRound] : [fill];
}

function requireEquidistant({ rig }: CorrectionResult, { projection }: StereoPicture): void {
  const law = rig?.lens.mapping.law;
  if (projection !== 'fisheye' || law === undefined || law === 'equidistant') return;
  throw new TwinkeelError('argument/invalid', {
    found: `a lens that maps by the law "${law}"`,
    expected: 'an equidistant lens, the only fisheye that ffmpeg’s v360 knows',
    remedy: 'use ST maps, which hold any lens, or give half-equirect pictures',
  });
}
