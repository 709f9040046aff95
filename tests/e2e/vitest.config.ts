import { mergeConfig } from 'vitest/config';
import base from '../vitest.config.ts';

const config = mergeConfig(base, { test: { maxWorkers: 2, testTimeout: 240_000, hookTimeout: 600_000 } });
config.test = { ...config.test, include: ['tests/e2e/**/*.test.ts'], exclude: [], globalSetup: ['tests/e2e/demos.ts'] };
export default config;
