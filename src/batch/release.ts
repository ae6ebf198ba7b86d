import { readFileSync } from 'node:fs';

/** The release that runs, as package.json states it. */
export function release(): string {
  const manifest = readFileSync(new URL('../../package.json', import.meta.url), 'utf8');
  return (JSON.parse(manifest) as { version: string }).version;
}
