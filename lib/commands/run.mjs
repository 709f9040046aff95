/** `node lib/commands/run.mjs NAME …`: runs the command of that name, compiled; what follows is the command's own. */
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { importCompiled } from '../compiled.mjs';

const [name = ''] = process.argv.splice(2, 1);
if (!/^(proving\/)?[a-z-]+$/.test(name) || !existsSync(fileURLToPath(new URL(`${name}.ts`, import.meta.url)))) {
  console.error(`swathbook: expected the name of a command in lib/commands, got '${name}'`);
  process.exit(2);
}
process.argv[1] = fileURLToPath(new URL(`${name}.ts`, import.meta.url));
await importCompiled(`lib/commands/${name}`);
