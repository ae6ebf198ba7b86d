/** Runs every TypeScript example of the README and the guides, as a reader would paste it. */
import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import ts from 'typescript';
import { describe, expect, test } from 'vitest';

const root = new URL('../../', import.meta.url).pathname;
const guides = readdirSync(join(root, 'docs/guide')).map((name) => `docs/guide/${name}`);

/** The examples of a page in order, as one program: later ones build on earlier ones. */
function programOf(page: string): string | undefined {
  const text = readFileSync(join(root, page), 'utf8');
  const blocks = [...text.matchAll(/^```ts\n(.*?)^```/gms)].map(([, code]) => code);
  return blocks.length === 0 ? undefined : blocks.join('\n');
}

describe('the examples in', () => {
  for (const page of ['README.md', ...guides]) {
    const program = programOf(page);
    if (program === undefined) continue;
    test(`${page} run`, () => {
      // Inside the package its own name resolves to what is built.
      const file = join(root, `example-${page.replaceAll(/\W/g, '-')}.mjs`);
      const { outputText } = ts.transpileModule(program, {
        compilerOptions: { module: ts.ModuleKind.ESNext, target: ts.ScriptTarget.ES2022 },
      });
      writeFileSync(file, outputText);
      try {
        const run = spawnSync(process.execPath, [file], { encoding: 'utf8' });
        expect(run.stderr).toBe('');
        expect(run.status).toBe(0);
      } finally {
        rmSync(file);
      }
    });
  }
});
