import { expect, test, vi } from 'vitest';
import type { createCellScanner } from '../../src/read/createCellScanner.js';
import { wasmScanner } from '../../src/read/wasm/wasmScanner.js';

// Short texts are read before WebAssembly has started; here it reads all that the other file has.
const started = vi.hoisted(() => ({ count: 0 }));
vi.mock('../../src/read/createCellScanner.js', () => ({
  createCellScanner: (...[layout, groups, , mostBytes]: Parameters<typeof createCellScanner>) => {
    started.count++;
    return wasmScanner(layout, groups, mostBytes);
  },
}));

await import('./scanTable.test.js');

test('all of this was read in WebAssembly', () => {
  expect(started.count).toBeGreaterThan(100);
});
