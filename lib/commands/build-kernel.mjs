// npm run kernel: compiles lib/photo/kernel-simd.as and writes its bytes into lib/photo/kernel-simd-bytes.ts.
import { readFile, writeFile } from 'node:fs/promises';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { main } from 'assemblyscript/asc';

const photo = new URL('../photo/', import.meta.url);

/** The compiled module, in base64. */
export async function compileKernel() {
  const source = await readFile(new URL('kernel-simd.as', photo), 'utf8');
  let binary;
  const { error, stderr } = await main(
    ['kernel-simd.ts', '--enable', 'simd', '--runtime', 'stub', '--noAssert', '-O3', '--converge', '--initialMemory', '16', '--outFile', 'kernel.wasm'],
    {
      readFile: (name) => (name === 'kernel-simd.ts' ? source : null),
      writeFile: (name, contents) => {
        if (name === 'kernel.wasm') binary = contents;
      },
      listFiles: () => [],
    },
  );
  if (error !== null || binary === undefined) throw new Error(`the kernel did not compile: ${stderr.toString()}`, { cause: error });
  return Buffer.from(binary).toString('base64');
}

if (pathToFileURL(process.argv[1]).href === import.meta.url) {
  const base64 = await compileKernel();
  const target = new URL('kernel-simd-bytes.ts', photo);
  await writeFile(target, `/** lib/photo/kernel-simd.as, compiled by \`npm run kernel\`: WebAssembly in base64. */\nexport const KERNEL_SIMD = '${base64}';\n`);
  process.stdout.write(`${fileURLToPath(target)}: ${base64.length} characters\n`);
}
