/** Which files of a shoot belong together. Pure: what is known of each file comes in, pairs go out. */

import { type Candidate, groupBy, matched, namesakes } from './matchFiles.js';
import { byNaturalPath } from './naturalOrder.js';
import { shootOrder } from './shootOrder.js';
import { offsetBetween, overlapOf, type TimedFile } from './timedFile.js';

/** What two files were paired by, the surest first; `only` is a guess: there was no other. */
export type PairedBy = 'name' | 'time code' | 'start' | 'overlap' | 'only';

/** The files of one clip: a track or, where there is none, a log; and what goes with it. */
export interface PairedClip<Track, Log, Movie> {
  readonly track?: Track;
  readonly log?: Log;
  readonly logBy?: PairedBy;
  /** How long before the track the log starts, s, where both say so on one clock. */
  readonly logOffsetS?: number;
  readonly movie?: Movie;
  readonly movieBy?: PairedBy;
}

/** All files of a shoot in pairs, and which have none. */
export interface Pairing<Track, Log, Movie> {
  /** In the order of the shoot. */
  readonly clips: readonly PairedClip<Track, Log, Movie>[];
  /** Logs that go with no track and are no clips of their own, since tracks lie beside them. */
  readonly loneLogs: readonly Log[];
  readonly loneMovies: readonly Movie[];
  /** Paths that go equally well with the same other one: nobody can say which is meant. */
  readonly unclear: readonly (readonly [string, string])[];
}

/** Starts of one moment may differ by this, s: a second is as fine as many clocks are written. */
const SAME_START = 2;

/**
 * Pairs tracks, logs and movies: by equal name first, then by time code, stated start, and overlap in
 * time. A movie goes with one track, a log with as many as it spans. A log alone in a folder with
 * tracks that it is long enough for is taken for theirs; a log without a track is a clip of its own.
 */
export function pairFiles<T extends TimedFile, L extends TimedFile, M extends TimedFile>(files: {
  readonly tracks: readonly T[];
  readonly logs: readonly L[];
  readonly movies: readonly M[];
}): Pairing<T, L, M> {
  const [tracks, logs, movies] = [sorted(files.tracks), sorted(files.logs), sorted(files.movies)];
  const unclear: [string, string][] = [];
  const movieOf = pairOneToOne(tracks, movies, unclear);
  const timed = new Map(tracks.map((track) => [track, { ...movieOf.get(track)?.file, ...track }]));
  const logOf = new Map<T, Paired<L>>();
  for (const [track, log] of matched(namesakes(tracks, logs), unclear)) {
    logOf.set(track, { file: log, by: 'name' });
  }
  for (const track of tracks) {
    if (logOf.has(track)) continue;
    const spanning = longestOverlap(timed.get(track)!, logs, unclear);
    if (spanning) logOf.set(track, spanning);
  }
  guessOnlyLogs(tracks, logs, logOf, timed);
  const serving = new Set([...logOf.values()].map(({ file }) => file));
  const idle = logs.filter((log) => !serving.has(log));
  const free = new Set([...movieOf.values()].map(({ file }) => file));
  const left = movies.filter((movie) => !free.has(movie));
  const movieOfLog = pairOneToOne(idle, left, unclear);
  const homes = new Set(tracks.map(({ path }) => folderOf(path)));
  const alone = (log: L) => movieOfLog.has(log) || !homes.has(folderOf(log.path));
  const clips = [
    ...tracks.map((track) => {
      const log = logOf.get(track);
      const offset = log && offsetBetween(track, log.file);
      return {
        track,
        ...withMovie(movieOf.get(track)),
        ...(log && { log: log.file, logBy: log.by }),
        ...(offset !== undefined && { logOffsetS: offset }),
      };
    }),
    ...idle.filter(alone).map((log) => ({ log, ...withMovie(movieOfLog.get(log)) })),
  ];
  const used = new Set(clips.flatMap(({ movie }: { movie?: M }) => movie ?? []));
  return {
    clips: shootOrder(clips, timeOfClip),
    loneLogs: idle.filter((log) => !alone(log)),
    loneMovies: movies.filter((movie) => !used.has(movie)),
    unclear,
  };
}

interface Paired<F> {
  readonly file: F;
  readonly by: PairedBy;
}

function withMovie<M>(paired: Paired<M> | undefined) {
  return paired ? { movie: paired.file, movieBy: paired.by } : {};
}

function timeOfClip(clip: PairedClip<TimedFile, TimedFile, TimedFile>): TimedFile {
  const own = clip.track ?? clip.log!;
  return { ...clip.movie, ...own };
}

function sorted<F extends TimedFile>(files: readonly F[]): F[] {
  return [...files].sort((a, b) => byNaturalPath(a.path, b.path));
}

/** How far two files miss each other in time; undefined where they do not go together. */
type Misfit = (a: TimedFile, b: TimedFile) => number | undefined;

function contemporaries<A extends TimedFile, B extends TimedFile>(
  as: readonly A[],
  bs: readonly B[],
  misfitOf: Misfit,
): Candidate<A, B>[] {
  return as.flatMap((a) =>
    bs.flatMap((b) => {
      const misfit = misfitOf(a, b);
      return misfit === undefined ? [] : [{ a, b, misfit }];
    }),
  );
}

const TIMES: readonly (readonly [PairedBy, Misfit])[] = [
  ['time code', (a, b) => near(a.timecodeS, b.timecodeS)],
  ['start', (a, b) => near(a.clockS, b.clockS)],
  [
    'overlap',
    (a, b) => {
      const share = overlapOf(a, b);
      return share !== undefined && share >= LEAST_OVERLAP ? 1 - share : undefined;
    },
  ],
];

/** Two files of one take share at least half of the shorter one (our judgement). */
const LEAST_OVERLAP = 0.5;

function near(a: number | undefined, b: number | undefined): number | undefined {
  if (a === undefined || b === undefined) return undefined;
  const gap = Math.abs(a - b);
  return gap <= SAME_START ? gap : undefined;
}

function pairOneToOne<A extends TimedFile, B extends TimedFile>(
  as: readonly A[],
  bs: readonly B[],
  unclear: [string, string][],
): Map<A, Paired<B>> {
  const pairs = new Map<A, Paired<B>>();
  const used = new Set<B>();
  const take = (by: PairedBy, candidates: Candidate<A, B>[]) => {
    for (const [a, file] of matched(candidates, unclear)) {
      pairs.set(a, { file, by });
      used.add(file);
    }
  };
  take('name', namesakes(as, bs));
  for (const [by, misfitOf] of TIMES) {
    const free = as.filter((a) => !pairs.has(a));
    const others = bs.filter((b) => !used.has(b));
    take(by, contemporaries(free, others, misfitOf));
  }
  return pairs;
}

/** The log that spans most of a clip, on whichever clock both are. */
function longestOverlap<L extends TimedFile>(
  clip: TimedFile,
  logs: readonly L[],
  unclear: [string, string][],
): Paired<L> | undefined {
  const spanning = logs.flatMap((log) => {
    const share = overlapOf(clip, log);
    return share !== undefined && share >= LEAST_OVERLAP ? [{ log, share }] : [];
  });
  const most = Math.max(...spanning.map(({ share }) => share));
  const [best, rival] = spanning.filter(({ share }) => share === most);
  if (!best) return undefined;
  if (rival) {
    unclear.push([clip.path, best.log.path], [clip.path, rival.log.path]);
    return undefined;
  }
  const byCode = clip.timecodeS !== undefined && best.log.timecodeS !== undefined;
  return { file: best.log, by: byCode ? 'time code' : 'overlap' };
}

/**
 * Takes the only log of a folder for that of all tracks in the folder that have none, where it is long
 * enough for all of them one after the other and no clock says otherwise.
 */
function guessOnlyLogs<T extends TimedFile, L extends TimedFile>(
  tracks: readonly T[],
  logs: readonly L[],
  logOf: Map<T, Paired<L>>,
  timed: ReadonlyMap<T, TimedFile>,
): void {
  const logsIn = groupBy(logs, ({ path }) => folderOf(path));
  const tracksIn = groupBy(tracks, ({ path }) => folderOf(path));
  const named = new Set([...logOf.values()].flatMap(({ file, by }) => (by === 'name' ? file : [])));
  for (const [folder, [log, ...rivals]] of logsIn) {
    const beside = tracksIn.get(folder) ?? [];
    if (!log || rivals.length > 0 || named.has(log)) continue;
    const lonely = beside.filter((track) => !logOf.has(track));
    const length = beside.reduce((sum, { durationS = Number.NaN }) => sum + durationS, 0);
    const agree = lonely.every((track) => offsetBetween(timed.get(track)!, log) === undefined);
    // A second at the ends is nobody's loss.
    if (!agree || !(length <= (log.durationS ?? 0) + 1)) continue;
    for (const track of lonely) logOf.set(track, { file: log, by: 'only' });
  }
}

function folderOf(path: string): string {
  return path.slice(0, path.lastIndexOf('/') + 1);
}
