// npm run kernel: compiles the SIMD kernels (*.as) and writes each one's bytes beside it.
import { readFile, writeFile } from 'node:fs/promises';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { main } from 'assemblyscript/asc';

/** The kernels: folder, source without `.as`, and the name of the constant that holds the compiled bytes. */
export const KERNELS = [
  { folder: 'photo/measure', source: 'kernel-simd', constant: 'KERNEL_SIMD' },
  { folder: 'lineup', source: 'features-simd', constant: 'FEATURES_SIMD', head: "import 'server-only';\n\n" },
  { folder: 'lineup', source: 'planes-simd', constant: 'PLANES_SIMD', head: "import 'server-only';\n\n" },
];

/** The compiled module, in base64. */
export async function compileKernel({ folder, source } = KERNELS[0]) {
  const text = await readFile(new URL(`../../${folder}/${source}.as`, import.meta.url), 'utf8');
  let binary;
  const { error, stderr } = await main(
    [
      'kernel.ts',
      '--enable',
      'simd',
      '--runtime',
      'stub',
      '--noAssert',
      '-O3',
      '--converge',
      '--initialMemory',
      '16',
      '--outFile',
      'kernel.wasm',
    ],
    {
      readFile: (name) => (name === 'kernel.ts' ? text : null),
      writeFile: (name, contents) => {
        if (name === 'kernel.wasm') binary = contents;
      },
      listFiles: () => [],
    },
  );
  if (error !== null || binary === undefined)
    throw new Error(`the kernel did not compile: ${stderr.toString()}`, { cause: error });
  return Buffer.from(binary).toString('base64');
}

if (pathToFileURL(process.argv[1]).href === import.meta.url) {
  for (const kernel of KERNELS) {
    const { folder, source, constant, head = '' } = kernel;
    const base64 = await compileKernel(kernel);
    const target = new URL(`../../${folder}/${source}-bytes.ts`, import.meta.url);
    await writeFile(
      target,
      `${head}/** lib/${folder}/${source}.as, compiled by \`npm run kernel\`: WebAssembly in base64. */\nexport const ${constant} = '${base64}';\n`,
    );
    process.stdout.write(`${fileURLToPath(target)}: ${base64.length} characters\n`);
  }
}
