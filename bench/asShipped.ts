import { type BuildOptions, build } from 'esbuild';

const { LIBRARY } = (await import(new URL('../src/build.mjs', import.meta.url).href)) as {
  LIBRARY: BuildOptions;
};

/**
 * Builds sources as the library is shipped; what a loader makes of them on the fly runs slower.
 *
 * @param sources - paths by the names of what is built, without the ending `.mjs`
 */
export async function buildAsShipped(
  sources: Readonly<Record<string, string>>,
  folder: string,
): Promise<void> {
  const entryPoints = { ...sources };
  const form = { splitting: true, outdir: folder, outExtension: { '.js': '.mjs' } };
  await build({ ...LIBRARY, ...form, entryPoints });
}
