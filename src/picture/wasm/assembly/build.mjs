/**
 * Compiles the kernel and writes its bytes as a module, so that neither a bundler nor a browser has to
 * fetch a file. `node build.mjs --print` prints the module instead.
 */
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import asc from 'assemblyscript/asc';

const folder = fileURLToPath(new URL('.', import.meta.url));
const options =
  '--runtime stub --noExportMemory --importMemory --enable simd --optimizeLevel 3 --shrinkLevel 0 --converge --noAssert --initialMemory 1'.split(
    ' ',
  );
let binary;
const { error, stderr } = await asc.main(
  ['kernel.ts', '--baseDir', folder, '--outFile', 'kernel.wasm', ...options],
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
const base64 = Buffer.from(binary).toString('base64');
const text = `/** Made by \`npm run build:kernel\` from assembly/kernel.ts; a test compares. */
export const KERNEL_BASE64 =
  '${base64}';
`;
if (process.argv.includes('--print')) process.stdout.write(text);
else writeFileSync(new URL('../kernelBytes.ts', import.meta.url), text);
