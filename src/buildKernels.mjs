/**
 * Compiles the kernels and writes the bytes of each as a module, so that neither a bundler nor a browser
 * has to fetch a file. `node buildKernels.mjs --print` prints the modules instead, as JSON by their paths.
 */
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import asc from 'assemblyscript/asc';

const COMMON =
  '--runtime stub --noExportMemory --importMemory --optimizeLevel 3 --shrinkLevel 0 --converge --noAssert --initialMemory 1';

const KERNELS = [
  {
    source: 'picture/wasm/assembly/kernel.ts',
    module: 'picture/wasm/kernelBytes.ts',
    name: 'KERNEL_BASE64',
    options: '--enable simd',
  },
  {
    source: 'read/wasm/assembly/scanner.ts',
    module: 'read/wasm/scannerBytes.ts',
    name: 'SCANNER_BASE64',
    options: '',
  },
];

/** The bytes that a source compiles to. */
async function compiled(source, options) {
  const parts = source.split('/');
  const file = parts.pop();
  const folder = fileURLToPath(new URL(`${parts.join('/')}/`, import.meta.url));
  let binary;
  const { error, stderr } = await asc.main(
    [
      ...[file, '--baseDir', folder, '--outFile', 'kernel.wasm'],
      ...`${COMMON} ${options}`.trim().split(' '),
    ],
    {
      writeFile: (name, contents) => {
        if (name.endsWith('.wasm')) binary = contents;
      },
    },
  );
  if (error) {
    console.error(stderr.toString(), error.message);
    process.exit(1);
  }
  return binary;
}

const modules = {};
for (const { source, module, name, options } of KERNELS) {
  const base64 = Buffer.from(await compiled(source, options)).toString('base64');
  modules[module] =
    `/** Made by \`npm run build:kernel\` from ${source.split('/').slice(-2).join('/')}; a test compares. */
export const ${name} =
  '${base64}';
`;
}
if (process.argv.includes('--print')) process.stdout.write(JSON.stringify(modules));
else {
  for (const [module, text] of Object.entries(modules)) {
    writeFileSync(new URL(module, import.meta.url), text);
  }
}
