/** The page of the report in a browser, from a file, as a person opens it. */
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { Browser, BrowserContextOptions, Locator, Page } from 'playwright-core';
import { expect } from 'vitest';
import { CAUTIONS } from '../../src/comfort/cautions.js';
import type { CorrectionResult } from '../../src/correct.js';
import { type PageParts, reportHtml } from '../../src/report/html.js';
import { clipDataOf, type FailedClip } from '../../src/report/pageData.js';
import { chromiumMissing } from '../chromium.js';

export type NamedResult = readonly [name: string, result: CorrectionResult];

const part = (name: string) => new URL(`../../dist/report/${name}`, import.meta.url);

/** Why checks of the page are skipped here, or undefined where they run. */
export const pageMissing: string | undefined =
  chromiumMissing ??
  (existsSync(part('page.js')) ? undefined : ': skipped, the page is not built (npm run build)');

/** Script and style as the build made them. */
export function pageParts(): PageParts {
  return {
    script: readFileSync(part('page.js'), 'utf8'),
    style: readFileSync(part('page.css'), 'utf8'),
  };
}

/** The page of some results, and of clips that were not read. */
export function pageOf(results: readonly (NamedResult | FailedClip)[]): string {
  const clips = results.map((each) =>
    'failed' in each ? each : clipDataOf(...(each as readonly [string, CorrectionResult])),
  );
  return reportHtml({ clips, cautions: CAUTIONS }, pageParts());
}

/** A page that is open, and everything that went wrong on it: errors, and requests it made. */
export interface OpenPage {
  readonly page: Page;
  readonly trouble: readonly string[];
  readonly canvas: Locator;
  readonly close: () => Promise<void>;
}

export async function openReport(
  browser: Browser,
  html: string,
  options: BrowserContextOptions & { readonly before?: readonly string[] } = {},
): Promise<OpenPage> {
  const { before = [], ...contextOptions } = options;
  const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
  const path = join(folder, 'report.html');
  writeFileSync(path, html);
  const context = await browser.newContext({
    viewport: { width: 1280, height: 900 },
    ...contextOptions,
  });
  context.setDefaultTimeout(PATIENCE.timeout);
  const page = await context.newPage();
  const trouble: string[] = [];
  const own = pathToFileURL(path).href;
  page.on('console', (message) => {
    const text = message.text();
    // What WebGL refuses is a warning to the browser, and a black picture to the person.
    if (message.type() === 'error' || /GL_INVALID/.test(text)) trouble.push(text);
  });
  page.on('pageerror', (error) => trouble.push(error.message));
  page.on('request', (request) => {
    const url = request.url();
    if (url !== own && !/^(?:data|blob):/.test(url)) trouble.push(`asked for ${url}`);
  });
  for (const script of [LOOKING, ...before]) await page.addInitScript({ content: script });
  await page.goto(own);
  const canvas = page.locator('.preview canvas');
  // A page of one clip shows it at once, any other the day.
  await page.locator('.preview canvas[data-frame], .clips').first().waitFor();
  const close = async () => {
    await context.close();
    rmSync(folder, { recursive: true, force: true });
  };
  return { page, trouble, canvas, close };
}

const LOOKING = readFileSync(new URL('inPage.js', import.meta.url), 'utf8');

/** Brightness of a picture, 0 to 255, row by row from the top. */
export interface Grey {
  readonly width: number;
  readonly height: number;
  readonly values: Uint8Array;
}

/** A picture as `looking` in the page hands it over. */
export interface Handed {
  readonly width: number;
  readonly height: number;
  readonly base64: string;
}

export function greyOf({ width, height, base64 }: Handed): Grey {
  return { width, height, values: Buffer.from(base64, 'base64') };
}

/** What a person sees of an element now; a drawing buffer is empty once it was shown. */
export async function seen(target: Locator): Promise<Grey> {
  const png = (await target.screenshot()).toString('base64');
  return greyOf(await target.page().evaluate<Handed>(`looking.atPng(${JSON.stringify(png)})`));
}

/** Waits until an expression of the page is true; its content policy forbids to wait inside it. */
export async function until({ page }: OpenPage, expression: string): Promise<void> {
  await expect.poll(() => page.evaluate(expression), PATIENCE).toBe(true);
}

/** How long slow machines may take until something that must come is there. */
export const PATIENCE = { timeout: 15_000 };

/** Opens a clip from the list of all, as a person does, and waits until its preview stands. */
export async function openClip({ page }: OpenPage, name: string): Promise<void> {
  const all = page.getByRole('link', { name: 'All clips' });
  if (await all.isVisible()) await all.click();
  await page.locator('.row').getByRole('link', { name, exact: true }).click();
  await page.getByRole('heading', { level: 2, name, exact: true }).waitFor();
  await page.locator('.preview canvas[data-frame]').waitFor();
}

/** Puts the preview on a frame of the clip and waits until it is there. */
export async function goToFrame({ page }: OpenPage, frame: number): Promise<void> {
  await page.evaluate(`looking.drag(${frame})`);
  await page.locator(`.preview canvas[data-frame="${frame}"]`).waitFor();
}

/** What the preview shows: before, after or both. */
export async function choose({ page }: OpenPage, mode: 'before' | 'after' | 'split') {
  await page.getByRole('button', { name: mode, exact: true }).click();
  await page.locator(`.preview canvas[data-mode="${mode}"]`).waitFor();
}
