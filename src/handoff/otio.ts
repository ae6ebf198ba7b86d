import type { StretchVerdict } from '../comfort/stretches.js';
import type { CorrectionResult } from '../correct.js';
import { formatFrameRate, framesPerSecond } from '../track/frameRate.js';
import { stretchSentenceWithAdvice } from '../words/verdict.js';
import { type MovieClock, type TakePart, type TakeParts, takeParts } from './takeParts.js';

/** How to write a timeline. */
export interface OtioOptions extends MovieClock {
  /**
   * Which frames are on the track: the whole take with a marker for each stretch (default), or only the parts
   * that are usable, also with care, one clip each.
   */
  readonly parts?: 'whole' | 'usable';
}

/** An object of the format; the version of its schema stands behind the name. */
type Schema = { readonly OTIO_SCHEMA: string } & Readonly<Record<string, unknown>>;

/**
 * A timeline in OpenTimelineIO's JSON, which editors read: one video track with the take, its markers green
 * where it is usable, yellow where with care, red where not.
 *
 * Times are whole frames at the exact rate as the nearest double, counted as the media's time code counts them:
 * the movie's first frame lies at its time code. The movie's own file is not known to a result; the reference bears
 * the clip's name and is to be linked again. Reasons stand under our own key "twinkeel" of the metadata.
 *
 * @param result - of {@link index!correct}, with an exact frame rate
 * @param name - of the clip
 * @param options - start and parts
 * @returns JSON text with the schemas Timeline.1, Stack.1, Track.1, Clip.2, Marker.2, ExternalReference.1,
 *   TimeRange.1 and RationalTime.1
 * @throws TwinkeelError `argument/invalid` without an exact frame rate or without stretches,
 *   `timecode/invalid`
 * @see OpenTimelineIO, file format specification and serialized schema (from memory)
 * @example
 * JSON.parse(toOtio(result, 'aisle')).OTIO_SCHEMA; // 'Timeline.1'
 */
export function toOtio(result: CorrectionResult, name: string, options: OtioOptions = {}): string {
  const take = takeParts(result, options);
  const usable = options.parts === 'usable';
  const clips = usable
    ? take.parts
        .filter(({ stretch }) => stretch.verdict !== 'not usable')
        .map((part) => clipOf(take, name, part, [part]))
    : [clipOf(take, name, { start: 0, count: take.count }, take.parts)];
  const track = {
    OTIO_SCHEMA: 'Track.1',
    ...item('Video', null),
    children: clips,
    kind: 'Video',
  };
  const timeline: Schema = {
    OTIO_SCHEMA: 'Timeline.1',
    global_start_time: null,
    metadata: {
      twinkeel: {
        frameRate: formatFrameRate(take.rate),
        verdict: result.verdict,
        parts: usable ? 'usable and usable with care' : 'the whole take',
        cautions: result.cautions,
      },
    },
    name: usable ? `${name}, usable parts` : name,
    tracks: { OTIO_SCHEMA: 'Stack.1', ...item('tracks', null), children: [track] },
  };
  return `${JSON.stringify(timeline, null, 2)}\n`;
}

/** A part of the take as a clip, with markers of the stretches that lie in it. */
function clipOf(
  take: TakeParts,
  name: string,
  part: Pick<TakePart, 'start' | 'count'>,
  marked: readonly TakePart[],
): Schema {
  const before = take.takeStart - take.movieStart;
  return {
    OTIO_SCHEMA: 'Clip.2',
    ...item(name, rangeOf(take, part)),
    markers: marked.map((each) => markerOf(take, each)),
    active_media_reference_key: 'DEFAULT_MEDIA',
    media_references: {
      DEFAULT_MEDIA: {
        OTIO_SCHEMA: 'ExternalReference.1',
        available_image_bounds: null,
        // The movie may go on; what is known of it ends with the result.
        available_range: rangeOf(take, { start: -before, count: before + take.count }),
        metadata: {},
        name,
        target_url: encodeURIComponent(name),
      },
    },
  };
}

/** What tracks, stacks and clips have in common. */
function item(name: string, sourceRange: Schema | null) {
  return {
    ...{ effects: [], enabled: true, markers: [] as readonly Schema[], metadata: {} },
    ...{ name, source_range: sourceRange },
  };
}

/** Colours that the format names. */
const COLOURS: Readonly<Record<StretchVerdict, string>> = {
  usable: 'GREEN',
  'with care': 'YELLOW',
  'not usable': 'RED',
};

/** A stretch as a marker; its range lies, like the clip's own, on the media's time. */
function markerOf(take: TakeParts, part: TakePart): Schema {
  const { verdict, because, fromFrame, toFrame } = part.stretch;
  const comment = stretchSentenceWithAdvice(part.stretch);
  return {
    OTIO_SCHEMA: 'Marker.2',
    color: COLOURS[verdict],
    comment,
    marked_range: rangeOf(take, part),
    metadata: {
      twinkeel: { comment, verdict, fromFrame, toFrame, ...(because && { because }) },
    },
    name: because ? `${verdict}: ${because.figure}` : verdict,
  };
}

function rangeOf(take: TakeParts, { start, count }: Pick<TakePart, 'start' | 'count'>): Schema {
  const rate = framesPerSecond(take.rate);
  const time = (value: number): Schema => ({ OTIO_SCHEMA: 'RationalTime.1', rate, value });
  return {
    OTIO_SCHEMA: 'TimeRange.1',
    duration: time(count),
    start_time: time(take.takeStart + start),
  };
}
