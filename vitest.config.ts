import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['test/**/*.test.ts'],
    globalSetup: ['test/freshBuild.ts'],
    testTimeout: 60_000,
    // Many tests wait for a command or a browser: two at a time keep two cores busy.
    maxWorkers: 2,
    reporters: ['default'],
  },
});
