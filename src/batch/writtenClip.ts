import { formatFrameRate, isFrameRate } from '../track/frameRate.js';
import type { PairedBy, PairedClip } from './pairFiles.js';
import type { FoundMovie } from './probeMovies.js';
import type { ClipSettings } from './settings.js';
import type { FoundRecording } from './shootFiles.js';

/** The files of one clip, with what is known of each. */
export type FoundClip = PairedClip<FoundRecording, FoundRecording, FoundMovie>;

/** A clip as a manifest writes it. */
export interface WrittenClip {
  readonly file: string;
  readonly name?: string;
  readonly movie?: string;
  readonly settings: ClipSettings;
  readonly notes: readonly string[];
}

/** The track of a clip, or the log that stands for one. */
export function recordingOf({ track, log }: FoundClip): FoundRecording {
  return (track ?? log)!;
}

/**
 * A clip with its settings, and a note for everything that was concluded and not read.
 *
 * @param prefix - from the manifest's folder to that of the shoot: '' or a path that ends in `/`
 */
export function writtenClip(clip: FoundClip, prefix: string): WrittenClip {
  const { movie } = clip;
  const own = recordingOf(clip);
  const log = clip.track ? clip.log : undefined;
  const rate = rateFrom(clip);
  const timecode = movie?.glance?.timecode?.text ?? own.timecode;
  const at = (path: string) => prefix + path;
  return {
    file: at(own.path),
    ...(movie && { movie: at(movie.path) }),
    settings: {
      ...(own.mapping !== undefined && { mapping: at(own.mapping) }),
      ...(rate !== undefined && { rate }),
      ...(log && { log: at(log.path) }),
      ...(log?.mapping !== undefined && { logMapping: at(log.mapping) }),
      ...(clip.logOffsetS !== undefined && { logOffset: Number(clip.logOffsetS.toFixed(3)) }),
      ...(own.rig !== undefined && { rig: at(own.rig) }),
      ...(timecode !== undefined && { timecode }),
    },
    notes: [...notesOfMovie(clip), ...notesOfLog(clip), ...notesOfRecording(clip)],
  };
}

/** The movie's rate, where the recording does not say its own. */
function rateFrom(clip: FoundClip): string | undefined {
  const rate = clip.movie?.glance?.rate;
  return recordingOf(clip).rate || !rate || !isFrameRate(rate) ? undefined : formatFrameRate(rate);
}

/** How files were paired, where their names do not say it. */
const PAIRED: Readonly<Record<Exclude<PairedBy, 'name'>, string>> = {
  'time code': 'their time codes agree',
  start: 'both say that they start at the same time',
  overlap: 'they overlap in time by what both say',
  only: 'a guess, for it is the only log beside it, and long enough',
};

function because(by: PairedBy | undefined): string {
  return by === undefined || by === 'name' ? '' : `: ${PAIRED[by]}`;
}

function notesOfMovie(clip: FoundClip): string[] {
  const { movie, movieBy } = clip;
  if (!movie) return [];
  const { glance } = movie;
  const paired = movieBy === 'name' ? [] : [`movie ${movie.path}${because(movieBy)}`];
  if (!glance) return paired;
  const { rate, frameCount, counted, widthPx, heightPx, timecode } = glance;
  const facts = [
    ...(frameCount === undefined ? [] : [`${counted ? '' : 'about '}${frameCount} frames`]),
    ...(rate ? [`${formatFrameRate(rate)} frames per second`] : []),
    `${widthPx} × ${heightPx} px`,
    ...(timecode ? [`time code ${timecode.text}`] : []),
  ];
  return [...paired, `movie: ${facts.join(', ')}`, ...disagreements(clip, glance)];
}

/** What a track and its movie contradict each other in. */
function disagreements(clip: FoundClip, glance: NonNullable<FoundMovie['glance']>): string[] {
  const { track } = clip;
  const { rate, frameCount, counted } = glance;
  const own = track?.rate;
  const notes: string[] = [];
  if (rate && own && rate.numerator * own.denominator !== own.numerator * rate.denominator) {
    notes.push(
      `the track counts ${formatFrameRate(own)} frames per second and the movie ${formatFrameRate(rate)}: are they of one take?`,
    );
  }
  if (rateFrom(clip) !== undefined) notes.push(`rate ${rateFrom(clip)} is the movie’s`);
  const frames = track && (own || track.durationS === undefined) ? track.count : undefined;
  if (counted && frames !== undefined && frames !== frameCount) {
    notes.push(`the track has ${frames} frames and the movie ${frameCount}`);
  }
  return notes;
}

function notesOfLog({ track, log, logBy, logOffsetS }: FoundClip): string[] {
  if (!track && log)
    return ['a motion log without a track: it is oriented and corrected by itself'];
  if (!log) return [];
  const paired = logBy === 'name' ? [] : [`log ${log.path}${because(logBy)}`];
  if (logOffsetS === undefined) return paired;
  return [
    ...paired,
    `logOffset is what the stamps of both say; leave it out where their clocks differ by more than 5 s`,
  ];
}

function notesOfRecording(clip: FoundClip): string[] {
  return [recordingOf(clip), ...(clip.track && clip.log ? [clip.log] : [])].flatMap(
    ({ path, problem }) => (problem === undefined ? [] : [`${path} will fail: ${problem}`]),
  );
}
