import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';

const SRC = new URL('../src/', import.meta.url);

test('the bytes of the kernels are what their sources compile to', { timeout: 120_000 }, () => {
  const build = new URL('buildKernels.mjs', SRC).pathname;
  const { stdout, stderr } = spawnSync('node', [build, '--print'], { encoding: 'utf8' });
  expect(stderr).toBe('');
  const modules = JSON.parse(stdout) as Record<string, string>;
  expect(Object.keys(modules)).toHaveLength(2);
  for (const [path, text] of Object.entries(modules)) {
    expect(readFileSync(new URL(path, SRC), 'utf8')).toBe(text);
  }
});
