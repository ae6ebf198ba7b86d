import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { launchChromium } from '../chromium.js';
import { type OpenPage, openReport, PATIENCE, pageMissing, pageOf } from './browser.js';
import { CLIPS, SHOOT } from './shoot.js';

/** Nothing here touches a pointer: every test goes on from where the one before left the focus. */
describe.skipIf(pageMissing)(`the page with the keyboard alone${pageMissing ?? ''}`, () => {
  let browser: Browser;
  let report: OpenPage;
  beforeAll(async () => {
    browser = await launchChromium();
    report = await openReport(browser, pageOf(SHOOT));
  }, 60_000);
  afterAll(() => browser?.close());

  const press = async (...keys: readonly string[]) => {
    for (const key of keys) await report.page.keyboard.press(key);
  };
  const focused = () =>
    report.page.evaluate<string>('document.activeElement.textContent.slice(0, 40)');
  const address = () => report.page.evaluate<string>('decodeURIComponent(location.hash.slice(1))');
  const frame = async () => Number(await report.canvas.getAttribute('data-frame'));
  /** Tab until the focus is at such a place. */
  const tabTo = async (place: string) => {
    for (let k = 0; k < 60; k++) {
      await press('Tab');
      if ((await report.page.evaluate('looking.where()')) === place) return;
    }
    throw new Error(`Tab never came to ${place}`);
  };
  const names = CLIPS.map(([name]) => name);

  test('Tab comes by every row, and J, K and the arrows go from row to row', async () => {
    for (const name of names) {
      await press('Tab');
      expect(await focused()).toBe(name);
    }
    await press('k');
    expect(await focused()).toBe(names[3]);
    await press('ArrowLeft', 'j');
    expect(await focused()).toBe(names[3]);
    await press('ArrowRight');
    expect(await focused()).toBe(names[4]);
  });

  test('Enter opens a clip: focus and address go there, and Back comes back to its row', async () => {
    await press('Enter');
    await report.page.getByRole('heading', { level: 2, name: names[4]! }).waitFor();
    expect([await focused(), await address()]).toEqual([names[4], names[4]]);
    await report.page.goBack();
    await report.page.locator('.clips').waitFor();
    expect([await focused(), await address()]).toEqual([names[4], '']);
  });

  test('the arrows, J and K go through the clips that were read; Escape comes back', async () => {
    await press('Enter');
    await report.page.getByRole('heading', { level: 2, name: names[4]! }).waitFor();
    await press('k');
    expect(await address()).toBe(names[3]);
    await press('ArrowLeft', 'ArrowLeft');
    expect(await address()).toBe(names[1]);
    await press('j');
    expect(await address()).toBe(names[2]);
    await report.page.getByRole('heading', { level: 2, name: names[2]!, exact: true }).waitFor();
    await press('Escape');
    await report.page.locator('.clips').waitFor();
    expect(await focused()).toBe(names[2]);
  });

  test('plays and stops by space, goes frame by frame, shows 1 2 3, wherever the focus is', async () => {
    await press('Enter');
    await report.page.locator('.preview canvas[data-frame="0"]').waitFor();
    await press(' ');
    await expect.poll(frame, PATIENCE).toBeGreaterThan(2);
    await press('p');
    await report.page.getByRole('button', { name: 'Play' }).waitFor();
    const stopped = await frame();
    await press('.');
    expect(await frame()).toBe(stopped + 1);
    await tabTo('scrubber');
    await press(',', ',');
    expect(await frame()).toBe(stopped - 1);
    for (const [key, mode] of [
      ['1', 'before'],
      ['2', 'after'],
      ['3', 'split'],
    ] as const) {
      await press(key);
      expect(await report.canvas.getAttribute('data-mode')).toBe(mode);
      const pressed = report.page.getByRole('button', { name: mode, exact: true });
      expect(await pressed.getAttribute('aria-pressed')).toBe('true');
    }
    await press('l');
    expect(await report.page.locator('.level-line').isVisible()).toBe(true);
    await press('l');
    expect(await report.page.locator('.level-line').isVisible()).toBe(false);
  });

  test('the strip is a slider that says its moment in words', async () => {
    const slider = report.page.locator('.scrubber');
    await press('Home');
    expect(await frame()).toBe(0);
    await press('ArrowRight', 'ArrowRight', 'Shift+ArrowRight');
    // A second is 60 frames of 60000/1001, to the nearest.
    expect(await frame()).toBe(62);
    await press('ArrowLeft');
    expect(await slider.getAttribute('aria-valuetext')).toBe(
      '1.02 seconds, frame 61, with care: vertical disparity, were the rig a common one 13.5\u00a0arcmin, 0:00.0–0:07.0',
    );
    await press('End');
    expect(await frame()).toBe(419);
    // In the slider the arrows are its own.
    expect(await address()).toBe('water tank');
  });

  test('a plot is zoomed by + and −, all of it shown by 0; the arrows move the one cursor', async () => {
    await tabTo('plot');
    const step = async () => {
      const before = await frame();
      await press('ArrowLeft');
      return before - (await frame());
    };
    // A hundredth of 7 s is 4.19 frames.
    expect(await step()).toBe(4);
    await press('+');
    expect(await step()).toBe(2);
    await press('-');
    expect(await step()).toBe(4);
    await press('+', '+', '0');
    expect(await step()).toBe(4);
    expect(await address()).toBe('water tank');
  });

  test('W goes to the worst moment', async () => {
    await press('Escape');
    await report.page.locator('.clips').waitFor();
    await press('j', 'j', 'Enter');
    await report.page.locator('.preview canvas[data-frame="0"]').waitFor();
    expect(await address()).toBe('aisle.free');
    await press('w');
    const { stretches } = CLIPS[4]![1];
    const worst = stretches.reduce((a, b) =>
      (b.because
        ? b.because.value / b.because.threshold + Number(b.verdict === 'not usable') * 1e6
        : 0) >
      (a.because
        ? a.because.value / a.because.threshold + Number(a.verdict === 'not usable') * 1e6
        : 0)
        ? b
        : a,
    );
    expect(await frame()).toBe(worst.fromFrame);
  });

  test('Tab comes by plots, controls, the choice of a movie and the button of the theme', async () => {
    await report.page.evaluate('document.activeElement.blur(); scrollTo(0, 0)');
    const passed: string[] = [];
    for (let k = 0; k < 45; k++) {
      await press('Tab');
      passed.push(await report.page.evaluate<string>('looking.where()'));
    }
    for (const place of ['a', 'scrubber', 'controls', 'plot', 'input', 'select', 'button']) {
      expect(passed).toContain(place);
    }
    expect(passed.filter((place) => place === 'plot').length).toBeGreaterThanOrEqual(9);
  });

  test('with Ctrl the keys stay the browser’s own, and in a field they are the field’s', async () => {
    const prevented = await report.page.evaluate<boolean[]>(
      `[['.plot', '+', true], ['.plot', '0', true], ['.scrubber', 'ArrowLeft', true], ['body', 'k', true],
        ['#layout', 'k', false], ['#movie', ' ', false], ['.plot', 'ArrowLeft', false], ['.scrubber', 'Home', false]]
        .map(([place, key, ctrlKey]) => !document.querySelector(place).dispatchEvent(
          new KeyboardEvent('keydown', { key, ctrlKey, cancelable: true, bubbles: true })))`,
    );
    expect(prevented).toEqual([false, false, false, false, false, false, true, true]);
    expect(report.trouble).toEqual([]);
  });
});
