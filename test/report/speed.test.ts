import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { CAUTIONS } from '../../src/comfort/cautions.js';
import { reportHtml } from '../../src/report/html.js';
import { clipDataOf } from '../../src/report/pageData.js';
import { launchChromium } from '../chromium.js';
import {
  type OpenPage,
  openClip,
  openReport,
  PATIENCE,
  pageMissing,
  pageParts,
} from './browser.js';
import { hangingBy, resultOf } from './clips.js';

const CLIPS = 40;
/** Two minutes at 60000/1001. */
const FRAMES = 7193;

describe.skipIf(pageMissing)(`forty clips of two minutes${pageMissing ?? ''}`, () => {
  let browser: Browser;
  let report: OpenPage;
  beforeAll(async () => {
    browser = await launchChromium();
    const data = clipDataOf(
      'take',
      resultOf({ frames: FRAMES, filter: 'spline', angles: hangingBy(1) }),
    );
    const clips = Array.from({ length: CLIPS }, (_, k) => ({ ...data, name: `take ${k}` }));
    const html = reportHtml({ clips, cautions: CAUTIONS }, pageParts());
    report = await openReport(browser, html);
  }, 60_000);
  afterAll(() => browser?.close());

  test('the day is drawn before any rotation is unpacked', async () => {
    expect(await report.page.locator('.row .strip').count()).toBe(CLIPS);
    expect(await report.page.evaluate('looking.unpacked')).toBe(0);
    const painted = () =>
      report.page.evaluate<number | undefined>(
        "performance.getEntriesByName('first-contentful-paint')[0]?.startTime",
      );
    await expect.poll(painted, PATIENCE).toBeDefined();
    const first = await painted();
    console.log(`first paint of ${CLIPS} clips of two minutes: ${first!.toFixed(0)} ms`);
    await openClip(report, 'take 3');
    // Two rotations of three numbers at each frame, of this clip and of others that might be its take.
    expect(await report.page.evaluate('looking.unpacked')).toBeGreaterThanOrEqual(6 * FRAMES);
    expect(report.trouble).toEqual([]);
  });

  test('dragging along the strip draws each frame once, by a handful of calls', async () => {
    const { frames, calls, ratio, perFrameMs, size } =
      await report.page.evaluate<Scrubbed>('looking.scrub(90)');
    console.log(
      `scrubbing at ${size}: ${perFrameMs.toFixed(1)} ms a frame on this machine, ${ratio.toFixed(1)} times an empty canvas`,
    );
    expect(frames).toBe(90);
    // Before and after: house, floor, two domes, stars; no clip here needs a mask.
    expect(calls).toBe(90 * 2 * 5);
  });
});

interface Scrubbed {
  readonly frames: number;
  readonly calls: number;
  readonly ratio: number;
  readonly perFrameMs: number;
  readonly size: string;
}
