import { realpathSync } from 'node:fs';
import { basename, dirname, join, resolve } from 'node:path';

/** Where a path really lies; a file that is not there yet lies where its folder does. */
export function realOf(path: string): string {
  try {
    return realpathSync(path);
  } catch {
    const whole = resolve(path);
    const parent = dirname(whole);
    return parent === whole ? whole : join(realOf(parent), basename(whole));
  }
}
