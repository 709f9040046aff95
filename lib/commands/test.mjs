/**
 * `npm test`: installs what is missing, then types, form, lint, unit and reference tests, then the browser tests.
 * `npm test -- --quick` leaves the browser tests out. Ends with one line: N passed, N failed, N skipped.
 */
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { buildWhenStale, prepare, projectRoot } from './setup.mjs';

const quick = process.argv.includes('--quick');
const scratch = fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-test-'));
const totals = { passed: 0, failed: 0, skipped: 0 };

function run(command, args, env = {}) {
  return spawnSync(command, args, { cwd: projectRoot, stdio: 'inherit', env: { ...process.env, ...env } }).status ?? 1;
}

function check(what, command, args) {
  const status = run(command, args);
  if (status === 0) totals.passed += 1;
  else {
    totals.failed += 1;
    console.error(`${what}: not clean`);
  }
}

function vitest(name, config) {
  const report = path.join(scratch, `${name}.json`);
  const status = run('npx', [
    'vitest',
    'run',
    '--config',
    config,
    '--reporter=default',
    '--reporter=json',
    `--outputFile.json=${report}`,
  ]);
  if (!fs.existsSync(report)) {
    totals.failed += 1;
    return;
  }
  const result = JSON.parse(fs.readFileSync(report, 'utf8'));
  totals.passed += result.numPassedTests;
  totals.failed += result.numFailedTests;
  totals.skipped += result.numPendingTests + (result.numTodoTests ?? 0);
  // A file that fails to load has no failed test, but the run has failed all the same.
  if (status !== 0 && result.numFailedTests === 0) totals.failed += 1;
}

function ensureChromium() {
  if (fs.existsSync('/usr/bin/chromium')) return true;
  const debian = fs.existsSync('/usr/bin/apt-get');
  if (debian && process.getuid?.() === 0) {
    console.log("Installing Debian's chromium for the browser tests …");
    run('apt-get', ['update', '-q']);
    run('apt-get', ['install', '-y', '-q', '--no-install-recommends', 'chromium'], {
      DEBIAN_FRONTEND: 'noninteractive',
    });
  }
  if (fs.existsSync('/usr/bin/chromium')) return true;
  console.error(
    "Browser tests: expected Debian's chromium at /usr/bin/chromium (as root: apt-get install chromium), got none.",
  );
  return false;
}

prepare();
check('tsc', 'npx', ['tsc', '--noEmit', '-p', 'tests']);
check('oxfmt', 'npm', ['run', '-s', 'format', '--', '--check']);
check('oxlint', 'npx', ['oxlint', '-c', 'tests/oxlint.json', '--deny-warnings', 'app', 'lib', 'tests']);
vitest('unit', 'tests/vitest.config.ts');
if (!quick) {
  if (ensureChromium()) {
    buildWhenStale();
    vitest('browser', 'tests/e2e/vitest.config.ts');
  } else {
    totals.failed += 1;
  }
}
fs.rmSync(scratch, { recursive: true, force: true });
console.log(`${totals.passed} passed, ${totals.failed} failed, ${totals.skipped} skipped`);
process.exit(totals.failed === 0 ? 0 : 1);
