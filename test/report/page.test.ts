import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { CAUTIONS } from '../../src/comfort/cautions.js';
import type { Stretch } from '../../src/comfort/stretches.js';
import { launchChromium } from '../chromium.js';
import { type OpenPage, openClip, openReport, PATIENCE, pageMissing, pageOf } from './browser.js';
import { CLIPS, FAILED, MARKUP, resultNamed, SHOOT } from './shoot.js';

describe.skipIf(pageMissing)(`the page of the report${pageMissing ?? ''}`, () => {
  let browser: Browser;
  let report: OpenPage;
  beforeAll(async () => {
    browser = await launchChromium();
    report = await openReport(browser, pageOf(SHOOT));
  }, 60_000);
  afterAll(() => browser?.close());

  const toList = async () => {
    await report.page.evaluate("location.hash = ''");
    await report.page.locator('.clips').waitFor();
  };

  test('opens from disk, asks nobody for anything and complains of nothing', async () => {
    for (const [name] of CLIPS) await openClip(report, name);
    expect(report.trouble).toEqual([]);
    // The check of requests sees what is made: one that the content policy refuses is an error, too.
    await report.page.evaluate("fetch('http://127.0.0.1:9/').catch(() => {})");
    await expect.poll(() => report.trouble.length, PATIENCE).toBeGreaterThan(0);
    (report.trouble as string[]).length = 0;
  });

  test('says the cautions in plain sight and calls nothing safe', async () => {
    await toList();
    for (const text of CAUTIONS) {
      expect(await report.page.getByText(text).isVisible()).toBe(true);
    }
    expect(await report.page.locator('main').textContent()).not.toMatch(/\bsafe/i);
    for (const [name] of CLIPS) {
      await openClip(report, name);
      expect(await report.page.locator('main').textContent()).not.toMatch(/\bsafe/i);
      expect(await report.page.locator('main .cautions').textContent()).toBe(CAUTIONS.join(' '));
    }
  });

  test('shows names and sentences that look like markup as they are', async () => {
    await openClip(report, MARKUP);
    expect(await report.page.locator('#page :is(b, script, img)').count()).toBe(0);
    await toList();
    const row = report.page.locator('.row.failed');
    expect(await row.locator('.name').textContent()).toBe(FAILED.name);
    expect(await row.locator('.sentence').textContent()).toBe(FAILED.failed);
    expect(await report.page.locator('#page :is(b, script, img)').count()).toBe(0);
    expect(report.trouble).toEqual([]);
  });

  test('counts the day: clips by verdict, minutes by stretch, and what was not read', async () => {
    await toList();
    const seconds = new Map<string, number>();
    for (const [, { stretches }] of CLIPS) {
      for (const { verdict, fromSeconds, toSeconds } of stretches) {
        seconds.set(verdict, (seconds.get(verdict) ?? 0) + toSeconds - fromSeconds);
      }
    }
    const minutes = (s = 0) =>
      `${Math.floor(Math.round(s) / 60)}:${`${Math.round(s) % 60}`.padStart(2, '0')} min`;
    const of = (verdict: string) => CLIPS.filter(([, result]) => result.verdict === verdict).length;
    expect(await report.page.locator('.tile').allInnerTexts()).toEqual(
      [
        ['deliver', 'usable'],
        ['deliver with care', 'with care'],
        ['reshoot', 'not usable'],
      ].map(
        ([verdict, state]) =>
          `${of(verdict!)}\n${verdict}\n${minutes(seconds.get(state!))} ${state}`,
      ),
    );
    const all = [...seconds.values()].reduce((sum, each) => sum + each, 0);
    const line = await report.page.locator('header p').textContent();
    expect(line).toBe(`6 clips, 1 not read · ${minutes(all)}`);
  });

  test('has a row for each clip in the order of the shoot', async () => {
    await toList();
    const names = await report.page.locator('.row .name').allTextContents();
    expect(names).toEqual(
      SHOOT.map((each) => ('failed' in each ? each.name : (each as readonly [string, unknown])[0])),
    );
    const verdicts = await report.page.locator('.row .verdict').allTextContents();
    expect(verdicts.map((text) => text.trim())).toEqual(
      SHOOT.map((each) =>
        'failed' in each
          ? 'not read'
          : resultNamed((each as readonly [string, unknown])[0] as string).verdict,
      ),
    );
  });

  test('the strip shows the stretches of the result, where they are and whose doing', async () => {
    for (const [name, { stretches }] of CLIPS) {
      await toList();
      const row = report.page.locator('.row').filter({ hasText: name });
      expect(await drawnStretches(row.locator('.strip'))).toEqual(
        stretches.map(asDrawn(stretches)),
      );
      await openClip(report, name);
      expect(await drawnStretches(report.page.locator('.scrubber .strip'))).toEqual(
        stretches.map(asDrawn(stretches)),
      );
    }
    // More than one state and cause were looked at.
    const all = CLIPS.flatMap(([, { stretches }]) => stretches);
    expect(new Set(all.map(({ verdict }) => verdict)).size).toBe(3);
    expect(new Set(all.map(({ because }) => because?.cause)).size).toBeGreaterThanOrEqual(4);
  });

  test('draws every plot, with a name and a sentence', async () => {
    await openClip(report, 'greenhouse');
    const plots = report.page.locator('.plot');
    // Three angles and what is taken out of each; speed, correction, spectrum, axis, black, disparity.
    expect(await plots.count()).toBe(12);
    for (const plot of await plots.all()) {
      const title = await plot
        .locator('xpath=../figcaption')
        .evaluate((node) => node.firstChild!.textContent);
      const text = await plot.locator('xpath=../p').textContent();
      expect(text!.length).toBeGreaterThan(20);
      expect(await plot.getAttribute('aria-label')).toBe(`${title}. ${text}`);
    }
    const inks = await report.page.evaluate<number[][]>(
      "[...document.querySelectorAll('.plot canvas')].map((canvas) => looking.inks(canvas, ['before', 'after', 'quiet']))",
    );
    // A line across a plot is some hundred pixels long. After lies on before where both turn alike.
    const drawn = (ink: number) => inks.map((counts) => counts[ink]! > 150);
    expect(drawn(1)).toEqual([
      ...[true, false, true, false, true, false],
      ...[true, true, true, true, true, true],
    ]);
    const before = drawn(0);
    for (const plot of [1, 2, 3, 4, 5, 6, 8])
      expect({ plot, drawn: before[plot] }).toEqual({ plot, drawn: true });
    // Room, thresholds, pace of steps and the levels of disparity: dashes and their words. A correction
    // that rides on its limit covers the dashes there.
    for (const plot of [1, 3, 5, 6, 8, 11]) {
      expect({ plot, dashed: inks[plot]![2]! > 60 }).toEqual({ plot, dashed: true });
    }
  });

  test('says in words which threshold lies above the scale of a plot', async () => {
    await openClip(report, 'water tank');
    const text = await report.page
      .locator('figure', { hasText: 'How fast the view turns' })
      .locator('.plot-text')
      .textContent();
    expect(text).toMatch(
      / Above the scale: with care from 30\u00a0°\/s, not usable from 60\u00a0°\/s\.$/,
    );
  });

  test('names lines only, until something is pointed at', async () => {
    await openClip(report, 'greenhouse');
    const legend = report.page.locator('.plot').first().locator('.u-legend');
    await report.page.mouse.move(5, 5);
    const seen = (part: string) => legend.locator(`${part}:visible`).allTextContents();
    expect([await seen('.u-label'), await seen('.u-value')]).toEqual([['before', 'after'], []]);
    await report.page.locator('.plot .u-over').first().hover();
    expect(await seen('.u-label')).toEqual(['s', 'before', 'after']);
    for (const value of await seen('.u-value')) expect(value).toMatch(/^−?\d+\.\d+$/);
  });

  test('a click in any plot over time, or on a stretch, moves preview and every cursor there', async () => {
    await openClip(report, 'aisle.free');
    const { page, canvas } = report;
    const frame = async () => Number(await canvas.getAttribute('data-frame'));
    const overs = page.locator('.plot .u-over');
    const slider = page.locator('.scrubber');
    for (const [plot, share] of [
      [0, 0.25],
      [3, 0.8],
      [6, 0.5],
    ] as const) {
      const box = (await overs.nth(plot).boundingBox())!;
      await overs.nth(plot).click({ position: { x: share * box.width, y: box.height / 2 } });
      // The plot spans 599 frame steps; a pixel of some 350 is two of them.
      expect(Math.abs((await frame()) - share * 599)).toBeLessThan(4);
      expect(await slider.getAttribute('aria-valuenow')).toBe(String(await frame()));
      const cursors = await page.evaluate<number[]>(
        "[...document.querySelectorAll('.now')].map((line) => new DOMMatrix(line.style.transform).e / line.parentElement.clientWidth)",
      );
      expect(cursors.length).toBe(8);
      for (const at of cursors) expect(Math.abs(at - (await frame()) / 599)).toBeLessThan(0.005);
    }
    const { stretches } = resultNamed('aisle.free');
    const bad = stretches.find(({ because }) => because)!;
    await page.locator('.stretches button').first().click();
    expect(await frame()).toBe(Math.round((bad.fromSeconds * 60000) / 1001));
  });

  test('shows two results of one take beside each other', async () => {
    await openClip(report, 'aisle.held');
    const choice = report.page.getByLabel('Compare with another result');
    expect(await choice.locator('option').allTextContents()).toEqual(['nothing', 'aisle.free']);
    await choice.selectOption('aisle.free');
    expect(await report.page.locator('.variants .strip').count()).toBe(2);
    expect(await report.page.locator('.figures thead th').allTextContents()).toEqual([
      ...['figure', 'before', 'after, aisle.held', 'after, aisle.free', 'unit'],
    ]);
    await openClip(report, 'water tank');
    expect(await report.page.getByLabel('Compare with another result').count()).toBe(0);
  });

  test('says why there is no headset', async () => {
    await openClip(report, 'water tank');
    await expect
      .poll(() => report.page.locator('#headset-why').textContent(), PATIENCE)
      .toMatch(/^Off: /);
    expect(await report.page.getByText('Into a stand-alone headset').isVisible()).toBe(true);
  });

  test('an address of no clip shows the day and says so', async () => {
    await report.page.evaluate("location.hash = 'nobody'");
    await report.page.getByText('names a clip that is not in this report').waitFor();
    await toList();
  });
});

interface Drawn {
  readonly verdict: string | null;
  readonly cause: string | null;
  readonly from: number;
  readonly to: number;
}

/** What a strip shows: each stretch's verdict and cause, and where it lies, thousandths of the strip. */
function drawnStretches(strip: import('playwright-core').Locator): Promise<Drawn[]> {
  return strip.evaluate((svg) => {
    const whole = svg.getBoundingClientRect();
    return [...svg.querySelectorAll('rect[data-verdict]')].map((rect) => {
      const { left, right } = rect.getBoundingClientRect();
      const thousandths = (x: number) => Math.round((1000 * (x - whole.left)) / whole.width);
      return {
        verdict: rect.getAttribute('data-verdict'),
        cause: rect.getAttribute('data-cause'),
        from: thousandths(left),
        to: thousandths(right),
      };
    });
  });
}

function asDrawn(stretches: readonly Stretch[]) {
  const whole = stretches.at(-1)!.toSeconds;
  return ({ verdict, because, fromSeconds, toSeconds }: Stretch): Drawn => ({
    verdict,
    cause: because?.cause ?? null,
    from: Math.round((1000 * fromSeconds) / whole),
    to: Math.round((1000 * toSeconds) / whole),
  });
}
