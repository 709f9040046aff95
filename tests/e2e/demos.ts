import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';

/**
 * One folder a run for demo diaries: each kind is drawn and read once, when the first file asks for it, and copied for
 * the others.
 */
export default function setup(): () => void {
  const folder = mkdtempSync(path.join(tmpdir(), 'swathbook-demos-'));
  process.env['SWATHBOOK_TEST_DEMOS'] = folder;
  return () => rmSync(folder, { recursive: true, force: true });
}
