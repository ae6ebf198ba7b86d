import { describe, expect, test } from 'vitest';
import { fromBase64 } from '../../src/base64.js';
import { reportHtml } from '../../src/report/html.js';
import { clipDataOf, packQuaternions, unpackQuaternions } from '../../src/report/pageData.js';
import type { Quaternion } from '../../src/rotation/quaternion.js';
import { apart } from '../apart.js';
import { fc } from '../seed.js';
import { SCALES, turnsBy } from '../turns.js';
import { pageOf, pageParts } from './browser.js';
import { greenhouseClip, resultOf } from './clips.js';

const packedAndBack = (q: Quaternion): Quaternion => {
  const out = unpackQuaternions(packQuaternions(Float64Array.from(q)));
  return [out[0]!, out[1]!, out[2]!, out[3]!];
};

/**
 * Each of the three stored components is off by up to half a step, e = 1/(2 · 46340). What is left
 * out takes the sum of their errors times the ratio of the components, which is at most 1 each: 3e at
 * worst, when all four are alike. The chord is then √(3e² + 9e²), and the angle twice the chord.
 */
const STEP = 1 / (32767 * Math.SQRT2);
const PACKING_DEG = ((2 * Math.sqrt(12) * (STEP / 2)) / Math.PI) * 180;

describe('rotations packed into seven bytes', () => {
  test.each(Object.entries(SCALES))('come back within 0.0043°: turns by %s', (_, angles) => {
    fc.assert(
      fc.property(turnsBy(angles), ({ q }) => {
        expect((apart(packedAndBack(q), q) * 180) / Math.PI).toBeLessThan(PACKING_DEG);
      }),
    );
  });

  const half = Math.SQRT1_2;
  test.each<Quaternion>([
    [1, 0, 0, 0],
    [0, -1, 0, 0],
    [0, 0, 1, 0],
    [half, -half, 0, 0],
    [0, half, half, 0],
    [-half, 0, 0, half],
    [0.5, 0.5, 0.5, 0.5],
    [-0.5, 0.5, -0.5, -0.5],
  ])('half turns and components alike, where the choice is a tie: %d %d %d %d', (...q) => {
    expect((apart(packedAndBack(q), q) * 180) / Math.PI).toBeLessThan(PACKING_DEG);
  });

  test('as bytes: three 16-bit numbers, little endian, then the place of the one left out', () => {
    const packed = packQuaternions(Float64Array.of(0, 0, half, half, 0.6, -0.8, 0, 0));
    // 0.7071 is 32767 steps; with y left out and made positive, x is −0.6 · 46339.5 = −27804 steps.
    const view = new DataView(packed.buffer);
    expect(Array.from({ length: 6 }, (_, k) => view.getInt16(2 * k, true))).toEqual([
      0, 0, 32767, -27804, 0, 0,
    ]);
    expect([...packed.subarray(12)]).toEqual([2, 1]);
  });

  test('base64 as Node writes it, of any number of bytes', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 100 }), (bytes) => {
        expect(fromBase64(Buffer.from(bytes).toString('base64'))).toEqual(bytes);
      }),
    );
    const { corrections } = greenhouseClip();
    const { quaternions } = corrections;
    expect(clipDataOf('aisle', greenhouseClip()).corrections).toBe(
      Buffer.from(packQuaternions(quaternions)).toString('base64'),
    );
  });
});

describe('the page as one file', () => {
  const name = '</script><script>alert(1)</script><!-- <b>fern & moss</b>';
  const html = pageOf([[name, greenhouseClip()]]);

  test('a name with markup stays a name', () => {
    expect(html.match(/<script/g)).toHaveLength(2);
    expect(html).not.toContain('<!--');
    expect(html).toContain('<title>&lt;/script&gt;&lt;script&gt;alert(1)');
    const json = /<script type="application\/json" id="clips">(.*?)<\/script>/s.exec(html)![1]!;
    expect(JSON.parse(json).clips[0].name).toBe(name);
  });

  test('a script that names a closing tag does not end there', () => {
    const odd = reportHtml(
      { clips: [clipDataOf('aisle', greenhouseClip())], cautions: [] },
      { script: 'const tag = "</SCRIPT>";', style: '' },
    );
    expect(odd.match(/<\/script>/gi)).toHaveLength(2);
  });

  test('forbids every connection and names no address to fetch from', () => {
    expect(html).toContain("default-src 'none'");
    expect(html).not.toMatch(/\b(?:src|href)\s*=\s*["']?(?:https?:)?\/\//i);
    expect(pageParts().style).not.toMatch(/@import|url\((?!["']?data:)/);
  });

  test('ten minutes at 60000/1001 take less than 2 MB', { timeout: 60_000 }, () => {
    const frames = Math.round((600 * 60000) / 1001);
    const result = resultOf({ frames, filter: 'spline' });
    const bytes = Buffer.byteLength(pageOf([['ten minutes', result]]));
    // Two rotations of seven bytes a frame, four characters for three bytes, besides the script.
    expect(bytes).toBeGreaterThan((frames * 14 * 4) / 3);
    expect(bytes).toBeLessThan(2_000_000);
  });
});
