import { mkdirSync, readdirSync, readFileSync, statSync, utimesSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { planMovie, type ResampleMovieOptions } from '../../src/batch/planMovie.js';
import type { CorrectionResult } from '../../src/correct.js';
import type * as Built from '../../src/node.js';
import { type FrameRate, frameTime, parseFrameRate } from '../../src/track/frameRate.js';
import { ffmpegMissing } from '../ffmpeg.js';
import { type ResultParts, resultOf } from '../handoff/results.js';
import { refusal } from '../refusal.js';
import { temporaryFolder } from '../temporaryFolder.js';
import {
  describeMovie,
  expected,
  ffmpeg,
  numberedClip,
  readFrames,
  type Storage,
  stampsOf,
  turnOf,
} from './numberedClip.js';

/** As it is shipped, in few files. */
const { resampleMovie } = (await import(
  new URL('../../dist/library/node.js', import.meta.url).href
)) as typeof Built;

const LIMIT = { timeout: 120_000 };
const upTo = (count: number) => Array.from({ length: count }, (_, k) => k);
/** Numbers of frames and their indexes are never the same. */
const FIRST = 100;

/** Corrections that say their number. */
function numbered(count: number, parts: Partial<ResultParts> = {}): CorrectionResult {
  return resultOf({
    intended: upTo(count).map(() => [0, 0, 0, 1]),
    corrections: upTo(count).map(turnOf),
    first: FIRST,
    ...parts,
  });
}

/** The same with times of its own and no exact rate. */
function timed(times: readonly number[]): CorrectionResult {
  const result = numbered(times.length, { rate: 'none' });
  const own = { times: Float64Array.from(times) };
  return {
    ...result,
    corrections: { ...result.corrections, ...own },
    intended: { ...result.intended, ...own },
  };
}

/** Makes a clip and steadies it; the folder tells what was left behind. */
async function steadied(
  count: number,
  storage: Storage,
  result: CorrectionResult,
  options: Partial<ResampleMovieOptions> & { name?: string; from?: string } = {},
) {
  const folder = temporaryFolder();
  const { name = 'out.mkv', from = 'walk.mov', ...rest } = options;
  const movie = join(folder, from);
  numberedClip(movie, count, storage);
  const before = statSync(movie);
  const out = join(folder, name);
  const work = resampleMovie({ movie, result, out, jobs: 1, ...rest });
  const made = await work.finally(() => {
    const { size, mtimeMs } = statSync(movie);
    expect({ size, mtimeMs }).toEqual({ size: before.size, mtimeMs: before.mtimeMs });
  });
  return { made, out, movie, folder };
}

const same = (count: number, from = 0) => upTo(count).map((k) => [from + k, from + k] as const);

describe.skipIf(ffmpegMissing !== undefined)(
  `a movie and its corrections${ffmpegMissing === undefined ? '' : `: skipped, ${ffmpegMissing}`}`,
  () => {
    describe('every frame gets its own correction, and keeps its time', () => {
      test.each([
        ['60000/1001', 'walk.mov', 'out.mkv'],
        ['60000/1001', 'walk.mkv', 'out.mov'],
        ['24', 'walk.mov', 'out.mov'],
        ['24', 'walk.mkv', 'out.mkv'],
        ['24000/1001', 'walk.avi', 'out.mkv'],
      ])('at %s, from %s to %s', LIMIT, async (words, from, name) => {
        const rate = parseFrameRate(words);
        const { made, out } = await steadied(
          ...([45, { rate: words }, numbered(45, { rate })] as const),
          { from, name, segmentFrames: 11 },
        );
        expect(made).toMatchObject({ frameCount: 45, resumedFrames: 0, notes: [] });
        expect(readFrames(out)).toEqual(expected(same(45)));
        expectExact(stampsOf(out), rate, name);
      });

      const kept = [0, 1, 2, 4, 5, 9, 10, 11, 13, 16, 17, 18, 19, 24, 25, 26, 28, 29];

      test.each(['out.mkv', 'out.mov'])('at a variable rate, to %s', LIMIT, async (name) => {
        const seconds = kept.map((frame) => frame / 60);
        const storage = { rate: '60', kept, options: ['-video_track_timescale', '90000'] };
        const { out, movie } = await steadied(30, storage, timed(seconds), {
          name,
          segmentFrames: 5,
        });
        expect(readFrames(out)).toEqual(expected(kept.map((frame, k) => [frame, k])));
        const [source, target] = [stampsOf(movie), stampsOf(out)];
        // Matroska counts milliseconds; a mov file counts the source's own ticks.
        const most = name.endsWith('.mkv') ? 0.5e-3 : 1e-9;
        target.forEach((stamp, k) => {
          expect(Math.abs(stamp - source[k]!)).toBeLessThanOrEqual(most + PRINTED_S);
        });
        expect(target).toHaveLength(kept.length);
      });

      test(
        'frames dropped by the camera skip the corrections of their moments',
        LIMIT,
        async () => {
          const rate = { numerator: 60, denominator: 1 };
          const { out } = await steadied(30, { rate: '60', kept }, numbered(30, { rate }), {
            name: 'out.mov',
          });
          expect(readFrames(out)).toEqual(expected(kept.map((frame) => [frame, frame])));
        },
      );

      test(
        'with pictures that depend on each other, from the middle of a group',
        LIMIT,
        async () => {
          const storage = { options: ['-c:v', 'libx264', '-qp', '0', '-bf', '3', '-g', '50'] };
          const { out } = await steadied(45, storage, numbered(45), {
            frames: { from: FIRST + 23, to: FIRST + 40 },
            segmentFrames: 7,
          });
          expect(readFrames(out)).toEqual(expected(same(18, 23)));
        },
      );

      test('in a stream whose index leads astray', LIMIT, async () => {
        const storage = { options: ['-c:v', 'libx264', '-qp', '0', '-bf', '3', '-g', '12'] };
        const { out } = await steadied(45, storage, numbered(45), {
          from: 'walk.ts',
          frames: { from: FIRST + 20, to: FIRST + 39 },
          segmentFrames: 7,
        });
        expect(readFrames(out)).toEqual(expected(same(20, 20)));
      });

      test('of a movie that begins before its corrections', LIMIT, async () => {
        const { out } = await steadied(45, {}, numbered(30), { movieStarts: FIRST - 10 });
        expect(readFrames(out)).toEqual(expected(upTo(30).map((k) => [10 + k, k])));
      });
    });

    describe('what goes with the picture', () => {
      const SOUND = ['-f', 'lavfi', '-i', 'sine=r=48000', '-t', '0.7'];
      const words = [
        ...['-metadata', "title=moth's light", '-metadata', 'comment=by the "pond"'],
        ...['-timecode', '01:00:59;50', '-c:a', 'pcm_s16le'],
      ];
      const storage: Storage = { inputs: SOUND, options: words };

      test.each(['out.mkv', 'out.mov'])(
        'sound, words and time code of the whole: %s',
        LIMIT,
        async (name) => {
          const { out, made } = await steadied(42, storage, numbered(42), { name });
          expect(made.notes).toEqual([]);
          const { streams, format } = describeMovie(out);
          expect(streams.map(({ codec_name }) => codec_name).slice(0, 2)).toEqual([
            'ffv1',
            'pcm_s16le',
          ]);
          const tags = lower(format.tags);
          expect(tags).toMatchObject({ title: "moth's light", comment: 'by the "pond"' });
          expect(lower(streams[0]!.tags)).toMatchObject({ timecode: '01:00:59;50' });
          expect(lower(streams[0]!.tags).encoder).toBeUndefined();
          expect(Buffer.compare(soundOf(out), soundOf(join(out, '..', 'walk.mov')))).toBe(0);
        },
      );

      test(
        'of a part: the sound of its moments, the time code of its first frame',
        LIMIT,
        async () => {
          const { out, movie } = await steadied(42, storage, numbered(42), {
            name: 'out.mov',
            frames: { from: FIRST + 15, to: FIRST + 34 },
          });
          const { streams } = describeMovie(out);
          // Ten frames reach 01:01:00;04, the first label of that minute; five more.
          expect(lower(streams[0]!.tags)).toMatchObject({ timecode: '01:01:00;09' });
          const sound = streams.find(({ codec_type }) => codec_type === 'audio')!;
          const late = Number(sound.start_time);
          expect(late).toBeLessThanOrEqual(1024 / 48000);
          // A sine of 440 Hz from the start: its samples tell from which moment they are.
          const whole = soundOf(movie);
          const cut = soundOf(out);
          const moment = Math.round((frameTime(parseFrameRate('60000/1001'), 15) + late) * 48000);
          const slack = [-48, 48].map((off) => 2 * (moment + off));
          const place = whole.indexOf(cut.subarray(0, 4000), slack[0]);
          // Within a millisecond: the container's stamps of sound are no finer.
          expect(place).toBeGreaterThanOrEqual(slack[0]!);
          expect(place).toBeLessThanOrEqual(slack[1]!);
        },
      );

      test('range, colour and siting; ten bits stay ten', LIMIT, async () => {
        const colour = [
          ...['-color_range', 'pc', '-colorspace', 'bt2020nc', '-color_primaries', 'bt2020'],
          ...['-color_trc', 'arib-std-b67', '-chroma_sample_location', 'topleft'],
        ];
        const { out, made } = await steadied(
          ...([5, { options: colour, pixelFormat: 'yuv420p10le' }, numbered(5)] as const),
          { from: 'walk.mkv' },
        );
        expect(made.notes).toEqual([]);
        expect(describeMovie(out).streams[0]).toMatchObject({
          codec_name: 'ffv1',
          pix_fmt: 'yuv420p10le',
          color_range: 'pc',
          color_space: 'bt2020nc',
          chroma_location: 'topleft',
        });
      });

      test('what a container cannot hold is said', LIMIT, async () => {
        const options = ['-color_range', 'pc', '-colorspace', 'bt709'];
        const { made } = await steadied(5, { options }, numbered(5), {
          from: 'walk.mkv',
          name: 'out.mov',
        });
        expect(made.notes.join()).toContain('does not say of the picture: range pc');
      });

      test('an encoder of one’s own, its depth and options', LIMIT, async () => {
        const { out } = await steadied(12, storage, numbered(12), {
          name: 'out.mov',
          encoder: ['-c:v', 'prores_ks', '-profile:v', '3', '-c:a', 'aac'],
          frames: { from: FIRST, to: FIRST + 9 },
        });
        const { streams } = describeMovie(out);
        expect(streams.map(({ codec_name }) => codec_name).slice(0, 2)).toEqual(['prores', 'aac']);
        expect(streams[0]!.pix_fmt).toBe('yuv422p10le');
      });

      test('a proxy is small, H.264, and plays its sound anywhere', LIMIT, async () => {
        const { out, made } = await steadied(42, storage, numbered(42), {
          name: 'look.mp4',
          proxyWidthPx: 64,
        });
        expect(made.size).toEqual([64, 32]);
        const { streams } = describeMovie(out);
        expect(streams[0]).toMatchObject({ codec_name: 'h264', width: 64, height: 32 });
        expect(streams[1]).toMatchObject({ codec_name: 'aac' });
      });

      test('a picture that is damaged is told of', LIMIT, async () => {
        const folder = temporaryFolder();
        const movie = join(folder, 'walk.mkv');
        numberedClip(movie, 12, { options: ['-level', '3', '-slices', '4', '-slicecrc', '1'] });
        const bytes = readFileSync(movie);
        const middle = bytes.length >> 1;
        bytes.fill(0x5a, middle, middle + 8);
        writeFileSync(movie, bytes);
        const made = await resampleMovie({
          movie,
          result: numbered(12),
          out: join(folder, 'out.mkv'),
        });
        expect(made.notes.join()).toMatch(/complained while decoding \(.+\)/);
      });

      test('names with quotes, newlines, percents, colons and a leading dash', LIMIT, async () => {
        const from = '-moth\'s "light": %d\n\\100 .mov';
        const name = "-steady's 'night'\n%05d \\.mkv";
        const { folder, out } = await steadied(5, storage, numbered(5), {
          from,
          name,
          movieStarts: FIRST,
        });
        expect(readdirSync(folder).sort()).toEqual([from, name].sort());
        expect(readFrames(out)).toHaveLength(5);
      });
    });

    describe('is refused before the first frame', () => {
      /** The sentence, and that nothing was written. */
      async function refused(
        words: string,
        count: number,
        storage: Storage,
        result: CorrectionResult,
        options: Parameters<typeof steadied>[3] = {},
      ) {
        let left: string[] = [];
        const folder = temporaryFolder();
        const { name = 'out.mkv', from = 'walk.mov', ...rest } = options;
        const movie = join(folder, from);
        numberedClip(movie, count, storage);
        const out = join(folder, name);
        let told = 0;
        const work = resampleMovie({
          ...{ movie, result, out, jobs: 1, onProgress: () => told++ },
          ...rest,
        });
        await expect(work).rejects.toThrow(words);
        left = readdirSync(folder);
        expect({ left, told }).toEqual({ left: [from], told: 0 });
      }

      test.each<
        [string, string, number, Storage, CorrectionResult, Parameters<typeof steadied>[3]?]
      >([
        [
          'half the rate',
          'found 30 frames per second, expected 60, the rate of the corrections',
          ...([20, { rate: '30' }, numbered(20, { rate: rated(60) })] as const),
        ],
        [
          'a rate off by a thousandth',
          'found 60 frames per second, expected 60000/1001',
          ...([20, { rate: '60' }, numbered(20)] as const),
        ],
        [
          'a shorter movie',
          'found 20 of the 25 frames that the corrections are for (a movie of 20 frames), expected frames 100 to 124; take the whole movie that was tracked, or only what is there: --frames 100..119',
          ...([20, {}, numbered(25)] as const),
        ],
        [
          'a longer movie',
          'found 25 frames, expected 20, as many as the corrections are for; take the movie that was tracked; if the corrections are for its frames 100 to 119 only, say so: --frames 100..119',
          ...([25, {}, numbered(20)] as const),
        ],
        [
          'frames beyond its end',
          'found 10 of the 15 frames',
          ...([20, {}, numbered(25)] as const),
          { frames: { from: 110, to: 124 } },
        ],
        [
          'frames beyond the corrections',
          "found the frames 110 to 130, expected a part of the corrections' frames 100 to 119",
          ...([20, {}, numbered(20)] as const),
          { frames: { from: 110, to: 130 } },
        ],
        [
          'another moment of the day',
          'none of which has a correction',
          ...([20, {}, numbered(20)] as const),
          { movieStarts: 500 },
        ],
        [
          'a hole between moments without corrections',
          'found a frame that no correction is within half a frame of',
          ...([6, { rate: '60', kept: [0, 1, 2, 3, 4, 5] }, timed([0, 1 / 60, 5 / 60])] as const),
        ],
        [
          'eyes that cannot lie so',
          'say how they lie: --layout side-by-side',
          ...([5, {}, numbered(5)] as const),
          { layout: 'top-bottom' },
        ],
        [
          'interlaced pictures',
          'found interlaced pictures (tt)',
          ...([
            5,
            { options: ['-field_order', 'tt', '-flags', '+ildct', '-c:v', 'mpeg2video'] },
            numbered(5),
          ] as const),
        ],
        [
          'pixels of another kind',
          'found the pixel format "gray"',
          ...([5, { pixelFormat: 'gray' }, numbered(5)] as const),
        ],
        [
          'a fisheye without its lens',
          'found fisheye pictures and corrections without a rig',
          ...([5, {}, numbered(5)] as const),
          { picture: 'fisheye' },
        ],
        [
          'a name that no container has',
          'found the name ',
          ...([5, {}, numbered(5)] as const),
          { name: 'out.xyz' },
        ],
        [
          'an mp4 file without its encoder',
          'and no encoder, expected an encoder that .mp4 holds',
          ...([5, {}, numbered(5)] as const),
          { name: 'out.mp4' },
        ],
        [
          'an encoder that ffmpeg does not have',
          "found ffmpeg that failed encoding (Unknown encoder 'moonlight'",
          ...([5, {}, numbered(5)] as const),
          { encoder: ['-c:v', 'moonlight'] },
        ],
        [
          'sound that the container does not hold',
          'found ffmpeg that failed joining picture and sound (Could not find tag for codec pcm_s16le',
          ...([
            5,
            { inputs: ['-f', 'lavfi', '-i', 'sine', '-t', '0.1'], options: ['-c:a', 'pcm_s16le'] },
            numbered(5),
          ] as const),
          { name: 'out.mp4', encoder: ['-c:v', 'mpeg4'] },
        ],
        [
          'options that would drop frames',
          'found -r, expected options of the encoder',
          ...([5, {}, numbered(5)] as const),
          { encoder: ['-c:v', 'ffv1', '-r', '30'] },
        ],
        [
          'no ffmpeg',
          'found no ffmpeg that runs as "/nowhere/ffmpeg"',
          ...([5, {}, numbered(5)] as const),
          { ffmpeg: '/nowhere/ffmpeg' },
        ],
      ])('%s', LIMIT, async (_title, words, count, storage, result, options) => {
        await refused(words, count, storage, result, options);
      });

      test('a movie that players turn', LIMIT, async () => {
        const folder = temporaryFolder();
        const plain = join(folder, 'plain.mov');
        const movie = join(folder, 'walk.mov');
        numberedClip(plain, 5, { options: ['-c:v', 'mpeg4'] });
        ffmpeg(['-i', plain, '-c', 'copy', '-metadata:s:v', 'rotate=90', movie]);
        await expect(
          resampleMovie({ movie, result: numbered(5), out: join(folder, 'out.mkv') }),
        ).rejects.toThrow(/found a turn by -?90° that players are told to make/);
      });

      test('a movie cut off in the middle of the card', LIMIT, async () => {
        const folder = temporaryFolder();
        const movie = join(folder, 'walk.mov');
        numberedClip(movie, 40);
        writeFileSync(movie, readFileSync(movie).subarray(0, statSync(movie).size >> 1));
        await expect(
          resampleMovie({ movie, result: numbered(40), out: join(folder, 'out.mkv') }),
        ).rejects.toEqual(refusal('movie/unreadable', 'a file that ffprobe cannot read'));
        expect(readdirSync(folder)).toEqual(['walk.mov']);
      });

      test(
        'a movie whose second half was never copied, although its index names it',
        LIMIT,
        async () => {
          const folder = temporaryFolder();
          const movie = join(folder, 'walk.mov');
          numberedClip(movie, 40, { options: ['-movflags', '+faststart'] });
          writeFileSync(movie, readFileSync(movie).subarray(0, 0.7 * statSync(movie).size));
          await expect(
            resampleMovie({ movie, result: numbered(40), out: join(folder, 'out.mkv') }),
          ).rejects.toThrow(/found \d+ of the 40 frames that the corrections are for/);
          expect(readdirSync(folder)).toEqual(['walk.mov']);
        },
      );

      test(
        'a file that exists, an output that is the input, a folder below a file',
        LIMIT,
        async () => {
          const folder = temporaryFolder();
          const movie = join(folder, 'walk.mov');
          numberedClip(movie, 5);
          const result = numbered(5);
          const out = join(folder, 'out.mkv');
          writeFileSync(out, 'pressed petals');
          await expect(resampleMovie({ movie, result, out })).rejects.toEqual(
            refusal('file/exists', 'a file of this name'),
          );
          await expect(resampleMovie({ movie, result, out: movie, force: true })).rejects.toEqual(
            refusal('file/exists', 'an input of this call'),
          );
          const below = join(out, 'below.mkv');
          await expect(resampleMovie({ movie, result, out: below })).rejects.toEqual(
            refusal('file/unwritable', 'a place that cannot be written'),
          );
          expect(readFileSync(out, 'utf8')).toBe('pressed petals');
          await resampleMovie({ movie, result, out, force: true });
          expect(readFrames(out)).toHaveLength(5);
          expect(readdirSync(folder).sort()).toEqual(['out.mkv', 'walk.mov']);
        },
      );
    });

    describe('a run that was stopped', () => {
      /** Stops after some frames, as a person would. */
      async function stopped(
        folder: string,
        after: number,
        options: Partial<ResampleMovieOptions> = {},
      ) {
        const stop = new AbortController();
        const work = resampleMovie({
          movie: join(folder, 'walk.mov'),
          result: numbered(30),
          out: join(folder, 'out.mkv'),
          ...{ jobs: 1, segmentFrames: 6, signal: stop.signal },
          onProgress: ({ done }) => done >= after && stop.abort(new Error('enough')),
          ...options,
        });
        await expect(work).rejects.toThrow('enough');
      }

      const whole = async (folder: string, options: Partial<ResampleMovieOptions> = {}) =>
        resampleMovie({
          movie: join(folder, 'walk.mov'),
          result: numbered(30),
          out: join(folder, 'out.mkv'),
          ...{ jobs: 1, segmentFrames: 6 },
          ...options,
        });

      test(
        'leaves whole segments, and the next one makes the bytes of a run in one go',
        LIMIT,
        async () => {
          const folder = temporaryFolder();
          numberedClip(join(folder, 'walk.mov'), 30, {
            options: ['-c:v', 'libx264', '-qp', '0', '-bf', '2'],
          });
          await stopped(folder, 20);
          const part = readdirSync(join(folder, '.out.mkv.twinkeel-part')).sort();
          expect(part).toEqual(['plan.json', ...[0, 1, 2].map((k) => `segment-0000${k}.mkv`)]);
          // A hole among the segments is filled; what is whole stays as it is.
          const { resumedFrames, notes } = await whole(folder);
          expect({ resumedFrames, notes }).toEqual({ resumedFrames: 18, notes: [] });
          expect(readdirSync(folder).sort()).toEqual(['out.mkv', 'walk.mov']);
          await whole(folder, { out: join(folder, 'once.mkv') });
          expect(readFileSync(join(folder, 'out.mkv'))).toEqual(
            readFileSync(join(folder, 'once.mkv')),
          );
        },
      );

      test('within its first segment leaves nothing', LIMIT, async () => {
        const folder = temporaryFolder();
        numberedClip(join(folder, 'walk.mov'), 30);
        await stopped(folder, 3);
        expect(readdirSync(folder)).toEqual(['walk.mov']);
      });

      test(
        'goes on only with the same corrections, options, encoder and segments',
        LIMIT,
        async () => {
          const folder = temporaryFolder();
          const movie = join(folder, 'walk.mov');
          numberedClip(movie, 30);
          const job = { movie, result: numbered(30), out: join(folder, 'out.mkv') };
          const fingerprint = async (changed: Partial<ResampleMovieOptions>) =>
            (await planMovie({ ...job, ...changed })).fingerprint;
          const plain = await fingerprint({});
          const others = [
            { result: numbered(30, { corrections: upTo(30).map((k) => turnOf(k + 1)) }) },
            { filter: 'bilinear' },
            { encoder: ['-c:v', 'ffv1', '-g', '5'] },
            { segmentFrames: 7 },
            { frames: { from: FIRST, to: FIRST + 28 } },
            { out: join(folder, 'out.mov') },
            { size: [64, 32] },
          ] as const satisfies Partial<ResampleMovieOptions>[];
          for (const other of others) expect(await fingerprint(other)).not.toBe(plain);
          // What changes no byte changes nothing: workers, names, the place of the movie.
          expect(await fingerprint({ jobs: 7, out: join(folder, 'other.mkv') })).toBe(plain);
        },
      );

      test('and a movie that changed since begins anew', LIMIT, async () => {
        const folder = temporaryFolder();
        numberedClip(join(folder, 'walk.mov'), 30);
        await stopped(folder, 14);
        utimesSync(join(folder, 'walk.mov'), new Date(), new Date(2026, 0, 1));
        expect((await whole(folder)).notes.join()).toContain('made anew');
      });

      test('keeps what somebody else put into its folder', LIMIT, async () => {
        const folder = temporaryFolder();
        const part = join(folder, '.out.mkv.twinkeel-part');
        mkdirSync(part);
        writeFileSync(join(part, 'notes.txt'), 'the lily opens at nine');
        numberedClip(join(folder, 'walk.mov'), 30);
        await whole(folder);
        expect(readdirSync(part)).toEqual(['notes.txt']);
      });
    });
  },
);

/** Times are printed to a millionth of a second. */
const PRINTED_S = 1e-6;

const rated = (numerator: number): FrameRate => ({ numerator, denominator: 1 });

/** Even stamps from 0: exact ones in a mov file, rounded to milliseconds in Matroska. */
function expectExact(stamps: readonly number[], rate: FrameRate, name: string): void {
  const most = name.endsWith('.mkv') ? 0.5e-3 : 1e-9;
  stamps.forEach((stamp, k) => {
    expect(Math.abs(stamp - frameTime(rate, k))).toBeLessThanOrEqual(most + PRINTED_S);
  });
}

function soundOf(path: string): Buffer {
  return ffmpeg(['-i', `file:${path}`, '-vn', '-f', 's16le', '-c:a', 'pcm_s16le', '-']);
}

/** Some containers write names in capitals. */
function lower(tags: Record<string, string> = {}): Record<string, string> {
  return Object.fromEntries(Object.entries(tags).map(([key, value]) => [key.toLowerCase(), value]));
}
