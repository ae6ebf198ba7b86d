import { dirname, join } from 'node:path';
import { CAUTIONS } from '../comfort/cautions.js';
import type { CorrectionResult } from '../correct.js';
import { readResultFile } from '../files/readResultFile.js';
import { tidyFolder } from '../files/tidyFolder.js';
import { writeFiles } from '../files/writeFiles.js';
import { handOff } from '../handoff/handOff.js';
import type { HandoffOptions } from '../handoff/handoffOptions.js';
import { framesOf } from '../handoff/poses.js';
import { pictureNote } from '../handoff/sidecar.js';
import { HANDOFF_TARGETS, type HandoffTarget } from '../handoff/targets.js';
import { trimResult } from '../handoff/trim.js';
import { PROJECTIONS, type StereoPicture } from '../rig/picture.js';
import { formatTimecode, parseTimecode } from '../track/timecode.js';
import { parseFlip } from './clipSettings.js';
import { eachFile, print } from './eachFile.js';
import { parseFrameSpan } from './frameSpan.js';
import { nextAfterHandoff } from './nextCommand.js';
import { clipNameOf, refuseTwins, spareInputs } from './resultPlaces.js';
import { numberOf, type Options, requireOut, textOf, UsageError, wordOf } from './usage.js';

/** `twinkeel handoff`: results as other programs read them. */
export async function handoff(files: readonly string[], options: Options): Promise<number> {
  const folder = requireOut(options);
  const targets = targetsOf(options);
  const handoffOptions = handoffOptionsOf(options);
  const trim = textOf(options, 'trim');
  const said = textOf(options, 'timecode');
  const refuseTwin = refuseTwins();
  let next: string | undefined;
  const code = await eachFile(files, options, async (file) => {
    const stem = clipNameOf(file);
    refuseTwin(file, stem);
    const whole = readResultFile(file);
    const timecode = said ?? whole.timecode;
    const span =
      trim !== undefined &&
      parseFrameSpan(trim, {
        rate: whole.corrections.frameRate,
        first: framesOf(whole)[0]!,
        timecode,
      });
    const result = span ? trimResult(whole, span.from, span.to) : whole;
    // A trimmed result is still of the movie that begins with the whole one's first frame.
    const first = {
      firstFrame: framesOf(whole)[0]!,
      ...handoffOptions,
      ...(timecode !== undefined && {
        timecode: timecodeOfMovie(whole, timecode, handoffOptions.firstFrame),
      }),
    };
    const made = targets.flatMap((target) => handOff(result, target, stem, first));
    // The content is asked for when its file is written: all maps at once would not fit.
    const written = made.map((file) => ({
      path: join(folder, file.name),
      get content() {
        return file.content;
      },
    }));
    const paths = written.map(({ path }) => path);
    spareInputs(paths, files);
    for (const inner of new Set(paths.map((path) => dirname(path)))) tidyFolder(inner);
    writeFiles(written, { force: options.force === true });
    next ??= nextAfterHandoff({ file, stem, folder, targets, trim, timecode });
    const notes = [
      ...new Set(targets.flatMap((target) => pictureNote(result, target, first) ?? [])),
    ];
    return {
      lines: [...notes.map((note) => `note: ${note}`), ...paths.map((path) => `wrote ${path}`)],
      data: { paths, ...(notes.length > 0 && { notes }) },
    };
  });
  if (next !== undefined && options.json !== true) {
    print([...CAUTIONS, `next: ${next}`].join('\n'));
  }
  return code;
}

/** The time code of the movie's first frame, where the clip's first is another one. */
function timecodeOfMovie(
  { corrections }: CorrectionResult,
  timecode: string,
  movieStarts: number | undefined,
): string {
  const { frameRate } = corrections;
  const before = framesOf({ corrections })[0]! - (movieStarts ?? framesOf({ corrections })[0]!);
  if (before === 0 || !frameRate) return timecode;
  const count = parseTimecode(timecode, frameRate) - before;
  if (count < 0) {
    throw new UsageError(
      `--timecode ${timecode} is less than ${before} frames after 00:00:00:00, by which --movie-starts puts the movie's first frame before the clip's`,
    );
  }
  return formatTimecode(count, frameRate, /[;.]\d+\s*$/.test(timecode));
}

function targetsOf(options: Options): HandoffTarget[] {
  const words = textOf(options, 'to');
  if (words === undefined) {
    throw new UsageError(`say as what: --to ${HANDOFF_TARGETS.join(' | ')}`);
  }
  const targets = words
    .split(',')
    .map((word) => wordOf({ to: word.trim() }, 'to', HANDOFF_TARGETS)!);
  return [...new Set(targets)];
}

function handoffOptionsOf(options: Options): HandoffOptions {
  const motion = wordOf(options, 'motion', ['intended', 'measured', 'correction'] as const);
  const firstFrame = numberOf(options, 'movie-starts');
  const mapFrames = textOf(options, 'frames')
    ?.split(',')
    .map((word) => (word.trim() === '' ? Number.NaN : Number(word)));
  if (firstFrame !== undefined && !Number.isInteger(firstFrame)) {
    throw new UsageError(`--movie-starts ${options['movie-starts']} is not a whole number`);
  }
  const mapSize = sizeOf(options, 'size');
  const sourceSize = sizeOf(options, 'source-size');
  if (mapFrames?.some((frame) => !Number.isInteger(frame))) {
    throw new UsageError(`--frames ${options.frames} is no list of frame numbers such as 0,60,120`);
  }
  return {
    ...(motion && { motion }),
    signs: parseFlip(textOf(options, 'flip')),
    picture: pictureOf(options),
    ...(firstFrame !== undefined && { firstFrame }),
    ...(mapFrames && { mapFrames }),
    ...(mapSize && { mapSize }),
    ...(sourceSize && { sourceSize }),
  };
}

/** The movie's pictures, as far as the options say; the rest is the result's. */
function pictureOf(options: Options): Partial<StereoPicture> {
  const projection = wordOf(options, 'picture', PROJECTIONS);
  const layout = wordOf(options, 'layout', ['side-by-side', 'top-bottom'] as const);
  const fieldDeg = numberOf(options, 'field');
  return {
    ...(projection && { projection }),
    ...(layout && { layout }),
    ...(fieldDeg !== undefined && { fieldDeg }),
  };
}

function sizeOf(options: Options, key: string): [number, number] | undefined {
  const words = textOf(options, key);
  if (words === undefined) return undefined;
  const match = /^(\d+)x(\d+)$/.exec(words);
  if (!match) throw new UsageError(`--${key} ${words} is no size such as 1024x1024`);
  return [Number(match[1]), Number(match[2])];
}
