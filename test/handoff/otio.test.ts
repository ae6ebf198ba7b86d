import { spawnSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Ajv } from 'ajv';
import { describe, expect, test } from 'vitest';
import { toEdl } from '../../src/handoff/edl.js';
import { toOtio } from '../../src/handoff/otio.js';
import { trimResult } from '../../src/handoff/trim.js';
import { parseFrameRate } from '../../src/track/frameRate.js';
import { complaint } from '../complaint.js';
import { fc } from '../seed.js';
import { temporaryFolder } from '../temporaryFolder.js';
import { OTIO_SCHEMA } from './otioSchema.js';
import { anyTakes, BECAUSE, resultOfTake } from './takes.js';

const RATE = parseFrameRate('25');
const TAKE = {
  cuts: [
    ['usable', 50],
    ['not usable', 30],
    ['with care', 20],
  ],
  first: 40,
} as const;

interface Time {
  readonly rate: number;
  readonly value: number;
}
interface Range {
  readonly start_time: Time;
  readonly duration: Time;
}
interface Marker {
  readonly name: string;
  readonly color: string;
  readonly marked_range: Range;
  readonly metadata: { readonly twinkeel: Record<string, unknown> };
}
interface Clip {
  readonly name: string;
  readonly source_range: Range;
  readonly markers: readonly Marker[];
  readonly media_references: { readonly DEFAULT_MEDIA: { readonly available_range: Range } };
}
const clipsOf = (text: string): readonly Clip[] => JSON.parse(text).tracks.children[0].children;
const span = ({ start_time, duration }: Range) => [start_time.value, duration.value];
const isValid = new Ajv().compile(OTIO_SCHEMA);

describe('a timeline', () => {
  test('is of the schemas and versions that are stated', () => {
    for (const parts of ['whole', 'usable'] as const) {
      const text = toOtio(resultOfTake(TAKE, RATE), 'moonflower', { parts });
      isValid(JSON.parse(text));
      expect(isValid.errors).toBeNull();
    }
  });

  test('holds the whole take with a marker per stretch, coloured by verdict, with its reason', () => {
    const [clip, ...others] = clipsOf(toOtio(resultOfTake(TAKE, RATE), 'moonflower'));
    expect(others).toEqual([]);
    expect(span(clip!.source_range)).toEqual([0, 100]);
    expect(clip!.markers.map(({ color, marked_range }) => [color, ...span(marked_range)])).toEqual([
      ['GREEN', 0, 50],
      ['RED', 50, 30],
      ['YELLOW', 80, 20],
    ]);
    const { name, metadata } = clip!.markers[1]!;
    expect(name).toBe('not usable: turning of the view');
    expect(metadata.twinkeel).toEqual({
      comment:
        'not usable: turning of the view 41 °/s (from 30 °/s); caused by the operator; next time: turn more slowly',
      verdict: 'not usable',
      ...{ fromFrame: 90, toFrame: 119 },
      because: BECAUSE,
    });
  });

  test('of the usable parts holds those, also with care, one behind the other', () => {
    const clips = clipsOf(toOtio(resultOfTake(TAKE, RATE), 'moonflower', { parts: 'usable' }));
    expect(clips.map((clip) => span(clip.source_range))).toEqual([
      [0, 50],
      [80, 20],
    ]);
    expect(clips.map(({ markers }) => markers.map(({ color }) => color))).toEqual([
      ['GREEN'],
      ['YELLOW'],
    ]);
  });

  test('lies on the time code of the movie, whose first frame may be an earlier one', () => {
    const result = resultOfTake(TAKE, RATE);
    const clock = { timecode: '01:00:00:00', firstFrame: 30 };
    const [clip] = clipsOf(toOtio(result, 'moonflower', clock));
    // An hour of 25 frames per second, and ten frames before the take.
    expect(span(clip!.source_range)).toEqual([90010, 100]);
    const { available_range } = clip!.media_references.DEFAULT_MEDIA;
    expect(span(available_range)).toEqual([90000, 110]);
  });

  test('every frame of the result lies under exactly one marker, whatever the stretches', () => {
    fc.assert(
      fc.property(anyTakes, fc.constantFrom('24000/1001', '25', '60000/1001'), (take, words) => {
        const result = resultOfTake(take, parseFrameRate(words));
        const { frames } = result.corrections;
        const [clip] = clipsOf(toOtio(result, 'moonflower'));
        const covered = clip!.markers.flatMap(({ marked_range }) => {
          const [start, count] = span(marked_range);
          return Array.from({ length: count! }, (_, k) => take.first + start! + k);
        });
        expect(covered).toEqual([...frames!]);
        const usable = clipsOf(toOtio(result, 'moonflower', { parts: 'usable' }));
        const kept = usable.reduce((sum, { source_range }) => sum + span(source_range)[1]!, 0);
        const wanted = take.cuts.filter(([verdict]) => verdict !== 'not usable');
        expect(kept).toBe(wanted.reduce((sum, [, count]) => sum + count, 0));
      }),
    );
  });

  test('of a trimmed result holds the part only', () => {
    const part = trimResult(resultOfTake(TAKE, RATE), 85, 95);
    const [clip] = clipsOf(toOtio(part, 'moonflower', { firstFrame: 40 }));
    expect(clip!.markers.map(({ marked_range }) => span(marked_range))).toEqual([
      [45, 5],
      [50, 6],
    ]);
  });

  test('rates are the nearest doubles of exact fractions', () => {
    const [clip] = clipsOf(toOtio(resultOfTake(TAKE, parseFrameRate('60000/1001')), 'moonflower'));
    expect(clip!.source_range.duration.rate).toBe(60000 / 1001);
  });
});

describe('refused', () => {
  test('a result without an exact rate', () => {
    const result = resultOfTake(TAKE, RATE, { rate: 'none' });
    expect(() => toOtio(result, 'moonflower')).toThrow(
      complaint('argument/invalid', 'found a result without an exact frame rate'),
    );
  });

  test.each([
    ['none', [], 'found a result without stretches'],
    [
      'a hole',
      [
        [40, 60],
        [62, 139],
      ],
      'found the stretches 40 to 60, 62 to 139',
    ],
    [
      'a late start',
      [[41, 139]],
      'expected usable and unusable stretches that cover the frames 40',
    ],
    ['an early end', [[40, 138]], 'found the stretches 40 to 138'],
    [
      'an overlap',
      [
        [40, 60],
        [60, 139],
      ],
      'found the stretches 40 to 60, 60 to 139',
    ],
    [
      'half a frame',
      [
        [40, 60.5],
        [61.5, 139],
      ],
      'found the stretches 40 to 60.5',
    ],
  ] as const)('stretches with %s', (_, spans, words) => {
    const whole = resultOfTake(TAKE, RATE);
    const stretches = spans.map(([fromFrame, toFrame]) => ({
      ...whole.stretches[0]!,
      ...{ fromFrame, toFrame },
    }));
    expect(() => toOtio({ ...whole, stretches }, 'moonflower')).toThrow(
      complaint('argument/invalid', words),
    );
  });

  test('a movie that begins after the take, and figures that are no numbers', () => {
    const result = resultOfTake(TAKE, RATE);
    expect(() => toOtio(result, 'moonflower', { firstFrame: 41 })).toThrow(
      complaint('argument/invalid', 'found a movie that begins with frame 41'),
    );
    const stretches = result.stretches.map((each) => ({ ...each, fromSeconds: Number.NaN }));
    expect(() => toOtio({ ...result, stretches }, 'moonflower')).toThrow(
      complaint('argument/not-finite', 'NaN'),
    );
  });
});

/** Reads a timeline with the format's own library and prints what it found. */
const READER = `
import json, sys
import opentimelineio as otio
timeline = otio.adapters.read_from_file(sys.argv[1], **json.loads(sys.argv[2]))
print(json.dumps([
    [clip.source_range.start_time.value, clip.source_range.duration.value]
    for clip in timeline.video_tracks()[0]
]))
`;
const python = (...args: readonly string[]) =>
  spawnSync('python3', ['-c', READER, ...args], { encoding: 'utf8' });
const hasReader =
  spawnSync('python3', ['-c', 'import opentimelineio, otio_cmx3600_adapter']).status === 0;
if (!hasReader) console.log('opentimelineio for python3 is missing: skipped');

test.skipIf(!hasReader)('the format’s own library reads timelines and edit lists alike', () => {
  const folder = temporaryFolder();
  const result = resultOfTake(TAKE, RATE);
  const timecode = '01:00:00:00';
  writeFileSync(join(folder, 'a.otio'), toOtio(result, 'a', { timecode, parts: 'usable' }));
  writeFileSync(join(folder, 'a.edl'), toEdl(result, 'a', { timecode }));
  for (const [name, options] of [
    ['a.otio', '{}'],
    ['a.edl', '{"rate": 25}'],
  ] as const) {
    const { stdout, stderr } = python(join(folder, name), options);
    expect(stderr).toBe('');
    expect(JSON.parse(stdout)).toEqual([
      [90000, 50],
      [90080, 20],
    ]);
  }
});
