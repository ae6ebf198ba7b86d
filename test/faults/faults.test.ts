/**
 * A sample of the sweep over faults, `npm run faults`: errors, short reads and writes, disks that
 * stay broken, and kills, at calls that the command makes on files.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { SCENARIOS } from './scenarios.js';
import { buildShim, disturb, kill } from './sweep.js';

const folder = mkdtempSync(join(tmpdir(), 'greenhouse-shim-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const shim = buildShim(folder);

/** Scenarios with workers take longer for each fault. */
const SAMPLES: Readonly<Record<string, { step: number; from: number }>> = {
  manifest: { step: 97, from: 3 },
  'manifest that was finished': { step: 97, from: 5 },
};
const SAMPLE = { step: 23, from: 2 };

describe.skipIf(!shim)(
  'after a fault every file is whole, and the next run completes (needs cc)',
  () => {
    test.each(SCENARIOS.map((scenario) => [scenario.name, scenario] as const))(
      '%s',
      async (name, scenario) => {
        const { calls, tried, open } = await disturb(shim!, scenario, SAMPLES[name] ?? SAMPLE);
        expect(open).toEqual([]);
        // The shim stands where the calls are.
        expect(calls).toBeGreaterThan(20);
        expect(tried).toBeGreaterThan(2);
      },
      120_000,
    );

    test('killed between two renames and elsewhere', () => {
      const { tried, open } = kill(shim!, SCENARIOS[1]!, 19, 7);
      expect(open).toEqual([]);
      expect(tried).toBeGreaterThan(2);
    }, 120_000);
  },
);
