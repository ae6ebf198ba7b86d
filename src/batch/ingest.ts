import { statSync } from 'node:fs';
import { dirname, join, relative, resolve, sep } from 'node:path';
import { isTwinkeelError, TwinkeelError } from '../error.js';
import { alreadyThere } from '../files/placeErrors.js';
import { tidyFolder } from '../files/tidyFolder.js';
import { writeFiles } from '../files/writeFiles.js';
import { type FrameRate, frameTime } from '../track/frameRate.js';
import { parseTimecode } from '../track/timecode.js';
import { print } from './eachFile.js';
import { isManifest } from './isManifest.js';
import { readManifest } from './manifest.js';
import { leaves } from './manifestPaths.js';
import { type Pairing, pairFiles } from './pairFiles.js';
import { type FoundMovie, probeMovies } from './probeMovies.js';
import { Progress } from './progress.js';
import { realOf } from './realPath.js';
import { shellWord } from './shellWord.js';
import { type FoundRecording, findShootFiles, nothingToCorrect } from './shootFiles.js';
import { type Options, textOf, UsageError } from './usage.js';
import { manifestOf, manifestText } from './writeManifest.js';
import { type FoundClip, recordingOf } from './writtenClip.js';

/** `twinkeel shoot`: the manifest of what lies in a folder, to be looked through and corrected. */
export async function ingest(folders: readonly string[], options: Options): Promise<number> {
  const [folder, ...more] = folders;
  if (folder === undefined) throw new UsageError('name the folder of the shoot');
  if (more.length > 0) {
    throw new UsageError(
      `one folder at a time, found also ${more.join(' ')}; name the one above them`,
    );
  }
  requireFolder(folder);
  const out = textOf(options, 'out') ?? join(folder, 'shoot.json');
  refusePlace(out, folder, options.force === true);
  const progress = new Progress('files');
  const files = await findShootFiles(folder, (path, total) => progress.tell(path, false, total));
  progress.clear();
  const { movies, notes } = await probeMovies(
    folder,
    files.movies,
    textOf(options, 'ffprobe') ?? 'ffprobe',
  );
  const paired = pairFiles({
    tracks: files.tracks.map(timedRecording),
    logs: files.logs.map(timedRecording),
    movies: movies.map(timedMovie),
  });
  if (paired.clips.length === 0) throw nothingToCorrect(folder, files);
  const all = [...files.notes, ...notes, ...notesOfPairing(paired)];
  const manifest = manifestOf(paired.clips, all, prefixOf(out, folder));
  tidyFolder(dirname(out));
  writeFiles([{ path: out, content: manifestText(manifest) }], { force: options.force === true });
  // What was written must be what the next command reads.
  readManifest(out);
  if (options.json === true) print(JSON.stringify({ path: out, manifest }));
  else for (const line of told(paired, all, files.others, out)) print(line);
  return 0;
}

function requireFolder(folder: string): void {
  const stats = statSync(folder, { throwIfNoEntry: false });
  if (stats?.isDirectory()) return;
  throw new TwinkeelError('file/missing', {
    file: folder,
    found: stats ? 'a file' : 'no such folder',
    expected: 'the folder of a shoot',
    remedy: 'name the folder in which its tracks and logs lie',
  });
}

/** Refuses a place that holds something, or from which the manifest could not name the files. */
function refusePlace(out: string, folder: string, force: boolean): void {
  const there = statSync(out, { throwIfNoEntry: false });
  if (there && !force) throw alreadyThere(out);
  if (there && !(there.isFile() && isManifest(out))) {
    throw new TwinkeelError('file/exists', {
      file: out,
      found: 'something that is no manifest',
      expected: 'a manifest to replace, or a new name',
      remedy: 'choose another --out',
    });
  }
  if (!/\.json$/i.test(out)) throw new UsageError(`--out ${out} does not end in .json`);
  if (leaves(realOf(dirname(resolve(out))), realOf(folder))) {
    throw new UsageError(
      `--out ${out} lies outside ${folder}, and a manifest names files below its own folder; put it into ${folder} or above`,
    );
  }
}

/** From the manifest's folder to that of the shoot. */
function prefixOf(out: string, folder: string): string {
  const way = relative(realOf(dirname(resolve(out))), realOf(folder))
    .split(sep)
    .join('/');
  return way === '' ? '' : `${way}/`;
}

/** A first stamp after this, s, counts from 1970; an earlier one from the start of its log (our judgement). */
const FIRST_DATE = 1e8;

function timedRecording(file: FoundRecording) {
  const { startS, timecode, rate } = file;
  const timecodeS = timecode === undefined ? undefined : secondsOf(timecode, rate);
  return {
    ...file,
    ...(startS !== undefined && startS > FIRST_DATE && { clockS: startS }),
    ...(timecodeS !== undefined && { timecodeS }),
  };
}

function timedMovie(file: FoundMovie) {
  const { durationS, clockS, timecode, rate } = file.glance ?? {};
  const timecodeS = timecode && secondsOf(timecode.text, timecode.rate ?? rate);
  return {
    ...file,
    ...(durationS !== undefined && { durationS }),
    ...(clockS !== undefined && { clockS }),
    ...(timecodeS !== undefined && { timecodeS }),
  };
}

/** A time code in seconds from midnight; undefined where it is none at this rate. */
function secondsOf(timecode: string, rate: FrameRate | undefined): number | undefined {
  if (!rate) return undefined;
  try {
    return frameTime(rate, parseTimecode(timecode, rate));
  } catch (error) {
    if (!isTwinkeelError(error)) throw error;
    return undefined;
  }
}

type Pairs = Pairing<FoundRecording, FoundRecording, FoundMovie>;

/** What goes with nothing, and what goes with too much. */
function notesOfPairing({ loneLogs, loneMovies, unclear }: Pairs): string[] {
  return [...loneLogs, ...loneMovies].map(({ path }) => {
    const equal = unclear.flatMap(([a, b]) => (b === path ? [a] : [])).slice(0, 3);
    const why =
      equal.length === 0
        ? 'no track goes with it'
        : `nothing tells which files go with ${equal.join(' and ')}; name it in the clip that is meant`;
    return `${path}: in no clip: ${why}`;
  });
}

/** What a person sees: a row for each clip, the notes, and what to type next. */
function told(
  { clips }: { readonly clips: readonly FoundClip[] },
  notes: readonly string[],
  others: number,
  out: string,
): string[] {
  const rows = clips.map((clip) => [
    recordingOf(clip).path,
    clip.track ? (clip.log ? withGuess(clip.log.path, clip.logBy === 'only') : '–') : 'is the log',
    clip.movie?.path ?? '–',
  ]);
  const table = [['file', 'log', 'movie'], ...rows];
  const widths = [0, 1].map((k) => Math.max(...table.map((row) => row[k]!.length)));
  const folder = shellWord(join(dirname(out), 'corrected'));
  return [
    ...table.map(
      ([file, log, movie]) => `${file!.padEnd(widths[0]!)}  ${log!.padEnd(widths[1]!)}  ${movie}`,
    ),
    '',
    ...notes.map((note) => `note: ${note}`),
    ...(others > 0 ? [`${others} other files were left alone`] : []),
    `wrote ${out}: look it through, each clip has its notes`,
    `next: twinkeel correct ${shellWord(out)} --out ${folder}`,
  ];
}

function withGuess(path: string, guessed: boolean): string {
  return guessed ? `${path} (a guess)` : path;
}
