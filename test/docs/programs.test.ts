/** Runs the example programs as a reader would, on what is built. */
import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { chromiumMissing, launchChromium } from '../chromium.js';
import { temporaryFolder } from '../temporaryFolder.js';

const ROOT = new URL('../../', import.meta.url).pathname;
const PROGRAMS = join(ROOT, 'docs/examples');

const run = (name: string, ...args: string[]) =>
  spawnSync(process.execPath, [join(PROGRAMS, name), ...args], { encoding: 'utf8', cwd: ROOT });

test('every program is run here', () => {
  const programs = readdirSync(PROGRAMS).filter((name) => /\.(mjs|html)$/.test(name));
  expect(programs.sort()).toEqual([
    'against-reference.mjs',
    'browser.html',
    'gyro-batch.mjs',
    'imported.mjs',
  ]);
});

test('twinkeel inside another tool', () => {
  const { status, stdout, stderr } = run('imported.mjs');
  expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
  const [, before, after] = /nodding (\S+)° before, (\S+)° after/.exec(stdout)!;
  // The nod's amplitude is twice that of the half angle: 0.024 rad, less what the window leaks.
  expect(Number(before) / ((0.024 * 180) / Math.PI)).toBeGreaterThan(0.9);
  expect(Number(after)).toBeLessThan(Number(before) / 10);
});

test('a benchmark against reference rotations finds the error that was put in', () => {
  const { status, stdout } = run('against-reference.mjs');
  expect(status).toBe(0);
  expect(stdout).toMatch(/root mean square error 0\.40\d°/);
});

test('a folder of gyro logs, of which one is bad', () => {
  const [from, to] = [temporaryFolder(), temporaryFolder()];
  const rows = Array.from({ length: 2000 }, (_, k) => {
    const rate = 0.2 * Math.cos((2 * Math.PI * 1.9 * k) / 200);
    return `${k / 200},${rate},0,0,0,9.81,0`;
  });
  writeFileSync(join(from, 'aisle.csv'), `time_s,gx,gy,gz,ax,ay,az\n${rows.join('\n')}\n`);
  writeFileSync(join(from, 'broken.csv'), 'time_s,gx,gy,gz\n0,0,zero,0\n');
  const { status, stdout } = run('gyro-batch.mjs', from, to, '60000/1001');
  expect(status).toBe(1);
  expect(stdout).toContain('aisle.csv: ');
  expect(stdout).toContain('broken.csv: failed');
  expect(readdirSync(to).sort()).toEqual(['aisle.corrections.csv', 'aisle.result.json']);
  expect(readFileSync(join(to, 'aisle.corrections.csv'), 'utf8').split('\n')[0]).toBe(
    'frame,time_s,x,y,z,w',
  );
});

describe.skipIf(chromiumMissing)(`in a browser${chromiumMissing ?? ''}`, () => {
  const server = createServer((request, response) => {
    const path = join(ROOT, decodeURIComponent(new URL(request.url!, 'http://local').pathname));
    const type = path.endsWith('.html') ? 'text/html' : 'text/javascript';
    try {
      const body = readFileSync(path);
      response.writeHead(200, { 'content-type': type }).end(body);
    } catch {
      response.writeHead(404).end();
    }
  });
  afterAll(() => server.close());

  test('a page without a bundler steadies a track', { timeout: 60_000 }, async () => {
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    const { port } = server.address() as { port: number };
    const browser = await launchChromium();
    try {
      const page = await browser.newPage();
      const errors: string[] = [];
      page.on('pageerror', (error) => errors.push(error.message));
      await page.goto(`http://127.0.0.1:${port}/docs/examples/browser.html`);
      const answer = page.locator('#answer');
      await answer.filter({ hasText: 'frame,time_s,x,y,z,w' }).waitFor();
      expect(await answer.textContent()).toMatch(/nodding 1\.\d\d° before, 0\.0\d° after/);
      expect(errors).toEqual([]);
    } finally {
      await browser.close();
    }
  });
});
