import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';

/** A new folder that is removed when the test is over. */
export function temporaryFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
  onTestFinished(() =>
    rmSync(folder, { recursive: true, force: true, maxRetries: 20, retryDelay: 100 }),
  );
  return folder;
}
