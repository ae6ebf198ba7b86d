import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { CAUTIONS } from '../../src/comfort/cautions.js';
import { launchChromium } from '../chromium.js';
import { type OpenPage, openReport, PATIENCE, pageMissing, pageOf, until } from './browser.js';
import { greenhouseClip, hangingBy, resultOf } from './clips.js';

/** A folder for pictures of the page, to be looked at by a person. */
const PICTURES = process.env.TWINKEEL_PICTURES;

const MARKUP = '</script><b>fern & moss</b>';

const CLIPS = [
  ['greenhouse', greenhouseClip()],
  [MARKUP, resultOf({})],
  ['water tank', resultOf({ frames: 420, angles: hangingBy(0.4) })],
] as const;

describe.skipIf(pageMissing)(`the page of the report${pageMissing ?? ''}`, () => {
  let browser: Browser;
  let report: OpenPage;
  beforeAll(async () => {
    browser = await launchChromium();
    report = await openReport(browser, pageOf(CLIPS));
  }, 60_000);
  afterAll(() => browser?.close());

  const show = async (name: string) => {
    await report.page.locator('td').getByRole('button', { name, exact: true }).click();
    await report.page.getByRole('heading', { level: 2, name, exact: true }).waitFor();
  };

  test('opens from disk, asks nobody for anything and complains of nothing', async () => {
    for (const [name] of CLIPS) await show(name);
    expect(report.trouble).toEqual([]);
    // The check of requests sees what is made: one that the content policy refuses is an error, too.
    await report.page.evaluate("fetch('http://127.0.0.1:9/').catch(() => {})");
    await expect.poll(() => report.trouble.length, PATIENCE).toBeGreaterThan(0);
    (report.trouble as string[]).length = 0;
  });

  test('says the cautions in plain sight and calls nothing safe', async () => {
    for (const text of CAUTIONS) {
      expect(await report.page.getByText(text).isVisible()).toBe(true);
    }
    for (const [name] of CLIPS) {
      await show(name);
      expect(await report.page.locator('main').textContent()).not.toMatch(/\bsafe/i);
    }
  });

  test('shows a name that looks like markup as it is', async () => {
    await show(MARKUP);
    expect(await report.page.locator('main b').count()).toBe(0);
  });

  test('draws every plot, with a name and a sentence', async () => {
    await show('greenhouse');
    const plots = report.page.locator('.plot');
    // Three angles, the correction, the spectrum, edges, disparity.
    expect(await plots.count()).toBe(7);
    for (const plot of await plots.all()) {
      const title = await plot.locator('xpath=../figcaption').textContent();
      const text = await plot.locator('xpath=../p').textContent();
      expect(text!.length).toBeGreaterThan(20);
      expect(await plot.getAttribute('aria-label')).toBe(`${title}. ${text}`);
    }
    const inks = await report.page.evaluate<number[][]>(
      "[...document.querySelectorAll('.plot canvas')].map((canvas) => looking.inks(canvas, ['before', 'after', 'third']))",
    );
    // A line across a plot is some hundred pixels long.
    const drawn = inks.map((counts) => counts.map((count) => count > 150));
    expect(drawn.map(([before, after]) => [before, after])).toEqual([
      [true, true],
      [true, true],
      [true, true],
      [false, true],
      [true, true],
      [true, true],
      [false, true],
    ]);
    // Limit, pace of steps and the levels of disparity: a dashed line and its words. A correction that
    // rides on its limit covers the dashes there.
    expect(inks.map((counts) => counts[2]! > 100)).toEqual([
      ...[false, false, false],
      ...[true, true, false, true],
    ]);
  });

  test('sorts by each header, both ways, and says so', async () => {
    const headers = report.page.locator('section[aria-label="all clips"] th');
    expect(await headers.count()).toBe(8);
    for (let column = 0; column < 8; column++) {
      const orders: string[][] = [];
      for (const direction of ['ascending', 'descending']) {
        await headers.nth(column).getByRole('button').click();
        const states = await Promise.all(
          (await headers.all()).map((cell) => cell.getAttribute('aria-sort')),
        );
        expect(states).toEqual(states.map((_, k) => (k === column ? direction : 'none')));
        orders.push(
          await report.page
            .locator(`section[aria-label="all clips"] td:nth-child(${column + 1})`)
            .allInnerTexts(),
        );
      }
      const [up, down] = orders.map((order) => order.map(rank));
      for (let k = 1; k < up!.length; k++) {
        expect(compare(up![k - 1]!, up![k]!)).toBeLessThanOrEqual(0);
        expect(compare(down![k - 1]!, down![k]!)).toBeGreaterThanOrEqual(0);
      }
    }
  });

  test('marks the clip that is shown', async () => {
    await show('water tank');
    const current = report.page.locator('tr[aria-current="true"]');
    expect(await current.locator('button').allInnerTexts()).toEqual(['water tank']);
  });

  describe('with the keyboard alone', () => {
    test('Tab comes by every header, name, plot and the preview', async () => {
      await show('greenhouse');
      await report.page.evaluate('document.activeElement.blur(); scrollTo(0, 0)');
      const passed: string[] = [];
      for (let k = 0; k < 60; k++) {
        await report.page.keyboard.press('Tab');
        passed.push(await report.page.evaluate<string>('looking.where()'));
      }
      for (const place of ['th', 'td', 'plot', 'canvas', 'controls'])
        expect(passed).toContain(place);
      expect(passed.filter((place) => place === 'th').length).toBeGreaterThanOrEqual(8);
      expect(passed.filter((place) => place === 'plot').length).toBeGreaterThanOrEqual(7);
    });

    test('a plot is zoomed by + and −, all of it shown by 0, read off by the arrows', async () => {
      await show('greenhouse');
      const plot = report.page.locator('.plot').first();
      const time = async () => Number(await plot.locator('.u-value').first().textContent());
      const step = async () => {
        await report.page.keyboard.press('ArrowRight');
        const first = await time();
        await report.page.keyboard.press('ArrowRight');
        return (await time()) - first;
      };
      await plot.focus();
      const whole = await step();
      expect(whole).toBeGreaterThan(0);
      await report.page.keyboard.press('+');
      const near = await step();
      // Half the span shows: a step of the cursor is half as long, to a frame's length and rounding.
      expect(Math.abs(near - whole / 2)).toBeLessThan(0.06);
      await report.page.keyboard.press('-');
      expect(Math.abs((await step()) - whole)).toBeLessThan(0.06);
      await report.page.keyboard.press('+');
      await report.page.keyboard.press('+');
      await report.page.keyboard.press('0');
      expect(Math.abs((await step()) - whole)).toBeLessThan(0.06);
      const at = await time();
      await report.page.keyboard.press('ArrowLeft');
      expect(await time()).toBeLessThan(at);
    });

    test('with Ctrl the keys stay the browser’s own', async () => {
      const prevented = await report.page.evaluate<boolean[]>(
        `['.plot', '.preview canvas'].flatMap((place) =>
          [['+', true], ['0', true], ['ArrowLeft', true], ['ArrowLeft', false]].map(([key, ctrlKey]) =>
            !document.querySelector(place).dispatchEvent(
              new KeyboardEvent('keydown', { key, ctrlKey, cancelable: true }))))`,
      );
      expect(prevented).toEqual([false, false, false, true, false, false, false, true]);
    });

    test('the preview plays and stops by space, steps by the arrows, shows 1 2 3', async () => {
      await show('water tank');
      const { canvas, page } = report;
      const frame = async () => Number(await canvas.getAttribute('data-frame'));
      await canvas.focus();
      await page.keyboard.press(' ');
      await expect.poll(frame, PATIENCE).toBeGreaterThan(2);
      await page.keyboard.press(' ');
      await page.getByRole('button', { name: 'Play' }).waitFor();
      const stopped = await frame();
      await page.keyboard.press('ArrowRight');
      expect(await frame()).toBe(stopped + 1);
      await page.keyboard.press('ArrowLeft');
      await page.keyboard.press('ArrowLeft');
      expect(await frame()).toBe(stopped - 1);
      for (const [key, mode] of [
        ['1', 'before'],
        ['2', 'after'],
        ['3', 'split'],
      ] as const) {
        await page.keyboard.press(key);
        expect(await canvas.getAttribute('data-mode')).toBe(mode);
        const pressed = page.getByRole('button', { name: mode, exact: true });
        expect(await pressed.getAttribute('aria-pressed')).toBe('true');
      }
    });
  });

  test.each(['light', 'dark'] as const)(
    '%s: fits wide and narrow and is legible',
    async (colorScheme) => {
      const other = await openReport(browser, pageOf(CLIPS), { colorScheme });
      const { page } = other;
      for (const width of [1280, 390]) {
        await page.setViewportSize({ width, height: 900 });
        // The plots follow; the page itself must never be wider than the window.
        await until(
          other,
          "[...document.querySelectorAll('.plot')].every((plot) => plot.firstChild.offsetWidth <= plot.clientWidth)",
        );
        const [wide, room] = await page.evaluate<[number, number]>(
          '[document.documentElement.scrollWidth, document.documentElement.clientWidth]',
        );
        expect(wide).toBeLessThanOrEqual(room);
        const contrasts = await page.evaluate<Contrast[]>('looking.contrasts()');
        expect(contrasts.length).toBeGreaterThan(100);
        // WCAG 2.2, success criterion 1.4.3, level AA.
        expect(contrasts.filter(({ ratio }) => ratio < 4.5)).toEqual([]);
        if (PICTURES) {
          await page.screenshot({
            path: `${PICTURES}/${colorScheme}-${width}.png`,
            fullPage: true,
          });
        }
      }
      expect(other.trouble).toEqual([]);
      await other.close();
    },
  );

  test.each([
    ['a dark system', 0],
    ['the button', 1],
  ])('prints dark on light though %s says dark, without the preview', async (_, presses) => {
    const colorScheme = presses === 0 ? 'dark' : 'light';
    const other = await openReport(browser, pageOf(CLIPS), { colorScheme });
    const { page } = other;
    for (let k = 0; k < presses; k++) await page.getByText('Light or dark').click();
    const ground = () => page.evaluate<string>('getComputedStyle(document.body).backgroundColor');
    const onScreen = await ground();
    await page.emulateMedia({ media: 'print' });
    expect(await ground()).toBe('rgb(255, 255, 255)');
    expect(onScreen).not.toBe('rgb(255, 255, 255)');
    await page.evaluate("dispatchEvent(new Event('beforeprint'))");
    expect(await page.locator('.preview').isVisible()).toBe(false);
    expect(await page.locator('figure').first().isVisible()).toBe(true);
    const contrasts = await page.evaluate<Contrast[]>('looking.contrasts()');
    expect(contrasts.length).toBeGreaterThan(100);
    expect(contrasts.filter(({ ratio }) => ratio < 4.5)).toEqual([]);
    // The plots are drawn anew in the colours of paper.
    const plot = "looking.inks(document.querySelector('.plot canvas'), ['before', 'after', 'ink'])";
    for (const count of await page.evaluate<number[]>(plot)) expect(count).toBeGreaterThan(150);
    if (PICTURES)
      await page.screenshot({ path: `${PICTURES}/print-${presses}.png`, fullPage: true });
    await page.emulateMedia({ media: 'screen', colorScheme });
    await page.evaluate("dispatchEvent(new Event('afterprint'))");
    expect(await ground()).toBe(onScreen);
    await other.close();
  });
});

interface Contrast {
  readonly text: string;
  readonly ratio: number;
}

/** What a cell is sorted by: its number, the order of verdicts, or its letters; a dash comes last. */
function rank(text: string): number | string {
  const verdict = ['deliver', 'deliver with care', 'reshoot'].indexOf(text.replace(/^\S /, ''));
  if (verdict >= 0) return verdict;
  if (text === '–') return Number.MAX_VALUE;
  return Number.isNaN(Number(text)) ? text : Number(text);
}

function compare(a: number | string, b: number | string): number {
  return typeof a === 'number' && typeof b === 'number'
    ? a - b
    : String(a).localeCompare(String(b));
}
