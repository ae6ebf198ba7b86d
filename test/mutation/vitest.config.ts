import { defineConfig } from 'vitest/config';

/** The test files that run.mjs lists: no build before them, nothing but Node needed. */
export default defineConfig({
  test: {
    include: (process.env.MUTATION_TESTS ?? '').split(','),
    testTimeout: 60_000,
  },
});
