import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';

const FOLDER = new URL('../../src/picture/wasm/', import.meta.url);

test('the bytes of the kernel are what its source compiles to', { timeout: 120_000 }, () => {
  const build = new URL('assembly/build.mjs', FOLDER).pathname;
  const { stdout, stderr } = spawnSync('node', [build, '--print'], { encoding: 'utf8' });
  expect(stderr).toBe('');
  expect(readFileSync(new URL('kernelBytes.ts', FOLDER), 'utf8')).toBe(stdout);
});
