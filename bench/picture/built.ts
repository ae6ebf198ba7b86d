import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { buildAsShipped } from '../asShipped.js';

interface Modules {
  readonly picture: typeof import('../../src/picture.js');
  readonly 'picture/mesh': typeof import('../../src/picture/mesh.js');
  readonly 'picture/rays': typeof import('../../src/picture/rays.js');
  readonly 'picture/pixelFormat': typeof import('../../src/picture/pixelFormat.js');
  readonly 'picture/cellRecords': typeof import('../../src/picture/cellRecords.js');
  readonly 'picture/sourcePlane': typeof import('../../src/picture/sourcePlane.js');
  readonly 'picture/stereoFrame': typeof import('../../src/picture/stereoFrame.js');
  readonly 'picture/tapTables': typeof import('../../src/picture/tapTables.js');
  readonly 'picture/filters': typeof import('../../src/picture/filters.js');
}

const NAMES: readonly (keyof Modules)[] = [
  ...(['picture', 'picture/mesh', 'picture/rays', 'picture/pixelFormat'] as const),
  ...(['picture/cellRecords', 'picture/sourcePlane', 'picture/stereoFrame'] as const),
  ...(['picture/tapTables', 'picture/filters'] as const),
];

async function buildAll(): Promise<Modules> {
  const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
  try {
    const sources = NAMES.map((name) => [name, `src/${name}.ts`] as const);
    await buildAsShipped(Object.fromEntries(sources), folder);
    const load = async (name: string) =>
      [name, await import(pathToFileURL(join(folder, `${name}.mjs`)).href)] as const;
    return Object.fromEntries(await Promise.all(NAMES.map(load))) as unknown as Modules;
  } finally {
    rmSync(folder, { recursive: true });
  }
}

let all: Promise<Modules> | undefined;

/**
 * A module as it is published. The runner of these benches names every inner function anew each time it
 * is made, which the mesh would pay for.
 */
export async function built<Name extends keyof Modules>(name: Name): Promise<Modules[Name]> {
  all ??= buildAll();
  return (await all)[name];
}
