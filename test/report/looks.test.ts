import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { launchChromium } from '../chromium.js';
import { type OpenPage, openClip, openReport, pageMissing, pageOf, until } from './browser.js';
import { CLIPS, SHOOT } from './shoot.js';

/** A folder for pictures of the page, to be looked at by a person. */
const PICTURES = process.env.TWINKEEL_PICTURES;

const require = createRequire(import.meta.url);
const AXE = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');

interface Contrast {
  readonly text: string;
  readonly ratio: number;
}

describe.skipIf(pageMissing)(`how the page looks${pageMissing ?? ''}`, () => {
  let browser: Browser;
  let html: string;
  beforeAll(async () => {
    browser = await launchChromium();
    html = pageOf(SHOOT);
  }, 60_000);
  afterAll(() => browser?.close());

  /** What a machine finds that stands in the way of people with assistive technology. */
  const violations = async ({ page }: OpenPage) => {
    await page.evaluate(AXE);
    return page.evaluate<unknown>(
      `axe.run({ resultTypes: ['violations'], preload: false }).then(({ violations }) =>
        violations.map(({ id, nodes }) => [id, nodes[0].html.slice(0, 200), nodes.length]))`,
    );
  };

  test.each(['light', 'dark'] as const)(
    '%s: fits at 1280, 800 and 390, is legible, and axe finds nothing',
    async (colorScheme) => {
      const report = await openReport(browser, html, { colorScheme });
      const { page } = report;
      for (const place of ['day', 'clip'] as const) {
        if (place === 'clip') await openClip(report, 'greenhouse');
        for (const [width, height] of [
          [1280, 800],
          [800, 900],
          [390, 844],
        ] as const) {
          await page.setViewportSize({ width, height });
          // The plots follow; the page itself must never be wider than the window.
          await until(
            report,
            "[...document.querySelectorAll('.plot')].every((plot) => plot.firstChild.offsetWidth <= plot.clientWidth)",
          );
          const at = { place, width, colorScheme };
          const [wide, room] = await page.evaluate<[number, number]>(
            '[document.documentElement.scrollWidth, document.documentElement.clientWidth]',
          );
          expect({ ...at, fits: wide <= room }).toEqual({ ...at, fits: true });
          if (place === 'day') {
            const box = (await page.locator('.row').first().boundingBox())!;
            expect({ ...at, above: box.y + box.height <= height }).toEqual({ ...at, above: true });
            expect(await cutOff(report)).toEqual([]);
          } else {
            const [look, side] = await Promise.all(
              ['.look', '.side'].map((part) => page.locator(part).boundingBox()),
            );
            expect(look!.y === side!.y).toBe(width > 900);
          }
          if (width !== 800)
            expect({ ...at, axe: await violations(report) }).toEqual({ ...at, axe: [] });
          const contrasts = await page.evaluate<Contrast[]>('looking.contrasts()');
          expect(contrasts.length).toBeGreaterThan(30);
          // WCAG 2.2, success criterion 1.4.3, level AA.
          expect(contrasts.filter(({ ratio }) => ratio < 4.5)).toEqual([]);
          if (PICTURES) {
            const path = `${PICTURES}/${place}-${colorScheme}-${width}.png`;
            await page.screenshot({ path, fullPage: true });
          }
        }
      }
      expect(report.trouble).toEqual([]);
      await report.close();
    },
  );

  test('moves nothing by itself where the system asks for less motion', async () => {
    const report = await openReport(browser, html, { reducedMotion: 'reduce' });
    const moving = await report.page.evaluate<number>(
      `[...document.querySelectorAll('*')].filter((node) => {
        const { transitionDuration, animationName } = getComputedStyle(node);
        return transitionDuration !== '0s' || animationName !== 'none';
      }).length`,
    );
    expect(moving).toBe(0);
    await openClip(report, 'water tank');
    expect(await report.page.getByRole('button', { name: 'Play' }).isVisible()).toBe(true);
    await report.close();
  });

  test.each([
    ['a dark system', 0],
    ['the button', 1],
  ])(
    'prints dark on light though %s says dark: every clip, on a page of its own',
    async (_, presses) => {
      const colorScheme = presses === 0 ? 'dark' : 'light';
      const report = await openReport(browser, html, { colorScheme });
      const { page } = report;
      for (let k = 0; k < presses; k++) await page.getByText('Light or dark').click();
      const ground = () => page.evaluate<string>('getComputedStyle(document.body).backgroundColor');
      const onScreen = await ground();
      expect(onScreen).not.toBe('rgb(255, 255, 255)');
      await page.evaluate("dispatchEvent(new Event('beforeprint'))");
      await page.emulateMedia({ media: 'print' });
      expect(await ground()).toBe('rgb(255, 255, 255)');
      expect(await page.locator('.sheet h2').allTextContents()).toEqual(
        CLIPS.map(([name]) => name),
      );
      expect(await page.locator('canvas:visible').count()).toBe(12 + 4 * 9);
      expect(await page.locator('.preview').count()).toBe(0);
      const contrasts = await page.evaluate<Contrast[]>('looking.contrasts()');
      expect(contrasts.length).toBeGreaterThan(100);
      expect(contrasts.filter(({ ratio }) => ratio < 4.5)).toEqual([]);
      // The plots are drawn in the colours of paper.
      const plot =
        "looking.inks(document.querySelectorAll('.sheet .plot canvas')[2], ['before', 'after'])";
      for (const count of await page.evaluate<number[]>(plot)) expect(count).toBeGreaterThan(100);
      if (PICTURES)
        await page.screenshot({ path: `${PICTURES}/print-${presses}.png`, fullPage: true });
      await page.evaluate("dispatchEvent(new Event('afterprint'))");
      await page.emulateMedia({ media: 'screen', colorScheme });
      expect(await ground()).toBe(onScreen);
      expect(await page.locator('.sheet').count()).toBe(0);
      if (presses === 0) {
        await page.emulateMedia({ media: null });
        const pdf = (await page.pdf({ format: 'A4' })).toString('latin1');
        expect(pdf.match(/\/Type\s*\/Page\b/g)).toHaveLength(1 + CLIPS.length);
      }
      await report.close();
    },
  );
});

/** Rows whose text is wider or higher than the place it has. */
function cutOff({ page }: OpenPage): Promise<unknown> {
  return page.evaluate(
    `[...document.querySelectorAll('.row, .row > *')].filter((node) =>
      node.scrollWidth > node.clientWidth + 1 && getComputedStyle(node).display !== 'inline')
      .map((node) => node.outerHTML.slice(0, 80))`,
  );
}
