import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { closeDiary } from '@/lib/diary/client';

/** Migrations run in a process of their own, since their engine keeps its hold on the file; each test file then copies the result. */
let template: string | undefined;

function migratedFolder(): string {
  if (template !== undefined) return template;
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-template-'));
  const env = { ...process.env, SWATHBOOK_DATA: folder, NODE_OPTIONS: '' };
  execFileSync(process.execPath, ['--conditions=react-server', '--import', 'tsx', 'lib/commands/migrate.ts'], { env, stdio: ['ignore', 'ignore', 'inherit'] });
  process.once('exit', () => fs.rmSync(folder, { recursive: true, force: true }));
  return (template = folder);
}

/** An empty diary in a folder of its own, open for this process. Call `end` when the test is over. */
export async function freshDiary(): Promise<{ dataFolder: string; end: () => Promise<void> }> {
  await closeDiary();
  const dataFolder = fs.mkdtempSync(path.join(os.tmpdir(), 'swathbook-diary-'));
  fs.cpSync(migratedFolder(), dataFolder, { recursive: true });
  process.env['SWATHBOOK_DATA'] = dataFolder;
  return {
    dataFolder,
    end: async () => {
      await closeDiary();
      fs.rmSync(dataFolder, { recursive: true, force: true });
    },
  };
}
