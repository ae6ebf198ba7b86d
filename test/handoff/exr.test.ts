import { spawnSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { readExr, toExr } from '../../src/handoff/exr.js';
import type { StMap } from '../../src/handoff/stMap.js';
import { complaint } from '../complaint.js';
import { ffmpegMissing } from '../ffmpeg.js';
import { fc } from '../seed.js';
import { temporaryFolder } from '../temporaryFolder.js';

const maps: fc.Arbitrary<StMap> = fc
  .tuple(fc.integer({ min: 1, max: 40 }), fc.integer({ min: 1, max: 40 }))
  .chain(([widthPx, heightPx]) => {
    const pixels = widthPx * heightPx;
    const plane = fc.float32Array({ minLength: pixels, maxLength: pixels, noNaN: true });
    return fc.record({
      widthPx: fc.constant(widthPx),
      heightPx: fc.constant(heightPx),
      s: plane,
      t: plane,
      coverage: plane,
    });
  });

/** A map of three columns and two rows in which every number is another. */
const map: StMap = {
  widthPx: 3,
  heightPx: 2,
  s: Float32Array.of(0.125, 0.25, 0.5, -0.75, 1.5, 3e-9),
  t: Float32Array.of(1 / 3, 2 / 3, 0.1, 0.2, 0.3, 0.4),
  coverage: Float32Array.of(0, 1, 0.5, 0.25, 0.75, 0.875),
};

describe('an ST map as OpenEXR', () => {
  test('it comes back to the last bit', () => {
    fc.assert(
      fc.property(maps, (drawn) => {
        expect(readExr(toExr(drawn))).toEqual(drawn);
      }),
    );
  });

  test('it comes back from the middle of a larger buffer too', () => {
    const padded = new Uint8Array(1 + toExr(map).length);
    padded.set(toExr(map), 1);
    expect(readExr(padded.subarray(1))).toEqual(map);
  });

  // OpenEXR File Layout: magic 76 2f 31 01, version 2, attributes in the form name, type, size.
  test('its head names three channels of 32-bit floats in the order of their names', () => {
    const bytes = toExr(map);
    expect([...bytes.subarray(0, 8)]).toEqual([0x76, 0x2f, 0x31, 0x01, 2, 0, 0, 0]);
    const channel = (name: string) => [name.charCodeAt(0), 0, ...[2, 0, 1, 1].flatMap(int)];
    const int = (value: number) => [value, 0, 0, 0];
    const list = [...'BGR'].flatMap(channel);
    const words = [...'channels\0chlist\0'].map((letter) => letter.charCodeAt(0));
    const wanted = [...words, ...int(55), ...list, 0];
    expect([...bytes.subarray(8, 8 + wanted.length)]).toEqual(wanted);
  });

  test.skipIf(ffmpegMissing)(
    `ffmpeg reads the same numbers: R = s, G = t, B = coverage${ffmpegMissing ? ` (skipped: ${ffmpegMissing})` : ''}`,
    () => {
      const path = join(temporaryFolder(), 'map.exr');
      writeFileSync(path, toExr(map));
      const out = ['-f', 'rawvideo', '-pix_fmt', 'gbrpf32le', '-'];
      const { stdout, status } = spawnSync('ffmpeg', ['-v', 'error', '-i', path, ...out]);
      expect(status).toBe(0);
      const floats = Array.from({ length: stdout.length / 4 }, (_, k) => stdout.readFloatLE(4 * k));
      // Planes in the order green, blue, red.
      expect(floats).toEqual([...map.t, ...map.coverage, ...map.s]);
    },
  );
});

describe('readExr refuses', () => {
  const whole = toExr(map);
  const compressed = whole.slice();
  // The byte after "compression", its type and its size: 0 is none.
  compressed[Buffer.from(whole).indexOf('compression\0compression\0') + 28] = 3;

  test.each<[string, Uint8Array, string]>([
    ['nothing', new Uint8Array(0), 'another kind of file'],
    ['another kind of file', new Uint8Array(4096), 'another kind of file'],
    ['a head alone', whole.subarray(0, 300), 'another kind of file'],
    ['a file without its last byte', whole.subarray(0, whole.length - 1), 'a file that is cut off'],
    ['a file with a byte too many', new Uint8Array([...whole, 0]), 'a file that is cut off'],
    ['compressed scanlines', compressed, 'another layout of channels'],
  ])('%s', (_title, bytes, words) => {
    expect(() => readExr(bytes)).toThrow(complaint('read/binary', words));
  });
});
