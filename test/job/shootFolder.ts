import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll } from 'vitest';
import { CLI } from '../command.js';
import { temporaryFolder } from '../temporaryFolder.js';
import { manifestOf, walkCsv } from './walk.js';

export { CLI, manifestOf, walkCsv };

/** A new folder that several tests share: removed when those around it are over. */
export function sharedFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** A folder with `shoot.json` and its clips `take-0.csv`, `take-1.csv` and so on, 6 s each. */
export function shootFolder(
  count: number,
  {
    defaults = { rate: '25' },
    folder = temporaryFolder(),
  }: { defaults?: object; folder?: string } = {},
): string {
  const clips = Array.from({ length: count }, (_, k) => ({ file: `take-${k}.csv` }));
  clips.forEach(({ file }, k) => {
    writeFileSync(join(folder, file), walkCsv(6, k));
  });
  writeFileSync(join(folder, 'shoot.json'), manifestOf(clips, defaults));
  return folder;
}

/** Runs the command in a folder; one that takes a minute hangs. */
export function twinkeel(folder: string, ...args: readonly string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, [CLI, ...args], {
    cwd: folder,
    encoding: 'utf8',
    timeout: 60_000,
  });
  return { status, stdout, stderr };
}

/** Name and fingerprint of every file of a folder. */
export function prints(folder: string): Record<string, string> {
  const names = readdirSync(folder).sort();
  return Object.fromEntries(
    names.map((name) => [
      name,
      createHash('sha256')
        .update(readFileSync(join(folder, name)))
        .digest('hex'),
    ]),
  );
}

export const jsonOf = (...path: readonly string[]) =>
  JSON.parse(readFileSync(join(...path), 'utf8'));
