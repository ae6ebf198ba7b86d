/** The browser that some checks need, and what to say where it is missing. */
import { existsSync } from 'node:fs';
import { type Browser, chromium } from 'playwright-core';

const PATH = '/usr/bin/chromium';

/** Why browser checks are skipped, or undefined where they run. */
export const chromiumMissing = existsSync(PATH)
  ? undefined
  : ': skipped, no /usr/bin/chromium here (Debian: apt-get install chromium)';

/** Debian's Chromium, headless, drawing WebGL on the processor and calling nobody. */
export function launchChromium(): Promise<Browser> {
  return chromium.launch({
    executablePath: PATH,
    args: [
      '--no-sandbox',
      '--use-gl=angle',
      '--use-angle=swiftshader',
      '--enable-unsafe-swiftshader',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      '--no-first-run',
    ],
  });
}
