import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

const root = fileURLToPath(new URL('..', import.meta.url));

export default defineConfig({
  root,
  resolve: {
    alias: [
      { find: /^@\//, replacement: root },
      { find: 'server-only', replacement: `${root}tests/support/server-only.ts` },
    ],
  },
  test: {
    include: ['tests/**/*.test.ts'],
    exclude: ['tests/e2e/**'],
    environment: 'node',
    testTimeout: 60_000,
    // Left to itself it would keep one of two processors idle.
    maxWorkers: Math.max(2, availableParallelism() - 1),
    hookTimeout: 60_000,
  },
});
