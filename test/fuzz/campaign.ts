/**
 * Mutated inputs in any number, `npm run fuzz -- 100000`: every reader gets its share. Prints what was
 * tried of each and every input that was neither read nor refused, and ends with 1 when there is one.
 */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { dishonesty } from './honest.js';
import { files } from './mutations.js';
import { readersIn } from './readers.js';

const count = Number(process.argv[2] ?? 10_000);
const seed = Number(process.argv[3] ?? Date.now() % 2 ** 31);
const folder = mkdtempSync(join(tmpdir(), 'greenhouse-'));
const readers = Object.entries(readersIn(folder));
const share = Math.ceil(count / readers.length);
let tried = 0;
let open = 0;
for (const [name, reader] of readers) {
  let runs = 0;
  const details = fc.check(
    fc.property(files(reader.valid), (bytes) => {
      runs++;
      const wrong = dishonesty(reader, bytes);
      if (wrong !== undefined) throw new Error(wrong);
    }),
    { numRuns: share, seed, interruptAfterTimeLimit: 2 ** 30 },
  );
  tried += Math.min(runs, share);
  console.log(`${name}: ${Math.min(runs, share)} inputs`);
  if (!details.failed) continue;
  open++;
  const path = join(tmpdir(), `open-${name.replaceAll(' ', '-')}.bin`);
  writeFileSync(path, details.counterexample![0]);
  console.error(`open: ${name}, in ${path}: ${String(details.errorInstance)}`);
}
rmSync(folder, { recursive: true, force: true });
console.log(`\n${tried} inputs, seed ${seed}, ${open} open`);
process.exitCode = open === 0 ? 0 : 1;
