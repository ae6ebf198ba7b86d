import { describe, expect, test } from 'vitest';
import { readCorrections } from '../../src/handoff/csv.js';
import { readExr } from '../../src/handoff/exr.js';
import { readGltf } from '../../src/handoff/gltf.js';
import { handOff } from '../../src/handoff/handOff.js';
import type { HandoffOptions } from '../../src/handoff/handoffOptions.js';
import { readResult } from '../../src/handoff/readResult.js';
import { describeHandoff } from '../../src/handoff/sidecar.js';
import { toStMap } from '../../src/handoff/stMap.js';
import { HANDOFF_TARGETS, type HandoffTarget } from '../../src/handoff/targets.js';
import { toTum } from '../../src/handoff/tum.js';
import { readUsda } from '../../src/handoff/usda.js';
import { readTrack } from '../../src/read/readTrack.js';
import { DEFAULT_RIG } from '../../src/rig/stereoRig.js';
import { complaint } from '../complaint.js';
import { turn } from '../turns.js';
import { resultOf } from './results.js';

const indexes = Array.from({ length: 7 }, (_, k) => k);
const result = resultOf({
  intended: indexes.map((k) => turn([0, 1, 0], 0.1 * k).q),
  corrections: indexes.map((k) => turn([1, 0, 0], 0.02 * Math.sin(k)).q),
});
const made = (target: HandoffTarget, options: HandoffOptions = {}) =>
  handOff(result, target, 'walk', options);
const SMALL = { mapSize: [6, 4] } as const;

const NAMES: Readonly<Record<HandoffTarget, readonly string[]>> = {
  csv: ['walk.handoff.csv'],
  json: ['walk.handoff.json'],
  gltf: ['walk.gltf'],
  glb: ['walk.glb'],
  usda: ['walk.usda'],
  opentrackio: ['walk.opentrackio.jsonl'],
  tum: ['walk.trajectory.tum'],
  ffmpeg: ['walk.ffmpeg/steady.sh', 'walk.ffmpeg/turns-000.txt'],
  'st-maps': [
    // First, middle and last of frames 40 to 46.
    ...[40, 43, 46].flatMap((frame) =>
      ['left', 'right'].map((eye) => `walk.st-maps/${eye}.0000${frame}.exr`),
    ),
    'walk.st-maps/check.exr',
    'walk.st-maps/check-corrected.exr',
  ],
  otio: ['walk.otio', 'walk.usable.otio'],
  edl: ['walk.edl'],
  'csv-markers': ['walk.markers.csv'],
};

describe('every target', () => {
  test.each(HANDOFF_TARGETS)('%s has its files and a text beside them', (target) => {
    const files = made(target, SMALL);
    const own = NAMES[target];
    expect(files.map(({ name }) => name)).toEqual([...own, `walk.${target}.txt`]);
    for (const { content } of files) expect(content.length).toBeGreaterThan(20);
    expect(files.at(-1)!.content).toBe(describeHandoff(result, target, SMALL));
  });

  test('no two of them share a name, so that all go into one folder', () => {
    const names = HANDOFF_TARGETS.flatMap((target) => made(target, SMALL).map(({ name }) => name));
    expect(new Set(names).size).toBe(names.length);
  });

  test('each file is read by the reader of its format', () => {
    const text = (target: HandoffTarget) => made(target)[0]!.content as string;
    const { quaternions, frames } = result.corrections;
    expect(readCorrections(text('csv')).frames).toEqual(frames);
    expect(readResult(text('json')).corrections.quaternions).toEqual(quaternions);
    expect(readGltf(text('gltf')).frames).toEqual(frames);
    expect(readGltf(made('glb')[0]!.content).frames).toEqual(frames);
    expect(readUsda(text('usda')).frames).toEqual(frames);
    expect(readTrack(text('opentrackio'), { format: 'opentrackio' }).frames).toEqual(frames);
    expect(readTrack(text('tum'), { format: 'tum' }).times).toHaveLength(7);
  });

  test('an unknown target is refused with the list of known ones', () => {
    expect(() => handOff(result, 'pollen' as HandoffTarget, 'walk')).toThrow(
      complaint(
        'argument/invalid',
        `found the target "pollen", expected one of ${HANDOFF_TARGETS.join(', ')}`,
      ),
    );
  });
});

describe('options reach the target they concern', () => {
  test('the motion of trajectories', () => {
    expect(made('tum', { motion: 'measured' })[0]!.content).toBe(toTum(result, 'measured'));
    expect(made('tum')[0]!.content).toBe(toTum(result, 'intended'));
    const text = made('opentrackio', { motion: 'measured', signs: { pan: -1 } })[0]!.content;
    const plain = made('opentrackio', { motion: 'measured' })[0]!.content;
    const pan = (lines: string | Uint8Array) =>
      JSON.parse(String(lines).split('\n')[3]!).transforms[0].rotation.pan;
    expect(pan(text)).toBe(-pan(plain));
    expect(pan(text)).not.toBe(0);
  });

  test('corrections are no pose of a camera', () => {
    expect(() => made('opentrackio', { motion: 'correction' })).toThrow(
      complaint('argument/invalid', 'found corrections for OpenTrackIO'),
    );
  });

  test('picture and first frame of the movie, for ffmpeg', () => {
    const picture = { projection: 'fisheye', layout: 'top-bottom', fieldDeg: 195 } as const;
    const script = made('ffmpeg', { picture, firstFrame: 30 })[0]!.content;
    expect(script).toContain('ih_fov=195');
    expect(script).toContain('in_stereo=tb');
    expect(script).toContain('trim=start_frame=10:end_frame=17');
  });

  test('frames, size and source of ST maps', () => {
    const seen = resultOf({
      intended: indexes.map(() => [0, 0, 0, 1]),
      corrections: indexes.map((k) => turn([1, 0, 0], 0.02 * k).q),
      rig: DEFAULT_RIG,
    });
    const files = handOff(seen, 'st-maps', 'walk', {
      mapFrames: [45, 42, 45],
      mapSize: [6, 4],
      picture: { projection: 'fisheye', layout: 'side-by-side' },
      sourceSize: [30, 20],
    });
    expect(files.slice(0, -3).map(({ name }) => name)).toEqual(
      ['left.000045', 'right.000045', 'left.000042', 'right.000042'].map(
        (name) => `walk.st-maps/${name}.exr`,
      ),
    );
    const source = { projection: 'fisheye', widthPx: 30, heightPx: 20 } as const;
    const wanted = toStMap(seen, 2, { eye: 'right', widthPx: 6, heightPx: 4, source });
    expect(readExr(files[3]!.content as Uint8Array)).toEqual(wanted);
  });

  test('a frame outside the result has no map', () => {
    expect(() => made('st-maps', { ...SMALL, mapFrames: [40, 47] })).toThrow(
      complaint('argument/invalid', 'found frame 47, expected frames of the result, 40 to 46'),
    );
  });
});
